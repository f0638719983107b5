"""Why a row or a cell of a log was refused. Sentences stand in words/, under `refused`."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import polars as pl

CELL_TEXT = 200
"""Characters of a refused text that are kept."""


class RefusedReason(StrEnum):
    """Short and stable: these are the values of the column `reason` of refused.csv."""

    NOT_A_NUMBER = "not_a_number"
    SENTINEL = "sentinel"
    UNKNOWN_WORD = "unknown_word"
    OUT_OF_RANGE = "out_of_range"
    UNIT_CHANGED = "unit_changed"
    NO_TIME = "no_time"
    BAD_TIME = "bad_time"
    NO_SUCH_TIME = "no_such_time"
    NO_SET = "no_set"
    TOO_MANY_CELLS = "too_many_cells"
    TOO_FEW_CELLS = "too_few_cells"
    CUT_OFF = "cut_off"
    REPEATED_HEADER = "repeated_header"
    OTHER_COLUMNS = "other_columns"
    NOT_A_ROW = "not_a_row"
    BAD_QUOTES = "bad_quotes"
    UNCLOSED_QUOTE = "unclosed_quote"
    CLOCK_RESET = "clock_reset"
    TIME_IN_FUTURE = "time_in_future"


def refused_schema() -> dict[str, Any]:
    """Columns of refused cells and rows within one file: line, column, value, reason, cost (row/cell)."""
    import polars as pl

    return {"line": pl.UInt32, "column": pl.String, "value": pl.String, "reason": pl.String, "cost": pl.String}


def refused_cells(line: pl.Series, header: str | None, value: pl.Series, reason: RefusedReason) -> pl.DataFrame:
    """Cells of one column that were refused for one reason: n lines and the n texts that stood there."""
    return _refused(line, header, value, reason, "cell")


def refused_rows(line: pl.Series, header: str | None, value: pl.Series | None, reason: RefusedReason) -> pl.DataFrame:
    """Rows that were refused for one reason, with the cell (or the whole text) that decided it."""
    return _refused(line, header, value, reason, "row")


def _refused(
    line: pl.Series, header: str | None, value: pl.Series | None, reason: RefusedReason, cost: str
) -> pl.DataFrame:
    import polars as pl

    text = pl.lit(None, pl.String) if value is None else value.cast(pl.String).str.head(CELL_TEXT)
    return pl.DataFrame({"line": line.cast(pl.UInt32)}).with_columns(
        column=pl.lit(header, pl.String), value=text, reason=pl.lit(reason.value), cost=pl.lit(cost)
    )
