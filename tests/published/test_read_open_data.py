"""Open data as the reader alone meets it: read to the last row, or refused with the line that its account asks for."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from startworthy.problems import Problem
from startworthy.read import RawReadings, read_paths
from startworthy.read.layout import Layout
from startworthy.words import problem_line

pytestmark = pytest.mark.open_data

ORIGIN = "2024-01-01T00:00:00Z"
CAR = {
    "time_origin": ORIGIN,
    "columns": {"COOLANT_TEMPERATURE ()": {"signal": "coolant_c", "unit": "Cel"}, "ENGINE_LOAD ()": {"signal": ""}},
}


def read(path: Path, layout: dict[str, object] | None = None) -> RawReadings:
    return read_paths([path], layout=Layout.model_validate(layout or {}), zone_of=lambda _: "UTC")


def said(problems: tuple[Problem, ...]) -> list[str]:
    return [problem_line(p).split("/")[-1] for p in problems if p.fatal]


@pytest.mark.published("carOBD: elapsed seconds are no time of day")
@pytest.mark.parametrize("name", ["live6", "long10", "idle2"])
def test_elapsed_time_is_refused_with_the_line_to_add(open_data: Path, name: str) -> None:
    got = read(open_data / "car-starts" / f"{name}.csv")
    assert got.files == ()
    assert said(got.problems) == [
        (
            f"{name}.csv:1: ENGINE_RUN_TINE (): is elapsed time, not a time of day; say in a layout file when it began: "
            f'time_origin = "{ORIGIN}"'
        )
    ]


@pytest.mark.published(
    "carOBD, figures computed from the files: rows, coolant first, last, highest; volts of the first row"
)
@pytest.mark.parametrize(
    ("name", "rows", "coolant", "volts", "sha256"),
    [
        ("live6", 2287, (27, 85, 88), 12.578, "c5e48eafc28544ff91f19cd8784b231926d78a5bedfc04ad75998bd42758c0f1"),
        ("long10", 5035, (73, 90, 90), 12.187, "15fe9d116506f6b5f5bd2159d08175c1223e9400490e11309e23291ec6c9855c"),
        ("idle2", 1225, (27, 87, 88), 11.992, "7a4b7a6fe5172d2109bc3bf411193907b458269512ba4434791896a0f4801eb4"),
    ],
)
def test_a_comma_too_many_or_three_cells_too_few_move_no_column(
    open_data: Path, name: str, rows: int, coolant: tuple[int, int, int], volts: float, sha256: str
) -> None:
    got = read(open_data / "car-starts" / f"{name}.csv", CAR)
    (file,) = got.files
    assert (file.rows_read, file.rows_accepted, file.rows_refused, file.cells_emptied) == (rows, rows, 0, 0)
    assert file.sha256 == sha256
    column = got.frame["coolant_c"]
    assert (column[0], column[-1], column.max()) == coolant
    assert got.frame["battery_v"][0] == pytest.approx(volts)
    assert got.problems == ()


@pytest.mark.published("carOBD: units are not stated")
def test_volts_and_fuel_can_be_told_and_the_coolant_cannot(open_data: Path) -> None:
    got = read(open_data / "car-starts" / "long10.csv", {"time_origin": ORIGIN})
    told = {c.signal: (c.unit, c.unit_stated) for c in got.files[0].columns if c.signal}
    assert told == {"speed_rpm": ("rpm", True), "battery_v": ("V", False), "fuel_fraction": ("%", False)}
    assert {(p.code, p.column) for p in got.problems} == {
        ("unit_not_stated", "COOLANT_TEMPERATURE ()"),
        ("unit_not_stated", "ENGINE_LOAD ()"),
    }


@pytest.mark.published(
    "Automotive OBD-II Dataset, KIT, DOI 10.35097/1130: ragged first rows are good rows; date in the name"
)
def test_a_clock_without_date_reads_by_the_name_of_its_file(open_data: Path) -> None:
    path = open_data / "car-winter-warmup" / "2018-02-26_warmup.csv"
    got = read(path)
    (file,) = got.files
    assert (file.rows_read, file.rows_refused, got.problems) == (11534, 0, ())
    assert file.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert f"{file.first_at:%Y-%m-%d %H:%M:%S}" == "2018-02-26 06:54:43"
    assert (file.last_at - file.first_at).total_seconds() == pytest.approx(980.554)
    assert got.frame.head(9)["coolant_c"].to_list() == [4.0] * 9
    assert (got.frame["coolant_c"].min(), got.frame["coolant_c"].max()) == (4, 72)
    assert (got.frame["ambient_c"].min(), got.frame["ambient_c"].max()) == (-11, 1)


@pytest.mark.published("National Grid ESO, October 2017: 12960 rows, lowest 49.701, highest 50.265")
def test_frequency_under_a_single_letter(open_data: Path) -> None:
    got = read(open_data / "gb-frequency" / "gb_frequency_1min_2017-10.csv")
    column = got.frame["frequency_hz"]
    assert (len(column), column.min(), column.max()) == (12960, 49.701, 50.265)
    assert not got.files[0].columns[0].unit_stated


@pytest.mark.published("National Grid ESO, October 2017: read in Europe/London each row stands one hour earlier in UTC")
def test_the_same_in_the_zone_of_the_place(open_data: Path) -> None:
    path = open_data / "gb-frequency" / "gb_frequency_1min_2017-10.csv"
    utc, local = read(path), read_paths([path], zone_of=lambda _: "Europe/London")
    assert (utc.frame["at"] - local.frame["at"]).dt.total_seconds().unique().to_list() == [3600]


@pytest.mark.published("Power grid frequency data base, arXiv 2006.01771: deviations in mHz under bare names")
def test_deviations_under_bare_names_are_never_guessed(open_data: Path) -> None:
    got = read(open_data / "island-frequency" / "grid_frequency_one_hour.csv")
    assert got.files == ()
    assert [p.code for p in got.problems if p.fatal] == ["clock_without_date", "no_known_signal"]
    # named by hand and in mHz, a deviation is no frequency either: the range refuses it later, the reader reads it
    layout = {"time_origin": ORIGIN, "columns": {"VES": {"signal": "frequency_hz", "unit": "mHz"}}}
    read_as = read(open_data / "island-frequency" / "grid_frequency_one_hour.csv", layout)
    assert read_as.files[0].rows_accepted == 3600
    assert read_as.frame["frequency_hz"].mean() == pytest.approx(49.870106 - 50, abs=1e-6)


@pytest.mark.published("Numenta Anomaly Benchmark: unit not stated; PVAnalytics: normalised power is no kW")
@pytest.mark.parametrize(
    ("path", "column", "rows", "empty"),
    [
        ("machine-temperature/machine_temperature_system_failure.csv", "value", 22695, 0),
        ("stuck-sensor/inverter_power_with_stuck_spells.csv", "value_normalized", 3000, 1149),
    ],
)
def test_a_column_without_a_name_of_the_trade_is_asked_for(
    open_data: Path, path: str, column: str, rows: int, empty: int
) -> None:
    got = read(open_data / path)
    assert got.files == ()
    (line,) = said(got.problems)
    assert f'columns."{column}" = ' in line
    named = read(open_data / path, {"columns": {column: {"signal": "enclosure_c", "unit": "degF"}}})
    assert named.files[0].rows_accepted == rows
    assert named.frame["enclosure_c"].null_count() == empty
