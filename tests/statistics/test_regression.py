"""Regression on drivers: against another library, wild values, coarse senders, and drivers that cannot be told apart."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.statistics.regression import INTERCEPT, least_squares, robust, without_drivers

NORMS = {"huber": sm.robust.norms.HuberT(), "bisquare": sm.robust.norms.TukeyBiweight()}


def drawn(n, seed, k=2, wild=0):
    """y = 5 + 2 a - 3 b + noise, with some wild values."""
    rng = np.random.default_rng(seed)
    drivers = rng.normal(size=(n, k)) * [1.0, 20.0, 0.1][:k] + [0.0, 300.0, -5.0][:k]
    y = 5.0 + drivers @ np.array([2.0, -3.0, 1.0][:k]) + rng.standard_t(4, size=n)
    y[:wild] += 200.0
    return pl.Series(y), pl.DataFrame(drivers, schema=["a", "b", "c"][:k])


@pytest.mark.parametrize("n", [8, 40, 300])
@pytest.mark.parametrize("k", [1, 3])
@pytest.mark.parametrize("seed", range(3))
def test_least_squares_agrees_with_another_library(n, k, seed):
    y, drivers = drawn(n, seed, k)
    theirs = sm.OLS(y.to_numpy(), sm.add_constant(drivers.to_numpy())).fit()
    ours = least_squares(y, drivers, 0.9)
    assert [c.estimate for c in ours.coefficients] == pytest.approx(theirs.params, rel=1e-8)
    assert [c.standard_error for c in ours.coefficients] == pytest.approx(theirs.bse, rel=1e-8)
    assert [c.p for c in ours.coefficients] == pytest.approx(theirs.pvalues, rel=1e-6, abs=1e-300)
    assert [(c.low, c.high) for c in ours.coefficients] == pytest.approx(theirs.conf_int(0.1), rel=1e-7)
    assert ours.residuals.to_numpy() == pytest.approx(theirs.resid, abs=1e-8)
    assert (ours.r_squared, ours.scale**2) == pytest.approx((theirs.rsquared, theirs.mse_resid), rel=1e-8)


@pytest.mark.parametrize("weights", ["huber", "bisquare"])
@pytest.mark.parametrize("n", [15, 40, 300])
@pytest.mark.parametrize("seed", range(3))
def test_robust_regression_agrees_with_another_library(weights, n, seed):
    y, drivers = drawn(n, seed)
    design = sm.add_constant(drivers.to_numpy())
    ours = robust(y, drivers, 0.95, weights)
    # begun at our Huber fit for the bisquare, which has more than one solution
    start = [c.estimate for c in robust(y, drivers, 0.95, "huber").coefficients]
    theirs = sm.RLM(y.to_numpy(), design, M=NORMS[weights]).fit(start_params=start, maxiter=2000, tol=1e-13)
    assert [c.estimate for c in ours.coefficients] == pytest.approx(theirs.params, rel=1e-6)
    assert [c.standard_error for c in ours.coefficients] == pytest.approx(theirs.bse, rel=1e-6)
    assert ours.scale == pytest.approx(theirs.scale, rel=1e-6)
    assert ours.weights.to_numpy() == pytest.approx(theirs.weights, abs=1e-6)


@pytest.mark.parametrize("weights", ["huber", "bisquare"])
def test_wild_values_turn_least_squares_and_not_this(weights):
    y, drivers = drawn(60, 4, wild=6)
    slope = robust(y, drivers, 0.95, weights).of("a")
    assert slope.estimate == pytest.approx(2.0, abs=0.6)
    assert abs(least_squares(y, drivers, 0.95).of("a").estimate - 2.0) > 3 * abs(slope.estimate - 2.0)
    if weights == "bisquare":
        fit = robust(y, drivers, 0.95)
        assert fit.weights[:6].to_list() == [0.0] * 6
        assert fit.of("b").estimate == pytest.approx(-3.0, abs=0.05)


@settings(deadline=None, max_examples=30)
@given(st.floats(-100, 100), st.floats(-100, 100), st.integers(5, 30))
def test_a_straight_line_is_given_back(intercept, slope, n):
    x = pl.Series(range(n), dtype=pl.Float64)
    fit = robust(intercept + slope * x, pl.DataFrame({"x": x}), 0.95)
    assert fit.of("x").estimate == pytest.approx(slope, abs=1e-8)
    assert fit.of(INTERCEPT).estimate == pytest.approx(intercept, abs=1e-8)
    assert fit.scale == pytest.approx(0.0, abs=1e-8)


@settings(deadline=None, max_examples=30)
@given(st.floats(0.01, 100), st.floats(-1000, 1000))
def test_the_unit_and_origin_of_a_driver_change_only_its_own_figures(unit, origin):
    y, drivers = drawn(40, 7)
    one = robust(y, drivers, 0.95)
    other = robust(y, drivers.with_columns(pl.col("b") * unit + origin), 0.95)
    assert other.of("b").estimate * unit == pytest.approx(one.of("b").estimate, rel=1e-6)
    assert other.of("a").estimate == pytest.approx(one.of("a").estimate, rel=1e-6)
    assert other.of("a").p == pytest.approx(one.of("a").p, rel=1e-4)


def test_a_coarse_sender_with_most_residuals_at_nothing():
    x = pl.Series(range(40), dtype=pl.Float64)
    y = pl.Series([12.6] * 40).scatter([5, 20, 33], [12.5, 12.7, 12.5])
    fit = robust(y, pl.DataFrame({"x": x}), 0.95)
    assert fit.of("x").estimate == pytest.approx(0.0, abs=1e-6)
    assert "mean deviation" in fit.method
    assert fit.scale > 0.0
    assert fit.of("x").low < 0.0 < fit.of("x").high


def test_the_interval_covers_what_it_says():
    held = []
    for seed in range(300):
        y, drivers = drawn(30, 100 + seed)
        slope = robust(y, drivers, 0.9).of("a")
        held.append(slope.low <= 2.0 <= slope.high)
    assert sum(held) / 300 == pytest.approx(0.9, abs=0.06)


def test_drivers_that_do_not_move_or_move_as_others_do_are_left_out():
    y, drivers = drawn(40, 8)
    more = drivers.with_columns(
        still=pl.lit(25.0), same=pl.col("a") * 1.8 + 32.0, both=pl.col("a") - 2.0 * pl.col("b"), new=pl.col("a") ** 2
    )
    fit = robust(y, more, 0.95)
    assert fit.left_out == ("still", "same", "both")
    assert [c.name for c in fit.coefficients] == [INTERCEPT, "a", "b", "new"]
    assert fit.of("same") is None
    assert fit.of("a").estimate == pytest.approx(robust(y, drivers.with_columns(new=pl.col("a") ** 2), 0.95).of("a").estimate)  # fmt: skip


def test_nulls_keep_their_rows():
    y, drivers = drawn(30, 9)
    holed = y.scatter(3, None)
    fit = robust(holed, drivers.with_columns(a=drivers["a"].scatter(7, None)), 0.95)
    assert fit.n == 28
    assert fit.residuals.is_null().arg_true().to_list() == [3, 7]
    assert fit.weights.is_null().arg_true().to_list() == [3, 7]
    keep = pl.Series([k not in (3, 7) for k in range(30)])
    assert fit.of("a") == robust(y.filter(keep), drivers.filter(keep), 0.95).of("a")


def test_values_without_their_drivers_keep_their_level_and_lose_their_swing():
    rng = np.random.default_rng(10)
    temperature = pl.Series(20.0 + 15.0 * np.sin(np.arange(200) / 10))
    y = 12.7 - 0.02 * (temperature - 20.0) + pl.Series(rng.normal(size=200) * 0.01)
    corrected = without_drivers(y, pl.DataFrame({"temperature": temperature}), 0.95)
    level = corrected.values
    assert corrected.fit.of("temperature").estimate == pytest.approx(-0.02, abs=0.001)
    assert level.std() < 0.02 < y.std()
    assert level.median() == pytest.approx(12.7 - 0.02 * (temperature.median() - 20.0), abs=0.01)


def test_too_few_rows_give_no_figures_and_a_reason():
    y, drivers = drawn(3, 11)
    for fit in (robust(y, drivers, 0.95), least_squares(y, drivers, 0.95), robust(y[:0], drivers[:0], 0.95)):
        assert (fit.coefficients, fit.residuals, fit.scale) == ((), None, None)
        assert fit.why
    assert without_drivers(y, drivers, 0.95).values is None


def test_lengths_that_differ_are_refused():
    y, drivers = drawn(10, 12)
    with pytest.raises(ValueError, match="as many"):
        robust(y[:-1], drivers, 0.95)
