"""Mann-Kendall: against another library, and what ties, gaps and values that hang together do to it."""

from __future__ import annotations

import numpy as np
import polars as pl
import pymannkendall
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.statistics.trend import mann_kendall, theil_sen, variance_ratio

coarse = st.lists(st.integers(-5, 5), min_size=10, max_size=60)


def noise(n, seed, correlation=0.0):
    """Normal values of a first-order process, its standard deviation 1."""
    drawn = np.random.default_rng(seed).normal(size=n + 200)
    values = np.zeros(n + 200)
    for k in range(1, n + 200):
        values[k] = correlation * values[k - 1] + drawn[k] * (1 - correlation**2) ** 0.5
    return pl.Series(values[200:])


@settings(deadline=None)
@given(coarse)
def test_uncorrected_it_agrees_with_another_library(values):
    ours, other = mann_kendall(pl.Series(values), correction="none"), pymannkendall.original_test(values)
    assert ours.s == other.s
    assert (ours.tau, ours.variance, ours.z, ours.p) == pytest.approx(
        (other.Tau, other.var_s, other.z, other.p), abs=1e-9
    )


# numbers of values with an even number of pairs: else the two values of the median slope tie once detrended, which
# rounding decides differently here and there
@pytest.mark.parametrize("n", [12, 29, 120])
@pytest.mark.parametrize("correlation", [-0.5, 0.0, 0.5, 0.9])
def test_hamed_and_raos_correction_agrees_with_another_library(n, correlation):
    for seed in range(5):
        values = noise(n, seed, correlation) + pl.Series(range(n)) * 0.02
        ours = mann_kendall(values, correction="hamed-rao")
        with np.errstate(invalid="ignore"):
            other = pymannkendall.hamed_rao_modification_test(values.to_numpy())
        if ours.p is None:
            assert other.var_s <= 0
            assert "not positive" in ours.why
        else:
            assert (ours.s, ours.variance, ours.p) == pytest.approx(
                (other.s, other.var_s, other.p), rel=1e-9, abs=1e-12
            )


@pytest.mark.parametrize(("correlation", "n", "at_most"), [(0.0, 30, 0.08), (0.6, 60, 0.11), (0.6, 180, 0.11)])
def test_values_that_only_hang_together_seldom_make_a_trend(correlation, n, at_most):
    false = [mann_kendall(noise(n, seed, correlation)).p < 0.05 for seed in range(300)]
    plain = [mann_kendall(noise(n, seed, correlation), correction="none").p < 0.05 for seed in range(300)]
    assert sum(false) / 300 <= at_most
    assert sum(false) <= sum(plain)
    if correlation:
        assert sum(plain) / 300 > 0.25


def test_a_true_trend_is_still_found_under_correlation():
    found = [mann_kendall(noise(180, seed, 0.6) + pl.Series(range(180)) * 0.02).p < 0.05 for seed in range(50)]
    assert sum(found) >= 48


@settings(deadline=None)
@given(coarse)
def test_caution_never_narrows(values):
    series = pl.Series(values)
    assert mann_kendall(series).variance_ratio >= 1.0
    assert mann_kendall(series).p >= mann_kendall(series, correction="none").p - 1e-12


@settings(deadline=None)
@given(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=40))
def test_upside_down_turns_the_sign_and_nothing_else(values):
    up, down = mann_kendall(pl.Series(values), correction="none"), mann_kendall(-pl.Series(values), correction="none")
    assert up.s == -down.s
    assert (up.p, up.variance) == (down.p, down.variance)


@settings(deadline=None)
@given(st.permutations(range(9)))
def test_below_ten_without_ties_p_is_counted_out(order):
    ours = mann_kendall(pl.Series(order))
    assert ours.method == "mann-kendall, exact"
    assert ours.z is None
    assert 0.0 < ours.p <= 1.0


def test_the_exact_p_of_a_steady_rise_is_two_orders_of_all():
    assert mann_kendall(pl.Series(range(8))).p == pytest.approx(2 / 40320)


def test_below_eight_there_is_no_trend_and_a_reason():
    seven = mann_kendall(pl.Series(range(7)))
    assert (seven.s, seven.p, seven.z) == (21, None, None)
    assert "8" in seven.why
    one = mann_kendall(pl.Series([1.0, None]))
    assert (one.s, one.p, one.n) == (None, None, 1)
    assert one.why


def test_values_all_alike_have_no_trend():
    same = mann_kendall(pl.Series([12.6] * 20))
    assert (same.s, same.p, same.why) == (0, 1.0, "")


def test_nulls_are_left_out_and_gaps_kept():
    values = noise(60, 3, 0.7)
    days = pl.Series(range(60))
    holes = pl.DataFrame({"day": days, "value": values}).filter(~pl.col("day").is_between(20, 29))
    filled = values.set(days.is_between(20, 29), None)
    by_day = mann_kendall(holes["value"], at=holes["day"])
    assert by_day == mann_kendall(filled)
    assert by_day.n == 50
    assert by_day.variance_ratio != mann_kendall(holes["value"]).variance_ratio


def test_values_of_one_instant_are_taken_row_by_row():
    values = noise(40, 4)
    at = pl.Series([k // 2 for k in range(40)])
    assert mann_kendall(values, at=at) == mann_kendall(values)
    with pytest.raises(ValueError, match="as many"):
        mann_kendall(values, at=at[:-1])


def test_rounding_of_a_straight_line_is_no_correlation():
    assert mann_kendall(pl.Series([0.1 * k for k in range(50)])).variance_ratio == 1.0


def test_correlation_widens_the_interval_of_the_slope():
    values, rows = noise(100, 5, 0.8), pl.Series(range(100))
    ratio = variance_ratio(values)
    assert ratio > 3.0
    plain, wide = theil_sen(rows, values, 0.95), theil_sen(rows, values, 0.95, variance_ratio=ratio)
    assert plain.per_x == wide.per_x
    assert wide.low < plain.low < plain.high < wide.high


def test_an_interval_grows_with_the_root_of_the_ratio():
    values, rows = noise(200, 6) * 1.0, pl.Series(range(200))
    plain, wide = theil_sen(rows, values, 0.95), theil_sen(rows, values, 0.95, variance_ratio=4.0)
    assert (wide.high - wide.low) / (plain.high - plain.low) == pytest.approx(2.0, rel=0.2)


def test_no_correction_for_few_values_or_none():
    assert variance_ratio(pl.Series([1.0, 2.0, 1.0])) == 1.0
    assert variance_ratio(noise(50, 7, 0.9), "none") == 1.0
    assert variance_ratio(pl.Series([1.0] * 50)) == 1.0
