"""Header rows: groups above names, lines above that look like headers, other headers between the rows; cells by spaces."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from startworthy.read.layout import Layout
from tests.support.reader import read_text, stamps, table

NAMES = ("Time", "Battery voltage [V]", "Coolant temperature [°C]")


def rows(n: int = 6, start: int = 0) -> list[tuple[str, str, str]]:
    return [(t, f"12.{i % 10}5", str(40 + i)) for i, t in enumerate(stamps(n + start))][start:]


def test_groups_above_bare_names(tmp_path: Path) -> None:
    above = ("", "Battery", "Generator", "", "Mains")
    names = ("Time", "Voltage [V]", "Voltage [V]", "Frequency [Hz]", "Voltage [V]")
    body = [(t, 12.6, 230.5, 50.1, 229.9) for t in stamps(4)]
    got = read_text(tmp_path, table([("Site", "Hill pump", "", "", ""), above, names, *body]))
    assert got.frame.select("battery_v", "voltage_v", "frequency_hz", "mains_v").row(0) == (12.6, 230.5, 50.1, 229.9)
    assert got.frame["line"][0] == 4
    printed = Layout.model_validate({"skip_rows": 1, "header_row_count": 2})
    again = read_text(tmp_path, table([("Site", "Hill pump", "", "", ""), above, names, *body]), layout=printed)
    assert again.frame.equals(got.frame)


def test_a_bare_name_below_a_group_that_is_not_known_is_nobodys(tmp_path: Path) -> None:
    text = table([("", "Xylos", "", "Brumpf"), ("Time", "Voltage [V]", "Oil pressure [kPa]", "Voltage [V]")])
    got = read_text(tmp_path, text + table([(t, 12.6, 300, 230) for t in stamps(4)]))
    assert got.frame.columns == ["set_id", "at", "oil_kpa", "file", "line"]
    assert {c.header for c in got.file.columns if c.signal is None} == {"Xylos Voltage [V]", "Brumpf Voltage [V]"}


@pytest.mark.parametrize("line", ["Interval,,", "Site,Hill pump,", "Report,of,May"])
def test_a_padded_line_above_the_header_is_no_row_of_groups(tmp_path: Path, line: str) -> None:
    got = read_text(tmp_path, f"{line}\n" + table([("Time", "Mode", "Battery voltage [V]")]) + table(
        [(t, "auto", 12.6) for t in stamps(4)]))  # fmt: skip
    assert got.frame["mode"].to_list() == ["automatic"] * 4
    assert got.file.layout.startswith("comma-separated utf-8, 1 lines above the header")


def test_rows_below_another_header_are_refused_and_those_below_its_own_read(tmp_path: Path) -> None:
    moved = [(c, b, a) for a, b, c in [NAMES, *rows(4, 6)]]
    got = read_text(tmp_path, table([NAMES, *rows(6), *moved, NAMES, *rows(4, 10)]))
    assert got.frame["coolant_c"].to_list() == [40, 41, 42, 43, 44, 45, 50, 51, 52, 53]
    gone = got.refused("line", "reason")
    assert [line for line, reason in gone if reason == "other_columns"] == []
    assert [line for line, _ in gone] == [8, 9, 10, 11, 12, 13]
    assert got.file.rows_read == 16


def test_a_header_with_its_columns_in_another_order(tmp_path: Path) -> None:
    head, other = ("Time", "Coolant temperature [°C]", "Oil temperature [°C]"), (
        "Time", "Oil temperature [°C]", "Coolant temperature [°C]")  # fmt: skip
    at = stamps(6)
    got = read_text(tmp_path, table([head, *((t, 80, 95) for t in at[:3]), other, *((t, 95, 80) for t in at[3:])]))
    assert got.frame["coolant_c"].to_list() == [80] * 3
    assert got.refused("line", "reason") == [
        (5, "repeated_header"), (6, "other_columns"), (7, "other_columns"), (8, "other_columns"),
    ]  # fmt: skip


def test_the_first_header_stands_though_most_rows_are_below_another(tmp_path: Path) -> None:
    moved = [(b, a, c) for a, b, c in [NAMES, *rows(9, 4)]]
    got = read_text(tmp_path, table([NAMES, *rows(4), *moved]))
    assert got.frame["coolant_c"].to_list() == [40, 41, 42, 43]
    assert (got.file.rows_read, got.file.rows_refused) == (14, 10)


def test_lines_above_with_more_cells_than_the_header_are_none(tmp_path: Path) -> None:
    above = "a,b;c,d;e,f|g,h,i,j\nx;y;z;1;2;3;4;5;6\n" * 10
    body = [(t, "Battery voltage", "12.6", "V") for t in stamps(6)]
    got = read_text(tmp_path, above + table([("Time", "Signal", "Value", "Unit"), *body]))
    assert got.frame["battery_v"].to_list() == [12.6] * 6
    headless = Layout.model_validate({
        "skip_rows": 20, "header_row_count": 0, "time_column": "#1", "columns": {"#2": {"signal": "battery_v"}},
    })  # fmt: skip
    got = read_text(tmp_path, above + table([(t, "12,6") for t in stamps(6)], "\t"), layout=headless)
    assert got.frame["battery_v"].to_list() == [12.6] * 6


def aligned(cells: list[tuple[str, ...]], widths: tuple[int, ...]) -> str:
    return "".join("  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() + "\n" for row in cells)


def test_cells_that_stand_apart_by_spaces(tmp_path: Path) -> None:
    body = [(t.replace("T", " ").rstrip("Z"), v if i != 2 else "", c) for i, (t, v, c) in enumerate(rows(6))]
    text = "Report of May\n\n" + aligned([NAMES, *body], (19, 19, 24)) + "End of file\n"
    got = read_text(tmp_path, text)
    assert got.frame["battery_v"].to_list() == [12.05, 12.15, None, 12.35, 12.45, 12.55], "an empty cell moves none"
    assert got.frame["coolant_c"].to_list() == [40, 41, 42, 43, 44, 45]
    assert got.refused("line", "reason") == [(10, "not_a_row")]
    layout = Layout(delimiter=" ")
    assert read_text(tmp_path, text, layout=layout).frame.equals(got.frame)


def test_cells_by_spaces_that_are_longer_than_any_of_the_sample(tmp_path: Path) -> None:
    at = [datetime(2026, 5, 20) + timedelta(minutes=30 * i) for i in range(700)]
    body = [(f"{t:%d %B %Y %H:%M:%S}", "12.6", "40") for t in at]
    got = read_text(tmp_path, aligned([NAMES, *body], (21, 19, 24)))
    assert got.raw.frame["at"].dt.replace_time_zone(None).to_list() == at
    assert at[-1].month == 6


def test_single_quotes(tmp_path: Path) -> None:
    body = [(t, "Driver''s call, again", "12.6") for t in stamps(5)]
    cells = [("Time", "Alarm", "Battery voltage [V]"), *body]
    got = read_text(tmp_path, "Site: Hill\n" + "".join(",".join(f"'{c}'" for c in row) + "\n" for row in cells))
    assert got.frame["alarm"].to_list() == ["Driver's call, again"] * 5
    assert got.frame["battery_v"].to_list() == [12.6] * 5


def test_a_space_before_a_quote_that_comes_only_after_the_sample(tmp_path: Path) -> None:
    body = [f" {t} ; ok ; 12.6 " for t in stamps(900)]
    body[850] = body[850].replace(" ok ", ' "Trip; reset by hand" ')
    got = read_text(tmp_path, "Time ; Alarm ; Battery voltage [V]\n" + "\n".join(body) + "\n")
    assert got.frame["alarm"].drop_nulls().to_list() == ["Trip; reset by hand"]
    assert got.frame["battery_v"].to_list() == [12.6] * 900


def test_a_few_stamps_of_another_form_do_not_make_the_dates_ambiguous(tmp_path: Path) -> None:
    body = rows(12)
    body[0] = (body[0][0][2:], *body[0][1:])
    got = read_text(tmp_path, table([NAMES, *body]))
    assert (got.file.rows_accepted, got.file.rows_refused) == (11, 1)


@pytest.mark.parametrize(("text", "asked"), [
    ("Za niskie ciśnienie", True), ("Błąd rozruchu", True), ("Żądanie", True),
])  # fmt: skip
def test_letters_that_are_not_windows_1252_are_asked_about(tmp_path: Path, text: str, asked: bool) -> None:
    log = table([("Time", "Alarm", "Coolant temperature [°C]"), *((t, text, 40) for t in stamps(4))])
    got = read_text(tmp_path, log.encode("windows-1250"))
    assert (got.problem.code == "ambiguous_encoding") is asked
    got = read_text(tmp_path, log.encode("windows-1250"), layout=Layout(encoding="windows-1250"))
    assert got.frame["alarm"][0] == text


@pytest.mark.parametrize("text", ["Überdrehzahl", "Température très haute", "nœud 3 m³/h", "¿Qué?", "Baixa tensão"])
def test_western_letters_are_not_asked_about(tmp_path: Path, text: str) -> None:
    log = table([("Time", "Alarm", "Coolant temperature [°C]"), *((t, text, 40) for t in stamps(4))])
    assert read_text(tmp_path, log.encode("windows-1252")).frame["alarm"].to_list() == [text] * 4


@pytest.mark.parametrize("columns", [4097, 100_000, 1_000_000])
def test_a_header_wider_than_any_log_is_one_problem(tmp_path: Path, columns: int) -> None:
    head = ",".join(["Time", "Battery voltage [V]", *(f"x{n}" for n in range(columns - 2))])
    got = read_text(tmp_path, f"{head}\n{stamps(1)[0]},12.6\n")
    assert got.line.endswith("P-1.csv:1: its header has more than 4096 columns; export the log of one set at a time")


def test_a_line_longer_than_the_sample_hides_no_row(tmp_path: Path) -> None:
    text = table([NAMES, *rows(3)]) + "x" * 3_000_000 + "\n" + "," * 1_000_000 + "\n" + table(rows(30, 3))
    got = read_text(tmp_path, text)
    assert got.frame["coolant_c"].to_list() == [40 + i for i in range(33)]
    got = read_text(tmp_path, "y;" * 2_000_000 + "\n" + table([NAMES, *rows(3)]))
    assert got.frame["coolant_c"].to_list() == [40, 41, 42]
