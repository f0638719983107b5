"""Since when, and how fast: the sentences of a leak name what the levels show."""

from __future__ import annotations

import pytest

from startworthy.check import CATALOGUE, run_one
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
