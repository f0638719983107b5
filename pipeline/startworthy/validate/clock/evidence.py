"""What else than its clock a log tells of time: the hour meter, the starts counter, a set that runs on; equal rows."""

from __future__ import annotations

from typing import Literal

import numpy as np
import polars as pl
from numpy.typing import NDArray

from startworthy.signals import BY_NAME, Quantity
from startworthy.validate.clock.track import TURNING, S, Track

Word = Literal["yes", "no", "silent"]
H = 3600 * S
ALIKE = 0.95
"""Share of rows that have to agree for two stretches to be one, sent twice. Common practice, no source."""
_AROUND = 5000
"""Rows on each side of a step in which its run is looked for."""
_DIGITS = (0, 1, 2, 3)


def follows(track: Track, before: int, after: int, passed: int) -> Word:
    """Whether the counters of two rows allow that just `passed` microseconds lie between them.

    `silent`: no counter is logged. A meter may be off by its own step, and may not go back.
    """
    told: Word = "silent"
    one, two = track.value("hour_meter_h", before, back=True), track.value("hour_meter_h", after, back=False)
    if one is not None and two is not None:
        slack = track.meter_step()
        if not -1e-6 <= two - one <= passed / H + slack:
            return "no"
        told = "yes"
    one, two = track.value("starts_counter", before, back=True), track.value("starts_counter", after, back=False)
    if one is not None and two is not None:
        if not -0.5 <= two - one <= 1.5:
            return "no"
        told = "yes"
    return told


def runs_on(track: Track, before: int, after: int) -> bool:
    """The set runs on both sides, and its meter and counter went on as if no time had passed."""
    if not (track.runs(before) and track.runs(after)):
        return False
    one, two = track.value("starts_counter", before, back=True), track.value("starts_counter", after, back=False)
    if one is not None and two is not None and one != two:
        return False
    return follows(track, before, after, track.interval(before)[1]) == "yes" and _meter_counts(track, before)


def _meter_counts(track: Track, before: int) -> bool:
    """Whether the hour meter counts in the run around a step: one that stands still tells of no time."""
    name = next((n for n in TURNING if n in track.frame.columns), None)
    if name is None or "hour_meter_h" not in track.frame.columns:
        return False
    low, high = max(before - _AROUND, 0), min(before + 1 + _AROUND, len(track) - 1)
    rows = track.rows[low : high + 1]
    runs = (track.frame[name].gather(rows) > TURNING[name]).fill_null(False).to_numpy()
    meter = track.frame["hour_meter_h"].gather(rows).to_numpy()
    here = before - low
    rests = np.flatnonzero(~runs)
    first = int(rests[rests <= here].max()) + 1 if (rests <= here).any() else 0
    last = int(rests[rests > here].min()) - 1 if (rests > here).any() else len(rows) - 1
    steps = track.step[low + first : low + last].astype(np.float64)
    ran_h = float(np.delete(steps, here - first).sum()) / H if 0 <= here - first < len(steps) else 0.0
    rose_h = float(meter[last] - meter[first]) if last > first else np.nan
    slack = track.meter_step()
    return ran_h >= 1.5 * slack and abs(rose_h - ran_h) <= slack + 0.1 * ran_h


def ran_through(track: Track, before: int) -> bool:
    """A step forward that no time belongs to: the set runs on both sides, and neither meter nor counter moved.

    The meter has to be fine enough to have shown it, and the counter has to be there: else the set may have stopped.
    """
    after = before + 1
    if int(track.step[before]) < 2 * track.meter_step() * H or track.value("hour_meter_h", before, back=True) is None:
        return False
    one, two = track.value("starts_counter", before, back=True), track.value("starts_counter", after, back=False)
    return one is not None and one == two and runs_on(track, before, after)


def meter_goes_back(track: Track, before: int, after: int) -> bool:
    """The hour meter of the later row stands lower: the later row in the file is the earlier one in time."""
    one, two = track.value("hour_meter_h", before, back=True), track.value("hour_meter_h", after, back=False)
    return one is not None and two is not None and two < one - 1e-6


def signals_of(frame: pl.DataFrame) -> list[str]:
    """The columns that are signals."""
    return [name for name in frame.columns if name in BY_NAME]


def agree(name: str, other: str) -> pl.Expr:
    """Whether two values of one signal are the same, or the same rounded; null on one side contradicts nothing.

    other: the name of the column that holds the other value.
    """
    one, two = pl.col(name), pl.col(other)
    if BY_NAME[name].quantity is Quantity.TEXT:
        return (one.cast(pl.String) == two.cast(pl.String)).fill_null(True)
    same = one == two
    for digits in _DIGITS:
        same = same | (one.round(digits) == two) | (two.round(digits) == one)
    return same.fill_null(True)


def said_twice(frame: pl.DataFrame, one: NDArray[np.int64], two: NDArray[np.int64], late: int = 0) -> pl.DataFrame:
    """Rows of `two` at the instant of a row of `one` (`late` microseconds after it), and whether they say the same.

    one, two: positions in the frame. Columns: `row` (position), `same`, `runs`.
    """
    names = signals_of(frame)
    left = frame.select([*names, "at"])[two].with_columns(row=pl.Series(two))
    left = left.with_columns(pl.col("at").dt.offset_by(f"{-late}us")) if late else left
    right = frame.select(["at", *(pl.col(n).alias(f"{n}|") for n in names)])[one].unique("at", keep="first")
    both = left.join(right, on="at", how="inner", maintain_order="left")
    turning = [pl.col(n) > least for n, least in (("speed_rpm", 400.0), ("frequency_hz", 20.0)) if n in names]
    return both.select(
        "row",
        pl.all_horizontal([agree(n, f"{n}|") for n in names] or [pl.lit(True)]).alias("same"),
        pl.any_horizontal(turning or [pl.lit(False)]).fill_null(False).alias("runs"),
    )


def one_and_the_same(frame: pl.DataFrame, one: NDArray[np.int64], two: NDArray[np.int64]) -> bool:
    """Whether two stretches that cover one time are the same rows sent twice, and not two hours under one time."""
    if not len(one) or not len(two):
        return False
    met = said_twice(frame, one, two)
    least = ALIKE * min(len(one), len(two))
    return met.height >= least and int(met["same"].sum()) >= least and bool(met.filter("runs")["same"].all())
