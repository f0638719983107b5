"""Delimiters, decimal marks, encodings, lines above the header, header rows, rows of unequal length."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.support.reader import read_text, stamps, table

VOLTS = [12.61, 12.59, 12.58, 12.6]


def plain(delimiter: str = ",", decimal: str = ".", end: str = "\n") -> str:
    rows = [(t, str(v).replace(".", decimal), 40 + n) for n, (t, v) in enumerate(zip(stamps(4), VOLTS, strict=True))]
    return table([("Time", "Battery voltage [V]", "Coolant temperature [°C]"), *rows], delimiter, end)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_delimiters_and_line_ends(tmp_path: Path, delimiter: str, end: str) -> None:
    got = read_text(tmp_path, plain(delimiter, end=end))
    assert got.frame["battery_v"].to_list() == VOLTS
    assert got.frame["coolant_c"].to_list() == [40, 41, 42, 43]
    assert got.frame["line"].to_list() == [2, 3, 4, 5]


@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_decimal_comma(tmp_path: Path, delimiter: str) -> None:
    got = read_text(tmp_path, plain(delimiter, decimal=","))
    assert got.frame["battery_v"].to_list() == VOLTS
    assert "decimal comma" in got.file.layout


def test_decimal_comma_in_quotes_between_commas(tmp_path: Path) -> None:
    rows = [f'{t},"{str(v).replace(".", ",")}"\n' for t, v in zip(stamps(4), VOLTS, strict=True)]
    got = read_text(tmp_path, "Time,Battery voltage [V]\n" + "".join(rows))
    assert got.frame["battery_v"].to_list() == VOLTS


def test_a_comma_among_decimal_points_is_refused_not_guessed(tmp_path: Path) -> None:
    rows = [[t, v] for t, v in zip(stamps(4), VOLTS, strict=True)]
    rows[2][1] = '"12,6"'
    got = read_text(tmp_path, table([("Time", "Battery voltage [V]"), *rows]))
    assert got.frame["battery_v"].to_list() == [12.61, 12.59, None, 12.6]
    assert got.refused("line", "value", "reason", "cost") == [(4, "12,6", "not_a_number", "cell")]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "windows-1252"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    got = read_text(tmp_path, plain(";", end="\r\n").encode(encoding))
    assert got.frame["battery_v"].to_list() == VOLTS
    assert got.column("Coolant temperature [°C]").signal == "coolant_c"
    assert got.frame["coolant_c"].to_list() == [40, 41, 42, 43]
    assert got.file.rows_read == 4


def test_a_byte_order_mark_is_no_part_of_the_first_header(tmp_path: Path) -> None:
    text = table([("Battery voltage [V]", "Time"), *zip(VOLTS, stamps(4), strict=True)])
    got = read_text(tmp_path, text.encode("utf-8-sig"))
    assert got.frame["battery_v"].to_list() == VOLTS


def test_windows_1252_that_shows_only_after_the_sample(tmp_path: Path) -> None:
    n = 12_000
    rows = [f"{t},12.6,Manual,none" for t in stamps(n)]
    rows[-1] = rows[-1].replace("none", "Überdrehzahl")
    text = "\n".join(["Time,Battery voltage [V],Mode,Alarm", *rows]) + "\n"
    got = read_text(tmp_path, text.encode("windows-1252"))
    assert got.frame["alarm"].drop_nulls().to_list() == ["Überdrehzahl"]
    assert got.file.rows_accepted == n


@pytest.mark.parametrize(
    "line", ["Set: Pump house 2", "Set ID = Pump house 2", "# Generator: Pump house 2", "Asset,Pump house 2"]
)
def test_lines_above_the_header_name_the_set(tmp_path: Path, line: str) -> None:
    got = read_text(tmp_path, f"Export of 2026-02-01 10:00:00\n{line}\n\n{plain()}")
    assert got.file.set_ids == ("Pump house 2",)
    assert got.frame["line"].to_list() == [5, 6, 7, 8]
    assert got.file.rows_read == 4


def test_lines_above_the_header_without_a_name(tmp_path: Path) -> None:
    got = read_text(tmp_path, f"Export of 2026-02-01 10:00:00\nInterval: 60 s\n\n{plain()}", "WELL-7.csv")
    assert got.file.set_ids == ("WELL-7",), "the file name stands in"
    assert got.frame["battery_v"].to_list() == VOLTS


def test_a_separator_line(tmp_path: Path) -> None:
    got = read_text(tmp_path, "sep=;\n" + plain(";"))
    assert got.frame["battery_v"].to_list() == VOLTS
    assert got.frame["line"][0] == 3


def test_two_header_rows(tmp_path: Path) -> None:
    rows = [(t, v, 140) for t, v in zip(stamps(4), VOLTS, strict=True)]
    got = read_text(tmp_path, table([("Time", "Battery voltage", "Coolant temperature"), ("", "V", "degF"), *rows]))
    assert got.file.rows_read == 4
    assert got.frame["battery_v"].to_list() == VOLTS
    assert got.frame["coolant_c"].to_list() == pytest.approx([60.0] * 4)
    assert "units row" in got.file.layout
    assert got.frame["line"][0] == 3


def test_a_comma_at_the_end_of_every_row_moves_no_column(tmp_path: Path) -> None:
    lines = plain().splitlines()
    got = read_text(tmp_path, "\n".join([lines[0], *(line + "," for line in lines[1:])]) + "\n")
    assert got.frame["battery_v"].to_list() == VOLTS
    assert got.frame["coolant_c"].to_list() == [40, 41, 42, 43]
    assert got.file.rows_refused == 0


def test_a_short_row_is_refused_as_its_cells_may_have_moved(tmp_path: Path) -> None:
    lines = plain().splitlines()
    lines[2] = ",".join(lines[2].split(",")[:2])
    got = read_text(tmp_path, "\n".join(lines) + "\n")
    assert got.frame["coolant_c"].to_list() == [40, 42, 43]
    assert got.refused("line", "reason", "cost") == [(3, "too_few_cells", "row")]


def test_short_rows_keep_what_they_have_where_the_logger_writes_so(tmp_path: Path) -> None:
    rows = [f"{t},12.6," + ("40,Low oil" if n % 9 == 0 else "41") for n, t in enumerate(stamps(90))]
    got = read_text(tmp_path, "\n".join(["Time,Battery voltage [V],Coolant [°C],Alarm", *rows]) + "\n")
    assert got.file.rows_refused == 0
    assert got.frame["coolant_c"].to_list() == [40 if n % 9 == 0 else 41 for n in range(90)]
    assert got.frame["alarm"].drop_nulls().len() == 10


@pytest.mark.parametrize("more", [",7", ",7,8,9,10", ",,,,,x"])
def test_long_rows_are_refused_with_their_line(tmp_path: Path, more: str) -> None:
    lines = plain().splitlines()
    lines[3] += more
    got = read_text(tmp_path, "\n".join(lines) + "\n")
    assert got.refused("line", "reason", "cost") == [(4, "too_many_cells", "row")]
    assert got.frame["battery_v"].to_list() == [12.61, 12.59, 12.6]
    assert (got.file.rows_read, got.file.rows_accepted, got.file.rows_refused) == (4, 3, 1)
