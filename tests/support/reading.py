"""Reading a small log that a test writes itself."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import polars as pl

from startworthy.read import RawReadings, read_paths
from startworthy.read.layout import Layout
from startworthy.words import problem_line


def read_bytes(folder: Path, data: bytes, name: str = "HILL-01.csv", **options: Any) -> RawReadings:
    """The readings of one file with these bytes. `layout` may be a dict; `zone` is the zone of every set."""
    path = folder / name
    path.write_bytes(data)
    layout = options.pop("layout", None)
    if isinstance(layout, dict):
        layout = Layout.model_validate(layout)
    zone = options.pop("zone", "UTC")
    got = read_paths([path], layout=layout, zone_of=lambda _: zone, **options)
    for file in got.files:
        assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated
    return got


def read_text(folder: Path, text: str, name: str = "HILL-01.csv", **options: Any) -> RawReadings:
    """As read_bytes, for text that is UTF-8."""
    return read_bytes(folder, text.encode(), name, **options)


def values(got: RawReadings, signal: str) -> list[Any]:
    """A signal's values, in file order; words as text."""
    column = got.frame[signal]
    return (column.cast(pl.String) if column.dtype == pl.Categorical else column).to_list()


def times(got: RawReadings) -> list[str]:
    """Instants as "2024-01-31 05:00:00" in UTC, in file order."""
    return got.frame["at"].dt.strftime("%Y-%m-%d %H:%M:%S").to_list()


def refused(got: RawReadings) -> list[tuple[int, str | None, str | None, str, str]]:
    """Line, column, value, reason and cost of all that was refused."""
    return got.refused.select("line", "column", "value", "reason", "cost").rows()


def codes(got: RawReadings) -> list[str]:
    """Codes of the problems."""
    return [problem.code for problem in got.problems]


def lines(got: RawReadings, folder: Path) -> list[str]:
    """The problems as a person reads them, without the folder."""
    return [problem_line(problem).replace(f"{folder}/", "") for problem in got.problems]
