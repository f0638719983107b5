"""Trends that something else drives, and the day on which a limit will be met."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.statistics.driven import days_of, driven_trend, forecast
from startworthy.statistics.regression import robust
from startworthy.statistics.trend import Slope, mann_kendall, theil_sen

NO_DRIVERS = pl.DataFrame()


def season(n, seed, per_day=0.0, correlation=0.0, days=180):
    """Half a year of rest volts, say: temperature falls with the season, y follows it and its own slope."""
    rng = np.random.default_rng(seed)
    at = np.linspace(20_000.0, 20_000.0 + days, n)
    own = np.zeros(n)
    for k in range(n):
        own[k] = (correlation * own[k - 1] if k else 0.0) + rng.normal() * (1 - correlation**2) ** 0.5
    temperature = 15.0 + 10.0 * np.cos(2 * np.pi * (at - 20_000.0) / 365) + rng.normal(size=n) * 3.0
    y = 12.6 + 0.02 * (temperature - 15.0) + per_day * (at - 20_000.0) + own * 0.05
    return pl.Series(at), pl.Series(y), pl.DataFrame({"temperature": temperature})


def test_a_season_is_not_a_trend():
    naive = driven_trend(*season(180, 1)[:2], NO_DRIVERS, 0.95)
    assert naive.p < 0.01
    assert driven_trend(*season(180, 1), 0.95).p > 0.05


@pytest.mark.parametrize("per_day", [-0.002, 0.001])
def test_a_slope_under_a_season_is_found_within_its_interval(per_day):
    for seed in range(10):
        trend = driven_trend(*season(180, seed, per_day), 0.99)
        assert trend.low <= per_day <= trend.high
        assert trend.p < 0.01
    assert trend.drivers == ("temperature",)
    assert trend.scatter == pytest.approx(0.05, rel=0.3)
    assert "temperature and time" in trend.method


@pytest.mark.parametrize(("n", "correlation", "at_most"), [(40, 0.0, 0.08), (180, 0.0, 0.08), (180, 0.5, 0.09)])
def test_false_trends_under_a_season_are_about_as_seldom_as_promised(n, correlation, at_most):
    raised = [driven_trend(*season(n, seed, 0.0, correlation), 0.95).p < 0.05 for seed in range(200)]
    assert sum(raised) / 200 <= at_most


def test_mann_kendall_alone_would_take_the_fitted_season_for_granted():
    raised = []
    for seed in range(100):
        at, y, drivers = season(40, seed)
        fit = robust(y, drivers.with_columns(day=at - at.median()), 0.95)
        raised.append(mann_kendall(fit.residuals + fit.of("day").estimate * (at - at.median()), at=at).p < 0.05)
    assert sum(raised) / 100 > 0.25


def test_wild_values_do_not_turn_it():
    at, y, drivers = season(90, 2, -0.002)
    wild = y.scatter([10, 40, 80], [0.0, 65535.0, 0.0])
    assert driven_trend(at, wild, drivers, 0.95).per_day == pytest.approx(driven_trend(at, y, drivers, 0.95).per_day, abs=2e-4)  # fmt: skip


def test_without_drivers_it_is_theil_sen():
    at, y, _ = season(60, 3, -0.01)
    trend, plain = driven_trend(at, y, NO_DRIVERS, 0.95), theil_sen(at, y, 0.95)
    assert trend.per_day == plain.per_x
    assert trend.low <= plain.low < plain.high <= trend.high
    assert trend.drivers == ()
    assert trend.method.startswith("theil-sen")
    still = driven_trend(at, y, pl.DataFrame({"temperature": [20.0] * 60}), 0.95)
    assert still == trend


def test_order_of_rows_and_nulls_change_nothing():
    at, y, drivers = season(60, 4, -0.002)
    trend = driven_trend(at, y, drivers, 0.95)
    turned = driven_trend(at.reverse(), y.reverse(), drivers.reverse(), 0.95)
    assert turned == trend
    more = [pl.concat([s, pl.Series([v], dtype=pl.Float64)]) for s, v in ((at, 20_300.0), (y, None))]
    holed = driven_trend(*more, pl.concat([drivers, pl.DataFrame({"temperature": [1.0]})]), 0.95)
    assert holed == trend
    assert holed.n == 60


def test_the_level_is_that_of_the_middle_day_with_drivers_at_their_medians():
    at, y, drivers = season(180, 5, -0.002)
    trend = driven_trend(at, y, drivers, 0.95)
    assert trend.at_day == at.median()
    truth = 12.6 + 0.02 * (drivers["temperature"].median() - 15.0) - 0.002 * 90
    assert trend.level == pytest.approx(truth, abs=0.02)


def test_correlation_widens_the_interval():
    at, y, drivers = season(180, 6, 0.0, 0.8)
    trend = driven_trend(at, y, drivers, 0.95)
    assert trend.variance_ratio > 2.0
    loose = driven_trend(*season(180, 6), 0.95)
    assert trend.high - trend.low > 1.4 * (loose.high - loose.low)


def test_where_nothing_can_be_said_it_says_why():
    at, y, drivers = season(60, 7)
    few = driven_trend(at[:8], y[:8], drivers[:8], 0.95)
    assert "9" in few.why
    assert driven_trend(at[:7], y[:7], NO_DRIVERS, 0.95).why
    clock = driven_trend(at, y, pl.DataFrame({"hours": at * 24.0}), 0.95)
    assert "time cannot be told" in clock.why
    one_day = driven_trend(at * 0.0, y, drivers, 0.95)
    for trend in (few, clock, one_day):
        assert (trend.per_day, trend.p, trend.level) == (None, None, None)
        assert trend.why
        met = trend.meets(12.0, side="below", now_day=20_180.0)
        assert (met.day, met.why) == (None, trend.why)
    with pytest.raises(ValueError, match="as many"):
        driven_trend(at, y, drivers[:-1], 0.95)


def slope(per_x, low, high):
    return Slope(per_x, low, high, 0.95, 30, "theil-sen")


def test_a_falling_line_meets_its_limit():
    met = forecast(slope(-0.01, -0.02, -0.005), 12.6, at_day=50.0, limit=12.0, side="below", now_day=100.0)
    assert (met.day, met.earliest, met.latest) == pytest.approx((110.0, 100.0, 170.0))  # the steepest was due on day 80
    assert met.why == ""


def test_a_rising_line_meets_its_limit_and_may_never():
    met = forecast(slope(0.1, -0.05, 0.2), 85.0, at_day=0.0, limit=95.0, side="above", now_day=10.0)
    assert (met.day, met.earliest, met.latest) == pytest.approx((100.0, 50.0, None))


def test_a_line_that_moves_away_never_does_though_the_interval_may():
    met = forecast(slope(0.01, -0.02, 0.04), 12.6, at_day=0.0, limit=12.0, side="below", now_day=10.0)
    assert (met.day, met.latest) == (None, None)
    assert met.earliest == pytest.approx(30.0)
    assert met.why


def test_a_line_that_is_there_already_says_so():
    met = forecast(slope(-0.01, -0.02, -0.005), 12.6, at_day=0.0, limit=12.0, side="below", now_day=90.0)
    assert (met.day, met.earliest, met.latest) == (90.0, 90.0, 90.0)
    assert "already" in met.why


@settings(deadline=None)
@given(st.floats(-1, 1), st.floats(0, 1), st.floats(0, 1), st.floats(-50, 50), st.sampled_from(["below", "above"]))
def test_no_meeting_lies_in_the_past_or_out_of_order(per_x, less, more, limit, side):
    met = forecast(slope(per_x, per_x - less, per_x + more), 0.0, at_day=0.0, limit=limit, side=side, now_day=30.0)
    known = [day for day in (met.earliest, met.day, met.latest) if day is not None]
    assert known == sorted(known)
    assert all(day >= 30.0 for day in known)
    if met.day is not None and not met.why and met.day > 30.0:
        assert per_x * met.day == pytest.approx(limit, abs=1e-6)


@settings(deadline=None, max_examples=20)
@given(st.integers(0, 1000))
def test_the_true_day_lies_in_its_interval_most_of_the_time(first_seed):
    inside = []
    for seed in range(first_seed, first_seed + 10):
        at, y, drivers = season(90, seed, -0.004)
        trend = driven_trend(at, y, drivers, 0.95)
        now, limit = float(at[-1]), 11.0
        met = trend.meets(limit, side="below", now_day=now)
        level = 12.6 + 0.02 * (drivers["temperature"].median() - 15.0)
        truth = 20_000.0 + (level - limit) / 0.004
        inside.append(met.earliest <= truth <= met.latest)
    assert sum(inside) >= 6


def test_days_are_counted_from_1970_with_their_fraction():
    at = pl.Series([datetime(1970, 1, 2, 12, tzinfo=UTC), None]).cast(pl.Datetime("us", "UTC"))
    assert days_of(at).to_list() == [1.5, None]


def test_one_sided_chance_halves_p_in_its_direction_and_is_near_one_in_the_other():
    days = pl.Series([float(n) for n in range(30)])
    falls = driven_trend(days, pl.Series([100.0 - 0.5 * n + (n % 3) for n in range(30)]), pl.DataFrame(), 0.95)
    assert falls.p is not None
    assert falls.chance("falls") == falls.p / 2
    assert falls.chance("rises") == 1.0 - falls.p / 2
    assert driven_trend(days.head(3), days.head(3), pl.DataFrame(), 0.95).chance("falls") is None
