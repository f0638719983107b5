"""A layout: how a file is to be understood, as a TOML file that a person can correct and keep.

Keys are named as in W3C "Metadata Vocabulary for Tabular Data" (CSVW) where it has one, in snake case:
delimiter, encoding, skip_rows, header_row_count, quote_char, decimal_char, group_char, null. Every key is
optional: what a layout leaves out is told from the file.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Mapping
from datetime import date, datetime, time
from pathlib import Path
from typing import Annotated, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    Strict,
    ValidationError,
    ValidationInfo,
    field_validator,
    model_validator,
)

from startworthy.problems import InputError
from startworthy.read.headers import unit_named
from startworthy.signals import BY_NAME, UNITS, Quantity
from startworthy.tomlfaults import Values, faults, in_file_order, listed, nearest, setting_fault, shown
from startworthy.tomlfile import read_toml
from startworthy.tomlplaces import Path as KeyPath
from startworthy.zonenames import check_zone

DateOrder = Literal["dmy", "mdy", "ymd"]
UNITLESS = (Quantity.COUNT, Quantity.FLAG, Quantity.TEXT)

NULL_WORDS = (
    "", "-", "--", "---", "----", "n/a", "na", "#n/a", "nan", "null", "none", "nil", "no data", "nodata",
    "*", "***", "?", "???",
)  # fmt: skip
"""Texts that stand for "no value", compared without case and outer spaces. Common practice, no source."""

NUMERIC_TIMES = {
    "epoch_s": 1e6, "epoch_ms": 1e3, "epoch_us": 1.0, "epoch_ns": 1e-3,
    "elapsed_s": 1e6, "elapsed_ms": 1e3, "elapsed_min": 60e6, "elapsed_h": 3600e6,
}  # fmt: skip
"""Words that `time_format` may hold instead of a pattern, and the microseconds of one step."""


_TIME_LETTERS = "aAbBcCdDeEfFgGhHIjklmMnpPqrRsStTuUvVwWxXyYzZ+:#."
"""What may follow % in a time_format: strftime's directives, and what goes between % and the letter."""

NO_TEXT_ENCODINGS = frozenset({"idna", "punycode", "undefined", "mbcs", "oem", "unicode_escape", "raw_unicode_escape"})
"""Names that Python knows as encodings of text, and no log is in."""

Text = Annotated[str, Strict()]
Character = Annotated[str, Strict(), Field(max_length=1)]
Count = Annotated[int, Strict(), Field(ge=0, le=1_000_000)]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class ColumnLayout(_Entry):
    """What one column holds. `signal` "" leaves it alone; `unit` "" takes the header's, else the signal's own unit."""

    signal: Text = ""
    unit: Text = ""

    @field_validator("signal")
    @classmethod
    def _signal_is_known(cls, signal: str) -> str:
        if signal and signal not in BY_NAME:
            near = nearest(signal, BY_NAME, 0.4)
            raise setting_fault("setting_unknown_signal", near=near or listed(BY_NAME))
        return signal

    @field_validator("unit")
    @classmethod
    def _unit_is_known(cls, unit: str, info: ValidationInfo) -> str:
        known = unit_named(unit) if unit else None
        if unit and known is None:
            near = nearest(unit, UNITS, 0.5)
            raise setting_fault("setting_unknown_unit", near=near or listed(UNITS))
        signal = info.data.get("signal", "")
        if known is not None and signal:
            quantity = BY_NAME[signal].quantity
            if known.quantity is not quantity and quantity not in UNITLESS:
                told = {"of": str(known.quantity), "signal": signal, "quantity": str(quantity)}
                raise setting_fault("setting_unit_of_other", **told, own=BY_NAME[signal].unit)
        return unit


