"""The battery's laws against published figures."""

from __future__ import annotations

import pytest

from startworthy.physics.battery import (
    ACID_COLD,
    ACID_TEMPERATE,
    COLD_CAPACITY,
    FLOAT_CELL,
    SELF_DISCHARGE,
    charge_at,
    days_to_flat,
    float_band,
    freezing_point_c,
    gravity_at_27_c,
    volts_at_charge,
)

FLOAT = "battery text: float 2.25-2.30 V a cell at 25 C (13.5-13.8 for 12 V), -3 mV a cell and C"
OPEN_CIRCUIT = "open-circuit table, handbook (BCI style), 12 V at 26.7 C"
DRAIN = "time to flat: 16 Ah at 18 mA"
STORED = "US Army TM 9-6140-200-14, 4-8 c"
COLD = "US Army TM 10-6140-200-14, before 1-9: full charge"
FREEZES = "US Army TM 10-6140-200-14, table 1-1"
HYDROMETER = "car service manual table and tractor manual: hydrometer correction to 80 F"
GRAVITY = "tractor manual: charge by specific gravity"


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


@pytest.mark.published(FLOAT)
@pytest.mark.parametrize(("at_c", "volts"), [(25, 2.30), (35, 2.27), (15, 2.33)])
def test_float_of_a_cell_by_temperature(at_c: float, volts: float) -> None:
    assert FLOAT_CELL.at(at_c)[1] == pytest.approx(volts)


@pytest.mark.published(FLOAT)
def test_float_of_a_12_v_battery() -> None:
    assert float_band(12).at(25) == (13.5, 13.8)


@pytest.mark.published(OPEN_CIRCUIT)
@pytest.mark.parametrize(("volts", "charge"), [(12.65, 1), (12.45, 0.75), (12.24, 0.5), (12.06, 0.25), (11.89, 0)])
def test_volts_by_charge(volts: float, charge: float) -> None:
    assert volts_at_charge(charge, 12) == pytest.approx(volts)
    assert charge_at(volts, 12) == pytest.approx(charge)


@pytest.mark.published(DRAIN)
def test_days_to_flat() -> None:
    assert round(days_to_flat(16, 0.018), 2) == 37.04


@pytest.mark.published(STORED)
@pytest.mark.parametrize(("fahrenheit", "a_day"), [(100, 0.0025), (80, 0.001), (50, 0.0003)])
def test_gravity_lost_in_storage(fahrenheit: float, a_day: float) -> None:
    # the table stands at whole degrees C
    assert SELF_DISCHARGE.at(round(celsius(fahrenheit))) == a_day


@pytest.mark.published(COLD)
@pytest.mark.parametrize(("fahrenheit", "share"), [(77, 1.0), (32, 0.75), (0, 0.40)])
def test_capacity_in_the_cold(fahrenheit: float, share: float) -> None:
    assert COLD_CAPACITY.at(round(celsius(fahrenheit))) == share


@pytest.mark.published(FREEZES)
@pytest.mark.parametrize(("gravity", "fahrenheit"), [(1.280, -95), (1.250, -62), (1.220, -31), (1.160, 1)])
def test_freezing_point(gravity: float, fahrenheit: float) -> None:
    assert freezing_point_c(gravity) == pytest.approx(celsius(fahrenheit), abs=0.05)


@pytest.mark.published(HYDROMETER)
@pytest.mark.parametrize(("fahrenheit", "change"), [(160, 0.032), (100, 0.008), (80, 0.0), (50, -0.012), (0, -0.032)])
def test_hydrometer_correction(fahrenheit: float, change: float) -> None:
    assert gravity_at_27_c(1.250, celsius(fahrenheit)) - 1.250 == pytest.approx(change)


@pytest.mark.published(HYDROMETER)
@pytest.mark.parametrize(("at_c", "change"), [(71, 0.032), (38, 0.008), (10, -0.012), (-18, -0.032)])
def test_hydrometer_correction_at_the_whole_degrees_of_the_table(at_c: float, change: float) -> None:
    assert gravity_at_27_c(1.250, at_c) - 1.250 == pytest.approx(change, abs=5e-4)


@pytest.mark.published(GRAVITY)
@pytest.mark.parametrize(
    ("charge", "temperate", "cold"),
    [(1.0, 1.260, 1.280), (0.75, 1.215, 1.230), (0.5, 1.170, 1.180), (0.0, 1.070, 1.080)],
)
def test_charge_by_gravity(charge: float, temperate: float, cold: float) -> None:
    assert ACID_TEMPERATE.at(temperate) == charge
    assert ACID_COLD.at(cold) == charge
