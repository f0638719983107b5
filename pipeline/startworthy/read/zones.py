"""From the face value of a clock to UTC: offsets of a zone, hours that stand twice, hours that do not exist."""

from __future__ import annotations

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
    for at, before, after in changes:
        if after > before:
            missing |= (local >= at + before) & (local < at + after)
        else:
            second = _second_pass(local, at + after, at + before)
            utc[second] = local[second] - after
    return utc, missing


def _single_offset(zone: str, day: int) -> int:
    moment = (_EPOCH + timedelta(days=day)).astimezone(ZoneInfo(zone)).utcoffset()
    assert moment is not None
    return round(moment.total_seconds()) * 1_000_000


def _second_pass(local: Micros, begin: int, end: int) -> NDArray[np.intp]:
    """Positions, among face values that stand twice (begin <= value < end), of those in the second pass."""
    inside = np.flatnonzero((local >= begin) & (local < end))
    if not len(inside):
        return inside
    steps = np.diff(local)
    falling = np.count_nonzero(steps < 0) > np.count_nonzero(steps > 0)
    if falling:
        # Newest row first: walk the file from its end
        backwards = _second_pass_rising(local[::-1], len(local) - 1 - inside[::-1], end - begin, begin)
        return len(local) - 1 - backwards
    return _second_pass_rising(local, inside, end - begin, begin)


def _second_pass_rising(local: Micros, inside: NDArray[np.intp], twice_us: int, begin: int) -> NDArray[np.intp]:
    steps = np.diff(local)
    ahead = steps[steps > 0]
    usual = float(np.median(ahead)) if len(ahead) else 0.0
    before = np.maximum(inside - 1, 0)
    step = (local[inside] - local[before]).astype(np.float64)
    # A step back by the whole doubled time (or by far more than a disorder of rows) is the clock being put back
    back = (np.abs(step + twice_us - usual) < np.abs(step - usual)) | (step <= -_SURE_STEP_BACK_US)
    back &= inside > 0
    entered = (local[before] < begin) | (inside == 0)
    count = np.cumsum(back & ~entered)
    # Each entry from before the doubled time starts anew: a log may hold the same night twice
    start = np.maximum.accumulate(np.where(entered, np.arange(len(inside)), 0))
    return inside[count - np.where(entered[start], count[start], 0) > 0]


def days_added(clock: Micros) -> Micros:
    """Clock times without a date, in file order, a day added at each midnight passed (a fall of over half a day)."""
    passed = np.cumsum(np.diff(clock, prepend=clock[:1]) < -_DAY_US // 2)
    return np.asarray(clock + passed * _DAY_US, dtype=np.int64)
