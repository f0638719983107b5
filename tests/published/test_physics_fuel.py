"""Fuel against published figures: swelling, charts, an engine's energy balance, and the straight line."""

from __future__ import annotations

import polars as pl
import pytest

from startworthy.physics.fuel import (
    CHARTS,
    L_PER_US_GAL,
    efficiency,
    expansion_per_c,
    fuel_line,
    specific_gravity,
    volume_correction,
)

ASTM = "ASTM D1250-80, table 54B, 15 C base"
CHART = "published fuel chart of diesel sets, US gal/h at 1/2, 3/4 and full load"
HANDBOOK = "Handbook of Energy Engineering Calculations, p. 195-196"
NORRIS = "NIST Statistical Reference Datasets, Norris"

NORRIS_X = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5]  # fmt: skip
NORRIS_Y = [0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2]  # fmt: skip


@pytest.mark.published(ASTM)
@pytest.mark.parametrize(("celsius", "factor"), [(25, 0.99154), (0, 1.01261), (15, 1.0)])
def test_volume_by_temperature(celsius: float, factor: float) -> None:
    assert volume_correction(celsius, 840) == pytest.approx(factor, abs=5e-6)


@pytest.mark.published(f"{ASTM}: K0 and K1 by density")
@pytest.mark.parametrize(("kg_m3", "k0", "k1"), [(838.5, 186.9696, 0.4862), (840, 186.9696, 0.4862), (838.4, 594.5418, 0), (787.5, 594.5418, 0)])  # fmt: skip
def test_expansion_by_density(kg_m3: float, k0: float, k1: float) -> None:
    assert expansion_per_c(kg_m3) == pytest.approx(k0 / kg_m3**2 + k1 / kg_m3, rel=1e-12)


@pytest.mark.published(CHART)
@pytest.mark.parametrize(("kw", "gal_h"), [(8, (0.39, 0.54, 0.69)), (15, (0.69, 0.94, 1.22)), (20, (0.9, 1.3, 1.6))])
def test_charts(kw: float, gal_h: tuple[float, ...]) -> None:
    assert [CHARTS[kw].at(load) / L_PER_US_GAL for load in (0.5, 0.75, 1.0)] == pytest.approx(list(gal_h))


@pytest.mark.published(f"{HANDBOOK}: 25 deg API oil has a specific gravity of 0.904")
def test_specific_gravity() -> None:
    assert round(specific_gravity(25), 3) == 0.904


@pytest.mark.published(
    f"{HANDBOOK}: 0.485 lb/kWh at the shaft, 19 180 Btu/lb (44 612.7 kJ/kg): brake efficiency 36.7 %"
)
def test_efficiency() -> None:
    kg_m3 = 1000 * specific_gravity(25)
    l_per_kwh = 0.485 * 0.45359237 / kg_m3 * 1000
    assert efficiency(l_per_kwh, kg_m3, 44.6127) == pytest.approx(0.367, abs=5e-4)


@pytest.mark.published(NORRIS)
def test_straight_line() -> None:
    line = fuel_line(pl.Series(NORRIS_X), pl.Series(NORRIS_Y))
    assert line.l_per_kwh == pytest.approx(1.00211681802045, rel=1e-12)
    assert line.idle_lph == pytest.approx(-0.262323073774029, rel=1e-10)
    assert line.scatter_lph == pytest.approx(0.884796396144373, rel=1e-10)
    assert line.n == 36
