"""Steps of a clock that somebody set, and rows that only stand in the wrong order.

Two steps of equal and opposite size bound a stretch under a wrong time: it is shifted. A lone step back after which the
same time is told once more, with other values, parts two clocks that differ: their order is certain (the file's), so
the shorter part is set against the longer and no hour stands twice; which of the two was right the log does not say.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from startworthy.summertime import summer_time
from startworthy.validate.clock.evidence import follows, meter_goes_back, one_and_the_same, ran_through
from startworthy.validate.clock.resets import Stretch, blocks
from startworthy.validate.clock.track import DAY, FALL, GAP_INTERVALS, SMALL, Gone, S, Track, first_of_year, instant

_ABOUT = 1800 * S
"""Two steps that differ by more are not looked at as a pair."""
YEARS = tuple(days * DAY for days in (365, 366, 730, 731, 1095, 1096))


@dataclass(frozen=True, slots=True)
class Back:
    """A step back from row `at` to the next. kind: clock_jump, out_of_order or repeated_upload.

    moved: how many rows were shifted for it. shift: by how much (microseconds).
    """

    at: int
    kind: str
    how: str = ""
    moved: int = 0
    shift: int = 0


def set_right(track: Track, wrong: NDArray[np.bool_], limit: int) -> tuple[list[Back], list[Stretch]]:
    """Judge each step back among the rows that are not `wrong` otherwise; shifts what is to be shifted.

    limit: instants beyond it lie in the future. Steps of less than two minutes are told as jumps and sorted.
    """
    sound = ~wrong[:-1] & ~wrong[1:]
    backs = [int(n) for n in np.flatnonzero(sound & (track.step < -SMALL))]
    forward = track.breaks()
    forward = forward[sound[forward]]
    stretches, alone = _pairs(track, backs, forward)
    told = [Back(int(n), "clock_jump") for n in np.flatnonzero(sound & (track.step < 0) & (track.step >= -SMALL))]
    told += [Back(n, "clock_jump", _summer(track, n)) for n in backs if n not in alone]
    late = ahead(track, limit, wrong)
    for one in late:
        if one.how in ("refused", "whole_years"):
            wrong = wrong.copy()
            wrong[one.first : one.last + 1] = True
    inside = [n for n in alone if not wrong[n] and not wrong[n + 1]]
    used = {edge for one in stretches for edge in (one.first - 1, one.last)}
    through = [int(n) for n in forward if int(n) not in used and not wrong[n] and not wrong[n + 1]]
    through = [n for n in through if ran_through(track, n)]
    told += [Back(n, "clock_jump") for n in alone if n not in inside]
    return told + _lone(track, sorted(inside + through), wrong), stretches + late


def _pairs(track: Track, backs: list[int], forward: NDArray[np.intp]) -> tuple[list[Stretch], list[int]]:
    """Shift each stretch between two steps that cancel out. Returns it, and the steps back that have no partner."""
    free = set(forward.tolist())
    stretches, alone = [], []
    edges = [-1, *backs, len(track)]
    for n, back in enumerate(backs):
        near = forward[(forward > edges[n]) & (forward < edges[n + 2])]
        near = near[np.abs(track.step[near] + int(track.step[back])) <= max(4 * track.usual, _ABOUT)]
        spare = {int(f): _spare(track, back, int(f)) for f in near if int(f) in free}
        fitting = [f for f, left in spare.items() if left is not None]
        if not fitting:
            alone.append(back)
            continue
        partner = min(fitting, key=lambda f: (spare[f], abs(f - back)))
        free.discard(partner)
        first, last = min(back, partner) + 1, max(back, partner)
        if _repeats(track, first, last) or _belongs(track, first, last):
            alone.append(back)
            continue
        before, _ = track.interval(first - 1)
        room = int(track.told[last + 1] - track.told[first - 1])
        after, _ = track.interval(last)
        spare_us = room - int(track.at[last] - track.at[first]) - before - after
        shift = int(track.told[first - 1]) + before + spare_us // 2 - int(track.at[first])
        track.shift[first : last + 1] += shift
        stretches.append(Stretch("clock_step", first, last, _summer(track, back) or "equal_steps"))
    return stretches, alone


def _spare(track: Track, one: int, two: int) -> int | None:
    """What is left of two steps, each less its interval, where they are equal and opposite to within one interval."""
    (a, long_a), (b, long_b) = track.interval(one), track.interval(two)
    left = abs(int(track.step[one] + track.step[two]) - a - b)
    return left if left <= max(long_a, long_b, S) else None


def _belongs(track: Track, first: int, last: int) -> bool:
    """Whether rows fill a place that is free where they stand: they were written late, and no clock stepped."""
    begin, end = int(track.at[first]), int(track.at[last])
    others = np.concatenate([track.at[:first], track.at[last + 1 :]])
    if ((others >= begin) & (others <= end)).any():
        return False
    least, most = track.usual // 2, int(1.5 * max(track.usual, S))
    before, after = others[others < begin], others[others > end]
    gaps = [begin - int(before.max())] if len(before) else []
    gaps += [int(after.min()) - end] if len(after) else []
    return min(gaps) >= least and min(gaps) <= most


def _repeats(track: Track, first: int, last: int) -> bool:
    """Whether the rows of a stretch stand in the file once more at the same instants: a piece that was put in twice."""
    begin, end = int(track.at[first]), int(track.at[last])
    others = np.concatenate([np.arange(first), np.arange(last + 1, len(track))])
    inside = others[(track.at[others] >= begin) & (track.at[others] <= end)]
    return one_and_the_same(track.frame, track.rows[inside], track.rows[first : last + 1])


def _lone(track: Track, backs: list[int], wrong: NDArray[np.bool_]) -> list[Back]:
    """Steps without a partner: rows sent twice, rows out of order, or a clock that was set for good.

    backs: steps back, and steps forward through which the set ran as if no time had passed.
    """
    told = []
    offset = np.zeros(len(backs) + 1, np.int64)
    edges = [0, *(n + 1 for n in backs), len(track)]
    for n, back in enumerate(backs):
        offset[n + 1] = offset[n]
        if track.step[back] > 0:
            usual, _ = track.interval(back)
            offset[n + 1] += usual - int(track.told[back + 1] - track.told[back])
            told.append(Back(back, "clock_step", "ran_through"))
            continue
        one = _own(track, edges[n], edges[n + 1], wrong)
        two = _own(track, edges[n + 1], edges[n + 2], wrong)
        at = track.told
        low, high = max(at[one].min(), at[two].min()), min(at[one].max(), at[two].max())
        twice_one, twice_two = one[(at[one] >= low) & (at[one] <= high)], two[(at[two] >= low) & (at[two] <= high)]
        summer = _summer(track, back)
        if high <= low and _whole_years(track, back):
            usual, _ = track.interval(back)
            offset[n + 1] += usual - int(track.told[back + 1] - track.told[back])
            told.append(Back(back, "clock_jump", "whole_years"))
        elif high <= low or _fill_in(at[twice_one], at[twice_two], track.interval(back)[0]):
            told.append(Back(back, _order_or_jump(track, back, two), summer))
        elif one_and_the_same(track.frame, track.rows[twice_one], track.rows[twice_two]):
            told.append(Back(back, "repeated_upload"))
        elif meter_goes_back(track, back, back + 1):
            # a second log of the same time, not a clock
            told.append(Back(back, "out_of_order"))
        else:
            usual, _ = track.interval(back)
            offset[n + 1] += usual - int(track.told[back + 1] - track.told[back])
            told.append(Back(back, "clock_jump", summer or "follows_on"))
    if not offset.any():
        return told
    sizes = np.diff(edges)
    reference = max(set(offset.tolist()), key=lambda o: int(sizes[offset == o].sum()))
    stays = int(np.flatnonzero(offset == reference)[0])
    for n, shift in enumerate((offset - reference).tolist()):
        if not shift:
            continue
        own = _own(track, edges[n], edges[n + 1], wrong)
        track.shift[own] += shift
        # told with the step by which the part was parted from the one that stays
        step = n if n < stays else n - 1
        was = told[step]
        told[step] = Back(was.at, was.kind, was.how, was.moved + len(own), was.shift or shift)
    return told


def _fill_in(one: NDArray[np.int64], two: NDArray[np.int64], usual: int) -> bool:
    """Whether rows stand in each other's gaps, so that together they are one log at its usual interval."""
    if not len(one) or not len(two):
        return True
    return int(np.diff(np.sort(np.concatenate([one, two]))).min()) >= 0.75 * usual


