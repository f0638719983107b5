"""Stretches that stand under the date to which a clock falls without supply, and where they belong.

A stretch is placed only where one of these holds; else its rows are refused, and a mark tells between which rows they
lay. `bounds`: the good rows before and after it leave less freedom than one interval. `end`: the clock was put right
while the logger ran, so that the row after it follows at the usual interval (had supply been lost once more, the clock
would have fallen back again), and the hour meter and the starts counter do not contradict. `start`: the set ran through
the fall.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from startworthy.validate.clock.evidence import follows, meter_goes_back, runs_on
from startworthy.validate.clock.track import DAY, FALL, GAP_INTERVALS, SMALL, Gone, S, Track, first_of_year, instant

ERA = 1000 * DAY
"""No log rests for so long: what lies further apart was written under two kinds of date. Common practice, no source."""
SURELY = 3650 * DAY
RESET_YEARS_BEFORE = 2005
"""A whole file from a new year before this one, beside files of now, was written by a clock never set. Practice."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Rows first to last (positions in the track) under a wrong time. how: the evidence, or `refused`."""

    kind: str
    first: int
    last: int
    how: str

    @property
    def rows(self) -> int:
        """How many rows."""
        return self.last - self.first + 1


def era_begins(at: NDArray[np.int64], limit: int) -> int:
    """The first instant of the time that a set's log is about: of its latest rows that hang together.

    at: all instants of a set, in any order; those beyond `limit` lie in the future and are left out.
    """
    past = np.sort(at[at <= limit])
    if not len(past):
        return int(at.min())
    heads = np.append(0, np.flatnonzero(np.diff(past) > ERA) + 1)
    sizes = np.diff(np.append(heads, len(past)))
    large = np.flatnonzero(sizes >= min(10, 0.05 * len(past)))
    return int(past[heads[large[-1]]])


def early_rows(track: Track, begins: int) -> NDArray[np.bool_]:
    """Rows under the date of a clock that was reset. begins: see era_begins."""
    early = track.at < begins
    if early.any():
        early &= _surely(track, early)
    for at in np.flatnonzero(track.step < -FALL):
        fell, landed = int(at), int(at) + 1
        if early[landed] or early[fell] or not first_of_year(int(track.at[landed])):
            continue
        back = np.flatnonzero(track.at[landed:] >= track.at[fell])
        until = landed + int(back[0]) if len(back) else len(track)
        # whole years put together in the wrong order look the same
        if meter_goes_back(track, fell, landed) or _adjoins(track, landed, until - 1):
            continue
        if len(back):
            lasted, room = int(track.at[until - 1] - track.at[landed]), int(track.at[until] - track.at[fell])
            if lasted > room:
                continue
        elif follows(track, fell, landed, 10 * DAY) != "yes":
            continue
        early[landed:until] = True
    return early


def long_before(at: NDArray[np.int64], begins: int) -> NDArray[np.bool_]:
    """Rows in no order that a clock wrote after a reset: they begin with a year, or lie more than ten years back."""
    early = at < begins
    if early.any() and (first_of_year(int(at[early].min())) or begins - int(at[early].max()) > SURELY):
        return early
    return np.zeros(len(at), np.bool_)


def _adjoins(track: Track, first: int, last: int) -> bool:
    """Whether other rows of the file go on where these end."""
    others = np.concatenate([track.at[:first], track.at[last + 1 :]])
    end = int(track.at[last])
    return bool(((others > end) & (others <= end + GAP_INTERVALS * max(track.interval(last)[1], S))).any())


