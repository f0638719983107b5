"""Fuel: swelling, curves, lines and energy, and what is refused."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.physics.fuel import (
    CHARTS,
    chart_lph,
    density_kg_m3,
    efficiency,
    expansion_per_c,
    fuel_curve,
    fuel_line,
    kwh_per_l,
    litres_at_15_c,
    specific_gravity,
    volume_correction,
    volume_correction_over,
)

CELSIUS = st.floats(-40, 60)


@given(CELSIUS, st.floats(0.1, 20), st.sampled_from([790.0, 838.4, 838.5, 845.0, 900.0]))
def test_fuel_swells_as_it_warms(celsius: float, more: float, kg_m3: float) -> None:
    assert volume_correction(celsius + more, kg_m3) < volume_correction(celsius, kg_m3)
    assert volume_correction(15.0, kg_m3) == 1


@given(CELSIUS, st.floats(0, 1000))
def test_warming_changes_no_mass(celsius: float, litres: float) -> None:
    at_15_c = litres_at_15_c(litres, celsius)
    assert at_15_c * 840 == pytest.approx(litres * density_kg_m3(celsius))


@given(st.lists(st.none() | CELSIUS, min_size=1))
def test_a_column_gives_what_single_temperatures_give(celsius: list[float | None]) -> None:
    frame = pl.DataFrame({"c": pl.Series(celsius, dtype=pl.Float64)})
    got = frame.select(volume_correction_over(pl.col("c"))).to_series().to_list()
    assert got == [None if c is None else pytest.approx(volume_correction(c), rel=1e-12) for c in celsius]


@pytest.mark.parametrize("kg_m3", [700.0, 1100.0, float("nan")])
def test_no_fuel_outside_the_table(kg_m3: float) -> None:
    with pytest.raises(ValueError, match=r"787\.5"):
        expansion_per_c(kg_m3)


def test_impossible_figures_are_refused() -> None:
    with pytest.raises(ValueError, match="temperature"):
        volume_correction(float("nan"))
    with pytest.raises(ValueError, match="volume"):
        litres_at_15_c(-1.0, 20)
    with pytest.raises(ValueError, match="API"):
        specific_gravity(-140)
    with pytest.raises(ValueError, match="above 0"):
        efficiency(0.0)
    with pytest.raises(ValueError, match="above 0"):
        kwh_per_l(-1.0)


def test_energy_is_plain_arithmetic() -> None:
    # 0.832 kg/L x 42.8 MJ/kg = 35.61 MJ/L; computed by hand
    assert kwh_per_l() * 3.6 == pytest.approx(35.61, abs=0.005)
    assert kwh_per_l() == pytest.approx(9.89, abs=0.005)
    assert efficiency(0.30) == pytest.approx(0.337, abs=5e-4)
    assert efficiency(0.40) == pytest.approx(0.253, abs=5e-4)


def test_a_curve_goes_through_its_points_and_holds_at_its_ends() -> None:
    curve = fuel_curve([(0.0, 0.8), (0.5, 2.0), (1.0, 3.6)])
    assert [curve.at(x) for x in (0.0, 0.25, 0.5, 1.0, 1.1)] == [0.8, 1.4, 2.0, 3.6, 3.6]


@pytest.mark.parametrize(
    ("points", "told"),
    [
        ([], "fuel curve gives"),
        ([(0.5, 0.0)], "above 0"),
        ([(-0.5, 1.0)], "0 or more"),
        ([(0.5, 2.0), (0.5, 3.0)], "must rise"),
        ([(0.5, 2.0), (0.4, 3.0)], "must rise"),
        ([(0.5, 2.0), (1.0, 1.0)], "does not fall"),
        ([(0.5, float("nan"))], "above 0"),
    ],
)
def test_a_curve_that_cannot_be_is_refused(points: list[tuple[float, float]], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        fuel_curve(points)


def test_charts_say_nothing_beyond_their_ends() -> None:
    assert chart_lph(8, 0.5) == CHARTS[8.0].at(0.5)
    assert CHARTS[8.0].at(0.75) < chart_lph(11.5, 0.75) < CHARTS[15.0].at(0.75)
    assert chart_lph(8, 0.4) is chart_lph(7, 0.5) is chart_lph(25, 0.5) is chart_lph(8, 1.1) is None


@given(st.floats(0.2, 2), st.floats(0.2, 0.4), st.sampled_from(["least squares", "theil-sen"]))
def test_a_line_is_found_again(idle: float, slope: float, method: str) -> None:
    kw = pl.Series([0.0, 2.0, None, 5.0, 9.0])
    line = fuel_line(kw, kw * slope + idle, method)
    assert (line.idle_lph, line.l_per_kwh, line.n) == (pytest.approx(idle), pytest.approx(slope), 4)
    assert line.scatter_lph == pytest.approx(0, abs=1e-9)
    assert line.at(4.0) == pytest.approx(idle + 4 * slope)


def test_a_wild_point_moves_only_the_plain_line() -> None:
    kw = pl.Series([1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0])
    lph = kw * 0.25 + 0.5
    lph = pl.Series([*lph[:-1], 9.0])
    assert fuel_line(kw, lph, "theil-sen").l_per_kwh == pytest.approx(0.25)
    assert fuel_line(kw, lph).l_per_kwh > 0.5


@pytest.mark.parametrize("kw", [[1.0, 2.0], [3.0, 3.0, 3.0], [1.0, None, 2.0]])
def test_too_little_gives_no_line(kw: list[float | None]) -> None:
    line = fuel_line(pl.Series(kw), pl.Series([1.0] * len(kw)))
    assert line.idle_lph is line.l_per_kwh is line.at(1.0) is None
    assert line.why


def test_as_many_of_both() -> None:
    with pytest.raises(ValueError, match="as many"):
        fuel_line(pl.Series([1.0]), pl.Series([1.0, 2.0]))
