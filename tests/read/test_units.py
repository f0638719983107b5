"""Units that a log does not state: told from the values only where one reading alone is possible.

Invented figures: they show behaviour. The bounds themselves are common practice, no source (units.py).
"""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from startworthy.read.units import infer_unit, spread_of
from startworthy.signals import BY_NAME
from tests.support.reading import codes, lines, read_text, values


def unit(signal: str, *numbers: float) -> str | None:
    found = infer_unit(BY_NAME[signal], spread_of(pl.Series(numbers, dtype=pl.Float64)))
    assert found.unit is None or found.why
    assert found.unit is not None or found.choices
    return found.spelling if found.unit is not None else None


@pytest.mark.parametrize(
    ("signal", "numbers", "expected"),
    [
        ("frequency_hz", (0, 0, 49.9, 50.2), "Hz"),
        ("frequency_hz", (65, 69, -78), None),
        ("frequency_hz", (0.5, 0.1), None),
        ("battery_v", (12.1, 13.8, 7.5), "V"),
        ("battery_v", (12100, 13800), None),
        ("speed_rpm", (0, 1500), "rpm"),
        ("voltage_v", (0, 231), "V"),
        ("voltage_v", (0.23, 0.231), None),
        ("current_l1_a", (0, 20), "A"),
        ("coolant_c", (20, 85, 90), None),
        ("coolant_c", (60, 195, 190), "degF"),
        ("coolant_c", (4, 88), None),
        ("ambient_c", (50, 95), "degF"),
        ("ambient_c", (-5, 30), None),
        ("oil_kpa", (0, 3.5, 4.1), "bar"),
        ("oil_kpa", (0, 310, 400), "kPa"),
        ("oil_kpa", (0, 45, 60), None),
        ("oil_kpa", (0, 1.2), None),
        ("fuel_fraction", (55, 80), "%"),
        ("fuel_fraction", (0.2, 0.8, 1), "fraction"),
        ("fuel_fraction", (0, 1, 1), None),
        ("fuel_fraction", (1, 1.3), None),
        ("fuel_fraction", (100, 400), None),
        ("power_kw", (0, 6.5), None),
        ("power_kw", (0, 6500), "W"),
        ("fuel_l", (40, 90), None),
        ("oil_kpa", (0, 0), "kPa"),
        ("fuel_fraction", (0, 0), None),
        ("coolant_c", (0, 0), None),
        ("speed_rpm", (0, 90), "rpm"),
        ("fuel_flow_lph", (0, 2), None),
    ],
)
def test_one_reading_or_none(signal: str, numbers: tuple[float, ...], expected: str | None) -> None:
    assert unit(signal, *numbers) == expected


def test_neither_a_spike_nor_a_sentinel_decides() -> None:
    assert unit("coolant_c", *([80.0] * 500), 300.0) is None
    assert unit("battery_v", *([12.6] * 50), *([65535.0] * 10)) == "V"
    assert unit("battery_v", 65535.0) is None


def test_counts_flags_and_texts_need_no_unit() -> None:
    assert infer_unit(BY_NAME["starts_counter"], None).unit is not None


def test_a_set_that_rests_for_most_of_a_year_still_shows_its_hertz() -> None:
    assert unit("frequency_hz", *([0.0] * 5000), *([50.0] * 10)) == "Hz"


def test_inferred_units_are_said_and_open_ones_asked_for(tmp_path: Path) -> None:
    text = "Time,Battery voltage,Coolant temp,Oil pressure\n"
    text += "2024-01-31 05:00,12.6,20,0\n2024-01-31 05:01,13.8,85,3.4\n"
    got = read_text(tmp_path, text)
    assert values(got, "battery_v") == [12.6, 13.8]
    assert values(got, "oil_kpa") == [0.0, pytest.approx(340.0)]
    assert "coolant_c" not in got.frame.columns
    battery, coolant, oil = got.files[0].columns
    assert (battery.unit, battery.unit_stated, battery.why) == ("V", False, "values up to 13.8 can only be V")
    assert (oil.unit, oil.unit_stated) == ("bar", False)
    assert coolant.signal is None
    assert lines(got, tmp_path) == [
        (
            "HILL-01.csv:1: Coolant temp: its unit is not stated and its values do not tell it (values from 20 to 85: "
            'Cel or degF?); left alone; add to a layout file: columns."Coolant temp" = { signal = "coolant_c", unit = "..." }'
        )
    ]
    assert not got.problems[0].fatal


def test_the_file_is_refused_where_no_signal_is_left(tmp_path: Path) -> None:
    got = read_text(tmp_path, "Time,Coolant temp\n2024-01-31 05:00,20\n2024-01-31 05:01,85\n")
    assert codes(got) == ["unit_not_stated", "no_known_signal"]
    assert [p.fatal for p in got.problems] == [False, True]
    assert got.files == ()


def test_a_clash_of_name_and_unit_leaves_the_column_alone(tmp_path: Path) -> None:
    got = read_text(tmp_path, "Time,Battery [V],Oil pressure [°C]\n2024-01-31 05:00,12.6,20\n")
    assert got.frame.columns == ["set_id", "at", "battery_v", "file", "line"]
    assert lines(got, tmp_path) == [
        (
            'HILL-01.csv:1: Oil pressure [°C]: "°C" is no unit for oil_kpa, which its name says it is; left alone; '
            'add to a layout file: columns."Oil pressure [°C]" = { signal = "..." }'
        )
    ]


def test_an_unknown_unit_leaves_the_column_alone(tmp_path: Path) -> None:
    got = read_text(tmp_path, "Time,Battery [V],Oil pressure [inHg]\n2024-01-31 05:00,12.6,20\n")
    assert codes(got) == ["unit_unknown"]
    assert "oil_kpa" not in got.frame.columns


@pytest.mark.parametrize(
    ("header", "written", "signal", "inner"),
    [
        ("Coolant temp [F]", "212", "coolant_c", 100.0),
        ("Coolant temp [K]", "373.15", "coolant_c", 100.0),
        ("Mains [kV]", "0.23", "mains_v", 230.0),
        ("Battery [mV]", "12600", "battery_v", 12.6),
        ("Power [W]", "5500", "power_kw", 5.5),
        ("Fuel level [%]", "55", "fuel_fraction", 0.55),
        ("Run time [min]", "90", "hour_meter_h", 1.5),
        ("Frequency [mHz]", "50012", "frequency_hz", 50.012),
    ],
)
def test_stated_units_are_converted(tmp_path: Path, header: str, written: str, signal: str, inner: float) -> None:
    got = read_text(tmp_path, f"Time,{header}\n2024-01-31 05:00,{written}\n2024-01-31 05:01,\n")
    assert values(got, signal) == [pytest.approx(inner), None]
