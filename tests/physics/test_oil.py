"""Viscosity lines and oil pressure at one temperature."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.physics.oil import ORDINARY_OIL, Walther, pressure_at, pressure_at_over, walther

CELSIUS = st.floats(-20, 130)


@given(st.floats(30, 300), st.floats(4, 25), CELSIUS, st.floats(1, 40))
def test_a_line_goes_through_its_points_and_oil_thins(at_40: float, at_100: float, celsius: float, more: float) -> None:
    oil = walther(at_40, 40, at_100, 100)
    assert oil.cst(40) == pytest.approx(at_40)
    assert oil.cst(100) == pytest.approx(at_100)
    assert oil.cst(celsius + more) < oil.cst(celsius)


@given(st.floats(50, 600), CELSIUS, CELSIUS)
def test_there_and_back_is_the_same_pressure(kpa: float, celsius: float, reference_c: float) -> None:
    there = pressure_at(kpa, celsius, reference_c)
    assert pressure_at(there, reference_c, celsius) == pytest.approx(kpa)
    if reference_c > celsius + 0.1:
        assert there < kpa


@given(st.lists(st.tuples(st.none() | st.floats(0, 600), st.none() | CELSIUS), min_size=1))
def test_columns_give_what_single_values_give(pairs: list[tuple[float | None, float | None]]) -> None:
    frame = pl.DataFrame(pairs, schema={"p": pl.Float64, "c": pl.Float64}, orient="row")
    got = frame.select(pressure_at_over(pl.col("p"), pl.col("c"), 85.0)).to_series().to_list()
    for value, (p, c) in zip(got, pairs, strict=True):
        assert value == (None if p is None or c is None else pytest.approx(pressure_at(p, c, 85.0), abs=1e-9))


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="cSt"):
        walther(0.3, 40, 0.2, 100)
    with pytest.raises(ValueError, match="temperatures"):
        walther(32, 40, 5.4, 40)
    with pytest.raises(ValueError, match="thins"):
        walther(5.4, 40, 32, 100)
    with pytest.raises(ValueError, match="thins"):
        Walther(9.5, float("nan"))
    with pytest.raises(ValueError, match="temperature"):
        ORDINARY_OIL.cst(-300)
    with pytest.raises(ValueError, match="pressure"):
        pressure_at(-1, 80, 90)
