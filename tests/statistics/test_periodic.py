"""Lomb-Scargle: against another library, and how often noise shows a period."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from astropy.timeseries import LombScargle
from scipy.signal import lombscargle

from startworthy.statistics.periodic import lomb_scargle


def uneven(n, seed, period=None, amplitude=1.0):
    rng = np.random.default_rng(seed)
    at = np.sort(rng.uniform(0, 100, n))
    sine = amplitude * np.sin(2 * np.pi * at / period + 1.0) if period else 0.0
    return at, 5.0 + rng.normal(size=n) + sine


@pytest.mark.parametrize("n", [12, 40, 300])
@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("period", [None, 7.0])
def test_power_and_false_alarm_agree_with_another_library(n, seed, period):
    at, y = uneven(n, seed, period)
    other = LombScargle(at, y)
    # their bound stands for the last frequency of their own grid, a little off the one asked for
    highest = float(other.autofrequency(maximum_frequency=1.0).max())
    found = lomb_scargle(pl.Series(at), pl.Series(y), lowest=0.01, highest=highest)
    assert found.power == pytest.approx(float(other.power(found.frequency, method="slow")), rel=1e-6)
    their_bound = other.false_alarm_probability(found.power, method="baluev", maximum_frequency=1.0)
    assert found.false_alarm == pytest.approx(float(their_bound), rel=1e-6, abs=1e-12)
    # nothing between the frequencies tried is much higher
    finer = other.power(np.linspace(0.01, highest, 4000), method="slow")
    assert found.power >= 0.9 * finer.max()


def test_a_week_is_found_with_its_amplitude():
    at, y = uneven(200, 9, 7.0, 2.0)
    found = lomb_scargle(pl.Series(at), pl.Series(y), lowest=0.02, highest=0.5)
    assert found.period == pytest.approx(7.0, abs=0.2)
    assert found.amplitude == pytest.approx(2.0, rel=0.2)
    assert found.false_alarm < 1e-9


def test_noise_shows_a_period_no_more_often_than_the_bound_says():
    bounds = []
    for seed in range(150):
        at, y = uneven(60, seed)
        bounds.append(lomb_scargle(pl.Series(at), pl.Series(y), lowest=0.01, highest=0.5).false_alarm)
    assert sum(b < 0.1 for b in bounds) / 150 <= 0.15
    assert 0.0 <= min(bounds) <= max(bounds) <= 1.0


def test_a_long_row_is_worked_in_parts_and_comes_out_the_same():
    rng = np.random.default_rng(4)
    at, y = np.sort(rng.uniform(0, 1000, 2000)), rng.normal(size=2000)
    found = lomb_scargle(pl.Series(at), pl.Series(y), lowest=0.001, highest=0.5)
    whole = lombscargle(at - at[0], y - y.mean(), [2 * np.pi * found.frequency], normalize=True, floating_mean=True)
    assert found.power == pytest.approx(float(whole), rel=1e-9)


def test_nulls_are_left_out_and_the_origin_does_not_matter():
    at, y = uneven(80, 2, 11.0)
    found = lomb_scargle(pl.Series(at), pl.Series(y), lowest=0.02, highest=0.5)
    holes = pl.Series([*y, None, 3.0], dtype=pl.Float64)
    times = pl.Series([*(at + 20_000.0), 20_200.0, None], dtype=pl.Float64)
    later = lomb_scargle(times, holes, lowest=0.02, highest=0.5)
    assert later.n == 80
    assert (later.frequency, later.power) == pytest.approx((found.frequency, found.power), rel=1e-6)


def test_no_period_in_few_values_or_in_one_value_and_a_reason():
    rows = pl.Series(range(40), dtype=pl.Float64)
    for at, y in ((rows[:9], rows[:9]), (rows, rows * 0.0), (rows * 0.0, rows)):
        found = lomb_scargle(at, y, lowest=0.1, highest=0.4)
        assert (found.frequency, found.period, found.power, found.false_alarm) == (None, None, None, None)
        assert found.why


def test_what_cannot_be_is_refused():
    rows = pl.Series(range(20), dtype=pl.Float64)
    with pytest.raises(ValueError, match="as many"):
        lomb_scargle(rows, rows[:-1], lowest=0.1, highest=0.4)
    for lowest, highest in ((0.0, 0.4), (0.4, 0.4), (0.5, 0.4)):
        with pytest.raises(ValueError, match="frequencies"):
            lomb_scargle(rows, rows, lowest=lowest, highest=highest)
