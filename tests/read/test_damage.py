"""Broken files: one clear line each, never a traceback, and no row lost in silence."""

from __future__ import annotations

import gzip
import os
import random
import tempfile
import time
import zipfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import polars as pl
import pytest
from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st

from tests.support.reader import Got, read_file, read_text, stamps, table

HEADER = "Time,Battery voltage [V],Alarm"


def lines(n: int = 6) -> list[str]:
    return [HEADER, *(f"{t},12.{i},none" for i, t in enumerate(stamps(n), 1))]


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "file_empty"),
        (b"\n\n  \n", "file_empty"),
        (b"\xef\xbb\xbf", "file_empty"),
        (b"\x00" * 200, "binary_file"),
        (HEADER.encode(), "header_only"),
        (HEADER.encode() + b"\n\n\n", "header_only"),
        (bytes(range(256)) * 8, "binary_file"),
        (b"%PDF-1.7\n" + b"x" * 100, "binary_file"),
        (b"\x1f\x8b\x08" + b"x" * 100, "binary_file"),
        (b"name,score\nA,hello\nB,there\n", "no_time_column"),
        (b"Time,colour\n2026-01-05T10:00:00Z,red\n2026-01-05T10:01:00Z,blue\n", "no_known_signal"),
    ],
)
def test_what_is_no_log_is_refused_in_one_line(tmp_path: Path, data: bytes, code: str) -> None:
    got = read_text(tmp_path, data)
    assert got.problem.code == code
    assert got.problem.fatal
    assert got.line.startswith(f"{tmp_path / 'P-1.csv'}")
    assert "\n" not in got.line
    assert got.readings.files == ()


def test_no_header_is_said_with_what_mends_it(tmp_path: Path) -> None:
    got = read_text(tmp_path, "\n".join(lines()[1:]) + "\n")
    assert got.problem.code == "no_header"
    assert "header_row_count = 0" in got.line


def test_a_missing_file(tmp_path: Path) -> None:
    from tests.support.reader import read_file

    assert (
        read_file(tmp_path / "nowhere.csv").line == f"{tmp_path / 'nowhere.csv'}: there is no such file; check the name"
    )


def test_nul_bytes_cost_their_cell_at_most(tmp_path: Path) -> None:
    text = "\n".join(lines(60)).encode().replace(b"12.3,", b"12.3\x00\x00,") + b"\n" + b"\x00" * 12
    got = read_text(tmp_path, text)
    assert got.file.rows_accepted >= 59
    assert got.frame["battery_v"].to_list()[:2] == [12.1, 12.2]
    assert {r for (r,) in got.refused("reason")} <= {"not_a_number", "not_a_row", "bad_time"}


def test_one_bad_byte_costs_one_cell(tmp_path: Path) -> None:
    text = ("\n".join(lines()) + "\n").encode().replace(b"12.3,", b"12\xff3,")
    got = read_text(tmp_path, text)
    assert got.frame["battery_v"].to_list() == [12.1, 12.2, None, 12.4, 12.5, 12.6]
    assert got.refused("line", "column", "reason", "cost") == [(4, "Battery voltage [V]", "not_a_number", "cell")]


def test_a_header_in_the_middle_is_counted_as_refused(tmp_path: Path) -> None:
    text = lines()
    text.insert(3, HEADER)
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.refused("line", "reason", "cost") == [(4, "repeated_header", "row")]
    assert (got.file.rows_read, got.file.rows_accepted) == (7, 6)


def test_a_line_at_the_end_is_no_row_of_the_log(tmp_path: Path) -> None:
    got = read_text(tmp_path, "\n".join([*lines(), "End of export, 6 rows"]) + "\n")
    assert [(line, cost) for line, cost in got.refused("line", "cost")] == [(8, "row")]
    got = read_text(tmp_path, "\n".join([*lines(), "End of export"]) + "\n")
    assert got.refused("line", "value", "reason") == [(8, "End of export", "not_a_row")]