class Layout(_Entry):
    """How a file is understood. None (or an empty table) means: told from the file.

    `columns` is keyed by the header as written, without outer spaces; the second column of one name is
    "Name#2", a column without a name is "#3" by its place, counted from 1. `time_format` is a pattern of
    strftime's directives, or one of NUMERIC_TIMES; with `date_column` it covers date, a space, and time.
    """

    encoding: Text | None = None
    delimiter: Annotated[str, Strict(), Field(min_length=1, max_length=1)] | None = None
    quote_char: Character | None = None
    skip_rows: Count | None = None
    header_row_count: Annotated[int, Strict(), Field(ge=0, le=3)] | None = None
    decimal_char: Literal[".", ","] | None = None
    group_char: Character | None = None
    null: tuple[Text, ...] | None = None
    time_column: Text | None = None
    date_column: Text | None = None
    time_format: Text | None = None
    date_order: DateOrder | None = None
    time_zone: Text | None = None
    time_origin: datetime | None = None
    set_id: Text | None = None
    set_column: Text | None = None
    name_column: Text | None = None
    value_column: Text | None = None
    unit_column: Text | None = None
    columns: Mapping[str, ColumnLayout] = Field(default_factory=dict)

    @field_validator("time_zone")
    @classmethod
    def _zone_is_known(cls, zone: str | None) -> str | None:
        if zone is not None:
            check_zone(zone)
        return zone

    @field_validator("encoding")
    @classmethod
    def _encoding_is_known(cls, encoding: str | None) -> str | None:
        if encoding is None:
            return None
        try:
            found = codecs.lookup(encoding)
            # some names are those of no text at all (zip, base64), and only asking tells
            bytes(1).decode(encoding, errors="replace")
        except (LookupError, ValueError):
            raise setting_fault("setting_unknown_encoding") from None
        if found.name in NO_TEXT_ENCODINGS:
            raise setting_fault("setting_unknown_encoding")
        return encoding

    @field_validator("delimiter")
    @classmethod
    def _delimiter_parts_cells(cls, delimiter: str | None) -> str | None:
        if delimiter is not None and (not delimiter.isascii() or delimiter.isalnum() or delimiter in '\r\n"-+.'):
            raise setting_fault("setting_no_delimiter")
        return delimiter

    @field_validator("time_format")
    @classmethod
    def _format_is_a_pattern(cls, pattern: str | None) -> str | None:
        if pattern is None or pattern in NUMERIC_TIMES:
            return pattern
        marks = re.findall(r"%(.?)", pattern.replace("%%", ""), re.DOTALL)
        if not marks or not all(mark and (mark in _TIME_LETTERS or mark in "-_0123456789") for mark in marks):
            raise setting_fault("setting_time_format", words=", ".join(NUMERIC_TIMES))
        return pattern

    @field_validator("time_origin", mode="before")
    @classmethod
    def _origin_from_text(cls, origin: object) -> object:
        if isinstance(origin, str):
            try:
                return datetime.fromisoformat(origin)
            except ValueError:
                raise setting_fault("setting_wants_time") from None
        if isinstance(origin, date) and not isinstance(origin, datetime):
            return datetime.combine(origin, time())
        if origin is not None and not isinstance(origin, datetime):
            # a bare number would pass as seconds since 1970
            raise setting_fault("setting_wants_time")
        return origin

    @model_validator(mode="after")
    def _long_form_is_whole(self) -> Layout:
        if (self.name_column is None) != (self.value_column is None):
            there, other = ("value_column", "name_column")[:: 1 if self.name_column is None else -1]
            raise setting_fault("setting_not_alone", key=there, other=other)
        if self.decimal_char is not None and self.decimal_char == self.group_char:
            raise setting_fault("setting_same_mark", key="group_char", other="decimal_char")
        if self.delimiter is not None and self.delimiter == self.quote_char:
            raise setting_fault("setting_same_mark", key="quote_char", other="delimiter")
        if self.delimiter is not None and self.delimiter == self.decimal_char and self.quote_char == "":
            raise setting_fault("setting_no_quotes_left", key="delimiter", other="decimal_char")
        return self

    def over(self, found: Layout) -> Layout:
        """The layout's own keys laid over what was found in a file; columns are merged one by one."""
        own = {key: getattr(self, key) for key in self.model_fields_set if getattr(self, key) is not None}
        own["columns"] = {**found.columns, **self.columns}
        return found.model_copy(update=own)

    def to_toml(self) -> str:
        """The layout as commented TOML; `load_layout` reads it back to an equal layout."""
        lines = ["# How this file is read. Correct what is wrong, keep it, and give it with --layout FILE.", ""]
        for key, note in _NOTES.items():
            value = getattr(self, key)
            if value is None:
                continue
            text = f"{key} = {_toml(value)}"
            lines.append(f"{text:<40} # {note}")
        lines += [
            "",
            '# Columns by their header. signal = "" leaves one alone; unit as in "V", "kPa", "bar", "degF", "%".',
        ]
        for header, column in self.columns.items():
            lines += ["", f"[columns.{_toml(header)}]", f"signal = {_toml(column.signal)}"]
            if column.unit:
                lines.append(f"unit = {_toml(column.unit)}")
        return "\n".join(lines) + "\n"