def _surely(track: Track, early: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Of early rows those that no older log explains: see the cases."""
    sure = np.zeros(len(track), np.bool_)
    for first, last in blocks(early):
        own = slice(first, last + 1)
        new_year = first_of_year(int(track.at[first]))
        far = int(track.at[~early].min() - track.at[last]) > SURELY if not early.all() else True
        returns = last + 1 < len(track)
        if first > 0:
            # the file falls to them: a reset clock, unless an older log was hung on to a newer one
            sure[own] = not meter_goes_back(track, first - 1, first) and (new_year or far or returns)
        elif returns:
            sure[own] = far or (new_year and follows(track, last, last + 1, FALL) != "no")
        else:
            sure[own] = new_year and instant(int(track.at[first])).year < RESET_YEARS_BEFORE
    return sure


def blocks(mask: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last position of each unbroken run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]])))
    return [(int(a), int(b) - 1) for a, b in edges.reshape(-1, 2)]


def place(track: Track, early: NDArray[np.bool_]) -> list[Stretch]:
    """Place the early rows: sets `shift` and `gone` of the track. The rows around them stand as they are to stand."""
    found = []
    for first, last in blocks(early):
        falls = np.flatnonzero(track.step[first:last] < -SMALL) + first
        firsts = [first, *(int(f) + 1 for f in falls)]
        lasts = [*(int(f) for f in falls), last]
        found += _one_block(track, list(zip(firsts, lasts, strict=True)))
    return found


def _one_block(track: Track, parts: list[tuple[int, int]]) -> list[Stretch]:
    """parts: stretches between two good rows, each beginning with a fall of the clock."""
    before = parts[0][0] - 1 if parts[0][0] > 0 else None
    after = parts[-1][1] + 1 if parts[-1][1] + 1 < len(track) else None
    how: dict[int, str] = {}
    if len(parts) == 1 and before is not None and after is not None and _by_bounds(track, *parts[0], before, after):
        how[0] = "bounds"
    for n in range(len(parts) - 1, -1, -1):
        if n in how or not _at_its_end(track, parts, n, before, after):
            break
        how[n] = "end"
    for n, (first, last) in enumerate(parts):
        previous = before if n == 0 else parts[n - 1][1]
        following = after if n == len(parts) - 1 else (parts[n + 1][0] if n + 1 in how else None)
        if n in how or previous is None or not runs_on(track, previous, first):
            break
        shift = int(track.told[previous]) + track.interval(previous)[0] - int(track.at[first])
        if not _fits(track, first, last, shift, previous, following):
            break
        how[n] = "start"
    for n, (first, last) in enumerate(parts):
        previous = before if n == 0 else (parts[n - 1][1] if n - 1 in how else None)
        following = after if n == len(parts) - 1 else (parts[n + 1][0] if n + 1 in how else None)
        if n in how or previous is None or following is None:
            continue
        if _by_bounds(track, first, last, previous, following):
            how[n] = "bounds"
    done = []
    for n, (first, last) in enumerate(parts):
        if n not in how:
            track.gone[first : last + 1] = Gone.RESET
        done.append(Stretch("clock_reset", first, last, how.get(n, "refused")))
    return done


def _at_its_end(track: Track, parts: list[tuple[int, int]], n: int, before: int | None, after: int | None) -> bool:
    """Set part n against the row after it. Between two resets supply was lost for who knows how long."""
    first, last = parts[n]
    following = after if n == len(parts) - 1 else parts[n + 1][0]
    if following is None or (n < len(parts) - 1 and not runs_on(track, last, following)):
        return False
    usual, longest = track.interval(last)
    if follows(track, last, following, longest) == "no":
        return False
    return _fits(track, first, last, int(track.told[following]) - usual - int(track.at[last]), before, following)


def _by_bounds(track: Track, first: int, last: int, before: int, after: int) -> bool:
    """Place rows in the middle between two others, if these leave them less freedom than one interval."""
    one, longest_one = track.interval(before)
    two, longest_two = track.interval(last)
    room = int(track.told[after] - track.told[before])
    spare = room - int(track.at[last] - track.at[first]) - one - two
    if abs(spare) > max(longest_one, longest_two) or not room:
        return False
    shift = int(track.told[before]) + one + spare // 2 - int(track.at[first])
    return _fits(track, first, last, shift, before, after)


def _fits(track: Track, first: int, last: int, shift: int, before: int | None, after: int | None) -> bool:  # noqa: PLR0917
    """Shift the rows, if they then lie between the two others and the counters do not contradict."""
    begins, ends = int(track.at[first]) + shift, int(track.at[last]) + shift
    if before is not None:
        passed = begins - int(track.told[before])
        if passed < 0 or follows_on(track, before, first, passed) is False:
            return False
    if after is not None and ends > int(track.told[after]):
        return False
    track.shift[first : last + 1] = shift
    return True


def follows_on(track: Track, before: int, after: int, passed: int) -> bool:
    """Whether the hour meter moved by no more than the time that passed, and not back."""
    one, two = track.value("hour_meter_h", before, back=True), track.value("hour_meter_h", after, back=False)
    if one is None or two is None:
        return True
    return -1e-6 <= two - one <= passed / 3.6e9 + track.meter_step()
