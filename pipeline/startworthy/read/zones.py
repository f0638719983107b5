"""From the face value of a clock to UTC: offsets of a zone, hours that stand twice, hours that do not exist."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Micros = NDArray[np.int64]
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY_US = 86_400_000_000
_SURE_STEP_BACK_US = 600_000_000


@lru_cache(maxsize=64)
def changes_of(zone: str, first_day: int, last_day: int) -> tuple[tuple[int, int, int], ...]:
    """Each change of offset between two days since 1970: instant (us, UTC), offset before and after (us)."""
    info = ZoneInfo(zone)

    def offset(us: int) -> int:
        moment = (_EPOCH + timedelta(microseconds=us)).astimezone(info).utcoffset()
        assert moment is not None
        return round(moment.total_seconds()) * 1_000_000

    found = []
    before = offset(first_day * _DAY_US)
    for day in range(first_day, last_day + 1):
        after = offset((day + 1) * _DAY_US)
        if after != before:
            low, high = day * _DAY_US, (day + 1) * _DAY_US
            while high - low > 1_000_000:
                middle = (low + high) // 2_000_000 * 1_000_000
                low, high = (middle, high) if offset(middle) == before else (low, middle)
            found.append((high, before, after))
        before = after
    return tuple(found)


def to_utc(local: Micros, zone: str) -> tuple[Micros, NDArray[np.bool_]]:
    """UTC of face values in file order, and a mask of those that the zone never had (clocks put forward).

    local: n microseconds since 1970 as the clock showed them. Where an hour stands twice, rows before the step
    back in the file take the first pass, rows after it the second; without a step back all take the first.
    """
    missing = np.zeros(len(local), np.bool_)
    if not len(local) or zone in ("UTC", "Etc/UTC", "GMT"):
        return local, missing
    first, last = int(local.min()) // _DAY_US - 2, int(local.max()) // _DAY_US + 2
    changes = changes_of(zone, first, last)
    if not changes:
        return local - _single_offset(zone, first), missing
    edges = np.array([at + before for at, before, _ in changes], np.int64)
    offsets = np.array([changes[0][1], *(after for _, _, after in changes)], np.int64)
    utc = local - offsets[np.searchsorted(edges, local, side="right")]
    order: _Order | None = None
    for at, before, after in changes:
        if after > before:
            missing |= (local >= at + before) & (local < at + after)
            continue
        inside = np.flatnonzero((local >= at + after) & (local < at + before))
        if len(inside):
            order = order or _order_of(local)
            second = _second_pass(local, inside, order, (at + after, at + before))
            utc[second] = local[second] - after
    return utc, missing


def _single_offset(zone: str, day: int) -> int:
    moment = (_EPOCH + timedelta(days=day)).astimezone(ZoneInfo(zone)).utcoffset()
    assert moment is not None
    return round(moment.total_seconds()) * 1_000_000


@dataclass(frozen=True, slots=True)
class _Order:
    """How a file runs: newest row first or not, and its usual step in microseconds."""

    falling: bool
    usual_us: float


def _order_of(local: Micros) -> _Order:
    steps = np.diff(local)
    falling = bool(np.count_nonzero(steps < 0) > np.count_nonzero(steps > 0))
    ahead = np.abs(steps[steps < 0] if falling else steps[steps > 0])
    return _Order(falling, float(np.median(ahead)) if len(ahead) else 0.0)


def _second_pass(local: Micros, inside: NDArray[np.intp], order: _Order, doubled: tuple[int, int]) -> NDArray[np.intp]:
    """Positions, among face values that stand twice (`inside`), of those in the second pass; newest first is turned."""
    begin, end = doubled
    if order.falling:
        local, inside = local[::-1], len(local) - 1 - inside[::-1]
    previous = np.maximum(inside - 1, 0)
    step = (local[inside] - local[previous]).astype(np.float64)
    # A step back by the whole doubled time (or by far more than a disorder of rows) is the clock being put back
    back = np.abs(step + (end - begin) - order.usual_us) < np.abs(step - order.usual_us)
    back |= step <= -_SURE_STEP_BACK_US
    back &= inside > 0
    entered = (local[previous] < begin) | (inside == 0)
    count = np.cumsum(back & ~entered)
    # Each entry from before the doubled time starts anew: a log may hold the same night twice
    start = np.maximum.accumulate(np.where(entered, np.arange(len(inside)), 0))
    second = inside[count - np.where(entered[start], count[start], 0) > 0]
    return len(local) - 1 - second if order.falling else second


def days_added(clock: Micros) -> Micros:
    """Clock times without a date, in file order, a day added at each midnight passed (a fall of over half a day)."""
    passed = np.cumsum(np.diff(clock, prepend=clock[:1]) < -_DAY_US // 2)
    return np.asarray(clock + passed * _DAY_US, dtype=np.int64)
