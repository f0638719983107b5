"""Headers as written: which signal and which unit they name. Units: test_units.py."""

from __future__ import annotations

import pytest

from startworthy.read.columns import Place, plan_columns
from startworthy.read.headers import hear, unit_named
from startworthy.read.layout import Layout
from startworthy.signals import SIGNALS, UNITS, Quantity


@pytest.mark.parametrize(
    ("header", "signal", "unit"),
    [
        ("Battery voltage [V]", "battery_v", "V"),
        ("Battery (V)", "battery_v", "V"),
        ("battery_v", "battery_v", "V"),
        ("BATTERY_VOLTAGE_V", "battery_v", "V"),
        ("BatteryVoltage", "battery_v", ""),
        ("Engine Coolant Temperature [°C]", "coolant_c", "°C"),
        ("Engine Coolant Temperature [Â°C]", "coolant_c", "°C"),
        ("Coolant temp °F", "coolant_c", "°F"),
        ("coolant_temp_c", "coolant_c", "c"),
        ("COOLANT_TEMPERATURE ()", "coolant_c", ""),
        ("Oil press. (bar)", "oil_kpa", "bar"),
        ("Oil pressure, psi", "oil_kpa", "psi"),
        ("Engine RPM [RPM]", "speed_rpm", "RPM"),
        ("rpm", "speed_rpm", ""),
        ("f", "frequency_hz", ""),
        ("Gen Freq (Hz)", "frequency_hz", "Hz"),
        ("Voltage L1-N (V)", "voltage_l1_v", "V"),
        ("Voltage (L1-N)", "voltage_l1_v", ""),
        ("L1-L2 [V]", "voltage_l12_v", "V"),
        ("L2 [A]", "current_l2_a", "A"),
        ("kW", "power_kw", ""),
        ("load_kw", "power_kw", "kw"),
        ("Load [%]", "load_fraction", "%"),
        ("Load %", "load_fraction", "%"),
        ("Fuel_pct", "fuel_fraction", "pct"),
        ("Fuel level (L)", "fuel_l", "L"),
        ("Tank [gal]", "fuel_l", "gal"),
        ("Run hours", "hour_meter_h", ""),
        ("Mains present", "mains_present", ""),
        ("Mains [V]", "mains_v", "V"),
        ("Operating mode", "mode", ""),
    ],
)
def test_known_headers(header: str, signal: str, unit: str) -> None:
    heard = hear(header)
    assert heard.signal is not None
    assert heard.signal.name == signal
    if unit:
        assert heard.unit_text == unit
        assert heard.unit is not None
        assert heard.unit.quantity is heard.signal.quantity


@pytest.mark.parametrize("header", ["rpm", "kW", "Run hours", "hz", "load percent"])
def test_names_that_say_their_unit(header: str) -> None:
    heard = hear(header)
    assert heard.signal is not None
    assert heard.unit is not None


@pytest.mark.parametrize(
    "header",
    ["CAP", "SIC", "dtm", "value", "value_normalized", "Intake Air Temperature [°C]", "Vehicle Speed [km/h]", ""],
)
def test_unknown_headers(header: str) -> None:
    heard = hear(header)
    assert (heard.signal, heard.clash) == (None, None)


@pytest.mark.parametrize("header", ["Oil pressure [°C]", "Battery voltage [Hz]", "Frequency (kPa)"])
def test_a_unit_of_another_quantity_is_a_clash(header: str) -> None:
    heard = hear(header)
    assert heard.signal is None
    assert heard.clash is not None


@pytest.mark.parametrize("signal", SIGNALS, ids=lambda s: s.name)
def test_every_signal_is_known_by_its_own_name_and_by_each_alias(signal) -> None:
    own = hear(signal.name)
    assert own.signal is signal
    if signal.quantity not in (Quantity.TEXT, Quantity.FLAG):
        assert own.unit is not None
        assert (own.unit.factor, own.unit.offset) == (1.0, 0.0)
    for alias in signal.aliases:
        assert hear(alias).signal is signal, alias
        assert hear(alias.upper().replace(" ", "_")).signal is signal, alias


@pytest.mark.parametrize("spelling", UNITS)
def test_every_spelling_of_a_unit_is_known_in_brackets(spelling: str) -> None:
    if spelling != "mw":
        assert unit_named(f" {spelling} ") == UNITS[spelling]


def test_milliwatt_and_megahertz_are_no_units_of_a_set() -> None:
    assert unit_named("MW") == UNITS["mw"]
    assert unit_named("mW") is None
    assert unit_named("mHz") == UNITS["mhz"]
    assert unit_named("MHz") is None


def plan(*headers: str, **layout):
    given = Layout.model_validate(layout)
    return plan_columns(headers, (), given, (), Place("log.csv", 1))


def test_the_first_column_of_a_signal_is_read_and_the_second_is_named() -> None:
    planned = plan("Battery [V]", "Batt volts [V]")
    assert [w.header for w in planned.wanted] == ["Battery [V]"]
    assert [(c.header, c.why) for c in planned.left] == [("Batt volts [V]", "battery_v is read from Battery [V]")]


def test_a_layout_goes_before_a_header() -> None:
    planned = plan("Battery [V]", "Batt volts [V]", columns={"Batt volts [V]": {"signal": "battery_v"}})
    assert [(w.header, w.spelling) for w in planned.wanted] == [("Batt volts [V]", "V")]
    planned = plan("Battery [V]", columns={"Battery [V]": {"signal": ""}})
    assert planned.wanted == ()
    assert planned.left[0].why == "left alone by the layout"


def test_a_layout_that_names_no_unit_takes_the_headers_else_the_signals() -> None:
    columns = {"X [bar]": {"signal": "oil_kpa"}, "Y": {"signal": "coolant_c"}}
    first, second = plan("X [bar]", "Y", columns=columns).wanted
    assert (first.unit, first.spelling) == (UNITS["bar"], "bar")
    assert second.unit == UNITS["cel"]
    assert "Cel" in second.why


def test_a_typing_error_in_a_layout_is_said() -> None:
    planned = plan("Battery [V]", columns={"Batery [V]": {"signal": "battery_v"}})
    assert [(p.code, p.column, p.values["near"], p.fatal) for p in planned.problems] == [
        ("layout_no_such_column", "Batery [V]", "Battery [V]", False)
    ]
