"""A layout: how a file is to be understood, as a TOML file that a person can correct and keep.

Keys are named as in W3C "Metadata Vocabulary for Tabular Data" (CSVW) where it has one, in snake case:
delimiter, encoding, skip_rows, header_row_count, quote_char, decimal_char, group_char, null. Every key is
optional: what a layout leaves out is told from the file.
"""

from __future__ import annotations

import codecs
import difflib
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from startworthy.problems import InputError
from startworthy.read.headers import unit_named
from startworthy.register import require_zone
from startworthy.signals import BY_NAME, UNITS, Quantity
from startworthy.tomlfile import faults, read_toml

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


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class ColumnLayout(_Entry):
    """What one column holds. `signal` "" leaves it alone; `unit` "" takes the header's, else the signal's own unit."""

    signal: str = ""
    unit: str = ""

    @field_validator("signal")
    @classmethod
    def _signal_is_known(cls, signal: str) -> str:
        if signal and signal not in BY_NAME:
            near = difflib.get_close_matches(signal, BY_NAME, n=1, cutoff=0.4)
            raise ValueError(f"unknown signal {signal!r}" + (f", did you mean {near[0]}?" if near else ""))
        return signal

    @field_validator("unit")
    @classmethod
    def _unit_is_known(cls, unit: str) -> str:
        if unit and unit_named(unit) is None:
            near = difflib.get_close_matches(unit.casefold(), UNITS, n=1, cutoff=0.5)
            raise ValueError(f"unknown unit {unit!r}" + (f", did you mean {near[0]}?" if near else ""))
        return unit

    @model_validator(mode="after")
    def _unit_fits(self) -> ColumnLayout:
        unit = unit_named(self.unit) if self.unit else None
        if self.signal and unit is not None:
            quantity = BY_NAME[self.signal].quantity
            if unit.quantity is not quantity and quantity not in UNITLESS:
                raise ValueError(f"{self.unit!r} is a unit of {unit.quantity}, {self.signal} is a {quantity}")
        return self


class Layout(_Entry):
    """How a file is understood. None (or an empty table) means: told from the file.

    `columns` is keyed by the header as written, without outer spaces; the second column of one name is
    "Name#2", a column without a name is "#3" by its place, counted from 1. `time_format` is a pattern of
    strftime's directives, or one of NUMERIC_TIMES; with `date_column` it covers date, a space, and time.
    """

    encoding: str | None = None
    delimiter: Annotated[str, Field(min_length=1, max_length=1)] | None = None
    quote_char: Annotated[str, Field(max_length=1)] | None = None
    skip_rows: Annotated[int, Field(ge=0)] | None = None
    header_row_count: Annotated[int, Field(ge=0, le=2)] | None = None
    decimal_char: Literal[".", ","] | None = None
    group_char: Annotated[str, Field(max_length=1)] | None = None
    null: tuple[str, ...] | None = None
    time_column: str | None = None
    date_column: str | None = None
    time_format: str | None = None
    date_order: DateOrder | None = None
    time_zone: str | None = None
    time_origin: datetime | None = None
    set_id: str | None = None
    set_column: str | None = None
    name_column: str | None = None
    value_column: str | None = None
    unit_column: str | None = None
    columns: Mapping[str, ColumnLayout] = Field(default_factory=dict)

    @field_validator("time_zone")
    @classmethod
    def _zone_is_known(cls, zone: str | None) -> str | None:
        if zone is not None:
            require_zone(zone)
        return zone

    @field_validator("encoding")
    @classmethod
    def _encoding_is_known(cls, encoding: str | None) -> str | None:
        if encoding is None:
            return None
        try:
            codecs.lookup(encoding)
        except LookupError:
            raise ValueError(f"unknown encoding {encoding!r}; try utf-8, utf-16 or windows-1252") from None
        return encoding

    @field_validator("time_origin", mode="before")
    @classmethod
    def _origin_from_text(cls, origin: object) -> object:
        if isinstance(origin, str):
            try:
                return datetime.fromisoformat(origin)
            except ValueError:
                raise ValueError('time_origin is a date and time, as in "2024-01-01T00:00:00Z"') from None
        return origin

    @model_validator(mode="after")
    def _long_form_is_whole(self) -> Layout:
        if (self.name_column is None) != (self.value_column is None):
            raise ValueError("name_column and value_column stand together: one row a value needs both")
        if self.delimiter is not None and self.delimiter == self.decimal_char and self.quote_char == "":
            raise ValueError("delimiter and decimal_char are the same, and no quote_char keeps them apart")
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
    "header_row_count": "2 where a row of units follows; 0 where there is no header",
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
        return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in plain) + '"'
    if isinstance(value, tuple):
        return "[" + ", ".join(_toml(part) for part in value) + "]"
    if isinstance(value, datetime):
        return _toml(value.isoformat())
    return str(value)


def load_layout(path: Path) -> Layout:
    """Read and check a layout. Raises InputError with one problem per fault: file, line, key, what mends it."""
    raw, text = read_toml(path, "layout")
    try:
        return Layout.model_validate(raw)
    except ValidationError as error:
        raise InputError(*faults(str(path), text, error, "layout", _known_keys)) from None


def _known_keys(keys: list[str]) -> list[str]:
    return list(ColumnLayout.model_fields if keys and keys[0] == "columns" else Layout.model_fields)
