"""The tables that leave the program: findings.csv, refused.csv and the logbook, as CSV or parquet."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

import polars as pl

from startworthy.logbook.tables import TABLES
from startworthy.report.write import write_with
from startworthy.results import Checked
from startworthy.words import Style, finding_text
from startworthy.words.plain import without_surrogates

TableFormat = Literal["csv", "parquet"]

# What a spreadsheet takes for a formula; the wide and small forms are read as the plain ones by some, and what stands
# before is dropped by some: spaces, control characters, zero widths.
_SIGN = r"[=+\-@＝＋－＠﹢﹣﹦﹫]"
_FORMULA = rf"^[\s\p{{C}}]*{_SIGN}|^[\t\r\n]"
_NUMBER = r"^[+-]?[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]+)?$"
# A spreadsheet of another country parts cells at semicolons (or tabs), and takes quotes that follow a comma for text:
# there the cell that begins inside of this one would run.
_INSIDE = rf"([;\t\r\n][\s\p{{C}}\"']*)({_SIGN})"
_TIME = "%Y-%m-%dT%H:%M:%S%.fZ"

_FINDING_COLUMNS = (
    "set_id",
    "site",
    "severity",
    "code",
    "question",
    "title",
    "detail",
    "began_at",
    "ended_at",
    "value",
    "limit",
    "unit",
    "advice",
)


def neutralised(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame with an apostrophe before all in a text cell that a spreadsheet would run as a formula.

    That is the cell's beginning, and inside of it what follows a semicolon, a tab or a line break. Text that is a
    plain number (`-9999`) stays as it is; columns of numbers and times are not touched. Categorical columns become
    text.
    """
    texts = frame.select(pl.selectors.by_dtype(pl.String, pl.Categorical, pl.Enum).cast(pl.String))
    return frame.with_columns(_neutral(column) for column in texts)


def _neutral(column: pl.Series) -> pl.Series:
    """One text column; only the few cells that could run are worked on."""
    inside = column.str.contains(_INSIDE).fill_null(False).arg_true()
    if inside.len():
        column = column.scatter(inside, column.gather(inside).str.replace_all(_INSIDE, "${1}'${2}"))
    runs = (column.str.contains(_FORMULA) & ~column.str.contains(_NUMBER)).fill_null(False).arg_true()
    return column.scatter(runs, "'" + column.gather(runs)) if runs.len() else column


def findings_frame(checked: Checked, style: Style) -> pl.DataFrame:
    """One row per finding, worst set and worst finding as they come; times UTC, values in the inner units."""
    rows = []
    for result in checked.sets:
        own = replace(style, zone=result.known.time_zone)
        for finding in result.findings:
            text = finding_text(finding, own)
            rows.append(
                (
                    without_surrogates(result.set_id),
                    without_surrogates(result.known.entry.site or "") or None,
                    finding.severity.value,
                    finding.code,
                    finding.question.value,
                    without_surrogates(text.title),
                    without_surrogates(text.detail),
                    finding.began_at,
                    finding.ended_at,
                    finding.value,
                    finding.limit,
                    finding.unit,
                    " ".join(text.advice),
                )
            )
    kinds: dict[str, pl.DataType] = dict.fromkeys(_FINDING_COLUMNS, pl.String())
    kinds |= dict.fromkeys(("began_at", "ended_at"), pl.Datetime("us", "UTC"))
    kinds |= dict.fromkeys(("value", "limit"), pl.Float64())
    return pl.DataFrame(rows, schema=kinds, orient="row")


def write_table(path: Path, frame: pl.DataFrame) -> Path:
    """The frame as CSV or parquet, by the ending of `path`. Only CSV is neutralised: parquet has types."""
    if path.suffix == ".parquet":
        return write_with(path, lambda stream: frame.write_parquet(stream, compression="zstd"))
    # every text stands in quotes: a cell may hold the delimiter of another country's spreadsheet
    plain = neutralised(frame)
    return write_with(path, lambda stream: plain.write_csv(stream, quote_style="non_numeric", datetime_format=_TIME))


def write_logbook(checked: Checked, folder: Path, table_format: TableFormat) -> list[Path]:
    """The five tables under `folder`, whatever their length."""
    return [write_table(folder / f"{name}.{table_format}", getattr(checked.logbook, name)) for name in TABLES]


def write_refused(checked: Checked, path: Path) -> list[Path]:
    """refused.csv where anything was refused; an older one is emptied where nothing was."""
    if checked.readings.refused.height or path.exists():
        return [write_table(path, checked.readings.refused)]
    return []