def test_blank_lines_are_no_rows_and_line_numbers_stay_true(tmp_path: Path) -> None:
    text = lines()
    text[5] = "tomorrow" + text[5][20:]
    text[3:3] = ["", "   "]
    got = read_text(tmp_path, "\n".join(text) + "\n\n\n")
    assert got.file.rows_read == 6
    assert got.frame["line"].to_list() == [2, 3, 6, 7, 9]
    assert got.refused("line", "reason") == [(8, "bad_time")]


def test_line_breaks_in_quotes_keep_line_numbers_true(tmp_path: Path) -> None:
    text = lines()
    text[2] = text[2].replace("none", '"low oil\npressure, ""hot"""')
    text[4] = text[4].replace("12.4", "abc")
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.file.rows_read == 6
    assert got.frame["alarm"].drop_nulls().to_list() == ['low oil\npressure, "hot"']
    assert got.frame["line"].to_list() == [2, 3, 5, 6, 7, 8]
    assert got.refused("line", "value", "reason") == [(6, "abc", "not_a_number")]


@pytest.mark.parametrize("at", [1, 3, 6])
def test_an_unclosed_quote_swallows_nothing_in_silence(tmp_path: Path, at: int) -> None:
    text = lines()
    text[at] = text[at].replace("none", '"none')
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.refused("line", "reason", "cost") == [(at + 1, "unclosed_quote", "row")]
    assert got.file.rows_read == 6
    assert got.frame["line"].to_list() == [n for n in range(2, 8) if n != at + 1]


def test_two_unclosed_quotes_far_apart(tmp_path: Path) -> None:
    text = lines(40)
    for at in (5, 30):
        text[at] = text[at].replace("none", '"none')
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.refused("line", "reason") == [(6, "unclosed_quote"), (31, "unclosed_quote")]
    assert got.file.rows_accepted == 38


def test_quotes_out_of_order(tmp_path: Path) -> None:
    text = lines()
    text[3] = text[3].replace("none", '"no"ne"x"')
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.file.rows_read == 6
    assert got.file.rows_accepted >= 5
    assert all(line == 4 for (line,) in got.refused("line"))


def test_every_row_bad_says_the_first(tmp_path: Path) -> None:
    text = table([("Time", "Battery voltage [V]"), *((t[:-1] + "Q", 12.6) for t in stamps(3))])
    got = read_text(tmp_path, text)
    assert got.problem.fatal
    assert got.problem.code in {"no_time_column", "no_row_accepted"}


def test_the_same_row_twice_is_repeated(tmp_path: Path) -> None:
    text = lines()
    text.insert(3, text[2])
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert (got.file.rows_read, got.file.rows_accepted, got.file.rows_repeated) == (7, 6, 1)


def test_a_line_break_in_the_first_cells_is_no_broken_quote(tmp_path: Path) -> None:
    rows = [f'{t},"low oil\npressure",12.{i},80' for i, t in enumerate(stamps(4), 1)]
    got = read_text(tmp_path, "\n".join(["Time,Alarm,Battery voltage [V],Coolant temperature [°C]", *rows]) + "\n")
    assert got.file.rows_refused == 0
    assert got.frame["battery_v"].to_list() == [12.1, 12.2, 12.3, 12.4]
    assert got.frame["line"].to_list() == [2, 4, 6, 8]


def test_cells_of_a_word_in_place_of_units_are_no_traceback(tmp_path: Path) -> None:
    got = read_text(
        tmp_path, 'Time,Battery voltage [V],Mode\n"a,12.00,auto\n,12.00,auto\n,Battery voltage [V],Mode\n2026-0'
    )
    assert any(p.fatal for p in got.readings.problems)
    assert got.readings.files == ()


# --- rows that break off, or lost a cell: no number is read that was cut, and none under another's name

WIDE = "Time,Battery voltage [V],Coolant temperature [°C],Mode,Engine speed [rpm]"