def _whole_years(track: Track, back: int) -> bool:
    """Whether the clock went back by a year or more to the minute, where the counters went on: somebody slipped."""
    usual, longest = track.interval(back)
    fell = usual - int(track.step[back])
    if not any(abs(fell - years) <= max(longest, S) for years in YEARS):
        return False
    return follows(track, back, back + 1, longest) == "yes" and not first_of_year(int(track.at[back + 1]))


def _own(track: Track, begin: int, end: int, wrong: NDArray[np.bool_]) -> NDArray[np.intp]:
    own = np.arange(begin, end)
    kept = own[~wrong[own]]
    return kept if len(kept) else own


def _order_or_jump(track: Track, back: int, part: NDArray[np.intp]) -> str:
    """Whether the rows after a step back only stand in the wrong order: they fit to others, or are not far away."""
    if int(track.step[back]) >= -FALL:
        return "out_of_order"
    if meter_goes_back(track, back, back + 1):
        return "out_of_order"
    others = np.delete(track.at, part)
    first, last = int(track.at[part].min()), int(track.at[part].max())
    slack = GAP_INTERVALS * max(track.interval(back)[1], S)
    near = ((others > last) & (others <= last + slack)) | ((others < first) & (others >= first - slack))
    return "out_of_order" if near.any() else "clock_jump"


