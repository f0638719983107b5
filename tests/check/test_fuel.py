"""Since when, and how fast: the sentences of a leak name what the levels show."""

from __future__ import annotations

import numpy as np
import pytest

from startworthy.check import CATALOGUE, run_one
from startworthy.findings import Clear
from tests.support.books import SET, at, book, fuel_day


@pytest.mark.parametrize("step", [None, 0.01])
def test_a_leak_is_dated_from_the_day_on_which_the_level_left_its_plateau(step):
    """A hundred days, 2.1 % of the tank a week from day 40 on, through a fine sender and one of 1 % steps."""
    levels = [0.9] * 40 + [0.9 - 0.003 * n for n in range(60)]
    if step is not None:
        levels = [round(level / step) * step for level in levels]
    days = book(days=[fuel_day(n, level) for n, level in enumerate(levels)])
    (leak,) = run_one(CATALOGUE["fuel.lost_at_rest"], days, SET, strict=True)
    assert abs((leak.began_at - at(40)).days) <= 3
    assert leak.value == pytest.approx(0.021, rel=0.05)
    assert leak.evidence["fall_fraction"] == pytest.approx(60 * 0.003, rel=0.08)
    assert leak.evidence["week_low_fraction"] <= leak.value <= leak.evidence["week_high_fraction"]


def healthy_levels(seed, step, noise, days=240):
    """Weekly runs, refuels, warmth by season and weather, and a sender with scatter and steps; no fuel is lost."""
    chance = np.random.default_rng(seed)
    level, rows, c = 0.9, [], 10.0
    for n in range(days):
        c = 0.85 * c + 0.15 * (10.0 + 12.0 * np.sin(2 * np.pi * n / 365.0 + seed)) + chance.normal(0.0, 2.0)
        ran = n % 7 == 0
        if ran:
            level -= 0.008
        if level < 0.5:
            level = 0.95
        shown = level * (1 + 0.00084 * (c - 15.0)) + chance.normal(0.0, noise)
        shown = round(shown / step) * step
        rows.append(fuel_day(n, shown, running_s=1200.0 if ran else 0.0, ambient_c=c, rest_fuel_noise_fraction=noise))
    return book(days=rows)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(("step", "noise"), [(1e-4, 0.001), (0.01, 0.001), (0.01, 0.006), (0.02, 0.004)])
def test_a_tight_tank_is_silent_whatever_the_weather_and_the_sender(seed, step, noise):
    (outcome,) = run_one(CATALOGUE["fuel.lost_at_rest"], healthy_levels(seed, step, noise), SET, strict=True)
    assert isinstance(outcome, Clear), outcome