def wide(n: int = 40, speed: str = "1500") -> list[str]:
    return [WIDE, *(f"{t},12.{i % 10}5,{40 + i % 50},auto,{speed}" for i, t in enumerate(stamps(n)))]


@pytest.mark.parametrize("cut", range(2, 40))
def test_a_last_line_that_breaks_off_gives_no_wrong_value(tmp_path: Path, cut: int) -> None:
    text = "\n".join(wide()) + "\n"
    got = read_text(tmp_path, text[:-cut])
    last = text[:-cut].rsplit("\n", 1)[1]
    assert got.frame["speed_rpm"].to_list()[:39] == [1500] * 39
    if last.count(",") == 4 and last.endswith(","):
        # What stands there is certain, and nothing says that more was to come
        assert got.frame.row(39, named=True)["mode"] == "automatic"
        assert got.frame["speed_rpm"].to_list()[39] is None
        return
    assert (got.file.rows_accepted, got.file.rows_refused) == (39, 1), last
    assert got.refused("line", "reason") in ([(41, "cut_off")], [(41, "bad_time")], [(41, "not_a_row")])


def test_a_last_number_with_fewer_decimals_than_all_others_is_cut(tmp_path: Path) -> None:
    lines = [f"{t},{12 + i % 7 / 10:.1f}" for i, t in enumerate(stamps(30))]
    for last, refused in (("12.", True), ("1", True), ("12", True), ("12.6", False), ("11.9", False)):
        lines[-1] = lines[-1][:20] + "," + last
        got = read_text(tmp_path, "Time,Battery voltage [V]\n" + "\n".join(lines))
        assert got.refused("line", "reason") == ([(31, "cut_off")] if refused else []), last


def test_a_log_without_a_last_line_end_loses_no_row(tmp_path: Path) -> None:
    for speeds in (["1500"] * 29 + ["0"], ["100"] * 29 + ["99"], ["80"] * 29 + ["85"], ["1500"] * 10 + ["0"] * 20):
        lines = [f"{t},12.6,{rpm}" for t, rpm in zip(stamps(30), speeds, strict=True)]
        got = read_text(tmp_path, "Time,Battery voltage [V],Engine speed [rpm]\n" + "\n".join(lines))
        assert got.file.rows_refused == 0, speeds[-1]


def test_a_row_that_lost_a_cell_is_refused(tmp_path: Path) -> None:
    text = wide()
    text[5] = text[5].replace("12.45,", "")
    text[9] = text[9].replace("auto,", "")
    text[12] = text[12][:20] + ",12."
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.refused("line", "reason", "cost") == [(n, "too_few_cells", "row") for n in (6, 10, 13)]
    assert got.file.rows_accepted == 37


def test_a_row_cut_short_and_the_next_behind_it_in_one_line(tmp_path: Path) -> None:
    # The power went while a row was written, and the logger went on in the same line
    for kept in range(1, len(wide()[5])):
        text = wide()
        text[5:7] = [text[5][:kept] + text[6].replace("1500", "")]
        got = read_text(tmp_path, "\n".join(text) + "\n")
        assert got.refused("line", "cost") == [(6, "row")], text[5]
        assert got.file.rows_accepted == 38


def test_a_block_of_nul_where_rows_were(tmp_path: Path) -> None:
    text = wide(60)
    data = ("\n".join(text) + "\n").encode()
    at = data.index(text[30].encode()) + 11
    got = read_text(tmp_path, data[:at] + b"\x00" * 512 + data[at + 512 :] + b"\x00" * 65536)
    lost = 512 // (len(text[30]) + 1)
    assert got.file.rows_accepted in (60 - lost - 1, 60 - lost - 2)
    assert {line for (line,) in got.refused("line")} == {31, got.file.rows_read + 1}
    assert set(got.frame["speed_rpm"]) == {1500}