def _summer(track: Track, step: int) -> str:
    usual, _ = track.interval(step)
    zone = summer_time(instant(int(track.at[step])), instant(int(track.at[step + 1])), usual / S)
    return f"summer_time {zone}" if zone else ""


def ahead(track: Track, limit: int, wrong: NDArray[np.bool_]) -> list[Stretch]:
    """Rows in the future (beyond `limit`): placed where other rows bound them, left where the log runs into them
    without a break, else refused.
    """
    found = []
    for first, last in blocks((track.told > limit) & ~wrong):
        before, after = (first - 1 if first else None), (last + 1 if last + 1 < len(track) else None)
        if before is None and after is None:
            found.append(Stretch("clock_ahead", first, last, "whole"))
            continue
        usual, longest = track.interval(first - 1) if before is not None else track.interval(last)
        step = int(track.told[first] - track.told[first - 1]) if before is not None else 0
        if before is not None and 0 <= step <= max(GAP_INTERVALS * longest, DAY):
            found.append(Stretch("clock_ahead", first, last, "runs_on"))
            continue
        size = -1
        if before is not None:
            size = next((y for y in YEARS if abs(step - usual - y) <= max(longest, S)), -1)
        elif after is not None:
            fell = int(track.told[last] - track.told[last + 1])
            size = next((y for y in YEARS if abs(fell + usual - y) <= max(longest, S)), -1)
        if size > 0 and (after is None or int(track.told[last]) - size <= int(track.told[after])):
            track.shift[first : last + 1] -= size
            found.append(Stretch("clock_step", first, last, "whole_years"))
            continue
        track.gone[first : last + 1] = Gone.FUTURE
        found.append(Stretch("clock_ahead", first, last, "refused"))
    return found
