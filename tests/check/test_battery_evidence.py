"""The p of a slope, from its interval: it agrees with the test it stands for, and sees a decline that bends."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from startworthy.check.battery.evidence import slope_p
from startworthy.statistics.driven import driven_trend
from startworthy.statistics.regression import robust

DAYS = pl.Series([7.0 * n for n in range(26)])


def trend(values, drivers=None):
    return driven_trend(DAYS, pl.Series(values), pl.DataFrame() if drivers is None else drivers, 0.95)


def test_it_is_the_p_of_the_coefficient_where_values_do_not_hang_together():
    rng = np.random.default_rng(5)
    celsius = pl.Series("c", rng.normal(10.0, 8.0, 26))
    values = 10.0 + 0.02 * celsius - 0.002 * DAYS + pl.Series(rng.normal(0.0, 0.1, 26))
    told = trend(values, celsius.to_frame())
    own = replace(told, low=2 * told.per_day - told.high)
    coefficient = robust(values, pl.DataFrame([celsius, DAYS.alias("t")]), 0.95).of("t")
    assert told.variance_ratio == 1.0
    assert slope_p(own) == pytest.approx(coefficient.p, rel=1e-6)


def test_no_more_than_chance_gives_small_ones():
    rng = np.random.default_rng(7)
    small = sum(slope_p(trend(rng.normal(0.0, 1.0, 26))) < 0.05 for _ in range(400))
    # 20 are expected; 35 is beyond three standard deviations
    assert small <= 35


def test_a_clear_decline_that_bends_is_no_chance():
    told = trend([10.8 - 1.4 * n / 26.0 + 0.03 * math.sin(0.6 * n) for n in range(26)])
    assert told.p > 0.01
    assert slope_p(told) < 1e-6


def test_ends_of_the_scale():
    assert slope_p(trend([10.0 - 0.05 * n for n in range(26)])) == 0.0
    assert slope_p(trend([10.0] * 26)) == 1.0
    assert slope_p(driven_trend(DAYS[:5], DAYS[:5], pl.DataFrame(), 0.95)) is None