def test_a_small_log_in_a_file_that_was_reserved_in_advance(tmp_path: Path) -> None:
    got = read_text(tmp_path, ("\n".join(wide(10)) + "\n").encode() + b"\x00" * 4_000_000)
    assert got.file.rows_accepted == 10
    assert got.refused("line", "reason") == [(12, "not_a_row")]


# --- bytes of other kinds


def test_lines_in_two_encodings(tmp_path: Path) -> None:
    for rows in (40, 9000):
        words = ["Öldruck tief", "Kühlmittel heiß", "größer", "none"]
        lines = [f"{t},12.6,{words[n % 4]}" for n, t in enumerate(stamps(rows))]
        data = HEADER.encode() + b"\n"
        # A log that another program went on with
        half = rows // 2
        data += "".join(f"{line}\n" for line in lines[:half]).encode("utf-8")
        data += "".join(f"{line}\n" for line in lines[half:]).encode("windows-1252")
        got = read_text(tmp_path, data)
        assert got.file.rows_refused == got.file.cells_emptied == 0
        assert got.frame["alarm"].to_list() == [None if n % 4 == 3 else words[n % 4] for n in range(rows)]
        assert "bytes that are no UTF-8 were taken for Windows-1252" in got.file.notes


@pytest.mark.parametrize("at", [60, 5000])
@pytest.mark.parametrize("size", [10, 1000, 100_000, 1_000_000])
def test_a_stretch_of_junk_costs_no_other_row(tmp_path: Path, size: int, at: int) -> None:
    text = wide(6000)
    junk = random.Random(size + at).randbytes(size)
    data = ("\n".join(text[:at]) + "\n").encode() + junk + ("\n" + "\n".join(text[at:]) + "\n").encode()
    got = read_text(tmp_path, data)
    assert got.file.rows_accepted == 6000
    assert got.frame["coolant_c"].to_list() == [40 + n % 50 for n in range(6000)]
    lines = junk.count(b"\n") + 1
    assert all(at < line <= at + lines for (line,) in got.readings.refused.filter(cost="row").select("line").rows())


@pytest.mark.parametrize(
    "what",
    [
        b"x",
        b",",
        b'"',
        b"1,",
        b"\x00",
        b"2026-01-05T00:00:00Z,",
        b"2026-01-05T00:00:00Z,9",
        b'2026-01-05T00:00:00Z,12.6,"x',
    ],
)
def test_a_line_of_20_mb(tmp_path: Path, what: bytes) -> None:
    text = wide(3000)
    line = (what + what[-1:] * 20_000_000)[:20_000_000]
    began = time.process_time()
    got = read_text(
        tmp_path, ("\n".join(text[:2000]) + "\n").encode() + line + ("\n" + "\n".join(text[2000:])).encode()
    )
    assert time.process_time() - began < 10
    assert got.file.rows_read == 3001
    assert got.raw.frame.filter(pl.col("line") != 2001)["battery_v"].null_count() == 0
    # A time and nothing but empty cells is a row without a value
    assert [line for (line,) in got.refused("line")] == ([] if what.endswith(b"Z,") else [2001])
    assert all(len(str(value)) <= 200 for (value,) in got.refused("value"))


# --- numbers that are none, and odd ones that are


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("+5", 5.0), ("-0", 0.0), ("1e1", 10.0), ("\u22125", -5.0), ("0012", 12.0), (" " * 1000 + "12.6", 12.6),
        ("12.6\u00a0", 12.6), ("1.26E+01", 12.6), ("12.6 V", 12.6), ("12.6V", 12.6), ("\u22125 V", -5.0),
        ("1e-400", 0.0),
    ],
)  # fmt: skip
def test_odd_numbers_that_are_plain(tmp_path: Path, cell: str, value: float) -> None:
    text = lines(30)
    text[20] = text[20][:20] + f",{cell},none"
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.raw.frame["battery_v"].to_list()[19] == value
    assert got.raw.refused.height == 0


