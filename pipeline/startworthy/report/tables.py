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

TableFormat = Literal["csv", "parquet"]

# What a spreadsheet takes for a formula; the wide forms are read as the plain ones by some.
_FORMULA = r"^[=+\-@\t\r\n＝＋－＠]"
_NUMBER = r"^[+-]?[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]+)?$"
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
    """The frame with an apostrophe before every text cell that a spreadsheet would run as a formula.

    Text that is a plain number (`-9999`) stays as it is; columns of numbers and times are not touched.
    Categorical columns become text.
    """
    text = pl.selectors.by_dtype(pl.String, pl.Categorical, pl.Enum).cast(pl.String)
    runs = text.str.contains(_FORMULA) & ~text.str.contains(_NUMBER)
    return frame.with_columns(pl.when(runs).then(pl.lit("'") + text).otherwise(text).name.keep())


def findings_frame(checked: Checked, style: Style) -> pl.DataFrame:
    """One row per finding, worst set and worst finding as they come; times UTC, values in the inner units."""
    rows = []
    for result in checked.sets:
        own = replace(style, zone=result.known.time_zone)
        for finding in result.findings:
            text = finding_text(finding, own)
            rows.append(
                (
                    result.set_id,
                    result.known.entry.site,
                    finding.severity.value,
                    finding.code,
                    finding.question.value,
                    text.title,
                    text.detail,
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
