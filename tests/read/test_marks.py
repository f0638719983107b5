"""Decimal and thousands marks: told by evidence in the file, asked for where it has none."""

from __future__ import annotations

from pathlib import Path

import pytest

from startworthy.read.layout import Layout
from tests.support.reader import Got, read_text, stamps, table


def log(folder: Path, columns: dict[str, list[str]], delimiter: str = ";", layout: Layout | None = None) -> Got:
    rows = zip(stamps(len(next(iter(columns.values())))), *columns.values(), strict=True)
    return read_text(folder, table([("Time", *columns), *rows], delimiter), layout=layout)


@pytest.mark.parametrize("cells", [["1.498", "1.500", "1.502"], ["1,498", "1,500", "1,502"]])
@pytest.mark.parametrize("delimiter", [";", "\t"])
def test_a_number_of_three_digits_after_a_mark_is_asked_about(tmp_path: Path, cells: list[str], delimiter: str) -> None:
    got = log(tmp_path, {"Engine speed [rpm]": cells}, delimiter)
    assert got.problem.code == "ambiguous_numbers"
    assert got.line.endswith(
        f'Engine speed [rpm]: "{cells[0]}" can be a number below a thousand or above it, and no number in the file '
        'tells what its mark means; say in a layout file: decimal_char = "," or decimal_char = "."'
    )


@pytest.mark.parametrize(("mark", "speed"), [(",", [1498.0, 1500.0]), (".", [1.498, 1.5])])
def test_what_a_layout_says_settles_it(tmp_path: Path, mark: str, speed: list[float]) -> None:
    layout = Layout(decimal_char=mark)  # type: ignore[arg-type]
    got = log(tmp_path, {"Engine speed [rpm]": ["1.498", "1.500"]}, layout=layout)
    assert got.frame["speed_rpm"].to_list() == speed


def test_another_column_tells_the_decimal_mark(tmp_path: Path) -> None:
    got = log(tmp_path, {"Engine speed [rpm]": ["1.498", "1.500"], "Battery voltage [V]": ["12,6", "12,65"]})
    assert got.frame["speed_rpm"].to_list() == [1498, 1500]
    assert got.frame["battery_v"].to_list() == [12.6, 12.65]


def test_what_a_signal_cannot_be_tells_the_decimal_mark(tmp_path: Path) -> None:
    got = log(tmp_path, {"Battery voltage [V]": ["12.612", "12.598"], "Coolant temperature [°C]": ["40.125", "41.250"]})
    assert got.frame["battery_v"].to_list() == [12.612, 12.598]
    assert log(tmp_path, {"Starts": ["1,204", "1,205"]}).frame["starts_counter"].to_list() == [1204, 1205]


def test_whole_numbers_as_long_beside_them_tell_that_thousands_are_not_parted(tmp_path: Path) -> None:
    got = log(tmp_path, {"Fuel volume [L]": ["1250", "1.125", "1.500"]})
    assert got.frame["fuel_l"].to_list() == [1250, 1.125, 1.5]


@pytest.mark.parametrize("mark", [" ", "\u00a0", "\u202f", "'", "\u2019"])
@pytest.mark.parametrize("decimal", [".", ","])
def test_spaces_and_apostrophes_part_thousands(tmp_path: Path, mark: str, decimal: str) -> None:
    hours = [f"3{mark}112{decimal}5", f"12{mark}113{decimal}0", f"999{decimal}5"]
    got = log(tmp_path, {"Engine hours [h]": hours, "Fuel volume [L]": [f"1{mark}204", f"1{mark}199", "880"]})
    assert got.frame["hour_meter_h"].to_list() == [3112.5, 12113.0, 999.5]
    assert got.frame["fuel_l"].to_list() == [1204, 1199, 880]


def test_thousands_that_are_parted_only_after_the_sample(tmp_path: Path) -> None:
    volts, speed = ["12,6"] * 900, ["0"] * 850 + ["1.500"] * 50
    got = log(tmp_path, {"Battery voltage [V]": volts, "Engine speed [rpm]": speed})
    assert got.frame["speed_rpm"].to_list() == [0] * 850 + [1500] * 50
    assert got.file.cells_emptied == 0


def test_marks_that_come_only_after_the_sample_are_not_guessed(tmp_path: Path) -> None:
    got = log(tmp_path, {"Engine speed [rpm]": ["0"] * 850 + ["1.500"] * 50})
    assert got.problem.code == "ambiguous_numbers"
    both = {"Battery voltage [V]": ["12"] * 880 + ["12,6"] * 20, "Engine speed [rpm]": ["0"] * 850 + ["1.500"] * 50}
    assert log(tmp_path, both).frame["speed_rpm"].to_list()[-1] == 1500


def test_unknown_columns_do_not_ask(tmp_path: Path) -> None:
    got = log(tmp_path, {"Battery voltage [V]": ["12", "13"], "Louvre position": ["1.500", "1.498"]})
    assert got.readings.problems == ()
    assert got.frame["battery_v"].to_list() == [12, 13]


def test_the_values_of_one_row_a_value_are_weighed_by_their_names(tmp_path: Path) -> None:
    rows = [(t, *r) for t in stamps(3) for r in (("Engine speed", "1.500", "rpm"), ("Battery voltage", "12,6", "V"))]
    got = read_text(tmp_path, table([("Time", "Signal", "Value", "Unit"), *rows], ";"))
    assert got.frame["speed_rpm"].to_list() == [1500] * 3
    rows = [row for row in rows if row[1] == "Engine speed"]
    got = read_text(tmp_path, table([("Time", "Signal", "Value", "Unit"), *rows], ";"))
    assert got.problem.code == "ambiguous_numbers"
