"""What a log holds besides readings: each row and cell that is taken out has its line, its text and its reason."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.support.reading import codes, read_bytes, read_text, refused, values

HEAD = "Time,Battery voltage [V],Coolant temp [C],Mode,Alarm\n"


def row(minute: int, rest: str) -> str:
    return f"2024-01-31 05:{minute:02d}:00,{rest}\n"


def test_cells_that_are_no_numbers(tmp_path: Path) -> None:
    got = read_text(tmp_path, HEAD + row(0, '"12,6",20,AUTO,') + row(1, "12.7,warm,AUTO,") + row(2, "inf,1e3x,AUTO,"))
    assert refused(got) == [
        (2, "Battery voltage [V]", "12,6", "not_a_number", "cell"),
        (3, "Coolant temp [C]", "warm", "not_a_number", "cell"),
        (4, "Battery voltage [V]", "inf", "not_a_number", "cell"),
        (4, "Coolant temp [C]", "1e3x", "not_a_number", "cell"),
    ]
    assert values(got, "battery_v") == [None, 12.7, None]
    assert got.files[0].cells_emptied == 4
    assert got.files[0].rows_accepted == 3


@pytest.mark.parametrize("word", ["---", "n/a", "N/A", "NaN", "null", "-", " ", ""])
def test_words_for_no_value_are_empty_cells(tmp_path: Path, word: str) -> None:
    got = read_text(tmp_path, HEAD + row(0, f"12.6,{word},AUTO,") + row(1, "12.7,20,AUTO,"))
    assert values(got, "coolant_c") == [None, 20.0]
    assert refused(got) == []


@pytest.mark.parametrize("number", ["65535", "32767", "-32768", "9999", "-9999", "65535.0", "999.9"])
def test_sentinels_outside_the_range_become_empty_and_are_counted(tmp_path: Path, number: str) -> None:
    got = read_text(tmp_path, HEAD + row(0, f"12.6,{number},AUTO,") + row(1, "12.7,20,AUTO,"))
    assert values(got, "coolant_c") == [None, 20.0]
    assert [(r[0], r[1], float(r[2]), *r[3:]) for r in refused(got)] == [
        (2, "Coolant temp [C]", float(number), "sentinel", "cell")
    ]


def test_a_sentinel_that_can_be_a_reading_is_one(tmp_path: Path) -> None:
    got = read_text(tmp_path, "Time,Run hours [h]\n2024-01-31 05:00,9999\n2024-01-31 05:01,9999.1\n")
    assert values(got, "hour_meter_h") == [9999.0, 9999.1]


def test_a_sentinel_is_known_before_and_after_conversion(tmp_path: Path) -> None:
    text = "Time,Power [W],Oil pressure [bar],Coolant temp [F]\n"
    got = read_text(tmp_path, text + "2024-01-31 05:00,65535,32767,9999\n2024-01-31 05:01,5000,3,195\n")
    assert values(got, "power_kw") == [None, 5.0]
    assert values(got, "oil_kpa") == [None, pytest.approx(300.0)]
    assert values(got, "coolant_c") == [None, pytest.approx((195 - 32) / 1.8)]
    assert {(r[2], r[3]) for r in refused(got)} == {("65535", "sentinel"), ("32767", "sentinel"), ("9999", "sentinel")}


def test_a_column_of_nothing_but_sentinels_has_no_sensor(tmp_path: Path) -> None:
    got = read_text(tmp_path, HEAD + row(0, "12.6,32767,AUTO,") + row(1, "12.7,32767,AUTO,"))
    assert "coolant_c" not in got.frame.columns
    assert "32767" in got.files[0].columns[1].why
    assert refused(got) == []


def test_words_of_modes_flags_and_alarms(tmp_path: Path) -> None:
    text = "Time,Mode,Mains present,Alarm,State\n"
    text += "2024-01-31 05:00,Auto,yes,No alarm,RUNNING\n2024-01-31 05:01,MAN,0,Low oil,Stopped \n"
    text += "2024-01-31 05:02,Turbo,perhaps,n/a,---\n"
    got = read_text(tmp_path, text)
    assert values(got, "mode") == ["automatic", "manual", None]
    assert values(got, "mains_present") == [1.0, 0.0, None]
    assert values(got, "alarm") == [None, "Low oil", None]
    assert values(got, "state") == ["running", "stopped", None]
    assert refused(got) == [
        (4, "Mode", "Turbo", "unknown_word", "cell"),
        (4, "Mains present", "perhaps", "unknown_word", "cell"),
    ]


def test_rows_that_are_no_readings(tmp_path: Path) -> None:
    text = HEAD + row(0, "12.6,20,AUTO,") + HEAD + ",12.5,20,AUTO,\nyesterday,12.5,20,AUTO,\n"
    text += "2024-02-30 05:00:00,12.5,20,AUTO,\nEnd of log: 5 rows\n,,,,\n" + row(3, "12.7,21,AUTO,")
    got = read_text(tmp_path, text)
    assert values(got, "battery_v") == [12.6, 12.7]
    assert refused(got) == [
        (3, None, HEAD.strip(), "repeated_header", "row"),
        (4, "Time", None, "no_time", "row"),
        (5, "Time", "yesterday", "bad_time", "row"),
        (6, "Time", "2024-02-30 05:00:00", "bad_time", "row"),
        (7, None, "End of log: 5 rows", "not_a_row", "row"),
        (8, None, ",,,,", "not_a_row", "row"),
    ]
    assert got.files[0].rows_read == 8


def test_a_row_with_more_cells_than_the_header_is_refused_unless_they_are_empty(tmp_path: Path) -> None:
    text = HEAD + row(0, "12.6,20,AUTO,,,,") + row(1, "12.7,20,AUTO,,7") + row(2, "12.8,20,AUTO,")
    text += row(3, "12.9,20,AUTO,,,,,,,,,,,9")
    got = read_text(tmp_path, text)
    assert values(got, "battery_v") == [12.6, 12.8]
    assert [(r[0], r[3], r[4]) for r in refused(got)] == [(3, "too_many_cells", "row"), (5, "too_many_cells", "row")]


def test_long_rows_far_below_the_sample(tmp_path: Path) -> None:
    rows = "".join(f"2024-01-31 {n // 3600:02d}:{n // 60 % 60:02d}:{n % 60:02d},12.6,20,AUTO,\n" for n in range(5000))
    got = read_text(tmp_path, HEAD + rows + row(1, "12.7,20,AUTO,,,,,,7") + row(2, "12.8,20,AUTO,,,,,,,"))
    assert got.frame.height == 5001
    assert [(r[0], r[3]) for r in refused(got)] == [(5002, "too_many_cells")]


def test_cells_of_a_refused_row_are_not_counted_beside_it(tmp_path: Path) -> None:
    got = read_text(tmp_path, HEAD + "never,warm,cold,FUNNY,\n" + row(1, "12.7,20,AUTO,"))
    assert [(r[0], r[3]) for r in refused(got)] == [(2, "bad_time")]
    assert got.files[0].cells_emptied == 0


def test_line_breaks_in_quotes_keep_line_numbers_true(tmp_path: Path) -> None:
    text = (
        HEAD
        + row(0, '12.6,20,AUTO,"low oil\nand hot"')
        + row(1, "x,20,AUTO,")
        + "\n"
        + row(2, '12.8,20,AUTO,"a ""b"""')
    )
    got = read_text(tmp_path, text)
    assert got.frame["line"].to_list() == [2, 4, 6]
    assert refused(got) == [(4, "Battery voltage [V]", "x", "not_a_number", "cell")]
    assert values(got, "alarm") == ["low oil\nand hot", None, 'a "b"']


