"""Slopes: what a wild value does not turn, and what too few points give."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.statistics.trend import onset, theil_sen

finite = st.floats(-1e6, 1e6, allow_nan=False)


def line(slope, n, spike=None):
    values = [5.0 + slope * k for k in range(n)]
    if spike is not None:
        values[n // 2] += spike
    return pl.Series(range(n)), pl.Series(values)


@settings(deadline=None)  # the first call imports scipy
@given(st.floats(-100, 100), st.integers(3, 40))
def test_a_straight_line_gives_its_slope(slope, n):
    fit = theil_sen(*line(slope, n), 0.95)
    assert fit.per_x == pytest.approx(slope, abs=1e-9)
    assert fit.low <= fit.per_x + 1e-12
    assert fit.per_x <= fit.high + 1e-12
    assert (fit.n, fit.method, fit.confidence, fit.why) == (n, "theil-sen", 0.95, "")


@settings(deadline=None)
@given(st.floats(-1e5, 1e5))
def test_one_wild_value_does_not_turn_it(spike):
    assert theil_sen(*line(-1.0, 21, spike), 0.95).per_x == pytest.approx(-1.0)


def test_it_falls_only_where_the_whole_interval_does():
    assert theil_sen(*line(-1.0, 20), 0.95).falls
    assert not theil_sen(*line(0.0, 20), 0.95).falls
    assert not theil_sen(*line(1.0, 20), 0.95).falls
    up_and_down = pl.Series([0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.5])
    assert not theil_sen(pl.Series(range(8)), up_and_down, 0.95).falls


def test_too_few_points_give_no_slope_and_say_so():
    for x, y in (
        ([], []),
        ([1], [2.0]),
        ([1, 2], [2.0, 3.0]),
        ([1, 1, 1], [1.0, 2.0, 3.0]),
        ([1, 2, 3], [1.0, None, 3.0]),
    ):
        fit = theil_sen(pl.Series(x, dtype=pl.Float64), pl.Series(y, dtype=pl.Float64), 0.95)
        assert (fit.per_x, fit.low, fit.high) == (None, None, None)
        assert fit.why
        assert not fit.falls


def test_nulls_are_left_out_in_pairs():
    x, y = pl.Series([0, 1, None, 3, 4, 5]), pl.Series([0.0, 1.0, 99.0, 3.0, None, 5.0])
    fit = theil_sen(x, y, 0.95)
    assert (fit.per_x, fit.n) == (1.0, 4)


def test_lengths_that_differ_are_refused():
    with pytest.raises(ValueError, match="as many"):
        theil_sen(pl.Series([1, 2, 3]), pl.Series([1.0]), 0.95)


@settings(deadline=None)
@given(st.lists(finite, min_size=4, max_size=20))
def test_a_wider_confidence_gives_a_wider_interval(values):
    x, y = pl.Series(range(len(values))), pl.Series(values)
    narrow, wide = theil_sen(x, y, 0.8), theil_sen(x, y, 0.99)
    assert wide.low <= narrow.low
    assert narrow.high <= wide.high


@given(st.integers(0, 20), st.integers(14, 60), st.floats(0.001, 10.0))
def test_the_onset_of_a_slope_is_found_to_the_row(level_rows, sloping_rows, slope):
    values = [1.0] * level_rows + [1.0 - slope * k for k in range(sloping_rows)]
    assert onset(pl.Series(values)).row == level_rows


def test_the_onset_bears_some_scatter():
    values = pl.Series([0.0] * 30 + [-0.003 * k for k in range(60)]).round(2)
    assert onset(values).row == pytest.approx(30, abs=3)


def test_no_onset_where_nothing_moves_or_little_is_there():
    for values in ([], [1.0, 2.0, 3.0], [1.0] * 10):
        found = onset(pl.Series(values, dtype=pl.Float64))
        assert found.row is None
        assert found.why
    with pytest.raises(ValueError, match="gaps"):
        onset(pl.Series([1.0, None, 2.0, 3.0]))
