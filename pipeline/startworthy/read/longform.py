"""Logs with one row a value: a column names the signal, another holds the value."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from startworthy.problems import Problem
from startworthy.read.columns import Place, Wanted, plan_columns
from startworthy.read.convert import Converted, convert
from startworthy.read.dialect import Dialect
from startworthy.read.headers import hear, words_of
from startworthy.read.layout import Layout
from startworthy.read.names import column_words
from startworthy.read.numbers import to_inner, to_numbers
from startworthy.read.parse import AS_NUMBER, how_to_read
from startworthy.read.reasons import RefusedReason, refused_cells
from startworthy.read.wording import to_meaning

if TYPE_CHECKING:
    from startworthy.read.plan import Plan

NAME_WORDS = (
    "signal", "parameter", "channel", "tag", "tag name", "variable", "measurement", "metric", "sensor", "point",
    "point name", "name", "quantity", "register", "item", *column_words(lambda language: language.names),
)  # fmt: skip
VALUE_WORDS = (
    "value", "val", "reading", "measured value", "measurement value", *column_words(lambda language: language.values),
    "data",
)  # fmt: skip
"""`data` last: it is a date in Portuguese."""
UNIT_WORDS = (
    "unit", "units", "uom", "unit of measure", "unit of measurement",
    *column_words(lambda language: language.unit_words),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class LongForm:
    """Positions of the columns that name the signal, hold the value and state the unit."""

    name: int
    value: int
    unit: int | None

    def positions(self) -> tuple[int, ...]:
        """All that are there."""
        return (self.name, self.value) + ((self.unit,) if self.unit is not None else ())


def find_long_form(dialect: Dialect, given: Layout, label: str, problems: list[Problem]) -> LongForm | None:
    """The columns of the long form: as the layout says, else where the names in a column are those of signals."""
    headers = dialect.headers
    if given.name_column is not None and given.value_column is not None:
        missing = [
            h for h in (given.name_column, given.value_column, given.unit_column) if h is not None and h not in headers
        ]
        near = {"near": ", ".join(headers[:8])}
        problems += [Problem("no_such_column", label, column=header, values=near) for header in missing]
        if missing:
            return None
        unit = headers.index(given.unit_column) if given.unit_column is not None else None
        return LongForm(headers.index(given.name_column), headers.index(given.value_column), unit)
    found = {words_of(header): n for n, header in reversed(list(enumerate(headers)))}
    value = next((found[w] for w in VALUE_WORDS if w in found), None)
    if value is None:
        return None
    unit = next((found[w] for w in UNIT_WORDS if w in found), None)
    for words in NAME_WORDS:
        name = found.get(words)
        if name is None:
            continue
        cells = {row[name] for row in dialect.body if name < len(row)}
        known = sum(hear(cell).signal is not None for cell in cells) + sum(cell in given.columns for cell in cells)
        if known:
            return LongForm(name, value, unit)
    return None


def spread_values(
    frame: pl.DataFrame, plan: Plan, given: Layout, place: Place
) -> tuple[pl.DataFrame, Converted, list[str]]:
    """One column per signal: the frame, how each name was understood, and what is to be said.

    Values of one set and instant share a row; a signal that stands twice at one instant takes a second row. Values of
    names that are not known are left alone, as unknown columns are elsewhere, and counted.
    """
    words = frame["name"].cast(pl.String).fill_null("")
    frame = frame.with_columns(
        words, pl.col("unit").cast(pl.String).fill_null("") if "unit" in frame.columns else pl.lit("").alias("unit")
    )
    done = Converted()
    by_signal: dict[str, list[pl.DataFrame]] = {}
    unused = 0
    for name, unit in frame.select("name", "unit").unique(maintain_order=True).rows():
        own = frame.filter((pl.col("name") == name) & (pl.col("unit") == unit))
        planned = plan_columns([name], [unit], given, (), place)
        one = _one(own, planned.wanted[0], plan, place) if planned.wanted else Converted()
        done.problems += [*planned.problems, *one.problems]
        done.refused += one.refused
        done.reads += [*one.reads, *planned.left]
        unused += 0 if one.columns else own.height
        for column in one.columns:
            narrow = own.select("set_id", "at", "line").with_columns(column)
            by_signal.setdefault(column.name, []).append(narrow)
    notes = [f"one row a value: {frame.height} values"] + ([f"{unused} values of names not known"] if unused else [])
    if not by_signal:
        return frame.select("set_id", "at", "line"), done, notes
    wide = _side_by_side(by_signal)
    done.columns = [wide[signal] for signal in by_signal]
    return wide, done, notes


def _side_by_side(by_signal: Mapping[str, Sequence[pl.DataFrame]]) -> pl.DataFrame:
    keys = ["set_id", "at", "nth"]
    whole: pl.DataFrame | None = None
    for signal, parts in by_signal.items():
        one = pl.concat(parts).sort("line").with_columns(nth=pl.int_range(pl.len()).over("set_id", "at"))
        one = one.select(*keys, signal, "line")
        if whole is None:
            whole = one
            continue
        both = whole.join(one, on=keys, how="full", coalesce=True)
        whole = both.with_columns(line=pl.min_horizontal("line", "line_right")).drop("line_right")
    assert whole is not None
    return whole.drop("nth").sort("line", maintain_order=True)


def _one(own: pl.DataFrame, wanted: Wanted, plan: Plan, place: Place) -> Converted:
    """The values of one name and unit, as numbers or words, in inner units."""
    text, signal = own["value"], wanted.signal
    ranges: dict[str, tuple[float, float]] = {}
    if how_to_read(signal.quantity) == AS_NUMBER:
        reason = RefusedReason.NOT_A_NUMBER
        values, bad, _ = to_numbers(text, plan.dialect.decimal_char, plan.dialect.group_char, plan.nulls)
        if values.null_count() < len(values):
            ranges[signal.name] = (values.min(), values.max())  # type: ignore[assignment]
        values = to_inner(values, wanted.unit) if wanted.unit is not None else values
    else:
        reason = RefusedReason.UNKNOWN_WORD
        values, bad = to_meaning(text, signal, plan.nulls)
    done = convert(own.select("line", values.alias(signal.name)), [wanted], ranges, place)
    if bad is not None:
        done.refused.append(refused_cells(own["line"].gather(bad), wanted.header, text.gather(bad), reason))
    return done
