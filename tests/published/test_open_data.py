"""Real logs made by others through the whole pipeline, held to the figures that their accounts give (tests/README.md).

None is the log of a generating set: what they have is asserted, and that what they lack is said to be missing.
"""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

import startworthy as sw
from startworthy.check import CATALOGUE
from startworthy.findings import Answer, Question
from startworthy.read.layout import Layout
from startworthy.results import Checked

pytestmark = pytest.mark.open_data

CAR = Layout.model_validate(
    {
        "time_origin": "2024-01-01T00:00:00Z",
        "columns": {
            "ENGINE_RPM ()": {"signal": "speed_rpm", "unit": "rpm"},
            "COOLANT_TEMPERATURE ()": {"signal": "coolant_c", "unit": "Cel"},
            "FUEL_TANK ()": {"signal": "fuel_fraction", "unit": "%"},
            "CONTROL_MODULE_VOLTAGE ()": {"signal": "battery_v", "unit": "V"},
            "ENGINE_LOAD ()": {"signal": ""},
        },
    }
)
CAR_SOURCE = "carOBD, one sample a second; figures computed from the files with pandas and numpy"


def checked(path: Path, layout: Layout | None = None) -> Checked:
    got = sw.check(path, layout=layout, strict=True)
    assert got.readings.problems == ()
    for file in got.readings.files:
        assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated
    return got


@pytest.mark.published(CAR_SOURCE)
@pytest.mark.parametrize(
    ("name", "rows", "starts", "runs", "span_s", "coolant_highest", "coolant_first", "to_60_s"),
    [
        ("live6", 2287, 2, 2, 1245, 88, 27, 164),
        ("long10", 5035, 1, 1, 2474, 90, 73, None),
        ("idle2", 1225, 0, 1, 602, 88, 27, 174),
    ],
)
def test_car_starts(
    open_data: Path,
    name: str,
    rows: int,
    starts: int,
    runs: int,
    span_s: int,
    coolant_highest: int,
    coolant_first: int,
    to_60_s: int | None,
) -> None:
    got = checked(open_data / "car-starts" / f"{name}.csv", CAR)
    book, file = got.logbook, got.readings.files[0]
    assert file.rows_read == rows
    assert file.rows_refused == 0
    assert book.starts.height == starts
    assert book.runs.height == runs
    frame = got.readings.frame
    assert (frame["at"].max() - frame["at"].min()).total_seconds() == span_s
    assert frame["coolant_c"][0] == coolant_first
    assert book.runs["coolant_max_c"].max() == coolant_highest
    assert book.runs["warm_up_s"][0] == (None if to_60_s is None else pytest.approx(to_60_s, abs=2))
    assert got.sets[0].findings == (), "a car that runs well raises nothing"
    assert book.marks.filter(pl.col("kind").is_in(["refuel", "fuel_loss", "gap"])).is_empty()


@pytest.mark.published(CAR_SOURCE)
def test_car_battery(open_data: Path) -> None:
    live = checked(open_data / "car-starts" / "live6.csv", CAR).logbook.attempts
    sag = (live["battery_before_v"] - live["battery_min_v"]).to_list()
    assert sag == pytest.approx([1.465, 2.070], abs=0.001)
    long = checked(open_data / "car-starts" / "long10.csv", CAR)
    attempt = long.logbook.attempts
    assert attempt["battery_before_v"].item() == pytest.approx(12.187)
    assert attempt["battery_min_v"].item() == pytest.approx(7.558)
    assert 0.5 <= attempt["resolution_s"].item() <= 2
    said = {n.code for n in long.sets[0].not_assessed}
    assert "battery.crank_sag" in said, "one sample of the inrush is no sag, and that is said"
    for name, median in (("live6", 13.789), ("long10", 13.652), ("idle2", 13.945)):
        book = checked(open_data / "car-starts" / f"{name}.csv", CAR).logbook
        assert book.runs["battery_running_v"][0] == pytest.approx(median, abs=0.1)


@pytest.mark.published(CAR_SOURCE)
def test_car_stall_and_restart_are_two_starts(open_data: Path) -> None:
    book = checked(open_data / "car-starts" / "live6.csv", CAR).logbook
    seconds = [
        (t - book.runs["began_at"][0]).total_seconds() for t in (*book.runs["ended_at"], book.starts["began_at"][1])
    ]
    assert seconds == pytest.approx([1234, 1245, 1235], abs=1)
    assert book.starts["started"].all()
    idle = checked(open_data / "car-starts" / "idle2.csv", CAR)
    assert idle.sets[0].facts["demands"] == 0
    assert not idle.logbook.runs["start_seen"].item()


