"""Logs with one row a value: a column names the signal, another holds the value."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import polars as pl

from startworthy.problems import Problem
from startworthy.read.columns import Wanted, plan_columns
from startworthy.read.convert import Converted, convert
from startworthy.read.dialect import Dialect
from startworthy.read.headers import hear, words_of
from startworthy.read.layout import Layout
from startworthy.read.numbers import to_numbers
from startworthy.read.parse import AS_NUMBER, REFUSED, how_to_read
from startworthy.read.reasons import RefusedReason

if TYPE_CHECKING:
    from startworthy.read.log import Plan

NAME_WORDS = ("signal", "parameter", "channel", "tag", "tag name", "variable", "measurement", "metric", "sensor", "point", "point name", "name", "quantity", "register", "item")  # fmt: skip
VALUE_WORDS = ("value", "val", "reading", "measured value", "data", "measurement value")
UNIT_WORDS = ("unit", "units", "uom", "unit of measure", "unit of measurement")


@dataclass(frozen=True, slots=True)
class LongForm:
    """Positions of the columns that name the signal, hold the value and state the unit."""

    name: int
    value: int
    unit: int | None

    def positions(self) -> tuple[int, ...]:
        """All that are there."""
        return (self.name, self.value) + ((self.unit,) if self.unit is not None else ())


@dataclass(slots=True)
class Spread:
    """Values spread to one row per set, instant and repetition, with what could not be spread."""

    frame: pl.DataFrame
    done: Converted
    values: int
    refused: list[pl.DataFrame] = field(default_factory=list)


def find_long_form(dialect: Dialect, given: Layout, label: str, problems: list[Problem]) -> LongForm | None:
    """The columns of the long form: as the layout says, else where the names in a column are those of signals."""
    headers = dialect.headers
    if given.name_column is not None and given.value_column is not None:
        missing = [h for h in (given.name_column, given.value_column, given.unit_column) if h is not None and h not in headers]
        for header in missing:
            problems.append(Problem("no_such_column", label, column=header, values={"near": ", ".join(headers[:8])}))
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


def spread_values(frame: pl.DataFrame, plan: Plan, given: Layout, header_line: int | None) -> Spread:
    """One column per signal. Values of one set and instant share a row; a signal twice at one instant takes a second."""
    names = frame["name"].cast(pl.String).fill_null("")
    units = frame["unit"].cast(pl.String).fill_null("") if "unit" in frame.columns else names.clear().extend_constant("", len(names))
    frame = frame.with_columns(names.alias("name"), units.alias("unit"))
    pairs = frame.select("name", "unit").unique(maintain_order=True).rows()
    label = plan.source.label
    spread = Spread(frame, Converted(), frame.height)
    parts: list[pl.DataFrame] = []
    reads, seen = [], set()
    for name, unit in pairs:
        own = frame.filter((pl.col("name") == name) & (pl.col("unit") == unit))
        planned = plan_columns([name], [unit], given, (), label, header_line)  # type: ignore[arg-type]
        done = _one(own, planned.wanted[0], plan, label, header_line, spread) if planned.wanted else Converted()
        spread.done.problems += [*planned.problems, *done.problems]
        spread.done.refused += done.refused
        reads += [*done.reads, *planned.left]
        if not done.columns:
            spread.refused.append(_not_used(own, plan))
            continue
        column = done.columns[0]
        seen.add(column.name)
        # A word signal and a number signal cannot share a column, so each name is its own narrow frame
        parts.append(own.select("set_id", "at", "line").with_columns(column, nth=pl.int_range(pl.len()).over("set_id", "at")))
    spread.done.reads = reads
    if parts:
        keys = ["set_id", "at", "nth"]
        by_signal: dict[str, list[pl.DataFrame]] = {}
        for part in parts:
            by_signal.setdefault(part.columns[3], []).append(part)
        whole: pl.DataFrame | None = None
        for signal, own in by_signal.items():
            one = pl.concat(own).select(*keys, signal, "line")
            if whole is None:
                whole = one
                continue
            whole = whole.join(one, on=keys, how="full", coalesce=True).with_columns(
                line=pl.min_horizontal("line", "line_right")
            ).drop("line_right")  # fmt: skip
        assert whole is not None
        spread.frame = whole.drop("nth").sort("line", maintain_order=True)
        spread.done.columns = [spread.frame[signal] for signal in by_signal]
    else:
        spread.frame = frame.clear().select("set_id", "at", "line")
    return spread


def _one(own: pl.DataFrame, wanted: Wanted, plan: Plan, label: str, line: int | None, spread: Spread) -> Converted:
    """The values of one name and unit, as numbers or words, in inner units."""
    text = own["value"]
    if how_to_read(wanted.signal.quantity) == AS_NUMBER:
        values, bad, _ = to_numbers(text, plan.dialect.decimal_char, plan.dialect.group_char, plan.nulls)
        if bad is not None:
            spread.refused.append(
                pl.DataFrame({"line": own["line"].gather(bad), "value": text.gather(bad).str.head(200)})
                .select("line", column=pl.lit(wanted.header), value="value", reason=pl.lit(RefusedReason.NOT_A_NUMBER.value), cost=pl.lit("cell"))
                .cast(REFUSED)  # type: ignore[arg-type]
            )  # fmt: skip
    else:
        values = text.str.strip_chars().cast(pl.Categorical)
    return convert(own.select("line", values.alias(wanted.signal.name)), [wanted], label, line, plan.nulls)


def _not_used(own: pl.DataFrame, plan: Plan) -> pl.DataFrame:
    """Rows whose signal is not known: in this form a row is one value, so the row is what is refused."""
    assert plan.long is not None
    return own.select(
        "line", column=pl.lit(plan.dialect.headers[plan.long.name]), value=pl.col("name").str.head(200),
        reason=pl.lit(RefusedReason.UNKNOWN_SIGNAL.value), cost=pl.lit("row"),
    ).cast(REFUSED)  # type: ignore[arg-type]  # fmt: skip
