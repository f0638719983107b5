"""The battery's tables and limits against their published values."""

from __future__ import annotations

import pytest

from startworthy.limits import BY_NAME
from startworthy.physics.battery import load_test, open_circuit

BCI = "battery load-test table (BCI), reprinted in service manuals: volts after 15 s at half the cold-cranking amperes"
OPEN_CIRCUIT = "open-circuit table, handbook (BCI style), 12 V at 26.7 C"
FLOAT = "battery text: float 2.25-2.30 V a cell at 25 C, -3 mV a cell and C"


@pytest.mark.published(BCI)
@pytest.mark.parametrize(
    ("celsius", "volts"),
    [(20, 9.6), (16, 9.5), (10, 9.4), (4, 9.3), (-1, 9.1), (-7, 8.9), (-12, 8.7), (-18, 8.5)],
)
def test_lowest_volts_under_load_by_temperature(celsius, volts):
    assert load_test(12).at(celsius) == volts
    # two 12 V units in series: each carries half
    assert load_test(24).at(celsius) == pytest.approx(2 * volts)


@pytest.mark.published(BCI)
def test_warmer_than_the_table_the_limit_stays():
    assert load_test(12).at(35) == BY_NAME["battery_crank_low_12_v"].value == 9.6
    assert load_test(24).at(35) == BY_NAME["battery_crank_low_24_v"].value == 19.2


@pytest.mark.published(OPEN_CIRCUIT)
@pytest.mark.parametrize(
    ("volts", "charge"), [(12.65, 1.0), (12.45, 0.75), (12.24, 0.5), (12.06, 0.25), (11.89, 0.0), (12.345, 0.625)]
)
def test_charge_by_volts_at_rest(volts, charge):
    assert open_circuit(12).at(volts) == pytest.approx(charge)
    assert open_circuit(24).at(2 * volts) == pytest.approx(charge)


@pytest.mark.published(OPEN_CIRCUIT)
def test_flat_is_a_quarter_charged():
    assert open_circuit(12).at(BY_NAME["battery_rest_flat_12_v"].value) == 0.25
    assert open_circuit(24).at(BY_NAME["battery_rest_flat_24_v"].value) == pytest.approx(0.25)


@pytest.mark.published(FLOAT)
@pytest.mark.parametrize(("cells", "name"), [(6, "battery_float_low_12_v"), (12, "battery_float_low_24_v")])
def test_heat_alone_does_not_bring_the_float_voltage_below_its_band(cells, name):
    at_40_c = cells * (2.25 - 0.003 * (40 - 25))
    assert at_40_c > BY_NAME[name].value
    # and a full battery off charge is below it
    assert cells / 6 * 12.65 < BY_NAME[name].value