@pytest.mark.published("Automotive OBD-II Dataset, M. Weber, KIT, DOI 10.35097/1130; figures computed from the file")
def test_a_cold_start_in_winter(open_data: Path) -> None:
    got = checked(open_data / "car-winter-warmup" / "2018-02-26_warmup.csv")
    run, start = got.logbook.runs, got.logbook.starts
    assert got.readings.files[0].rows_accepted == 11534
    assert (start.height, run.height) == (1, 1)
    assert f"{run['began_at'].item():%H:%M:%S}" == "06:54:46"
    assert f"{run['ended_at'].item():%H:%M:%S}" == "07:11:03"
    assert run["running_s"].item() == pytest.approx(977.5, abs=0.2)
    assert run["coolant_before_c"].item() == 4
    assert run["coolant_max_c"].item() == 72
    assert run["warm_up_s"].item() == pytest.approx(562.6, abs=0.1)
    assert got.logbook.marks.is_empty()
    frame = got.readings.frame.filter(pl.col("speed_rpm").is_not_null() & pl.col("coolant_c").is_not_null())
    held = frame.select(
        pl.col("at").diff().shift(-1).dt.total_microseconds().alias("dt"), "speed_rpm", "coolant_c"
    ).drop_nulls()
    for name, mean in (("speed_rpm", 1448.36), ("coolant_c", 46.577)):
        weighted = (held[name] * held["dt"]).sum() / held["dt"].sum()
        assert weighted == pytest.approx(mean, rel=1e-3), f"{name}, weighted by time"
    assert got.sets[0].findings == ()


@pytest.mark.published("National Grid ESO historic frequency data, October 2017; figures computed from the file")
def test_nine_days_of_mains_frequency(open_data: Path) -> None:
    got = checked(open_data / "gb-frequency" / "gb_frequency_1min_2017-10.csv")
    run, one = got.logbook.runs, got.sets[0]
    assert got.readings.frame.height == 12960
    assert got.readings.frame["frequency_hz"].mean() == pytest.approx(49.996444, abs=1e-6)
    assert run["frequency_mean_hz"].item() == pytest.approx(49.996444, abs=1e-4)
    assert (run["frequency_min_hz"].item(), run["frequency_max_hz"].item()) == (49.701, 50.265)
    assert one.facts["coverage"] == 1.0
    assert (one.facts["demands"], one.facts["runs"]) == (0, 1)
    assert not run["start_seen"].item()
    assert run["ended_by"].item() == "log_end"
    assert one.findings == ()
    assert one.answers[Question.START] is Answer.UNKNOWN


@pytest.mark.published("Numenta Anomaly Benchmark, machine_temperature_system_failure; figures computed from the file")
def test_a_clock_set_back_by_an_hour(open_data: Path) -> None:
    layout = Layout.model_validate({"columns": {"value": {"signal": "ambient_c", "unit": "degF"}}})
    got = checked(open_data / "machine-temperature" / "machine_temperature_system_failure.csv", layout)
    file, marks = got.readings.files[0], got.logbook.marks
    assert (file.rows_read, file.rows_accepted, file.rows_refused, file.rows_repeated) == (22695, 22695, 0, 0)
    (jump,) = got.readings.jumps.iter_rows(named=True)
    assert (jump["step_s"], jump["line"], f"{jump['at']:%Y-%m-%d %H:%M}") == (-55 * 60.0, 10151, "2014-01-07 02:00")
    assert marks["kind"].to_list() == ["clock_jump"]
    fahrenheit = got.readings.frame["ambient_c"] * 1.8 + 32
    assert (fahrenheit.min(), fahrenheit.max()) == pytest.approx((2.0847, 108.5105), abs=1e-3)


@pytest.mark.published("PVAnalytics, ac_power_inv_2173_stale_data; figures computed from the file")
def test_empty_nights_are_not_read_as_running(open_data: Path) -> None:
    layout = Layout.model_validate({"columns": {"value_normalized": {"signal": "power_kw", "unit": "kW"}}})
    got = checked(open_data / "stuck-sensor" / "inverter_power_with_stuck_spells.csv", layout)
    assert got.readings.frame.height == 3000
    assert got.readings.frame["power_kw"].null_count() == 1149
    assert got.logbook.marks.filter(pl.col("kind") == "gap").is_empty()
    producing = got.readings.frame.filter(pl.col("power_kw") > 0.2).height * 0.25
    assert got.sets[0].facts["running_h"] <= producing + 17 * 1.0, (
        "an empty cell says nothing, and is carried on an hour at most"
    )
    assert got.sets[0].findings == ()


@pytest.mark.published("the accounts of the open data: what each lacks")
def test_what_a_log_lacks_is_said_for_every_check(open_data: Path) -> None:
    got = checked(open_data / "car-winter-warmup" / "2018-02-26_warmup.csv").sets[0]
    said = {n.code for n in got.not_assessed} | {c.code for c in got.clear}
    assert said == set(CATALOGUE)
    assert {"output.voltage_off", "output.frequency_off", "battery.crank_sag", "fuel.low"} <= {
        n.code for n in got.not_assessed
    }
    assert got.answers[Question.CARRY] is Answer.UNKNOWN
