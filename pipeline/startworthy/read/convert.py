"""From raw columns to signals: units, sentinels, words. Whole columns at a time; details only for what is taken out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import polars as pl

from startworthy.problems import Problem
from startworthy.read.columns import Wanted, ask_unit, with_unit
from startworthy.read.layout import NULL_WORDS
from startworthy.read.parse import REFUSED
from startworthy.read.reasons import RefusedReason
from startworthy.read.units import infer_unit, spread_of
from startworthy.results import ColumnRead
from startworthy.signals import (
    FALSE_WORDS,
    MODE_WORDS,
    NO_ALARM_WORDS,
    SENTINELS,
    TRUE_WORDS,
    Quantity,
    Signal,
    Unit,
)


@dataclass(slots=True)
class Converted:
    """Columns by signal, in inner units; how each was understood; what was asked and what was taken out."""

    columns: list[pl.Series] = field(default_factory=list)
    reads: list[ColumnRead] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    refused: list[pl.DataFrame] = field(default_factory=list)


def convert(frame: pl.DataFrame, wanted: Sequence[Wanted], label: str, header_line: int | None, nulls: Sequence[str]) -> Converted:
    """Convert the columns of `wanted` (named by signal in `frame`, beside `line`)."""
    done = Converted()
    for column in wanted:
        values = frame[column.signal.name]
        if column.signal.quantity in (Quantity.TEXT, Quantity.FLAG):
            _words(done, column, values, frame["line"], nulls)
        else:
            _numbers(done, column, values, frame["line"], label, header_line)
    return done


def _numbers(
    done: Converted, column: Wanted, values: pl.Series, line: pl.Series, label: str, header_line: int | None
) -> None:
    if column.unit is None:
        found = infer_unit(column.signal, spread_of(values))
        if found.unit is None:
            if values.null_count() == len(values):
                done.reads.append(ColumnRead(column.header, None, why="no value in any row"))
                return
            why = f"unit not stated; {found.why}: {found.choices}?"
            done.reads.append(ColumnRead(column.header, None, why=why))
            done.problems.append(ask_unit(label, header_line, column, found.why, found.choices))
            return
        column = with_unit(column, found.unit, found.spelling, found.why)
    assert column.unit is not None
    inner = _inner(values, column.unit)
    mark = _sentinels(values, inner, column.signal)
    if mark is not None:
        if int(mark.sum()) == len(values) - values.null_count():
            seen = ", ".join(f"{v:g}" for v in values.filter(mark).unique().head(3))
            done.reads.append(ColumnRead(column.header, None, column.spelling, why=f"only {seen} in every row: no sensor"))
            return
        done.refused.append(_refused(line.filter(mark), column.header, values.filter(mark).cast(pl.String), RefusedReason.SENTINEL))
        inner = inner.zip_with(mark.not_(), pl.Series([None], dtype=pl.Float64).new_from_index(0, len(inner)))
    done.columns.append(inner.alias(column.signal.name))
    done.reads.append(ColumnRead(column.header, column.signal.name, column.spelling, column.stated, column.why))


def _inner(values: pl.Series, unit: Unit) -> pl.Series:
    if unit.offset:
        values = values + unit.offset
    return values * unit.factor if unit.factor != 1.0 else values


def _sentinels(values: pl.Series, inner: pl.Series, signal: Signal) -> pl.Series | None:
    """Mask of numbers that stand for "no value": known ones, outside the signal's range before or after conversion."""
    out = [part for part in (values, inner) if _leaves(part, signal)]
    if not out:
        return None
    outside = pl.select(pl.any_horizontal(*((o < signal.low) | (o > signal.high) for o in out))).to_series()
    mark = (outside & values.is_in(SENTINELS)).fill_null(False)
    return mark if mark.any() else None


def _leaves(values: pl.Series, signal: Signal) -> bool:
    low, high = values.min(), values.max()
    if low is None or signal.low is None or signal.high is None:
        return False
    return bool(low < signal.low or high > signal.high)  # type: ignore[operator]


def _refused(line: pl.Series, header: str, value: pl.Series, reason: RefusedReason) -> pl.DataFrame:
    table = pl.DataFrame({"line": line, "value": value.cast(pl.String)})
    return table.select(
        "line", column=pl.lit(header), value=pl.col("value").str.head(200), reason=pl.lit(reason.value), cost=pl.lit("cell")
    ).cast(REFUSED)  # type: ignore[arg-type]


def _words(done: Converted, column: Wanted, values: pl.Series, line: pl.Series, nulls: Sequence[str]) -> None:
    """Map each word once. A word that is not known is taken out and counted; it is never guessed."""
    seen = [word for word in values.unique().cast(pl.String).to_list() if word is not None]
    empty = {*nulls, *NULL_WORDS}
    meaning: dict[str, str | float | None] = {}
    unknown: list[str] = []
    for word in seen:
        plain = " ".join(word.casefold().split())
        if column.signal.name == "alarm":
            meaning[word] = None if plain in NO_ALARM_WORDS or plain in empty else word
        elif plain in empty:
            meaning[word] = None
        elif column.signal.name == "mode":
            meaning[word] = MODE_WORDS[plain].value if plain in MODE_WORDS else None
            unknown += [word] if plain not in MODE_WORDS else []
        elif column.signal.quantity is Quantity.FLAG:
            flag = _flag(plain)
            meaning[word] = flag
            unknown += [word] if flag is None else []
        else:
            meaning[word] = plain
    if unknown:
        mark = values.is_in(pl.Series(unknown, dtype=pl.Categorical).implode()).fill_null(False)
        done.refused.append(_refused(line.filter(mark), column.header, values.filter(mark), RefusedReason.UNKNOWN_WORD))
    kind = pl.Float64 if column.signal.quantity is Quantity.FLAG else pl.Categorical
    mapped = values.replace_strict(
        pl.Series(list(meaning), dtype=pl.Categorical), pl.Series(list(meaning.values()), dtype=kind), default=None, return_dtype=kind
    ) if meaning else pl.Series([None], dtype=kind).new_from_index(0, len(values))  # fmt: skip
    done.columns.append(mapped.alias(column.signal.name))
    done.reads.append(ColumnRead(column.header, column.signal.name, "", True, column.why))


def _flag(word: str) -> float | None:
    if word in TRUE_WORDS:
        return 1.0
    return 0.0 if word in FALSE_WORDS else None
