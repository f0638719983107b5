"""How the files of a set were read, as its page tells it: layout, columns, counts, and what was refused."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from startworthy.report.cells import Table
from startworthy.report.look import signal_name
from startworthy.results import ColumnRead, FileRead, Readings
from startworthy.words import Style, texts
from startworthy.words.plain import without_surrogates

MOST_FILES = 12
MOST_COLUMNS = 120
MOST_KINDS = 30
_UNITS = {"Cel": "°C", "[degF]": "°F", "1": "0 to 1"}


@dataclass(frozen=True, slots=True)
class FileView:
    """One file: lines of label and text, its remarks, and the table of its columns."""

    path: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    columns: Table


@dataclass(frozen=True, slots=True)
class ReadingView:
    """All files of a set. `note` says how many are left out here, `refused` what was refused in them."""

    files: tuple[FileView, ...]
    note: str
    refused: Table | None


def reading_view(readings: Readings, set_id: str, style: Style) -> ReadingView:
    """The files that hold rows of the set, in the order in which they were read."""
    files = [file for file in readings.files if set_id in file.set_ids]
    note = ""
    if len(files) > MOST_FILES:
        note = style.fill(texts("report")["table"]["capped_files"], {"shown": MOST_FILES, "total": len(files)})
    shown = tuple(_file(file, number, style) for number, file in enumerate(files[:MOST_FILES], start=1))
    paths = [without_surrogates(file.path) for file in files]
    return ReadingView(shown, note, _refused(readings.refused, paths, style))


def _file(file: FileRead, number: int, style: Style) -> FileView:
    words = texts("report")["reading"]
    counts = {
        "read": file.rows_read,
        "accepted": file.rows_accepted,
        "refused": file.rows_refused,
        "repeated": file.rows_repeated,
        "emptied": file.cells_emptied,
    }
    rows = style.fill(words["rows"], counts)
    if file.first_at is not None:
        span = {"first_at": file.first_at, "last_at": file.last_at, "zone": style.zone}
        rows = f"{rows} {style.fill(words['span'], span)}"
    if len(file.set_ids) > 1:
        rows = f"{rows} {style.fill(words['shared'], {'count': len(file.set_ids)})}"
    facts = (
        (words["layout"], file.layout),
        (texts("report")["facts"]["rows"], rows),
        (words["sha"], file.sha256),
    )
    return FileView(file.path, facts, file.notes, _columns(file, number, style))


def _columns(file: FileRead, number: int, style: Style) -> Table:
    words = texts("report")
    heads = tuple(words["columns"][name] for name in ("header", "means", "unit", "why"))
    caption = style.fill(words["table"]["caption_columns"], {"path": file.path})
    # what was taken comes first; what was left alone stands below with its reason
    ordered = sorted(file.columns, key=lambda column: column.signal is None)
    note = ""
    if len(ordered) > MOST_COLUMNS:
        note = style.fill(words["table"]["capped_columns"], {"shown": MOST_COLUMNS, "total": len(ordered)})
    return Table(f"columns-{number}", caption, note, heads, tuple(_column(column) for column in ordered[:MOST_COLUMNS]))


def _column(column: ColumnRead) -> tuple[str, ...]:
    words = texts("report")["reading"]
    if column.signal is None:
        return column.header, words["ignored"], "", column.why
    unit = _UNITS.get(column.unit, column.unit)
    if column.unit:
        unit = f"{unit} ({words['stated' if column.unit_stated else 'inferred']})"
    return column.header, signal_name(column.signal), unit, column.why


def _refused(refused: pl.DataFrame, paths: list[str], style: Style) -> Table | None:
    """Kinds of refusal (file, column, reason) with their counts; None where nothing was refused."""
    words = texts("report")
    if refused.is_empty():
        return None
    names = ("file", "column", "reason", "cost")
    plain = refused.select(pl.col(name).cast(pl.String).fill_null("") for name in names)
    kinds = (
        plain.filter(pl.col("file").is_in(paths))
        .group_by(names)
        .len("count")
        .sort("count", *names, descending=[True, *[False] * 4])
    )
    if kinds.is_empty():
        return None
    note = style.fill(words["table"]["all_shown"], {"total": kinds.height})
    if kinds.height > MOST_KINDS:
        note = style.fill(words["table"]["capped_refused"], {"shown": MOST_KINDS, "total": kinds.height})
    columns = words["columns"]
    heads = (columns["file"], columns["column"], columns["reason"], words["reading"]["cost"], columns["count"])
    rows = tuple(
        (file, column, reason, words["reading"].get(f"cost_{cost}", cost), str(count))
        for file, column, reason, cost, count in kinds.head(MOST_KINDS).iter_rows()
    )
    return Table("refused", words["table"]["caption_refused"], note, heads, rows)
