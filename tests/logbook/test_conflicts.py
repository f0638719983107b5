"""A register against its log, two files against each other, and sets that share nothing but a file."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest
from polars.testing import assert_frame_equal

import startworthy as sw
from startworthy.findings import Severity
from startworthy.logbook.build import build
from startworthy.logbook.tables import TABLES
from startworthy.register import Register
from tests.support.logs import Runs, Start, Truth, as_readings, instant, log

DAY = 86400.0
MONTH = Truth(days=30, starts=tuple(Start(day * DAY + 36000) for day in range(1, 30, 7)))
RIGHT = {"rated_kw": 10, "rated_voltage_v": 230, "rated_frequency_hz": 50, "rated_rpm": 1500, "battery_nominal_v": 12}


def register(**entry) -> Register:
    return Register.model_validate({"sets": {"A": {**RIGHT, **entry}}})


# --- the register against the log --------------------------------------------------------------------------------


def test_a_register_that_fits_is_contradicted_by_nothing():
    known = build(as_readings(log(MONTH)), register()).known["A"]
    assert known.conflicts == ()
    assert (known.rated_frequency_hz, known.rated_rpm, known.battery_nominal_v) == (50, 1500, 12)
    assert known.inferred.keys() & RIGHT.keys() == set()


@pytest.mark.parametrize(
    ("key", "written", "seen", "unit"),
    [
        ("rated_frequency_hz", 60, 50, "Hz"),
        ("battery_nominal_v", 24, 12, "V"),
        ("rated_rpm", 3000, 1500, "rpm"),
        ("rated_voltage_v", 400, 230, "V"),
    ],
)
def test_the_logs_own_figure_is_used_and_nothing_else_is_raised(key, written, seen, unit):
    wrong = register(**{key: written})
    known = build(as_readings(log(MONTH)), wrong).known["A"]
    assert [(c.key, c.register, c.log, c.unit) for c in known.conflicts] == [(key, written, seen, unit)]
    assert getattr(known, key) == seen
    assert key in known.inferred
    raised = pressing(wrong)
    assert {code for code, _ in raised} - {code for code, _ in pressing(register())} == {"log.conflict"}


def test_several_wrong_figures_are_several_conflicts_and_no_alarm_of_any_other_kind():
    wrong = register(rated_frequency_hz=60, battery_nominal_v=24, rated_rpm=1800)
    raised = pressing(wrong)
    assert {code for code, _ in raised} - {code for code, _ in pressing(register())} == {"log.conflict"}
    assert len(build(as_readings(log(MONTH)), wrong).known["A"].conflicts) == 3


def pressing(told: Register) -> set[tuple[str, Severity]]:
    (one,) = sw.check(as_readings(log(MONTH)), register=told, strict=True).sets
    return {(f.code, f.severity) for f in one.findings if f.severity is not Severity.NOTE}


@pytest.mark.parametrize(("written", "seen"), [(50, 53.9), (230, 205.0)])
def test_a_set_out_of_tune_is_a_fault_of_the_set_and_not_of_the_register(written, seen):
    name, key = ("frequency_hz", "rated_frequency_hz") if written == 50 else ("voltage_v", "rated_voltage_v")
    frame = log(MONTH).with_columns(pl.when(pl.col(name) > 0).then(seen).otherwise(0.0).alias(name))
    known = build(as_readings(frame), register()).known["A"]
    assert known.conflicts == ()
    assert getattr(known, key) == written


def test_a_log_that_does_not_show_it_contradicts_nothing():
    frame = log(MONTH, drop=("battery_v", "frequency_hz", "speed_rpm"))
    known = build(as_readings(frame), register(battery_nominal_v=24, rated_frequency_hz=60)).known["A"]
    assert known.conflicts == ()
    assert (known.battery_nominal_v, known.rated_frequency_hz) == (24, 60)


# --- two files against each other --------------------------------------------------------------------------------


def rows(start: int, n: int, volts: float) -> str:
    head = "time,battery (V),engine speed (rpm),coolant (C)\n"
    lines = [f"2026-03-02T{(start + i) // 60:02d}:{(start + i) % 60:02d}:00Z,{volts},0,20\n" for i in range(n)]
    return head + "".join(lines)


def read_two(folder, first: str, second: str):
    for name, text in (("one", first), ("two", second)):
        (folder / name).mkdir()
        (folder / name / "HILL-01.csv").write_text(text)
    return sw.read([folder / "one", folder / "two"])


def test_two_files_that_contradict_each_other_are_marked(tmp_path):
    book = build(read_two(tmp_path, rows(0, 120, 13.6), rows(90, 120, 12.1)), Register())
    (mark,) = book.marks.filter(pl.col("kind") == "conflict").iter_rows(named=True)
    assert mark["set_id"] == "HILL-01"
    assert mark["value"] == 30, "instants for which the two say different things"
    assert (mark["ended_at"] - mark["began_at"]).total_seconds() == 29 * 60
    assert 0 < mark["before"] < 1


def test_a_file_that_goes_on_where_the_other_ends_and_one_that_repeats_it_do_not(tmp_path):
    book = build(read_two(tmp_path, rows(0, 120, 13.6), rows(90, 120, 13.6)), Register())
    assert book.marks.filter(pl.col("kind") == "conflict").is_empty()
    assert book.days["covered_s"].sum() == pytest.approx(210 * 60)


def test_two_rows_of_one_second_in_one_file_are_no_conflict(tmp_path):
    twice = "2026-03-02T00:05:00Z,13.4,0,20\n"
    book = build(read_two(tmp_path, rows(0, 120, 13.6) + twice, rows(120, 60, 13.6)), Register())
    assert book.marks.filter(pl.col("kind") == "conflict").is_empty()


def test_files_of_different_sets_do_not_contradict_each_other(tmp_path):
    (tmp_path / "HILL-01.csv").write_text(rows(0, 120, 13.6))
    (tmp_path / "BROOK-02.csv").write_text(rows(0, 120, 12.1))
    book = build(sw.read(tmp_path), Register())
    assert book.marks.filter(pl.col("kind") == "conflict").is_empty()
    assert set(book.known) == {"HILL-01", "BROOK-02"}


# --- several sets in one log -------------------------------------------------------------------------------------


def fleet() -> dict[str, pl.DataFrame]:
    """Sets that differ in battery, frequency, columns, rates of logging and what goes wrong."""
    sixty = Runs(
        begins_s=(2 * DAY + 3600, 9 * DAY + 3600), days=14.0,
        running={"frequency_hz": 60.5, "speed_rpm": 1800.0, "voltage_v": 120.0, "battery_v": 28.0},
        resting={"battery_v": 27.2}, crank_v=20.5,
    )  # fmt: skip
    weeks = Truth(days=15, starts=(Start(1 * DAY + 36000), Start(8 * DAY + 36000, cranks=(3.0, 2.0))))
    wild = log(weeks, 1, 60, set_id="D").with_columns(
        pl.when(pl.col("at") == instant(4 * DAY)).then(3.0).otherwise(pl.col("battery_v")).alias("battery_v")
    )
    return {
        "A": log(weeks, 1, 60, set_id="A"),
        "B": sixty.log(1.0, 300.0, set_id="B"),
        "C": log(weeks, 60, 60, set_id="C", drop=("speed_rpm", "coolant_c", "power_kw")),
        "D": wild,
        "E": log(weeks, 1, 60, set_id="E", drop=("voltage_v", "frequency_hz", "fuel_fraction", "mode")),
    }


def together(frames: list[pl.DataFrame]) -> pl.DataFrame:
    text = [
        name
        for name in ("set_id", "mode")
        if any(name in f.columns and f[name].dtype == pl.Categorical for f in frames)
    ]
    plain = [f.with_columns(pl.col(name).cast(pl.String) for name in text if name in f.columns) for f in frames]
    return pl.concat(plain, how="diagonal").with_columns(pl.col(text).cast(pl.Categorical))


@pytest.fixture(scope="module")
def told():
    return Register.model_validate(
        {
            "sets": {
                "A": {"rated_kw": 10, "tank_litres": 100},
                "B": {"rated_kw": 8, "altitude_m": 1200, "governor_class": "G2"},
                "C": {"time_zone": "America/Denver", "rated_frequency_hz": 60},
                "D": {"limits": {"coolant_high_c": 80.0}},
            }
        }
    )


@pytest.mark.parametrize("order", [("A", "B", "C", "D", "E"), ("E", "C", "A", "D", "B")])
def test_several_sets_in_one_log_give_the_same_as_each_alone(told, order):
    frames = fleet()
    both = together([frames[name] for name in order])
    # readings come sorted by set, in whichever order the sets were met
    whole = build(as_readings(both), told)
    assert set(whole.known) == set(frames)
    for name, frame in frames.items():
        alone = build(as_readings(frame), told)
        for table in TABLES:
            assert_frame_equal(getattr(whole.of(name), table), getattr(alone, table), check_exact=False, abs_tol=1e-9)
        assert replace(whole.known[name], limits=alone.known[name].limits) == alone.known[name]
        assert whole.signals[name] == alone.signals[name]
        assert whole.sampling[name] == alone.sampling[name]
        assert whole.span[name] == alone.span[name]


def test_a_limit_of_one_sets_own_is_not_lent_to_the_next():
    """Both float at 13.6 V; one is told by its register that its charger floats above 13.65 V."""
    truth = Runs(begins_s=(DAY + 36000,), days=3.0)
    told = Register.model_validate({"sets": {"B": {"limits": {"battery_float_low_12_v": 13.65}}}})
    for names in ("AB", "BA"):
        days = build(as_readings(together([truth.log(set_id=name) for name in names])), told).days
        assert days.filter(pl.col("set_id") == "A")["on_charge"].all()
        assert not days.filter(pl.col("set_id") == "B")["on_charge"].any()


def test_mains_of_one_set_are_no_measure_for_those_of_the_next():
    """Mains between lines of 480 V at two sets, 208 V at a third, a flag at the last: each goes by its own."""
    truth = Runs(begins_s=(DAY + 36000,), days=3.0)
    gone = pl.col("at").is_between(instant(2 * DAY), instant(2 * DAY + 3540))
    frames = [
        truth.log(set_id=name).with_columns(pl.when(gone).then(0.0).otherwise(there).alias(signal))
        for name, there, signal in (
            ("A", 480.0, "mains_v"),
            ("B", 208.0, "mains_v"),
            ("C", 480.0, "mains_v"),
            ("D", 1.0, "mains_present"),
        )
    ]
    frames.append(truth.log(set_id="E"))
    book = build(as_readings(together(frames)), Register())
    lost_s = {s: own["mains_lost_s"].to_list() for (s,), own in book.days.group_by("set_id")}
    assert lost_s == {name: [0.0, 0.0, 3600.0] for name in "ABCD"} | {"E": [None] * 3}
    assert book.marks.filter(pl.col("kind") == "mains_lost")["set_id"].to_list() == ["A", "B", "C", "D"]
