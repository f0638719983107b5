"""A unit that changes in the middle of a log: a logger was set up anew and its header stayed as it was.

Looked for on an even sample of rows, in blocks: the medians before and after have to be one conversion apart, while
running and at rest alike, and to stay so. No engine, refuel, season or new sensor does that. Bounds are common
practice, no source. Told with the line; the values of the other unit are taken out, never converted in silence.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from typing import TYPE_CHECKING, Any

import numpy as np
import polars as pl

from startworthy.read.columns import Wanted
from startworthy.read.looks import running, stride_of, thinned
from startworthy.signals import UNITS, Quantity, Unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Flags = NDArray[np.bool_]

BLOCKS, LEAST_IN_BLOCK, LEAST_ROWS = 40, 8, 60
NEAR_BLOCKS, MOST_BLOCKS, JUMP_C = 6, 0.85, 4.0
ENOUGH_RUNNING, MOST_STRIDE = 400, 40
_OTHERS: dict[Quantity, tuple[str, ...]] = {
    Quantity.TEMPERATURE: ("cel", "degf", "k"), Quantity.PRESSURE: ("kpa", "bar", "psi"),
    Quantity.FRACTION: ("%", "1"),
    Quantity.VOLTAGE: ("v", "mv"), Quantity.FREQUENCY: ("hz", "mhz"), Quantity.POWER: ("kw", "w"),
    Quantity.CURRENT: ("a", "ma"),
}  # fmt: skip
_SPELLED = {
    "cel": "Cel", "degf": "degF", "k": "K", "kpa": "kPa", "1": "fraction", "v": "V", "mv": "mV", "hz": "Hz",
    "mhz": "mHz", "kw": "kW", "w": "W", "a": "A", "ma": "mA",
}  # fmt: skip
# Zero at rest says nothing of a unit: these are judged while the set runs
_ALIKE = ("ambient_c", "fuel_fraction")
_RUNNING_ONLY = (Quantity.PRESSURE, Quantity.FREQUENCY, Quantity.POWER, Quantity.CURRENT)
# The signals that come back to one level in every run; others drift with season and use
_LEVEL = ("oil_kpa", "coolant_c", "oil_c", "frequency_hz", "battery_v", "voltage_v", "voltage_l1_v")


@dataclass(frozen=True, slots=True)
class Change:
    """The stretches in another unit: begin and end as row numbers, end not among them. before, after: as written."""

    unit: str
    stretches: tuple[tuple[int, int], ...]
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class _Map:
    """How a value looks, in the inner unit, that is written in another unit than stated: factor * true + offset."""

    name: str
    factor: float
    offset: float

    def seen(self, true: Floats | float) -> Any:
        return true * self.factor + self.offset

    def true(self, seen: Floats | float) -> Any:
        return (seen - self.offset) / self.factor

    @property
    def heat(self) -> bool:
        """Whether two values are compared by difference; by ratio otherwise."""
        return self.offset != 0.0

    def apart(self, one: Any, other: Any) -> Any:
        """How far two true values lie apart: kelvin, or the logarithm of their ratio."""
        if self.heat:
            return np.abs(one - other)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.abs(np.log(one / other))


@dataclass(frozen=True, slots=True)
class _Rows:
    """Values that tell, in file order: `row` is the place in the file, `on` whether the set runs there."""

    row: NDArray[np.int64]
    value: Floats
    on: Flags

    def part(self, begin: int, end: int) -> _Rows:
        return _Rows(self.row[begin:end], self.value[begin:end], self.on[begin:end])


def maps_of(unit: Unit) -> Iterator[_Map]:
    """The ways in which a column of this stated unit may go on in another."""
    for name in _OTHERS.get(unit.quantity, ()):
        other = UNITS[name]
        if (other.factor, other.offset) != (unit.factor, unit.offset):
            factor = unit.factor / other.factor
            yield _Map(name, factor, (unit.offset - other.offset) * unit.factor)


def may_change(column: Wanted, span: tuple[float, float]) -> bool:
    """Whether the lowest and highest number as written leave room for two units: most columns end here."""
    unit, (low, high) = column.unit, span
    if unit is None or unit.quantity not in _OTHERS or low == high:
        return False
    top = (high + unit.offset) * unit.factor
    if unit.quantity is Quantity.TEMPERATURE:
        # From Cel to another every warm engine and every summer reads too high; from degF or K to Cel too low
        return unit.factor != 1.0 or unit.offset != 0.0 or high > (120.0 if column.signal.name != "ambient_c" else 50.0)
    if unit.quantity is Quantity.FRACTION:
        return high > 1.5 and low <= 1.5 and (low > 0 or column.signal.name == "fuel_fraction")
    if unit.quantity is Quantity.PRESSURE:
        return high > 12.0
    if unit.quantity is Quantity.POWER:
        return top > 200.0 or (unit.factor != 1.0 and high > 100.0)
    return top > {Quantity.VOLTAGE: 1000.0, Quantity.FREQUENCY: 150.0}.get(unit.quantity, 1500.0)


def change_of(column: Wanted, frame: pl.DataFrame, sample: pl.DataFrame) -> Change | None:
    """The stretches of a column that are in another unit than the rest, or None. For a file of one set.

    frame: all columns in inner units, in file order. sample: every n-th row of it (looks.thinned).
    """
    unit = column.unit
    assert unit is not None
    stride = stride_of(frame.height) if sample.height < frame.height else 1
    told = _telling(column, sample, 0, stride)
    if told is not None and told.on.any() and told.on.sum() < ENOUGH_RUNNING and 1 < stride <= MOST_STRIDE:
        # A set that runs an hour a month leaves too little in the sample
        told, stride = _telling(column, frame, 0, 1), 1
    if told is None or len(told.value) < LEAST_ROWS:
        return None
    blocks, levels = _blocks(told)
    if len(blocks) < 3:
        return None
    for way, first in product(maps_of(unit), (False, True)):
        labels = _labels(levels, way, first=first)
        if not labels.any() or labels.all():
            continue
        if not _holds(blocks, labels, way, levels if column.signal.name in _LEVEL else None):
            continue
        found = _placed(column, frame, blocks, labels, way=way, stride=stride)
        if found is not None:
            return found
    return None


def _blocks(told: _Rows) -> tuple[list[_Rows], Floats]:
    """Stretches of the file with about as many running rows each (rows at all, where none runs), and their medians."""
    leads = np.flatnonzero(told.on)
    if len(leads) < LEAST_ROWS:
        leads = np.arange(len(told.value))
    size = max(LEAST_IN_BLOCK, -(-len(leads) // BLOCKS))
    edges = [0, *leads[size : len(leads) - size + 1 : size].tolist(), len(told.value)]
    blocks = [told.part(a, b) for a, b in pairwise(edges)]
    return blocks, np.array(
        [_level(block) if len(leads) < len(told.value) else _median(block.value) for block in blocks]
    )


def _telling(column: Wanted, frame: pl.DataFrame, begin: int, stride: int) -> _Rows | None:
    """The rows whose values can tell a unit."""
    name = column.signal.name
    on = running(frame, name)
    if on is None and column.signal.quantity in _RUNNING_ONLY:
        return None
    value = frame[name].to_numpy().astype(np.float64)
    runs = np.zeros(len(value), dtype=np.bool_) if on is None or name in _ALIKE else on.to_numpy().astype(np.bool_)
    keep = np.isfinite(value)
    if column.signal.quantity is not Quantity.TEMPERATURE:
        keep &= value > 0
    if column.signal.quantity in _RUNNING_ONLY:
        keep &= runs
    row = np.flatnonzero(keep)
    return _Rows(row * stride + begin, value[row], runs[row])


def _median(values: Floats) -> float:
    return float(np.median(values)) if len(values) else np.nan


def _limit(way: _Map) -> float:
    """How far two block medians may lie apart and still be of one unit: a share of what the conversion makes."""
    return 14.0 if way.heat else 0.35 * abs(np.log(way.factor))


def _labels(levels: Floats, way: _Map, *, first: bool) -> Flags:
    """Which blocks are in the other unit: turns are where the blocks before and after are one conversion apart.

    first: whether the first block is taken to be in the other unit.
    """
    labels = np.full(len(levels), first)
    if way.apart(np.nanmin(levels), np.nanmax(levels)) < 1.2 * _limit(way):
        return labels
    begin, at, last = 0, 2, len(levels) - 1
    while at < last:
        state = bool(labels[begin])
        if _turn_cost(levels, begin, at, state, way) is None:
            at += 1
            continue
        # Medians of some blocks pass a little before the turn already: the best of the next places is the turn
        costs = {n: _turn_cost(levels, begin, n, state, way) for n in range(at, min(at + NEAR_BLOCKS, last))}
        turn = min((n for n in costs if costs[n] is not None), key=lambda n: costs[n] or 0.0)
        labels[turn:] = not state
        begin, at = turn, turn + 2
    return labels


def _middle(values: Floats) -> float:
    """A median of few values: numpy's own takes longer than all the rest."""
    return float(sorted(values.tolist())[len(values) // 2])


def _turn_cost(levels: Floats, begin: int, at: int, state: bool, way: _Map) -> float | None:
    """How badly a turn between two blocks fits; None where it is none."""
    before, after = levels[max(begin, at - NEAR_BLOCKS) : at], levels[at : at + NEAR_BLOCKS]
    level, now = _middle(before), _middle(after)
    stays, turns = (
        way.apart(now, level),
        way.apart(now, way.seen(level)) if not state else way.apart(way.seen(now), level),
    )
    scale = abs(way.factor) if way.heat else 1.0
    if turns > _limit(way) * scale or stays < 1.2 * _limit(way) * min(scale, 1.0):
        return None
    one, other = (before, way.true(after)) if not state else (way.true(before), after)
    level = _middle(one)
    off = np.concatenate([way.apart(one, level), way.apart(other, level)])
    return float(np.minimum(np.nan_to_num(off, nan=99.0), 99.0).mean())


def _holds(blocks: list[_Rows], labels: Flags, way: _Map, steady: Floats | None) -> bool:
    """Whether the blocks split cleanly: few stretches, each of some blocks, one conversion apart on both sides.

    steady: the medians, of a signal that comes back to one level in every run.
    """
    turns = np.flatnonzero(labels[1:] != labels[:-1]) + 1
    ends = [0, *turns.tolist(), len(blocks)]
    if len(turns) > 4 or any(b - a < 2 for a, b in pairwise(ends[1:])) or ends[1] < 2:
        return False
    for left, at, right in zip(ends, ends[1:], ends[2:], strict=False):
        # The blocks at the turn itself may hold both units
        before, after = (
            blocks[max(left, at - NEAR_BLOCKS) : max(at - 1, left + 1)],
            blocks[at + 1 : min(right, at + NEAR_BLOCKS)],
        )
        before, after = (after, before) if labels[at - 1] else (before, after)
        if not before or not after or not _converted(_join(before), _join(after), way):
            return False
    if steady is not None:
        true = np.where(labels, way.true(steady), steady)
        near = way.apart(true, np.median(true)) <= (50.0 if way.heat else 2.0 * _limit(way))
        return bool(near.mean() >= MOST_BLOCKS)
    return True


def _join(blocks: list[_Rows]) -> _Rows:
    return _Rows(*(np.concatenate([getattr(b, name) for b in blocks]) for name in ("row", "value", "on")))


def _converted(before: _Rows, after: _Rows, way: _Map) -> bool:
    """One conversion apart: medians and spread of running rows and of rows at rest, wherever both sides have some."""
    pairs: dict[bool, tuple[Floats, Floats]] = {}
    for on in (True, False):
        one, other = before.value[before.on == on], after.value[after.on == on]
        if len(one) < LEAST_IN_BLOCK or len(other) < LEAST_IN_BLOCK:
            continue
        if len(np.unique(other)) < 3 and len(np.unique(one)) >= 5:
            return False
        pairs[on] = (one, way.true(other))
    off = {on: (_off(pair, 0.5, way), _off(pair, 0.9, way)) for on, pair in pairs.items()}
    if way.heat and len(off) == 2:
        # Runs differ in length and load, days in warmth: one of the two has to fit well, the other roughly
        return any(
            max(off[on][0], 0.5 * off[on][1]) <= near and max(off[not on]) <= 25.0 for on, near in _NEAR_C.items()
        )
    near = 12.0 if way.heat else _near_ratio(way)
    # Where rows of one kind alone are there, they have to move alike as well: a sender that has failed stands still
    fits = all(median <= near and high <= 2.0 * near for median, high in off.values())
    return bool(off) and fits and (len(off) == 2 or _moves_alike(*next(iter(pairs.values())), way))


_NEAR_C = {True: 10.0, False: 6.0}


def _near_ratio(way: _Map) -> float:
    """Logarithm of the ratio that medians may differ by: psi and kPa lie close together, % and fractions far apart."""
    size = abs(np.log(way.factor))
    return 0.15 if size < 2.5 else 0.25 * size


def _off(pair: tuple[Floats, Floats], quantile: float, way: _Map) -> float:
    return float(way.apart(*(np.quantile(values, quantile) for values in pair)))


def _moves_alike(one: Floats, true: Floats, way: _Map) -> bool:
    if abs(np.log(way.factor)) > 4.0:
        # A hundredth or a thousandth of all that was before: noise about nothing would spread far wider
        low, high = np.quantile(true, 0.05), np.quantile(true, 0.95)
        return bool(low > 0 and high / low <= 8.0)
    wide, again = (float(np.quantile(v, 0.95) - np.quantile(v, 0.05)) for v in (one, true))
    step = abs(way.true(1.0) - way.true(0.0)) if way.heat else 0.02 * abs(_median(one))
    return again + step >= 0.2 * wide and wide + step >= 0.2 * again


def _placed(
    column: Wanted, frame: pl.DataFrame, blocks: list[_Rows], labels: Flags, *, way: _Map, stride: int
) -> Change | None:
    """The stretches to the row: each turn is placed where what stands before and after fits best."""
    turns = (np.flatnonzero(labels[1:] != labels[:-1]) + 1).tolist()
    rows: list[int] = []
    figures: tuple[float, float] | None = None
    for n, turn in enumerate(turns):
        begin = max(turn - 2, turns[n - 1] if n else 0)
        near = _join(blocks[begin : min(turn + 2, turns[n + 1] if n + 1 < len(turns) else len(blocks))])
        goes = bool(labels[turn])
        cut = _best_cut(near, way, goes)
        low, high = near.row[max(cut - 2, 0)], near.row[min(cut + 1, len(near.row) - 1)]
        exact = _telling(column, frame[int(low) : int(high) + 1], int(low), 1) if stride > 1 else None
        if exact is not None and len(exact.value) > 1:
            at = _best_cut(exact, way, goes, near)
            # What stands between the last sure value and the first of the other unit belongs to the doubtful side
            row = int(exact.row[at - 1]) + 1 if goes and at else int(exact.row[min(at, len(exact.row) - 1)])
        else:
            row = int(near.row[cut - 1]) + 1 if goes and cut else int(near.row[min(cut, len(near.row) - 1)])
        if way.heat and not _goes_on(near if exact is None else exact, row, way, goes):
            return None
        rows.append(row)
        if figures is None:
            one, other = near.part(0, cut), near.part(cut, len(near.value))
            figures = _level(one), _level(other)
    rows = [0, *rows] if labels[0] else rows
    ends = [*rows, frame.height] if len(rows) % 2 else rows
    assert figures is not None
    return Change(_SPELLED.get(way.name, way.name), tuple(zip(ends[::2], ends[1::2], strict=True)), *figures)


def _goes_on(rows: _Rows, row: int, way: _Map, goes: bool) -> bool:
    """Whether a temperature goes on where it was, once converted: no weather and no engine jumps within a few rows."""
    at = int(np.searchsorted(rows.row, row))
    before, after = rows.value[max(at - 3, 0) : at], rows.value[at : at + 3]
    if not len(before) or not len(after):
        return False
    one, other = (_median(before), way.true(_median(after))) if goes else (way.true(_median(before)), _median(after))
    return bool(abs(one - other) <= JUMP_C)


def _level(rows: _Rows) -> float:
    return _median(rows.value[rows.on]) if rows.on.any() else _median(rows.value)


def _best_cut(rows: _Rows, way: _Map, goes: bool, near: _Rows | None = None) -> int:
    """Where to part rows so that those before fit the first unit and those after the second."""
    of = near if near is not None else rows
    third = max(len(of.value) // 3, 1)
    first, last = of.part(0, third), of.part(len(of.value) - third, len(of.value))
    stated, other = (first, last) if goes else (last, first)
    cost = np.zeros(len(rows.value))
    for on in (True, False):
        own = rows.on == on
        if not own.any():
            continue
        here = stated.value[stated.on == on]
        there = other.value[other.on == on]
        base = _median(np.concatenate([here, way.true(there)]))
        if not np.isfinite(base):
            continue
        as_is, turned = way.apart(rows.value[own], base), way.apart(way.true(rows.value[own]), base)
        cost[own] = np.nan_to_num(as_is - turned, nan=0.0, posinf=50.0, neginf=-50.0) * (1.0 if goes else -1.0)
    # Cost of being called "before" less that of being called "after": the best cut has the least sum before it
    sums = np.concatenate([[0.0], np.cumsum(cost)])
    return int(np.argmin(sums))


@dataclass(frozen=True, slots=True)
class Changed:
    """What is told of a change. rows: place of each row in the other unit. line: of the first row after the change."""

    values: pl.Series
    rows: pl.Series
    line: int
    unit: str
    before: str
    after: str


def changed(column: Wanted, frame: pl.DataFrame, sample: pl.DataFrame) -> Changed | None:
    """Where a column goes on in another unit, or None; each set of a file is judged by itself.

    Asked where may_change says so. frame: all columns in inner units with `line`, in file order; `set_id` where a file
    holds many. sample: looks.thinned.
    """
    if sample.height < LEAST_ROWS:
        return None
    if "set_id" not in sample.columns or sample["set_id"].n_unique() == 1:
        found = change_of(column, frame, sample)
        return None if found is None else _told(column, frame, frame, found)
    for name, own in sample.partition_by("set_id", as_dict=True, maintain_order=True).items():
        if own.height >= LEAST_ROWS and change_of(column, own, own) is not None:
            whole = frame.with_row_index("place").filter(pl.col("set_id") == name[0])
            found = change_of(column, whole, thinned(whole))
            if found is not None:
                return _told(column, frame, whole, found)
    return None


def _told(column: Wanted, every: pl.DataFrame, frame: pl.DataFrame, found: Change) -> Changed:
    """As words and rows."""
    rows = pl.Series(np.concatenate([np.arange(a, b) for a, b in found.stretches]), dtype=pl.UInt32)
    # Where the other unit comes first, the turn is where it ends
    begin, end = found.stretches[0]
    line = int(frame["line"][begin or end])
    unit = column.unit
    assert unit is not None
    before, after = (f"{round(v / unit.factor - unit.offset, 3):g}" for v in (found.before, found.after))
    if "place" in frame.columns:
        rows = frame["place"].gather(rows)
    return Changed(every[column.signal.name], rows, line, found.unit, before, after)