@pytest.mark.parametrize(
    "cell",
    [
        "1e308", "1e400", "-1e400", "inf", "-inf", "Infinity", "NaN(ind)", "1.#IND", "1.#INF", "-1.#IND", "0x10",
        "1_000", '"12,6"', "\u0661\u0662", "½", "1 2", "1e", "- 5", "12.6.1", "12.6 A", "54 °F", "12.6 V 3", "V", "1\x002",
        "12..6", "--5", "true",
    ],
)  # fmt: skip
def test_what_is_no_number_or_no_voltage_is_refused(tmp_path: Path, cell: str) -> None:
    text = lines(30)
    text[20] = text[20][:20] + f",{cell},none"
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.frame["battery_v"].to_list()[19] is None
    assert [(line, column) for line, column in got.refused("line", "column")] == [(21, "Battery voltage [V]")]
    assert got.file.rows_accepted == 30


def test_a_number_that_its_unit_makes_endless(tmp_path: Path) -> None:
    text = ["Time,Power [MW]", *(f"{t},0.00{i}" for i, t in enumerate(stamps(9), 1))]
    text[4] = text[4][:20] + ",1e308"
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.refused("line", "reason", "cost") == [(5, "out_of_range", "cell")]
    assert got.frame["power_kw"].to_list()[3] is None


def test_every_cell_with_its_unit(tmp_path: Path) -> None:
    rows = [f"{t},12.{n} V,{40 + n} °C,15{n}0 rpm" for n, t in enumerate(stamps(9))]
    head = "Time,Battery voltage [V],Coolant temperature [°C],Engine speed [rpm]"
    got = read_text(tmp_path, "\n".join([head, *rows]) + "\n")
    assert got.file.cells_emptied == got.file.rows_refused == 0
    assert got.frame["coolant_c"].to_list() == [40 + n for n in range(9)]
    assert got.frame["speed_rpm"].to_list() == [1500 + 10 * n for n in range(9)]


def test_nothing_but_empty_cells(tmp_path: Path) -> None:
    text = wide()
    for n in range(10, 20):
        text[n] = text[n][:20] + ",,,,"
    text[20] = " , ,\t, , "
    text[21] = " \t  "
    text[22] = ",,,,"
    got = read_text(tmp_path, "\n".join(text) + "\n")
    assert got.frame["battery_v"].null_count() == 10
    assert got.refused("line", "cost") == [(21, "row"), (23, "row")]
    assert (got.file.rows_read, got.file.rows_accepted) == (39, 37)


def test_two_columns_of_one_name_are_kept_apart(tmp_path: Path) -> None:
    rows = [f"{t},12.{n},13.{n}" for n, t in enumerate(stamps(9))]
    got = read_text(tmp_path, "\n".join(["Time,Battery voltage [V],Battery voltage [V]", *rows]) + "\n")
    assert got.frame["battery_v"].to_list() == [12 + n / 10 for n in range(9)]
    second = got.column("Battery voltage [V]#2")
    assert second.signal is None
    assert second.why


# --- whatever is damaged: what was not is read as it was, and the rest is accounted for

MODES = ("auto", "manual", "off")


@dataclass(frozen=True, repr=False)
class Clean:
    """A log as it was before the damage: its lines, and what each row says."""

    lines: tuple[bytes, ...]
    rows: dict[bytes, tuple[object, ...]]


def clean_log(n: int, delimiter: str, end: str) -> Clean:
    """n rows, no two alike, in four columns that are read and one that is not."""
    head = delimiter.join(["Time", "Battery voltage [V]", "Coolant temperature [°C]", "Site note", "Mode"])
    lines, rows = [(head + end).encode()], {}
    for i, stamp in enumerate(stamps(n, 61)):
        volts, coolant, mode = round(11 + i * 0.03, 2), 20 + i, MODES[i % 3]
        line = delimiter.join([stamp, f"{volts:.2f}", str(coolant), f"n{i}", mode]) + end
        lines.append(line.encode())
        at = datetime.fromisoformat(stamp)
        rows[line.encode().rstrip()] = (at, volts, float(coolant), {"auto": "automatic"}.get(mode, mode))
    return Clean(tuple(lines), rows)


