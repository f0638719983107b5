"""Which column holds which signal, in which unit; values that mean none; one row a value; many sets in a file."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from startworthy.read.layout import Layout
from tests.support.reader import Got, read_text, stamps, table


def one_column(folder: Path, header: str, *values: object) -> Got:
    return read_text(folder, table([("Time", header), *zip(stamps(len(values)), values, strict=True)]))


@pytest.mark.parametrize(
    ("header", "signal", "written", "inner"),
    [
        ("Oil pressure [bar]", "oil_kpa", 3.5, 350.0),
        ("Oil pressure (kPa)", "oil_kpa", 350, 350.0),
        ("Coolant temperature [°F]", "coolant_c", 212, 100.0),
        ("Coolant temp (degF)", "coolant_c", 32, 0.0),
        ("Coolant temperature [K]", "coolant_c", 373.15, 100.0),
        ("Power [W]", "power_kw", 4200, 4.2),
        ("Generator voltage [kV]", "voltage_v", 0.4, 400.0),
        ("Fuel level [%]", "fuel_fraction", 75, 0.75),
        ("Engine_hours_h", "hours_h", 812.5, 812.5),
    ],
)
@pytest.mark.published(
    "from memory, not re-read: SI and NIST SP 811, appendix B: bar = 100 kPa, t/C = (t/F - 32)/1.8, t/C = T/K - 273.15"
)
def test_units_to_si(tmp_path: Path, header: str, signal: str, written: float, inner: float) -> None:
    if signal == "hours_h":
        signal = _hours_name()
    got = one_column(tmp_path, header, written, written)
    assert got.frame[signal].to_list() == pytest.approx([inner] * 2, abs=1e-9)
    assert got.column(header).unit_stated


def _hours_name() -> str:
    from startworthy.read.headers import hear

    signal = hear("Engine hours").signal
    assert signal is not None
    return signal.name


@pytest.mark.published("from memory, not re-read: NIST SP 811 (2008), appendix B.8: 1 psi = 6.894 757 E+03 Pa")
@pytest.mark.parametrize(
    "header", ["Oil pressure [psi]", "Oil pressure (PSI)", "oil_pressure_psi", "Oil pressure psig"]
)
def test_psi(tmp_path: Path, header: str) -> None:
    assert one_column(tmp_path, header, 50, 60).frame["oil_kpa"].to_list() == pytest.approx(
        [50 * 6.894757, 60 * 6.894757], rel=1e-7
    )


@pytest.mark.published("from memory, not re-read: NIST SP 811 (2008), appendix B.8: 1 gallon (US) = 3.785 412 E-03 m3")
@pytest.mark.parametrize("header", ["Fuel volume [gal]", "Fuel level (US gal)", "fuel_volume_gal"])
def test_us_gallons(tmp_path: Path, header: str) -> None:
    got = one_column(tmp_path, header, 10, 20)
    assert got.frame["fuel_l"].to_list() == pytest.approx([37.85412, 75.70824], rel=1e-6)


@pytest.mark.published(
    "from memory, not re-read: NIST SP 811 (2008), appendix B.8: 1 gallon (Imperial) = 4.546 09 E-03 m3"
)
def test_imperial_gallons(tmp_path: Path) -> None:
    assert one_column(tmp_path, "Fuel volume [imp gal]", 10, 20).frame["fuel_l"].to_list() == pytest.approx(
        [45.4609, 90.9218]
    )


def test_a_bare_gallon_is_said_to_be_taken_as_us(tmp_path: Path) -> None:
    assert (
        one_column(tmp_path, "Fuel volume [gal]", 10, 20).column("Fuel volume [gal]").why
        == "gal is taken as the US gallon"
    )


@pytest.mark.parametrize(
    "header",
    [
        "Battery voltage [V]",
        "Battery voltage (V)",
        "battery_voltage_v",
        "battery_v",
        "Batt volts",
        "BatteryVoltage [V]",
    ],
)
def test_ways_to_write_a_header(tmp_path: Path, header: str) -> None:
    assert one_column(tmp_path, header, 12.6, 12.5).frame["battery_v"].to_list() == [12.6, 12.5]


def test_a_unit_that_could_be_two_is_asked_for(tmp_path: Path) -> None:
    rows = [(t, 12.6, 80 + n) for n, t in enumerate(stamps(5))]
    got = read_text(tmp_path, table([("Time", "Battery voltage [V]", "Coolant temperature"), *rows]))
    assert "coolant_c" not in got.frame.columns
    assert got.column("Coolant temperature").signal is None
    assert got.problem.code == "unit_not_stated"
    assert not got.problem.fatal
    assert got.line == (
        f"{tmp_path / 'P-1.csv'}:1: Coolant temperature: its unit is not stated and its values do not tell it "
        "(values from 80 to 84: Cel or degF?); left alone; add to a layout file: "
        'columns."Coolant temperature" = { signal = "coolant_c", unit = "..." }'
    )


@pytest.mark.parametrize(
    ("header", "signal", "values", "unit", "said"),
    [
        ("Battery voltage", "battery_v", (12.6, 13.8), "V", "only be V"),
        ("Frequency", "frequency_hz", (49.9, 50.1), "Hz", "only be Hz"),
        ("Speed", "speed_rpm", (0, 1500), "rpm", "only be rpm"),
        ("Oil pressure", "oil_kpa", (0, 4.5), "bar", "only be bar"),
        ("Fuel level", "fuel_fraction", (80, 79), "%", "only be %"),
    ],
)
def test_a_unit_that_can_only_be_one_is_inferred_and_said(
    tmp_path: Path, header: str, signal: str, values: tuple[float, ...], unit: str, said: str
) -> None:
    got = one_column(tmp_path, header, *values)
    read = got.column(header)
    assert (read.signal, read.unit, read.unit_stated) == (signal, unit, False)
    assert said in read.why


def test_an_unknown_unit_is_asked_for(tmp_path: Path) -> None:
    rows = [(t, 12.6, 3) for t in stamps(3)]
    got = read_text(tmp_path, table([("Time", "Battery voltage [V]", "Oil pressure [furlong]"), *rows]))
    assert "oil_kpa" not in got.frame.columns
    assert (got.problem.code, got.problem.column) == ("unit_unknown", "Oil pressure [furlong]")


def test_a_unit_of_another_quantity_is_not_believed(tmp_path: Path) -> None:
    rows = [(t, 12.6, 3) for t in stamps(3)]
    got = read_text(tmp_path, table([("Time", "Battery voltage [V]", "Oil pressure [Hz]"), *rows]))
    assert "oil_kpa" not in got.frame.columns
    assert got.problem.code == "unit_clash"


def test_unknown_columns_are_listed(tmp_path: Path) -> None:
    rows = [(t, 12.6, 3) for t in stamps(3)]
    got = read_text(tmp_path, table([("Time", "Battery voltage [V]", "Flux capacity"), *rows]))
    assert got.column("Flux capacity").signal is None
    assert got.column("Flux capacity").why == "no known signal has this name"
    assert got.readings.problems == ()


def test_the_second_column_of_a_signal_is_said_not_mixed(tmp_path: Path) -> None:
    rows = [(t, 12.6, 24.1) for t in stamps(3)]
    got = read_text(tmp_path, table([("Time", "Battery voltage [V]", "Battery voltage [V]"), *rows]))
    assert got.frame["battery_v"].to_list() == [12.6] * 3
    assert got.column("Battery voltage [V]#2").why == "battery_v is read from Battery voltage [V]"


@pytest.mark.parametrize("sentinel", ["65535", "-9999", "32767", "-9999.0"])
def test_numbers_that_mean_no_value_are_emptied_and_counted(tmp_path: Path, sentinel: str) -> None:
    got = one_column(tmp_path, "Coolant temperature [°C]", 80, sentinel, 81, sentinel)
    assert got.frame["coolant_c"].to_list() == [80, None, 81, None]
    assert got.file.cells_emptied == 2
    assert got.file.rows_accepted == 4
    assert got.refused("line", "value", "reason") == [
        (3, sentinel.removesuffix(".0"), "sentinel"),
        (5, sentinel.removesuffix(".0"), "sentinel"),
    ]


def test_a_sentinel_is_told_before_its_unit_is_converted(tmp_path: Path) -> None:
    got = one_column(tmp_path, "Coolant temperature [°F]", 176, -9999, 65535)
    assert got.frame["coolant_c"].to_list() == [80, None, None]
    assert [r for _, r in got.refused("value", "reason")] == ["sentinel", "sentinel"]


@pytest.mark.parametrize("word", ["---", "n/a", "N/A", "NaN", "null", "-"])
def test_words_that_mean_no_value_are_emptied_and_counted(tmp_path: Path, word: str) -> None:
    got = one_column(tmp_path, "Battery voltage [V]", 12.6, word, 12.5)
    assert got.frame["battery_v"].to_list() == [12.6, None, 12.5]
    assert got.file.rows_refused == 0
    assert got.file.notes == ("Battery voltage [V]: 1 cells hold a word for no value",)


def test_a_column_that_never_holds_a_value_has_no_sensor(tmp_path: Path) -> None:
    rows = [(t, 12.6, 65535) for t in stamps(3)]
    got = read_text(tmp_path, table([("Time", "Battery voltage [V]", "Oil pressure [kPa]"), *rows]))
    assert "oil_kpa" not in got.frame.columns
    assert got.column("Oil pressure [kPa]").why == "only 65535 in every row: no sensor"


def test_out_of_range_costs_its_own_cell(tmp_path: Path) -> None:
    rows = [(t, v, 80) for t, v in zip(stamps(3), (12.6, 412.0, 12.5), strict=True)]
    got = read_text(tmp_path, table([("Time", "Battery voltage [V]", "Coolant temperature [°C]"), *rows]))
    assert got.frame["battery_v"].to_list() == [12.6, None, 12.5]
    assert got.frame["coolant_c"].to_list() == [80] * 3
    assert got.refused("line", "value", "reason", "cost", "signal") == [
        (3, "412.0", "out_of_range", "cell", "battery_v")
    ]


def test_one_row_a_value(tmp_path: Path) -> None:
    rows = []
    for t, volts, deg in zip(stamps(3), (12.6, 12.5, 12.4), (176, 178, 180), strict=True):
        rows += [(t, "Battery voltage", volts, "V"), (t, "Coolant temperature", deg, "°F")]
    got = read_text(tmp_path, table([("Time", "Parameter", "Value", "Unit"), *rows]))
    assert got.frame["battery_v"].drop_nulls().to_list() == [12.6, 12.5, 12.4]
    assert got.frame["coolant_c"].drop_nulls().to_list() == pytest.approx([80, 733 / 9 - 1 / 3, 740 / 9])
    assert "one row a value" in got.file.layout
    assert got.file.rows_read == 6


def test_many_sets_in_a_file(tmp_path: Path) -> None:
    rows = [(t, s, v) for t in stamps(3) for s, v in (("A", 12.6), ("B", 25.2))]
    got = read_text(tmp_path, table([("Time", "Set", "Battery voltage [V]"), *rows, (stamps(4)[3], "", 12.6)]))
    assert got.file.set_ids == ("A", "B")
    assert got.frame.filter(set_id="B")["battery_v"].to_list() == [25.2] * 3
    assert got.refused("line", "reason", "cost") == [(8, "no_set", "row")], "no set is no guess"


def test_modes_and_flags(tmp_path: Path) -> None:
    rows = list(zip(stamps(4), ("AUTO", "Off", "Hand", "sideways"), strict=True))
    got = read_text(tmp_path, table([("Time", "Mode"), *rows]))
    assert got.frame["mode"].cast(pl.String).to_list() == ["automatic", "off", "manual", None]
    assert got.refused("line", "value", "reason", "cost") == [(5, "sideways", "unknown_word", "cell")]


def test_a_layout_goes_before_the_header(tmp_path: Path) -> None:
    text = table([("Time", "X1", "Battery voltage [V]"), *((t, 3, 12.6) for t in stamps(3))])
    layout = Layout.model_validate({"columns": {"X1": {"signal": "oil_kpa", "unit": "bar"}, "Battery voltage [V]": {}}})
    got = read_text(tmp_path, text, layout=layout)
    assert got.frame["oil_kpa"].to_list() == [300] * 3
    assert "battery_v" not in got.frame.columns
