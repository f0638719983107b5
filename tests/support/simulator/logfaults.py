"""Faults of the log itself: lost days, a stuck or removed sensor, spikes, wrong values, a wrong meter, a clock set back."""

from __future__ import annotations

import numpy as np

from tests.support.simulator.climate import DAY, HOUR
from tests.support.simulator.logger import Rows
from tests.support.simulator.story import Story
from tests.support.simulator.traits import Rng


def spoil(rows: Rows, story: Story, fault: str, onset: float, rng: Rng) -> Rows:
    """The rows with that fault of the log. Unknown names leave them as they are."""
    t, numbers = rows.t, rows.numbers
    late = t >= onset
    if fault == "gaps":
        keep = np.ones(t.size, dtype=bool)
        for n in range(3):
            a = onset + n * 14 * DAY + float(rng.uniform(0, 5)) * DAY
            keep &= ~((t >= a) & (t < a + float(rng.uniform(1.4, 4)) * DAY))
        return _only(rows, keep)
    if fault == "stuck":
        held = numbers["coolant_c"][max(int(np.searchsorted(t, onset)) - 1, 0)]
        numbers["coolant_c"] = np.where(late, held, numbers["coolant_c"])
    if fault == "fuel_stuck":
        held = numbers["fuel_fraction"][max(int(np.searchsorted(t, onset)) - 1, 0)]
        numbers["fuel_fraction"] = np.where(late, held, numbers["fuel_fraction"])
    if fault == "lost":
        numbers["oil_kpa"] = np.where(late, np.nan, numbers["oil_kpa"])
    if fault == "spikes":
        quiet = np.flatnonzero(late)
        for name, value in (("coolant_c", 138.0), ("battery_v", 2.0)):
            hit = rng.choice(quiet, size=max(12, quiet.size // 1500), replace=False)
            numbers[name][hit] = value * rng.uniform(0.9, 1.1, hit.size)
    if fault == "rejected":
        bad = late & (rng.random(t.size) < 0.3)
        numbers["oil_kpa"] = np.where(bad, np.inf, numbers["oil_kpa"])  # written as 65535
    if fault == "hours_faulty":
        first = float(np.interp(onset, *zip(*story.hours, strict=True)))
        extra = np.maximum(numbers["hour_meter_h"] - first, 0) * 0.6 + np.maximum(t - onset, 0) / HOUR * 0.01
        numbers["hour_meter_h"] = numbers["hour_meter_h"] + extra
    if fault == "speed_misread":
        numbers["speed_rpm"] = numbers["speed_rpm"] * 1.29
    return rows


def _only(rows: Rows, keep: np.ndarray) -> Rows:
    return Rows(
        rows.t[keep],
        {k: v[keep] for k, v in rows.numbers.items()},
        {k: v[keep] for k, v in rows.words.items()},
    )
