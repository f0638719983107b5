"""Tables over columns, and read the other way."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.physics.table import Table

MADE_UP = Table((0.0, 2.0, 10.0), (1.0, 3.0, 4.0), "Cel", "V", "made up")


@given(st.lists(st.none() | st.floats(-20, 20), min_size=1))
def test_a_column_gives_what_single_values_give(xs: list[float | None]) -> None:
    got = pl.DataFrame({"x": pl.Series(xs, dtype=pl.Float64)}).select(MADE_UP.over(pl.col("x"))).to_series()
    assert got.to_list() == [None if x is None else pytest.approx(MADE_UP.at(x)) for x in xs]


@given(st.floats(0, 10))
def test_the_other_way_leads_back(x: float) -> None:
    assert MADE_UP.inverse().at(MADE_UP.at(x)) == pytest.approx(x, abs=1e-9)
    falling = Table(MADE_UP.x, (4.0, 3.0, 1.0), "Cel", "V", "made up")
    assert falling.inverse().at(falling.at(x)) == pytest.approx(x, abs=1e-9)


def test_what_does_not_rise_has_no_inverse() -> None:
    with pytest.raises(ValueError, match="ascending"):
        Table((0.0, 1.0, 2.0), (0.0, 5.0, 3.0), "Cel", "V", "made up").inverse()


def test_one_point_is_a_constant() -> None:
    one = Table((3.0,), (7.0,), "Cel", "V", "made up")
    assert pl.DataFrame({"x": [1.0, None]}).select(one.over(pl.col("x"))).to_series().to_list() == [7.0, None]
