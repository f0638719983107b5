"""The first stage: bytes into readings. One row per set and instant, signals by name, SI units, UTC."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from startworthy.callable_stage import make_callable
from startworthy.read.record import RawReadings, Understood

if TYPE_CHECKING:
    import polars as pl

    from startworthy.problems import Problem
    from startworthy.read.layout import DateOrder, Layout
    from startworthy.read.log import LogRead
    from startworthy.read.plan import Options
    from startworthy.results import FileRead

__all__ = ["RawReadings", "Understood", "read_paths", "understand"]


def read_paths(
    paths: Sequence[Path],
    *,
    layout: Layout | None = None,
    zone_of: Callable[[str], str],
    time_zone: str | None = None,
    date_order: DateOrder | None = None,
    on_file: Callable[[str], None] | None = None,
) -> RawReadings:
    """Read all logs at the paths (files and folders). Never raises for bad input: see `problems`.

    layout: how the files are to be understood, where it differs from what they show. zone_of: set id to IANA zone,
    for times without offset; `time_zone` and the layout's zone go before it. date_order: of dates that leave it open.
    on_file: called with the name of each file before it is read.
    """
    import polars as pl

    from startworthy.read.files import find_logs
    from startworthy.read.kept import Kept

    options = _options(layout, zone_of, time_zone, date_order)
    found = find_logs(paths)
    problems: list[Problem] = list(found.problems)
    kept = Kept()
    refused: list[pl.DataFrame] = []
    files: list[FileRead] = []
    for path in found.files:
        if on_file is not None:
            on_file(str(path))
        for log in _logs(path, options, lambda frame: kept.add_piece(frame, len(files))):
            problems += log.problems
            if log.read is None:
                continue
            if log.frame is not None:
                kept.add(log.frame, len(files))
            files.append(log.read)
            if log.refused is not None and log.refused.height:
                refused.append(log.refused.with_columns(file=pl.lit(log.read.path, dtype=pl.Categorical)))
    columns = ["file", "line", "column", "value", "reason", "cost"]
    frame, spilled = kept.done()
    return RawReadings(
        frame,
        pl.concat(refused).select(columns) if refused else _no_refused().select(columns),
        tuple(files),
        tuple(problems),
        spilled,
    )


def understand(
    path: Path,
    *,
    layout: Layout | None = None,
    zone_of: Callable[[str], str],
    time_zone: str | None = None,
    date_order: DateOrder | None = None,
) -> tuple[Understood, ...]:
    """How each log in a file is understood; nothing is kept of its rows but the first few."""
    from startworthy.read.shown import show

    return show(path, _options(layout, zone_of, time_zone, date_order))


def _options(
    layout: Layout | None, zone_of: Callable[[str], str], time_zone: str | None, date_order: DateOrder | None
) -> Options:
    from startworthy.read.layout import Layout
    from startworthy.read.plan import Options

    return Options(layout or Layout(), zone_of, time_zone, date_order)


def _logs(path: Path, options: Options, keep: Callable[[pl.DataFrame], None]) -> Iterator[LogRead]:
    """Each log of a file. The rows of one too large to be held go to `keep`, piece by piece."""
    from startworthy.problems import Problem
    from startworthy.read.log import LogRead, read_log
    from startworthy.read.pieces import is_huge, read_huge
    from startworthy.read.source import open_sources

    for source in open_sources(path):
        if isinstance(source, Problem):
            yield LogRead(problems=[source])
        elif is_huge(source):
            yield read_huge(source, options, keep)
        else:
            yield read_log(source, options)


def _no_refused() -> pl.DataFrame:
    import polars as pl

    from startworthy.read.reasons import refused_schema

    return pl.DataFrame(schema={**refused_schema(), "file": pl.Categorical})


make_callable(__name__)
