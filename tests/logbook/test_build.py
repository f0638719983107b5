"""The logbook against a set whose truth is known, at several rates of logging, with damage and without."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from startworthy.logbook.build import build
from startworthy.logbook.tables import TABLES
from startworthy.register import Register
from tests.support.logs import Start, Truth, as_readings, instant, log

DAY = 86400.0
WEEKLY = Truth(
    days=30,
    starts=(
        Start(1 * DAY + 36000, cranks=(2.0,)),
        Start(8 * DAY + 36000, cranks=(2.5,)),
        Start(15 * DAY + 36000, cranks=(2.0,)),
        Start(17 * DAY + 7000, minutes=95, mains_lost_s=5.0, load_kw=7.0),
        Start(22 * DAY + 36000, cranks=(3.0,)),
        Start(24 * DAY + 40000, cranks=(12.0, 12.0, 12.0), fires=False),
        Start(29 * DAY + 36000, cranks=(9.0, 2.0)),
    ),
)
REGISTER = Register.model_validate({"sets": {"A": {"rated_kw": 10, "rated_voltage_v": 230, "tank_litres": 100}}})


def book(frame: pl.DataFrame, register: Register = REGISTER):
    return build(as_readings(frame), register)


def test_dense_rows_give_the_exact_logbook() -> None:
    b = book(log(WEEKLY))
    assert b.starts["started"].to_list() == [True, True, True, True, True, False, True]
    assert b.starts["attempts"].to_list() == [1, 1, 1, 1, 1, 3, 2]
    assert b.attempts.height == 10
    assert b.attempts["fired"].sum() == 6
    assert b.starts["cause"].to_list() == [
        "exercise",
        "exercise",
        "exercise",
        "outage",
        "exercise",
        "unknown",
        "exercise",
    ]
    assert b.starts["preheat_s"].to_list() == pytest.approx([8.0] * 7, abs=1.0)
    assert b.runs["running_s"].sum() == pytest.approx(60 * (5 * 20 + 95), abs=6 * 1.0)
    assert (b.runs["running_low_s"] <= b.runs["running_high_s"]).all()
    assert b.runs["ended_by"].to_list() == ["stop"] * 6
    assert b.attempts["battery_mean_v"].to_list() == pytest.approx([10.4] * 10)
    assert b.attempts["battery_before_v"].to_list() == pytest.approx([13.6] * 10)


@pytest.mark.parametrize(("dense", "rest"), [(1, 60), (1, 300), (2, 60), (10, 10), (10, 60), (60, 60), (300, 300)])
def test_a_coarser_log_never_says_more_than_the_truth(dense: float, rest: float) -> None:
    b = book(log(WEEKLY, dense, rest))
    assert b.starts.filter("started").height == 6
    assert b.runs.height == 6
    assert b.runs["running_s"].sum() == pytest.approx(60 * (5 * 20 + 95), abs=max(10, 1.5 * dense * 5**0.5))
    known = b.starts["attempts"].drop_nulls().to_list()
    assert known == ([1, 1, 1, 1, 1, 3, 2] if dense <= 2 else [])
    assert all(
        seen <= true
        for seen, true in zip(b.starts.filter("started")["attempts_at_least"], [1, 1, 1, 1, 1, 2], strict=True)
    )


def test_a_run_without_a_seen_crank_has_unknown_attempts() -> None:
    b = book(log(WEEKLY, 60, 60, offset_s=7.0))
    started = b.starts.filter("started")
    assert started["attempts"].null_count() == started.height
    assert started["resolution_s"].min() >= 30


def test_preheat_alone_is_no_attempt() -> None:
    lone = Truth(days=2, starts=(Start(40000, cranks=(0.0,), fires=False, preheat_s=12.0),))
    b = book(log(lone))
    assert b.starts.is_empty()
    assert b.attempts.is_empty()


@pytest.mark.parametrize(
    "drop",
    [
        ("speed_rpm",),
        ("frequency_hz", "voltage_v"),
        ("speed_rpm", "voltage_v"),
        ("oil_kpa",),
        ("mode", "mains_present", "hour_meter_h"),
    ],
)
def test_fewer_signals_tell_the_same_runs(drop: tuple[str, ...]) -> None:
    b = book(log(WEEKLY, drop=drop))
    assert b.starts["started"].to_list() == [True, True, True, True, True, False, True]
    assert b.starts["attempts"].to_list() == [1, 1, 1, 1, 1, 3, 2]


def test_a_24_volt_set_gives_the_same_logbook() -> None:
    b = book(log(replace(WEEKLY, scale=2.0), drop=("speed_rpm",)))
    assert b.known["A"].battery_nominal_v == 24
    assert b.starts["attempts"].to_list() == [1, 1, 1, 1, 1, 3, 2]


def test_one_odd_row_is_neither_a_run_nor_an_attempt() -> None:
    frame = log(WEEKLY)
    odd = (pl.col("at") == instant(4 * DAY)).any()
    assert frame.select(odd).item()
    for name, value in (
        ("speed_rpm", 1500.0),
        ("speed_rpm", 200.0),
        ("frequency_hz", 50.0),
        ("battery_v", 9.0),
    ):
        spiked = frame.with_columns(
            pl.when(pl.col("at") == instant(4 * DAY)).then(value).otherwise(pl.col(name)).alias(name)
        )
        b = book(spiked)
        assert b.starts.height == 7, name
        assert b.runs.height == 6, name


def test_a_dead_speed_sensor_hides_no_run() -> None:
    dead = log(WEEKLY).with_columns(
        pl.when(pl.col("at") > instant(10 * DAY)).then(0.0).otherwise(pl.col("speed_rpm")).alias("speed_rpm")
    )
    b = book(dead)
    assert b.runs.height == 6
    assert b.runs["running_s"].sum() == pytest.approx(60 * (5 * 20 + 95), abs=6)


def test_nothing_bridges_a_gap() -> None:
    frame = log(WEEKLY)
    inside = WEEKLY.starts[3].run_span
    assert inside is not None
    cut = frame.filter(~pl.col("at").is_between(instant(inside[0] + 1200), instant(inside[0] + 3600)))
    b = book(cut)
    run = b.runs.filter(pl.col("run") == 4)
    assert b.runs.height == 6, "the hour meter shows that it ran on"
    assert run["missing_s"].item() == pytest.approx(2400, abs=3)
    assert run["running_s"].item() == pytest.approx(95 * 60 - 2400, abs=4)
    without_meter = book(cut.drop("hour_meter_h"))
    assert without_meter.runs.height == 7, "with nothing to join them the two parts stay apart"
    assert without_meter.starts.height == 7, "and the second has no start of its own"


def test_a_start_within_a_gap_is_a_start_with_unknown_attempts() -> None:
    first = WEEKLY.starts[1]
    frame = log(WEEKLY).filter(~pl.col("at").is_between(instant(first.at_s - 3000), instant(first.at_s + 600)))
    start = book(frame).starts.filter(pl.col("run") == 2)
    assert start["started"].item()
    assert start["attempts"].item() is None
    assert start["rest_h"].item() is None


def test_a_log_that_begins_and_ends_while_running_invents_no_start_and_no_end() -> None:
    begins, ends = WEEKLY.starts[0].run_span, WEEKLY.starts[2].run_span
    assert begins is not None
    assert ends is not None
    frame = log(WEEKLY).filter(pl.col("at").is_between(instant(begins[0] + 300), instant(ends[0] + 300)))
    b = book(frame)
    assert b.runs.height == 3
    assert b.starts.height == 2
    assert b.runs["start_seen"].to_list() == [False, True, True]
    assert b.runs["ended_by"].to_list() == ["stop", "stop", "log_end"]


def test_restart_within_seconds_is_a_second_start() -> None:
    a = Start(40000, minutes=10)
    assert a.run_span is not None
    again = Start(a.run_span[1] + 5, minutes=10, preheat_s=0.0, mode="manual")
    b = book(log(Truth(days=2, starts=(a, again))))
    assert b.starts["started"].to_list() == [True, True]
    assert b.starts["attempts"].to_list() == [1, 1]


def test_alarm_text_tells_a_failed_start_that_fell_between_rows() -> None:
    frame = log(Truth(days=9, starts=(Start(DAY + 36000), Start(8 * DAY + 36000))), 60, 60)
    text = pl.when(pl.col("at").is_between(instant(5 * DAY), instant(5 * DAY + 300))).then(
        pl.lit("Engine failed to start")
    )
    b = book(frame.with_columns(text.cast(pl.Categorical).alias("alarm")))
    failed = b.starts.filter(~pl.col("started"))
    assert failed.height == 1
    assert failed["told_by"].item() == "alarm"
    assert failed["attempts"].item() is None


@settings(max_examples=15, deadline=None)
@given(
    when=st.lists(st.integers(1, 40), min_size=1, max_size=5, unique=True),
    minutes=st.floats(3, 60),
    crank=st.floats(1.2, 6),
    fails=st.booleans(),
    rest=st.sampled_from([30.0, 60.0, 300.0]),
)
def test_counts_and_hours_are_exact_for_any_story(
    when: list[int], minutes: float, crank: float, fails: bool, rest: float
) -> None:
    starts = tuple(Start(d * 7200.0, minutes, cranks=(8.0, crank) if fails else (crank,)) for d in sorted(when))
    b = book(log(Truth(days=4, starts=starts), 1.0, rest))
    assert b.starts.height == len(starts)
    assert b.starts["attempts"].to_list() == [2 if fails else 1] * len(starts)
    assert b.runs["running_s"].sum() == pytest.approx(len(starts) * minutes * 60, abs=1.0 * len(starts))


@settings(max_examples=10, deadline=None)
@given(repeats=st.integers(2, 3), seed=st.integers(0, 10))
def test_repeating_rows_changes_nothing(repeats: int, seed: int) -> None:
    truth = Truth(days=3, starts=(Start(30000.0 + seed * 1000, cranks=(9.0, 2.0)), Start(100000.0)))
    once = log(truth)
    often = pl.concat([once] * repeats).sort("at", maintain_order=True)
    a, b = book(once), book(often)
    for name in TABLES:
        own = [
            c
            for c in TABLES[name].columns
            if c not in {"rows", "resolution_s", "battery_mean_v", "crank_s", "crank_high_s", "running_high_s"}
        ]
        assert_frame_equal(getattr(a, name).select(own), getattr(b, name).select(own))


def test_two_sets_in_one_frame_give_what_each_gives_alone() -> None:
    a, b = log(WEEKLY, set_id="A"), log(replace(WEEKLY, float_v=13.4), set_id="B")
    c = log(replace(WEEKLY, scale=2.0), 10, 60, set_id="C")
    frames = [f.with_columns(pl.col("set_id").cast(pl.String)) for f in (a, b, c)]
    whole = pl.concat(frames).with_columns(pl.col("set_id").cast(pl.Categorical)).sort("set_id", "at")
    together = book(whole)
    for name, frame in (("A", a), ("B", b), ("C", c)):
        alone, own = book(frame), together.of(name)
        for table in TABLES:
            assert_frame_equal(getattr(alone, table), getattr(own, table))


def test_days_follow_the_zone_and_its_clock_changes() -> None:
    register = Register.model_validate({"sets": {"A": {"time_zone": "Europe/Vienna"}}})
    frame = log(Truth(days=32), 60, 60)  # 2026-03-02 to 04-02: the clock goes forward on 2026-03-29
    days = book(frame, register).days
    assert days.filter(pl.col("day").dt.to_string("%m-%d") == "03-29")["day_s"].item() == 23 * 3600
    assert days["covered_s"].sum() == pytest.approx(32 * DAY)
    assert days.filter(pl.col("coverage") > 0.99).height >= 31


def test_statistics_are_weighted_by_time_not_by_rows() -> None:
    """The same truth at 1 s while running and 300 s at rest, and at 60 s throughout: the same day at rest."""
    fine, coarse = book(log(WEEKLY, 1, 300)).days, book(log(WEEKLY, 60, 60)).days
    for column in ("rest_battery_v", "rest_fuel_fraction", "running_s", "covered_s"):
        assert fine[column].to_list() == pytest.approx(
            coarse[column].to_list(), rel=2e-3, abs=90 if column.endswith("_s") else 1e-3
        ), column


def test_refuel_and_theft_are_marked_once_each() -> None:
    frame = log(WEEKLY)
    level = (
        pl.col("fuel_fraction")
        - pl.when(pl.col("at") > instant(5 * DAY)).then(0.2).otherwise(0.0)
        + pl.when(pl.col("at") > instant(11 * DAY)).then(0.35).otherwise(0.0)
    )
    marks = book(frame.with_columns(level.alias("fuel_fraction"))).marks.filter(
        pl.col("kind").is_in(["refuel", "fuel_loss"])
    )
    assert marks["kind"].to_list() == ["fuel_loss", "refuel"]
    assert marks["value"].to_list() == pytest.approx([-0.2, 0.35], abs=0.01)


def test_inputs_are_not_edited() -> None:
    frame = log(WEEKLY)
    before = frame.clone()
    book(frame)
    assert_frame_equal(frame, before)


def test_an_empty_log_gives_empty_tables() -> None:
    b = book(log(WEEKLY).clear())
    assert all(getattr(b, name).is_empty() for name in TABLES)


def test_the_starts_counter_tells_of_a_restart_between_slow_rows() -> None:
    truth = Truth(days=2, starts=(Start(40000, minutes=30),))
    begins = truth.starts[0].run_span
    assert begins is not None
    frame = log(truth, 60, 60)
    counts = [(0, 5), (begins[0], 6), (begins[0] + 900, 7)]
    counter = pl.lit(0)
    for since, value in counts:
        counter = pl.when(pl.col("at") >= instant(since)).then(value).otherwise(counter)
    b = book(frame.with_columns(counter.cast(pl.Float64).alias("starts_counter")))
    assert b.runs.height == 2
    assert b.starts["started"].to_list() == [True, True]
    assert b.runs["running_s"].sum() == pytest.approx(1800, abs=60)
    late = pl.when(pl.col("at") >= instant(begins[0] + 300)).then(6.0).otherwise(5.0)
    assert book(frame.with_columns(late.alias("starts_counter"))).runs.height == 1, "a counter that counts late"


def test_a_lone_low_row_among_close_ones_is_no_failed_start() -> None:
    """A spike of 2 V and more beside a start, and one far from any, with rows a second apart."""
    near = WEEKLY.starts[0].at_s - 60
    for when in (near, WEEKLY.starts[6].at_s - 100):
        for drop in ((), ("speed_rpm",)):
            frame = log(WEEKLY, drop=drop)
            hit = pl.col("at") == instant(when)
            assert frame.select(hit.any()).item()
            b = book(frame.with_columns(pl.when(hit).then(9.5).otherwise(pl.col("battery_v")).alias("battery_v")))
            assert b.starts["attempts"].to_list() == [1, 1, 1, 1, 1, 3, 2]
            assert b.starts["started"].to_list() == [True, True, True, True, True, False, True]


def test_a_set_that_slows_down_through_cranking_speed_starts_nothing() -> None:
    """At 1800 rpm running ends at 540 rpm and cranking begins below 450: the rows between belong to the stop."""
    truth = Truth(days=2, starts=(Start(40000, minutes=10),))
    span = truth.starts[0].run_span
    assert span is not None
    since = (pl.col("at") - instant(span[1])).dt.total_seconds()
    falling = pl.when(since.is_between(0, 5)).then(
        pl.lit([900.0, 500.0, 420.0, 250.0, 120.0, 60.0]).list.get(since.clip(0, 5))
    )
    speed = pl.coalesce(falling, pl.col("speed_rpm") * 1.2)
    low = pl.when(since.is_between(0, 600)).then(10.6).otherwise(pl.col("battery_v"))
    frame = log(truth).with_columns(
        speed.alias("speed_rpm"), low.alias("battery_v"), (pl.col("frequency_hz") * 1.2).alias("frequency_hz")
    )
    b = book(
        frame,
        Register.model_validate({"sets": {"A": {"rated_rpm": 1800, "rated_frequency_hz": 60, "rated_voltage_v": 230}}}),
    )
    assert b.starts["started"].to_list() == [True]
    assert b.attempts.height == 1


def test_oil_pressure_that_falls_with_the_speed_ends_no_run() -> None:
    truth = Truth(days=2, starts=(Start(40000, minutes=10),))
    span = truth.starts[0].run_span
    assert span is not None
    last = (pl.col("at") >= instant(span[1] - 2)) & (pl.col("at") < instant(span[1]))
    frame = log(truth).with_columns(
        pl.when(last).then(500.0).otherwise(pl.col("speed_rpm")).alias("speed_rpm"),
        pl.when(last).then(17.0).otherwise(pl.col("frequency_hz")).alias("frequency_hz"),
        pl.when(last).then(60.0).otherwise(pl.col("oil_kpa")).alias("oil_kpa"),
    )
    assert book(frame).runs["ended_by"].to_list() == ["stop"]


def test_a_preheat_whose_crank_fell_between_the_rows_is_not_taken_for_the_crank() -> None:
    """Float 13.6 V, plugs pull it to 12.5 V: one level only is seen where the crank lasts less than a row."""
    truth = Truth(days=2, preheat_v=12.5, starts=(Start(40000.25, cranks=(0.4,), preheat_s=8.0),))
    b = book(log(truth, drop=("speed_rpm",)))
    assert b.starts["attempts"].to_list() == [1]
    assert b.attempts["crank_low_s"].item() <= 1.0
