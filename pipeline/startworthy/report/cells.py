"""Tables as a page shows them: every value as text in the reader's units, capped with the full count said."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from startworthy.findings import Evidence
from startworthy.report.look import signal_name
from startworthy.results import Logbook
from startworthy.words import Style, texts

MOST_ROWS = 50

STARTS = (
    "began_at",
    "cause",
    "started",
    "attempts",
    "crank_s",
    "ready_s",
    "battery_before_v",
    "battery_min_v",
    "coolant_before_c",
    "ambient_c",
    "mode",
    "told_by",
    "resolution_s",
)
RUNS = (
    "began_at",
    "running_s",
    "cause",
    "ended_by",
    "load",
    "voltage_mean_v",
    "frequency_mean_hz",
    "coolant_max_c",
    "oil_min_kpa",
    "battery_running_v",
    "fuel_used_l",
)
MARKS = ("began_at", "ended_at", "kind", "signal", "size", "text")


@dataclass(frozen=True, slots=True)
class Table:
    """Caption and note in words, heads one for each column, rows of text; a row's first cell is its head."""

    key: str
    caption: str
    note: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def kind(self) -> str:
        """The part of the key that tables of one kind share."""
        return self.key.split("-")[0]


@dataclass(frozen=True, slots=True)
class Where:
    """Where the whole tables are: the ending of the files, and whether this run writes them."""

    table_format: str
    written: bool


def logbook_tables(book: Logbook, style: Style, where: Where) -> list[Table]:
    """Starts, runs and events of one set, newest first."""
    return [
        _table("starts", book.starts, STARTS, style, where),
        _table("runs", book.runs, RUNS, style, where),
        _table("marks", book.marks, MARKS, style, where),
    ]


def _table(name: str, frame: pl.DataFrame, columns: Iterable[str], style: Style, where: Where) -> Table:
    words = texts("report")
    known = [column for column in columns if frame.is_empty() or _has_values(frame, column)]
    unknown = [_head(column) for column in columns if column not in known]
    note = _note(name, frame.height, style, where)
    if unknown:
        note = f"{note} {style.fill(words['table']['columns_unknown'], {'columns': ', '.join(unknown)})}"
    last = frame.sort("began_at", maintain_order=True).tail(MOST_ROWS).reverse()
    rows = tuple(tuple(_cell(name, c, row, style) for c in known) for row in last.iter_rows(named=True))
    return Table(name, words["table"][f"caption_{name}"], note, tuple(_head(c) for c in known), rows)


# columns of a page's table that are made of more than one of the logbook's, or of another
_MADE_OF = {
    "attempts": ("attempts", "attempts_at_least"),
    "load": ("load_kw_mean", "load_fraction_mean"),
    "size": ("value",),
}


def _has_values(frame: pl.DataFrame, column: str) -> bool:
    return any(frame[name].count() > 0 for name in _MADE_OF.get(column, (column,)))


def _head(column: str) -> str:
    return str(texts("report")["columns"]["load_kw_mean" if column == "load" else column])


def _note(name: str, total: int, style: Style, where: Where) -> str:
    words = texts("report")["table"]
    if total == 0:
        return str(words[f"none_{name}"])
    if total <= MOST_ROWS:
        return style.fill(words["all_shown"], {"total": total})
    values: dict[str, Evidence] = {
        "shown": MOST_ROWS,
        "total": total,
        "file": f"logbook/{name}.{where.table_format}",
        "format": where.table_format,
    }
    return style.fill(words["capped" if where.written else "capped_unwritten"], values)


def _cell(table: str, column: str, row: Mapping[str, Any], style: Style) -> str:
    words = texts("report")
    if column == "load":
        kw, fraction = row["load_kw_mean"], row["load_fraction_mean"]
        shown = [
            style.value(name, value)
            for name, value in (("load_kw", kw), ("load_fraction", fraction))
            if value is not None
        ]
        return ", ".join(shown) or str(words["table"]["null"])
    if column == "size":
        return _size(row, style)
    if column == "attempts" and row["attempts"] is None and row["attempts_at_least"]:
        return f"≥ {row['attempts_at_least']}"
    value = row[column]
    if value is None:
        return str(words["table"]["null"])
    for list_name, names in (("causes", {"cause"}), ("ends", {"ended_by"}), ("marks", {"kind"})):
        if column in names:
            return str(words[list_name].get(value, value))
    if column == "signal":
        return signal_name(value)
    if column == "text" and table == "marks" and row["kind"] == "mode_change":
        return str(value).replace(">", " → ")
    if column == "text" and table == "marks" and row["kind"] in _CLOCK:
        how, _, zone = str(value).partition(" ")
        return f"{words['clock'].get(how, how)} {zone}".rstrip()
    # a number is not parted from its unit at the end of a line
    return (
        style.value(column, value)
        if isinstance(value, str)
        else style.value(column, value).replace(" ", "\N{NO-BREAK SPACE}")
    )


# events whose text is the evidence of a clock
_CLOCK = {"clock_jump", "clock_reset", "clock_step", "clock_ahead", "out_of_order"}
# what the size of an event is, by the event
_SIZE = {
    "gap": "s",
    "clock_jump": "s",
    "clock_reset": "s",
    "clock_step": "s",
    "refuel": "fraction",
    "fuel_loss": "fraction",
    "hours_jump": "h",
}


def _size(row: Mapping[str, Any], style: Style) -> str:
    unit = _SIZE.get(row["kind"])
    if unit is None or row["value"] is None:
        return str(texts("report")["table"]["null"])
    return style.value(f"size_{unit}", float(row["value"]))
