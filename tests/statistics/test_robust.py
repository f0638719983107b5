"""Centre and scatter that wild values do not move."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.statistics.robust import MEAN_DEVIATION_TO_SIGMA, deviation, grubbs, modified_z, scatter

values = st.lists(st.floats(-1e6, 1e6, allow_nan=False), min_size=1, max_size=50)


@settings(deadline=None)
@given(values, st.floats(-1e3, 1e3))
def test_a_shift_moves_the_median_and_not_the_scatter(given_values, shift):
    one, moved = scatter(pl.Series(given_values)), scatter(pl.Series([v + shift for v in given_values]))
    assert moved.median == pytest.approx(one.median + shift, rel=1e-6, abs=1e-6)
    assert moved.scatter == pytest.approx(one.scatter, rel=1e-6, abs=1e-4)


def test_one_wild_value_in_ten_hardly_counts():
    calm = scatter(pl.Series([1.0, 1.1, 0.9, 1.0, 1.05, 0.95, 1.0, 1.1, 0.9]))
    wild = scatter(pl.Series([1.0, 1.1, 0.9, 1.0, 1.05, 0.95, 1.0, 1.1, 0.9, 1e6]))
    assert wild.median == pytest.approx(calm.median, abs=0.05)
    assert wild.scatter < 0.2


def test_no_values_give_no_figure_and_a_reason():
    nothing = scatter(pl.Series([None, None], dtype=pl.Float64))
    assert (nothing.median, nothing.scatter, nothing.n) == (None, None, 0)
    assert nothing.why


def test_steps_of_a_coarse_sender_may_scatter_by_nothing():
    assert scatter(pl.Series([0.8, 0.8, 0.8, 0.79, 0.8])).scatter == 0.0


def test_where_most_values_are_alike_the_plain_deviation_stands():
    steps = pl.Series([0.0, 0.0, -0.01, 0.0, 0.0, None])
    assert scatter(steps).scatter == 0.0
    assert deviation(steps) == pytest.approx(0.01 / 5**0.5)
    assert deviation(pl.Series([1.0])) == 0.0
    assert deviation(pl.Series([], dtype=pl.Float64)) == 0.0


@settings(deadline=None)
@given(values, st.floats(-1e3, 1e3), st.floats(0.1, 100.0))
def test_scores_do_not_depend_on_unit_or_origin(given_values, shift, unit):
    one = modified_z(pl.Series(given_values).round(3))
    moved = modified_z(pl.Series(given_values).round(3) * unit + shift)
    if one.scores is None or moved.scores is None or one.method != moved.method:
        return  # rounding decides whether half of the values are alike
    assert moved.scores.to_list() == pytest.approx(one.scores.to_list(), rel=1e-3, abs=1e-3)


def test_scores_fall_back_to_the_mean_deviation_and_say_so():
    coarse = pl.Series([12.6] * 8 + [12.5, 12.7, 13.6, None])
    found = modified_z(coarse)
    assert "mean absolute deviation" in found.method
    mean = (0.1 + 0.1 + 1.0) / 11
    assert found.scores[10] == pytest.approx(1.0 / (1.253314 * mean))
    assert found.scores[0] == 0.0
    assert found.scores[11] is None
    assert found.n == 11


def test_no_scores_where_all_are_alike_or_few():
    for few in ([12.6] * 20, [1.0, 2.0], [None, None]):
        found = modified_z(pl.Series(few, dtype=pl.Float64))
        assert found.scores is None
        assert found.why


def test_mean_deviation_of_normal_values_is_their_standard_deviation():
    noise = pl.Series(np.random.default_rng(1).normal(size=100_000))
    assert MEAN_DEVIATION_TO_SIGMA * (noise - noise.median()).abs().mean() == pytest.approx(1.0, abs=0.01)
    assert modified_z(noise).scale == pytest.approx(1.0, abs=0.01)


def test_grubbs_names_the_one_far_value():
    # mean, deviation and quantile worked out with numpy and scipy; the source of the eight values is from memory
    masses = pl.Series([199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57])
    above = grubbs(masses, 0.95, "above")
    assert (above.row, above.outlying, above.n) == (7, True, 8)
    assert (above.g, above.critical) == pytest.approx((2.468765, 2.031652), abs=1e-6)
    assert grubbs(masses, 0.95).critical > above.critical
    below = grubbs(masses, 0.95, "below")
    assert (below.row, below.outlying) == (0, False)
    assert grubbs(-masses, 0.95, "below").row == 7


def test_grubbs_keeps_rows_past_nulls_and_judges_no_few_values():
    assert grubbs(pl.Series([1.0, None, 1.1, 0.9, None, 50.0, 1.0]), 0.95).row == 5
    for few in ([1.0, 9.0], [2.0] * 9, [None] * 3):
        found = grubbs(pl.Series(few, dtype=pl.Float64), 0.95)
        assert (found.row, found.g, found.outlying) == (None, None, False)
        assert found.why


def test_grubbs_errs_on_normal_values_as_often_as_it_says():
    rng = np.random.default_rng(2)
    false = [grubbs(pl.Series(rng.normal(size=20)), 0.95).outlying for _ in range(600)]
    assert sum(false) / 600 == pytest.approx(0.05, abs=0.03)