def test_an_unclosed_quote_costs_its_row_and_no_other(tmp_path: Path) -> None:
    text = HEAD + row(0, '12.6,20,AUTO,"low oil') + "".join(row(n, "12.7,20,AUTO,") for n in range(1, 40))
    text += row(40, '12.8,20,AUTO,"closed"') + row(41, '12.9,20,AUTO,"open again')
    got = read_text(tmp_path, text)
    assert got.frame.height == 40
    assert [(r[0], r[3], r[4]) for r in refused(got)] == [(2, "unclosed_quote", "row"), (43, "unclosed_quote", "row")]
    assert got.files[0].rows_read == 42


def test_a_stray_quote_costs_its_row_and_no_other(tmp_path: Path) -> None:
    text = HEAD + row(0, '12.6,20,AUTO,5" hose') + row(1, '12.7,20,AUTO,"said "stop" twice"') + row(2, "12.8,20,AUTO,")
    got = read_text(tmp_path, text)
    assert values(got, "battery_v") == [12.8]
    assert [(r[0], r[3]) for r in refused(got)] == [(2, "unclosed_quote"), (3, "bad_quotes")]


def test_a_bad_byte_costs_its_cell_only(tmp_path: Path) -> None:
    data = (HEAD + row(0, "12.6,20,AUTO,größer") + row(1, "12.7,2X,AUTO,größer")).encode().replace(b"2X", b"2\xff")
    got = read_bytes(tmp_path, data)
    assert values(got, "battery_v") == [12.6, 12.7]
    assert [(r[0], r[1], r[3]) for r in refused(got)] == [(3, "Coolant temp [C]", "not_a_number")]
    assert values(got, "alarm") == ["größer", "größer"]


