"""Control charts: the recursions row by row, what nulls do, and how soon and how seldom they signal."""

from __future__ import annotations

import numpy as np
import pandas as pd
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.statistics.control import cusum, ewma, individuals

values_with_nulls = st.lists(st.one_of(st.none(), st.floats(-50, 50)), min_size=1, max_size=40).filter(
    lambda row: any(v is not None for v in row)
)


def series(values):
    return pl.Series(values, dtype=pl.Float64)


def cusum_by_rows(values, target, allowance, decision, head_start, reset):
    """As the handbook writes it, one row after the other."""
    high = low = head_start
    highs, lows, out = [], [], []
    for x in values:
        if x is None:
            highs.append(None), lows.append(None), out.append(False)
            continue
        high, low = max(0.0, high + x - target - allowance), max(0.0, low + target - allowance - x)
        highs.append(high), lows.append(low), out.append(high > decision or low > decision)
        if reset and out[-1]:
            high = low = head_start
    return highs, lows, out


@settings(deadline=None)
@given(values_with_nulls, st.floats(-5, 5), st.floats(0, 5), st.floats(0.1, 30), st.floats(0, 0.9), st.booleans())
def test_cusum_is_the_recursion(values, target, allowance, decision, head, reset):
    found = cusum(series(values), target=target, allowance=allowance, decision=decision, head_start=head * decision, reset=reset)  # fmt: skip
    highs, lows, out = cusum_by_rows(values, target, allowance, decision, head * decision, reset)
    close = [abs(s - decision) < 1e-9 for s in [*highs, *lows] if s is not None]
    if any(close):
        return  # where a sum meets the limit to the last digit, rounding decides
    assert found.out.to_list() == out
    for ours, rows in ((found.high, highs), (found.low, lows)):
        assert ours.is_null().to_list() == [r is None for r in rows]
        assert ours.drop_nulls().to_list() == pytest.approx([r for r in rows if r is not None], abs=1e-9)
    assert found.first == (out.index(True) if any(out) else None)


def test_a_head_start_signals_sooner_on_a_shift_that_is_there_from_the_start():
    shifted = series([1.0] * 20)
    plain = cusum(shifted, target=0.0, allowance=0.5, decision=5.0)
    ahead = cusum(shifted, target=0.0, allowance=0.5, decision=5.0, head_start=2.5)
    assert ahead.first < plain.first


@settings(deadline=None)
@given(values_with_nulls, st.floats(0.05, 1.0))
def test_ewma_agrees_with_another_library(values, weight):
    chart = ewma(series(values), target=1.0, sigma=2.0, weight=weight)
    known = [v for v in values if v is not None]
    theirs = pd.Series([1.0, *known]).ewm(alpha=weight, adjust=False).mean().to_numpy()[1:]
    assert chart.statistic.drop_nulls().to_numpy() == pytest.approx(theirs, abs=1e-9)
    assert chart.statistic.is_null().to_list() == [v is None for v in values]
    assert chart.n == len(known)


def test_true_limits_of_an_ewma_widen_to_the_asymptotic_ones():
    values = series([0.0] * 60)
    exact, wide = (ewma(values, target=0.0, sigma=1.0, weight=0.2, asymptotic=a) for a in (False, True))
    assert exact.upper[0] == pytest.approx(3 * 0.2)
    assert exact.upper.is_sorted()
    assert exact.upper[-1] == pytest.approx(wide.upper[-1], rel=1e-6)
    assert (exact.upper <= wide.upper).all()


def test_an_ewma_signals_on_a_small_lasting_shift_that_single_values_do_not_show():
    noise = pl.Series(np.random.default_rng(1).normal(size=120))
    shifted = noise + pl.Series([0.0] * 40 + [1.0] * 80)
    assert ewma(noise, target=0.0, sigma=1.0, weight=0.2).first is None
    assert 40 <= ewma(shifted, target=0.0, sigma=1.0, weight=0.2).first < 70


def test_individuals_rarely_signal_on_noise_and_do_on_a_wild_value():
    noise = pl.Series(np.random.default_rng(2).normal(size=5000))
    chart = individuals(noise)
    assert chart.sigma == pytest.approx(1.0, abs=0.05)
    assert chart.out.sum() / 5000 < 0.006
    wild = noise.head(100).scatter(50, 8.0)
    assert individuals(wild).out[50]


def test_a_baseline_keeps_what_comes_later_out_of_the_limits():
    noise = pl.Series(np.random.default_rng(3).normal(size=30))
    risen = pl.concat([noise, noise + 6.0])
    assert individuals(risen, baseline=30).out[30:].sum() > 25
    assert individuals(risen, baseline=30).centre == pytest.approx(noise.mean())


def test_nulls_leave_an_individuals_chart_as_it_is():
    values = [1.0, 2.0, 1.5, 1.0, 9.0, 1.2]
    with_nulls = individuals(series([1.0, None, 2.0, 1.5, 1.0, None, 9.0, 1.2]), width=1.5)
    plain = individuals(series(values), width=1.5)
    assert (plain.centre, plain.sigma) == (with_nulls.centre, with_nulls.sigma)
    assert (plain.first, with_nulls.first) == (4, 6)
    assert with_nulls.n == 6


def test_a_value_on_the_limit_is_within():
    values = series([0.0, 1.0, 0.0, 1.0])
    width = 0.5 / (1.0 / 1.128)
    assert individuals(values, width=width * 1.0000001).first is None
    assert individuals(values, width=width * 0.9999999).first == 0


def test_no_chart_without_values_or_scatter_and_a_reason():
    none, one, flat = series([None]), series([1.0]), series([2.0] * 10)
    for chart in (individuals(none), individuals(one), individuals(flat), ewma(none, target=0, sigma=1, weight=0.3)):
        assert (chart.statistic, chart.out, chart.first) == (None, None, None)
        assert chart.why
    sums = cusum(none, target=0.0, allowance=0.0, decision=1.0)
    assert (sums.high, sums.first) == (None, None)
    assert sums.why


def test_settings_that_cannot_be_are_refused():
    values = series([1.0])
    for weight, sigma in ((0.0, 1.0), (1.1, 1.0), (0.3, 0.0)):
        with pytest.raises(ValueError, match="weight"):
            ewma(values, target=0.0, sigma=sigma, weight=weight)
    for allowance, decision, head in ((-1.0, 1.0, 0.0), (0.0, 1.0, 1.0), (0.0, 1.0, -0.5)):
        with pytest.raises(ValueError, match="allowance"):
            cusum(values, target=0.0, allowance=allowance, decision=decision, head_start=head)
