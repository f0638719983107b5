"""The pandera model of readings: what must hold for every row that the logbook is built from."""

from __future__ import annotations

from collections.abc import Iterable

import pandera.polars as pa
import polars as pl
from pandera.config import ValidationDepth, config_context

from startworthy.signals import BY_NAME, Quantity

UTC_TIME = pl.Datetime("us", "UTC")


def readings_model(columns: Iterable[str]) -> pa.DataFrameSchema:
    """The model of a readings frame with these columns: `set_id`, `at`, `file`, `line` and any signals of signals.py.

    Numbers lie in their physical range and are never NaN; null means not logged. Raises KeyError for a column that is
    no signal.
    """
    fields = {
        "set_id": pa.Column(pl.Categorical, nullable=False),
        "at": pa.Column(UTC_TIME, nullable=False),
        "file": pa.Column(pl.UInt16, nullable=False),
        "line": pa.Column(pl.UInt32, nullable=False),
    }
    for name in columns:
        if name in fields:
            continue
        signal = BY_NAME[name]
        if signal.quantity is Quantity.TEXT:
            fields[name] = pa.Column(pl.Categorical, nullable=True)
        else:
            fields[name] = pa.Column(pl.Float64, pa.Check.in_range(signal.low, signal.high), nullable=True)
    return pa.DataFrameSchema(fields, strict=True, name="readings")


def checked_readings(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame, held against its model (on collected data: a lazy frame's values would not be looked at).

    Raises pandera's SchemaErrors: after `validate` that is a fault of the program, not of a log.
    """
    with config_context(validation_enabled=True, validation_depth=ValidationDepth.SCHEMA_AND_DATA):
        checked: pl.DataFrame = readings_model(frame.columns).validate(frame, lazy=True)
    return checked