def test_nul_bytes(tmp_path: Path) -> None:
    data = (
        HEAD + row(0, "12.6,20,AUTO,") + row(1, "1N.7,20,AUTO,") + "N" * 40 + "\n" + row(2, "12.8,20,AUTO,")
    ).encode()
    got = read_bytes(tmp_path, data.replace(b"AUTO", b"auto").replace(b"N", b"\x00"))
    assert values(got, "battery_v") == [12.6, None, 12.8]
    assert [(r[0], r[3]) for r in refused(got)] == [(3, "not_a_number"), (4, "not_a_row")]


def test_a_log_of_refused_rows_alone_says_what_is_wrong_with_the_first(tmp_path: Path) -> None:
    layout = {"time_format": "%d/%m/%Y %H:%M"}
    got = read_text(
        tmp_path, HEAD + row(0, "12.6,20,AUTO,") + row(1, "12.6,20,AUTO,"), layout=layout | {"time_column": "Time"}
    )
    assert codes(got) == ["no_row_accepted"]
    assert got.problems[0].line == 2
    assert got.frame.is_empty()


CELL = st.text(st.characters(codec="utf-8", exclude_characters="\r"), max_size=12)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(0, 59), CELL, CELL), min_size=1, max_size=12), st.binary(max_size=60))
def test_whatever_stands_in_a_log_no_row_disappears(
    tmp_path: Path, rows: list[tuple[int, str, str]], tail: bytes
) -> None:
    text = HEAD + row(0, "12.6,20,AUTO,") + row(1, "12.7,21,AUTO,")
    text += "".join(row(minute, f"{a},{b},AUTO,x") for minute, a, b in rows)
    got = read_bytes(tmp_path, text.encode() + tail)
    if not got.files:
        assert [p for p in got.problems if p.fatal]
        return
    file = got.files[0]
    assert file.rows_accepted == got.frame.height >= 2
    assert (
        file.rows_refused == got.refused.filter(cost="row").height == got.refused.filter(cost="row")["line"].n_unique()
    )
    assert got.frame["line"].is_sorted()
    assert set(got.frame["line"]).isdisjoint(got.refused.filter(cost="row")["line"])
    assert not got.frame.select("battery_v").to_series().is_nan().any()