JUNK_BYTES = st.one_of(
    st.binary(min_size=1, max_size=40),
    st.sampled_from(
        [b'"', b"\n", b"\r\n", b"\r", b",", b";", b"\x00" * 30, b"\xff\xfe", b"\xef\xbb\xbf", b",,,,,,,,,,", b"\x1a"]
    ),
    st.binary(min_size=200, max_size=3000),
)


@st.composite
def damaged(draw: st.DrawFn) -> tuple[Clean, bytes]:
    clean = clean_log(
        draw(st.integers(30, 70)), draw(st.sampled_from([",", ";", "\t"])), draw(st.sampled_from(["\n", "\r\n"]))
    )
    head, data = clean.lines[0], bytearray(b"".join(clean.lines[1:]))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, max(len(data) - 1, 0)))
        length = draw(st.one_of(st.integers(1, 3), st.integers(1, 120)))
        kind = draw(st.sampled_from(["insert", "delete", "overwrite", "line twice", "line again", "cut"]))
        if kind == "insert":
            data[at:at] = draw(JUNK_BYTES)
        elif kind == "delete":
            del data[at : at + length]
        elif kind == "overwrite":
            junk = draw(JUNK_BYTES)
            data[at : at + len(junk)] = junk
        elif kind == "cut":
            del data[max(at, len(data) // 2) :]
        else:
            lines = bytes(data).splitlines(keepends=True) or [b""]
            one = lines[at % len(lines)]
            lines.insert(at % len(lines) if kind == "line twice" else draw(st.integers(0, len(lines))), one)
            data = bytearray(b"".join(lines))
    return clean, head + bytes(data)


def hold_to_account(clean: Clean, data: bytes, got: Got) -> None:
    """What must hold for any damage below the header."""
    physical = data.split(b"\n")
    whole = {n for n, line in enumerate(physical, 1) if line.rstrip(b"\r") in clean.rows}
    if not data.endswith(b"\n"):
        # A line without its end may be a part of one, whatever it looks like
        whole.discard(len(physical))
    quoted = b'"' in data
    if not got.readings.files:
        assert any(p.fatal for p in got.readings.problems)
        assert len(whole) < 0.7 * len(clean.rows) or quoted, f"all is refused for a few lines: {got.readings.problems}"
        return
    file = got.file
    assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated
    frame, gone = got.raw.frame, got.raw.refused.filter(pl.col("cost") == "row")
    assert frame["line"].n_unique() == frame.height
    assert gone["line"].n_unique() == gone.height
    assert set(frame["line"]).isdisjoint(gone["line"])
    assert set(got.raw.refused["line"]) | set(frame["line"]) <= set(range(2, len(physical) + 1))
    for name in ("battery_v", "coolant_c", "mode"):
        if name not in frame.columns:
            frame = frame.with_columns(pl.lit(None).alias(name))
    read = {line: tuple(row) for line, *row in frame.select("line", "at", "battery_v", "coolant_c", "mode").rows()}
    for line in whole & set(read):
        assert read[line] == clean.rows[physical[line - 1].rstrip(b"\r")], f"line {line} was not damaged"
    lost = whole - set(read)
    if not quoted:
        assert not lost, f"lines {sorted(lost)} were not damaged, and not read"
        filled = [n for n, line in enumerate(physical[1:], 2) if line.strip(b" \t\r\x1a")]
        assert file.rows_read == len(filled)
        assert set(read) | set(gone["line"]) == set(filled)
    else:
        # A quote that is not closed must take no whole row with it but its own
        assert not lost - set(gone["line"]), f"lines {sorted(lost)} are within another's cell"
        assert all(b'"' in physical[line - 1] for line in lost), f"lines {sorted(lost)} have no quote and are refused"
    delimiter = next(d for d in (b",", b";", b"\t") if d in clean.lines[0])
    for line in set(read) - whole:
        cells = physical[line - 1].rstrip(b"\r").split(delimiter)
        if b'"' in physical[line - 1]:
            continue
        assert len([c for c in cells[5:] if c.strip()]) == 0, f"line {line} has too many cells"
        if len(cells) > 1 and read[line][1] is not None:
            assert float(cells[1]) == read[line][1]


@settings(
    max_examples=int(os.environ.get("DAMAGE_EXAMPLES", "150")), deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
@given(damaged())
def test_whatever_is_damaged_the_rest_is_read_as_it_was(case: tuple[Clean, bytes]) -> None:
    clean, data = case
    note(repr(data[:3000]))
    with tempfile.TemporaryDirectory() as folder:
        hold_to_account(clean, data, read_text(Path(folder), data))


@st.composite
def damaged_anywhere(draw: st.DrawFn) -> bytes:
    data = bytearray(b"".join(clean_log(draw(st.integers(3, 12)), ",", "\n").lines))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(data)))
        junk = draw(st.one_of(JUNK_BYTES, st.just(b"")))
        data[at : at + draw(st.integers(0, 60))] = junk
    return bytes(data)


@settings(
    max_examples=int(os.environ.get("DAMAGE_EXAMPLES", "100")), deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
@given(damaged_anywhere())
def test_damage_of_the_header_too_is_told_and_never_raised(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        got = read_text(Path(folder), data)
    assert all(p.code != "parser_failed" for p in got.readings.problems)
    if not got.readings.files:
        assert any(p.fatal for p in got.readings.problems)
        return
    file = got.file
    assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated
    costs = got.readings.refused["cost"].to_list()
    assert (costs.count("row"), costs.count("cell")) == (file.rows_refused, file.cells_emptied)
    assert got.readings.refused["line"].max() is None or got.readings.refused["line"].max() <= data.count(b"\n") + 1


def packed_logs(folder: Path) -> dict[str, bytes]:
    """A small log in each kind of file that is no plain text."""
    text = b"".join(clean_log(30, ",", "\n").lines)
    frame = pl.read_csv(text)
    frame.write_parquet(folder / "A.parquet")
    frame.write_excel(folder / "A.xlsx")
    with zipfile.ZipFile(folder / "A.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("A.csv", text)
        archive.writestr("B.csv.gz", gzip.compress(text))
    (folder / "A.csv.gz").write_bytes(gzip.compress(text))
    return {path.name: path.read_bytes() for path in sorted(folder.glob("A.*"))}


@settings(
    max_examples=int(os.environ.get("DAMAGE_EXAMPLES", "60")), deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(st.data())
def test_damage_of_a_packed_log_gives_no_wrong_value(
    tmp_path_factory: pytest.TempPathFactory, packed_whole: dict[str, bytes], data: st.DataObject
) -> None:
    name = data.draw(st.sampled_from(sorted(packed_whole)))
    raw = bytearray(packed_whole[name])
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(raw)))
        raw[at : at + data.draw(st.integers(0, 8))] = data.draw(st.binary(max_size=8))
    if data.draw(st.booleans()):
        del raw[data.draw(st.integers(0, len(raw))) :]
    path = tmp_path_factory.getbasetemp() / name
    path.write_bytes(bytes(raw))
    got = read_file(path)
    if not got.readings.files:
        assert got.readings.problems
        return
    if name.endswith((".gz", ".zip")):
        clean = {row[0]: row[1] for row in clean_log(30, ",", "\n").rows.values()}
        read = dict(got.raw.frame.select("at", "battery_v").rows()) if "battery_v" in got.raw.frame.columns else {}
        assert read.items() <= clean.items(), "each row that is read is as it was packed"


@pytest.fixture(scope="module")
def packed_whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    return packed_logs(tmp_path_factory.mktemp("packed"))
