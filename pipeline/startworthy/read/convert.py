"""What is left to settle once all rows are read: units that were not stated, and numbers that mean no value."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import polars as pl

from startworthy.problems import Problem
from startworthy.read.columns import Place, Wanted
from startworthy.read.contradictions import doubt_of, figures_of
from startworthy.read.looks import stride_of
from startworthy.read.numbers import to_inner
from startworthy.read.reasons import RefusedReason, refused_cells
from startworthy.read.unitchange import Changed, changed, may_change
from startworthy.read.units import infer_unit, spread_of
from startworthy.results import ColumnRead
from startworthy.signals import SENTINELS, Quantity, Signal, Unit


@dataclass(slots=True)
class Converted:
    """Columns by signal, in inner units; how each was understood; what was asked and what was taken out."""

    columns: list[pl.Series] = field(default_factory=list)
    reads: list[ColumnRead] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    refused: list[pl.DataFrame] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def convert(
    frame: pl.DataFrame, wanted: Sequence[Wanted], ranges: Mapping[str, tuple[float, float]], place: Place
) -> Converted:
    """Settle the columns of `wanted`.

    frame: a column per signal, named so, in inner units where the unit is stated, else as written; and `line`.
    ranges: lowest and highest number of each column as written; none for a column without numbers.
    """
    done = Converted()
    rows = _Rows(frame)
    for column in wanted:
        if column.signal.quantity in (Quantity.TEXT, Quantity.FLAG):
            done.columns.append(frame[column.signal.name])
            done.reads.append(ColumnRead(column.header, column.signal.name, "", True, column.why))
        else:
            _numbers(done, column, rows, ranges.get(column.signal.name), place)
    return done


class _Rows:
    """All rows of a file, and a sample of them for closer looks, taken at the first column that needs it."""

    def __init__(self, frame: pl.DataFrame) -> None:
        self.frame = frame
        self.stride = stride_of(frame.height)
        self._columns: dict[str, pl.Series] = {}

    @cached_property
    def some(self) -> pl.DataFrame:
        """An even sample of times and numbers; with `set_id` where the file holds many sets."""
        every = [n for n, kind in self.frame.schema.items() if kind == pl.Float64 or n in ("at", "line", "set_id")]
        some = self.frame.select(every).gather_every(self.stride)
        return some.drop("set_id") if "set_id" in some.columns and some["set_id"].n_unique() == 1 else some

    def column(self, name: str) -> pl.Series:
        """A column as it was read: the same series each time, so that one that was worked on is known."""
        return self._columns.setdefault(name, self.frame[name])

    def with_values(self, values: pl.Series, name: str) -> tuple[pl.DataFrame, pl.DataFrame]:
        """All rows and the sample, with one column as it is by now."""
        if values is self.column(name):
            return self.frame, self.some
        own = values.alias(name)
        return self.frame.with_columns(own), self.some.with_columns(own.gather_every(self.stride))


def _numbers(done: Converted, column: Wanted, rows: _Rows, span: tuple[float, float] | None, place: Place) -> None:
    signal, frame = column.signal, rows.frame
    values = rows.column(signal.name)
    if span is None:
        done.reads.append(ColumnRead(column.header, None, column.spelling, why="no value in any row"))
        return
    if column.unit is None:
        found = infer_unit(signal, spread_of(values))
        if found.unit is None:
            why = f"unit not stated; {found.why}: {found.choices}?"
            done.reads.append(ColumnRead(column.header, None, why=why))
            asked = place.ask("unit_not_stated", column.header, signal, seen=found.why, choices=found.choices)
            done.problems.append(asked)
            return
        column = replace(column, unit=found.unit, spelling=found.spelling, stated=False, why=found.why)
        values = to_inner(values, found.unit)
    assert column.unit is not None
    mark = _sentinels(values, span, column.unit, signal)
    if mark is not None:
        written = _as_written(values.filter(mark), column.unit)
        if len(written) == len(values) - values.null_count():
            seen = ", ".join(f"{v:g}" for v in written.unique().head(3))
            why = f"only {seen} in every row: no sensor"
            done.reads.append(ColumnRead(column.header, None, column.spelling, why=why))
            return
        text = written.cast(pl.String).str.strip_suffix(".0")
        done.refused.append(refused_cells(frame["line"].filter(mark), column.header, text, RefusedReason.SENTINEL))
        values = values.zip_with(mark.not_(), pl.Series([None], dtype=pl.Float64).new_from_index(0, len(values)))
    if frame.height and may_change(column, span):
        found_change = changed(column, *rows.with_values(values, signal.name))
        values = values if found_change is None else _one_unit(done, column, found_change, rows, place)
    doubt = doubt_of(column, span, lambda: rows.with_values(values, signal.name))
    if doubt is not None and doubt.ask:
        why = f"stated as {column.spelling}, but {doubt.seen}: {doubt.choices}?"
        done.reads.append(ColumnRead(column.header, None, column.spelling, why=why))
        done.problems.append(place.ask("unit_contradicted", column.header, signal, **figures_of(doubt, column)))
        return
    if doubt is not None:
        said = f"read as {column.spelling}, as stated, though {doubt.seen} could be {doubt.choices}"
        done.notes.append(f"{column.header}: {said}")
        column = replace(column, why=said)
    done.columns.append(values.alias(signal.name))
    done.reads.append(ColumnRead(column.header, signal.name, column.spelling, column.stated, column.why))


def _one_unit(done: Converted, column: Wanted, found: Changed, rows: _Rows, place: Place) -> pl.Series:
    """The values without those that are in another unit than the column's: told with the line where it changes."""
    values, unit = found.values, column.unit
    assert unit is not None
    out = found.rows.filter(values.gather(found.rows).is_not_null())
    text = _as_written(values.gather(out), unit).cast(pl.String).str.strip_suffix(".0")
    lines = rows.frame["line"].gather(out)
    done.refused.append(refused_cells(lines, column.header, text, RefusedReason.UNIT_CHANGED))
    figures: dict[str, str | int | float] = {
        "before": found.before, "after": found.after, "unit": column.spelling or column.signal.unit,
        "other": found.unit, "cells": len(out), "first": lines[0], "last": lines[-1],
    }  # fmt: skip
    done.problems.append(Problem("unit_changed", place.label, found.line, column.header, figures, fatal=False))
    nothing = pl.Series([None], dtype=pl.Float64).new_from_index(0, len(out))
    return values.scatter(out, nothing)


def _as_written(inner: pl.Series, unit: Unit) -> pl.Series:
    """Back to the number that stood in the file; converting and back may move its last digits."""
    return (inner / unit.factor - unit.offset).round(6)


def _sentinels(inner: pl.Series, span: tuple[float, float], unit: Unit, signal: Signal) -> pl.Series | None:
    """Mask of numbers that mean "no value": known ones, outside the signal's range before or after conversion."""
    low, high = signal.low, signal.high
    if low is None or high is None:
        return None

    def misfit(number: float) -> bool:
        return not (low <= number <= high and low <= (number + unit.offset) * unit.factor <= high)

    if not any(span[0] <= number <= span[1] and misfit(number) for number in SENTINELS):
        return None
    written = _as_written(inner, unit)
    outside = (inner < low) | (inner > high) | (written < low) | (written > high)
    mark = (outside & written.is_in(SENTINELS)).fill_null(False)
    return mark if mark.any() else None
