"""One set's rows in one file, in the order in which they were written: their times, and what else tells of time."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from enum import IntEnum

import numpy as np
import polars as pl
from numpy.typing import NDArray

Micros = NDArray[np.int64]
S, DAY = 1_000_000, 86_400_000_000
"""A second and a day, in microseconds."""
SMALL = 120 * S
"""Steps back of less are a clock kept right by the network, or rows a little late: they are sorted. Common practice."""
GAP_INTERVALS, GAP_LEAST = 3.5, 10 * S
"""As in the logbook: a break longer than this many intervals is a gap."""
FALL = 30 * DAY
"""A fall by more is a clock that was reset, or set to a wrong date; a smaller one is a clock that was set. Practice."""
RESET_WITHIN = 15 * 3600 * S
"""A clock without supply begins at the midnight before 1 January of some year; any zone's midnight lies this near."""
TURNING = {"speed_rpm": 400.0, "frequency_hz": 20.0, "voltage_v": 50.0, "voltage_l1_v": 50.0}
"""Signals that tell a running set, with what they then lie above."""
_NEAR = 3


class Gone(IntEnum):
    """Why a row is refused."""

    NO = 0
    RESET = 1
    FUTURE = 2


@dataclass(slots=True)
class Track:
    """The rows of one set in one file, in order of writing: where newest rows come first they are turned.

    rows: positions in the frame. at: microseconds since 1970 as read. shift: what is added to them. gone: which are
    refused, and why. usual: the usual interval of the whole.
    """

    set_id: str
    file: int
    rows: NDArray[np.int64]
    at: Micros
    frame: pl.DataFrame
    falling: bool = False
    shift: Micros = field(init=False)
    gone: NDArray[np.int8] = field(init=False)
    step: Micros = field(init=False)
    usual: int = field(init=False)

    def __post_init__(self) -> None:
        steps = np.diff(self.at)
        self.falling = bool(np.count_nonzero(steps < 0) > np.count_nonzero(steps > 0))
        if self.falling:
            self.rows, self.at = self.rows[::-1], self.at[::-1].copy()
            steps = np.diff(self.at)
        self.step = steps
        self.shift = np.zeros(len(self.at), np.int64)
        self.gone = np.zeros(len(self.at), np.int8)
        ahead = steps[steps > 0]
        self.usual = int(np.median(ahead)) if len(ahead) else 0

    def __len__(self) -> int:
        return len(self.at)

    @property
    def told(self) -> Micros:
        """The times with what was added to them."""
        return self.at + self.shift

    def interval(self, at: int) -> tuple[int, int]:
        """The usual and the longest interval around the step from row `at` to the next, that step left out."""
        near = np.concatenate([self.step[max(at - _NEAR, 0) : at], self.step[at + 1 : at + 1 + _NEAR]])
        near = near[(near > 0) & (near <= max(20 * self.usual, 900 * S))]
        if not len(near):
            return self.usual, self.usual
        return int(np.median(near)), int(near.max())

    def breaks(self) -> NDArray[np.intp]:
        """Steps forward that may be steps of the clock: plainly longer than the intervals beside them."""
        around = np.full(len(self.step) + 2, self.usual)
        around[1:-1] = self.step
        beside = np.maximum(around[:-2], around[2:])
        # beside another step of the clock, what is usual in the whole is the measure
        beside = np.where((beside <= 0) | (beside > max(20 * self.usual, 900 * S)), self.usual, beside)
        return np.flatnonzero(self.step > np.maximum(1.5 * beside, GAP_LEAST))

    def value(self, name: str, at: int, *, back: bool) -> float | None:
        """The last (or first) value of a signal at or before (after) a row, a few rows away at most."""
        if name not in self.frame.columns:
            return None
        span = range(at, max(at - 5, -1), -1) if back else range(at, min(at + 5, len(self)))
        column = self.frame[name]
        for row in span:
            found = column[int(self.rows[row])]
            if found is not None:
                return float(found)
        return None

    def runs(self, at: int) -> bool | None:
        """Whether the set runs at a row; None where nothing tells."""
        for name, least in TURNING.items():
            value = self.value(name, at, back=True)
            if value is not None:
                return value > least
        return None

    def meter_step(self) -> float:
        """What the hour meter may be off by: its own smallest step, in hours."""
        if "hour_meter_h" not in self.frame.columns:
            return 0.0
        some = self.frame["hour_meter_h"].gather(self.rows[:: max(1, len(self) // 500)]).drop_nulls()
        return 1.01 if len(some) and (some == some.round()).all() else 0.11

    def instant(self, at: int, *, told: bool = True) -> datetime:
        """The time of a row, as it is told now or as it was read."""
        return instant(int(self.at[at] + (self.shift[at] if told else 0)))


def instant(micros: int) -> datetime:
    """Microseconds since 1970 as an instant."""
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=micros)


def first_of_year(at: int) -> bool:
    """Whether an instant lies just after (or, by its zone, just before) the midnight at which a year begins."""
    moment = instant(at + RESET_WITHIN)
    begin = datetime(moment.year, 1, 1, tzinfo=UTC)
    return (moment - begin).total_seconds() * S <= 2 * RESET_WITHIN
