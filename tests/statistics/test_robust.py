"""Centre and scatter that wild values do not move."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.statistics.robust import deviation, scatter

values = st.lists(st.floats(-1e6, 1e6, allow_nan=False), min_size=1, max_size=50)


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
