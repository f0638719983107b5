"""What `read` hands on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from startworthy.problems import Problem
from startworthy.results import ColumnRead, FileRead

if TYPE_CHECKING:
    from datetime import datetime

    import polars as pl

    from startworthy.read.layout import Layout
    from startworthy.spill import Spilled


@dataclass(frozen=True, slots=True)
class RawReadings:
    """Readings as the files hold them: in file order, before any range was looked at.

    frame: `set_id` (Categorical), `at` (Datetime us UTC, never null), one Float64 column for each number signal and
    one Categorical column for each text signal that any file has, `file` (UInt16, index into `files`), `line` (UInt32).
    refused: `file` (path, Categorical), `line`, `column`, `value`, `reason` (RefusedReason), `cost` (row/cell).
    files: rows_accepted counts the rows that went into `frame` (one row a value: the values). rows_repeated is what
    reading itself found, 0 but for one row a value; validate adds to it and takes from rows_accepted.
    problems: one per file, column or key that could not be used; `fatal` where the whole file was left out.
    spilled: the readings, where they are too many to be held; `frame` is empty then.
    """

    frame: pl.DataFrame
    refused: pl.DataFrame
    files: tuple[FileRead, ...]
    problems: tuple[Problem, ...]
    spilled: Spilled | None = None


@dataclass(frozen=True, slots=True)
class Understood:
    """How one file is understood, for `startworthy layout`.

    rows: the first rows as written, header first. layout is None where the file could not be understood at all.
    described: in one line, as FileRead.layout. Problems with `fatal` say why the file would be refused; layout, columns
    and rows show what was found even then.
    """

    path: str
    layout: Layout | None = None
    columns: tuple[ColumnRead, ...] = ()
    first_rows: tuple[tuple[str, ...], ...] = ()
    rows: int | None = None
    first_at: datetime | None = None
    last_at: datetime | None = None
    set_ids: tuple[str, ...] = ()
    described: str = ""
    notes: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
