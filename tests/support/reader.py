"""Small logs written to a folder and read back, for the tests of the reader."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import polars as pl

from startworthy.problems import Problem
from startworthy.read import RawReadings, read_paths
from startworthy.read.layout import DateOrder, Layout
from startworthy.results import ColumnRead, FileRead, Readings
from startworthy.validate import clean
from startworthy.words import problem_line

T0 = datetime(2026, 1, 5, tzinfo=UTC)


def stamps(n: int, step_s: float = 60.0, begin: datetime = T0, pattern: str = "%Y-%m-%dT%H:%M:%SZ") -> list[str]:
    """n stamps, step_s apart."""
    return [(begin + timedelta(seconds=i * step_s)).strftime(pattern) for i in range(n)]


@dataclass(frozen=True)
class Got:
    """A read log. `raw`: before validation; `readings`: after it."""

    raw: RawReadings
    readings: Readings

    @property
    def frame(self) -> pl.DataFrame:
        return self.readings.frame

    @property
    def file(self) -> FileRead:
        (file,) = self.readings.files
        return file

    @property
    def problem(self) -> Problem:
        (problem,) = self.readings.problems
        return problem

    @property
    def line(self) -> str:
        """The one problem, as it is printed."""
        return problem_line(self.problem)

    def column(self, header: str) -> ColumnRead:
        """How the column of that header was understood."""
        return next(c for c in self.file.columns if c.header == header)

    def refused(self, *columns: str) -> list[tuple[object, ...]]:
        """What was refused, in line order."""
        return self.readings.refused.sort("line", maintain_order=True).select(columns).rows()

    def times(self, pattern: str = "%Y-%m-%d %H:%M:%S") -> list[str]:
        """Instants of the raw rows, in file order, in UTC."""
        return self.raw.frame["at"].dt.strftime(pattern).to_list()


def read_file(
    path: Path, *, layout: Layout | None = None, zone: str = "UTC", date_order: DateOrder | None = None
) -> Got:
    """Read and validate; every row of every file must be accounted for."""
    raw = read_paths([path], layout=layout, zone_of=lambda _set_id: zone, date_order=date_order)
    readings = clean(raw)
    for file in readings.files:
        assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated
    return Got(raw, readings)


def read_text(folder: Path, text: str | bytes, name: str = "P-1.csv", **how: object) -> Got:
    """Write a text (UTF-8) or bytes, and read it."""
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return read_file(path, **how)  # type: ignore[arg-type]


def table(rows: Sequence[Sequence[object]], delimiter: str = ",", end: str = "\n") -> str:
    """Rows as plain text."""
    return "".join(delimiter.join(map(str, row)) + end for row in rows)
