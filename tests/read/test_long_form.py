"""Logs with one row a value: a column names the signal, another holds its value."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.reading import codes, read_text, refused, times, values

LONG = """Time,Tag,Value,Unit
2024-01-31 05:00:00,Battery voltage,12.6,V
2024-01-31 05:00:00,Oil pressure,3.1,bar
2024-01-31 05:00:00,Operating mode,AUTO,
2024-01-31 05:01:00,Battery voltage,12.7,V
2024-01-31 05:01:00,Oil pressure,45,psi
2024-01-31 05:01:00,Door,open,
2024-01-31 05:02:00,Battery voltage,low,V
2024-01-31 05:02:00,Operating mode,Turbo,
"""


def test_values_of_one_instant_share_a_row(tmp_path: Path) -> None:
    got = read_text(tmp_path, LONG)
    assert times(got) == ["2024-01-31 05:00:00", "2024-01-31 05:01:00", "2024-01-31 05:02:00"]
    assert values(got, "battery_v") == [12.6, 12.7, None]
    assert values(got, "oil_kpa") == [pytest.approx(310.0), pytest.approx(45 * 6.894757293168361), None]
    assert values(got, "mode") == ["automatic", None, None]
    assert got.frame["line"].to_list() == [2, 5, 8]


def test_every_row_is_counted(tmp_path: Path) -> None:
    got = read_text(tmp_path, LONG)
    (file,) = got.files
    assert (file.rows_read, file.rows_accepted, file.rows_refused) == (8, 8, 0)
    assert refused(got) == [
        (8, "Battery voltage", "low", "not_a_number", "cell"),
        (9, "Operating mode", "Turbo", "unknown_word", "cell"),
    ]
    assert {c.header: c.signal for c in file.columns}["Door"] is None
    assert any("1 values of names not known" in note for note in file.notes)


def test_a_signal_twice_at_one_instant_keeps_both_values(tmp_path: Path) -> None:
    text = "Time,Signal,Value\n2024-01-31 05:00,battery_v,12.6\n2024-01-31 05:00,battery_v,12.4\n2024-01-31 05:00,speed_rpm,0\n"
    got = read_text(tmp_path, text)
    assert values(got, "battery_v") == [12.6, 12.4]
    assert values(got, "speed_rpm") == [0.0, None]


def test_units_that_are_not_stated_are_inferred_or_asked_for(tmp_path: Path) -> None:
    text = "Time,Signal,Value\n2024-01-31 05:00,Battery,12.6\n2024-01-31 05:00,Coolant temp,20\n"
    got = read_text(tmp_path, text)
    assert codes(got) == ["unit_not_stated"]
    assert values(got, "battery_v") == [12.6]
    layout = {"columns": {"Coolant temp": {"signal": "coolant_c", "unit": "degF"}}}
    assert values(read_text(tmp_path, text, layout=layout), "coolant_c") == [pytest.approx(-6.6667, abs=1e-4)]


def test_sets_and_decimal_commas(tmp_path: Path) -> None:
    text = "Set;Time;Parameter;Value;Unit\nA;31.01.2024 05:00;Battery;12,6;V\nB;31.01.2024 05:00;Battery;24,6;V\n"
    got = read_text(tmp_path, text)
    assert values(got, "set_id") == ["A", "B"]
    assert values(got, "battery_v") == [12.6, 24.6]


def test_a_layout_names_the_columns(tmp_path: Path) -> None:
    text = "Time,What,How much\n2024-01-31 05:00,Battery [V],12.6\n"
    layout = {"name_column": "What", "value_column": "How much"}
    assert values(read_text(tmp_path, text, layout=layout), "battery_v") == [12.6]


def test_a_value_column_without_names_is_no_long_form(tmp_path: Path) -> None:
    got = read_text(tmp_path, "timestamp,value\n2024-01-31 05:00,12.6\n2024-01-31 05:01,12.6\n")
    assert codes(got) == ["no_known_signal"]