_NOTES = {
    "encoding": "utf-8, utf-16, windows-1252",
    "delimiter": "what stands between cells",
    "quote_char": 'what stands around a cell; "" for none',
    "skip_rows": "lines above the header",
    "header_row_count": "2 with a row of units below or of groups above; 0 where there is no header",
    "decimal_char": "decimal mark",
    "group_char": "thousands mark",
    "null": "texts that mean: no value",
    "time_column": "header of the time (or clock time) column",
    "date_column": "header of the date column, where date and time stand apart",
    "time_format": "strftime pattern, or one of " + ", ".join(NUMERIC_TIMES),
    "date_order": "dmy, mdy or ymd",
    "time_zone": "IANA name; goes before the register's",
    "time_origin": "what elapsed time (or a clock without a date) counts from",
    "set_id": "the set that every row belongs to",
    "set_column": "header of the column that names the set",
    "name_column": "one row a value: the column that names the signal",
    "value_column": "one row a value: the column that holds the value",
    "unit_column": "one row a value: the column that holds the unit",
}


def _toml(value: object) -> str:
    if isinstance(value, str):
        plain = value.replace("\\", "\\\\").replace('"', '\\"')
        return '"' + "".join(c if c.isprintable() else _escaped(c) for c in plain) + '"'
    if isinstance(value, tuple):
        return "[" + ", ".join(_toml(part) for part in value) + "]"
    if isinstance(value, datetime):
        return _toml(value.isoformat())
    return str(value)


def _escaped(character: str) -> str:
    code = ord(character)
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def load_layout(path: Path) -> Layout:
    """Read and check a layout. Raises InputError with one problem per fault: file, line, key, what mends it."""
    toml = read_toml(path, "layout")
    try:
        return Layout.model_validate(toml.data)
    except ValidationError as error:
        raise InputError(*in_file_order(faults(toml, error, _belongs), "layout")) from None


def _belongs(path: KeyPath, value: object) -> tuple[str, Values] | None:
    """Where a key belongs that has no place where it stands; the nearest key that has; or which there are."""
    if not path:
        return None
    key, keys = str(path[-1]), (ColumnLayout if path[0] == "columns" else Layout).model_fields
    if len(path) == 2 and path[0] == "columns" and not isinstance(value, dict):
        if key in Layout.model_fields:
            return "setting_above_tables", {}
        return "setting_wants_column", {"signal": shown(value) if isinstance(value, str) else '"battery_v"'}
    if path[0] == "columns" and key in Layout.model_fields:
        return "setting_above_tables", {}
    if len(path) == 1 and key in keys:
        return None
    near = nearest(key, keys)
    return ("layout_unknown_key", {"near": near}) if near else ("layout_no_such_key", {"known": listed(keys)})
