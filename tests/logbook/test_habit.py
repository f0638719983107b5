"""The exercise habit and the causes told from it: by the hour and the interval, with mode and mains logged or not."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.logbook.build import build
from startworthy.register import Register
from tests.support.logs import T0, Start, Truth, as_readings, log

DAY, HOUR = 86400.0, 3600.0
NO_WORD = ("mode", "mains_present")


def book(starts: list[Start], days: float, drop: tuple[str, ...] = NO_WORD, **entry: object):
    truth = Truth(days=days, starts=tuple(sorted(starts, key=lambda s: s.at_s)))
    frame = log(truth, 60, 300, drop=(*drop, "fuel_fraction"))
    return build(as_readings(frame), Register.model_validate({"sets": {"A": {"rated_kw": 10, **entry}}}))


def weekly(times: int, *, every: float = 7, hour: float = 10.0, minutes: float = 20.0) -> list[Start]:
    return [Start((1 + i * every) * DAY + hour * HOUR, minutes) for i in range(times)]


# odd hours, odd lengths: more of them than exercises, so that hardly two exercises follow on each other
OUTAGES = [Start((0.6 + 1.73 * i) * DAY + (i * 7919) % 40000, 25 + (i * 37) % 90) for i in range(45)]


@pytest.mark.parametrize("drop", [NO_WORD, ("mode",), ("mains_present",), ()])
@pytest.mark.parametrize("every", [7, 10, 14])
def test_runs_in_between_break_no_habit(drop: tuple[str, ...], every: float) -> None:
    own = weekly(int(84 / every), every=every)
    apart = [o for o in OUTAGES if all(abs(o.at_s - e.at_s) > 3 * HOUR for e in own)]
    b = book(own + apart, 90, drop)
    known = b.known["A"]
    assert known.exercise_every_days == every
    assert known.exercise_minutes == pytest.approx(20, abs=1)
    assert known.exercise_minute_of_day == pytest.approx(600, abs=5)
    assert "intervals" in known.inferred["exercise_every_days"]
    hours = b.starts.with_columns(pl.col("began_at").dt.hour().is_between(9, 10).alias("at_hour"))
    told = hours.filter(pl.col("at_hour") & pl.col("began_at").dt.minute().is_in([0, 1, 59]))
    assert (told["cause"] == "exercise").sum() == len(own)


@pytest.mark.parametrize("seed", range(40))
def test_outages_alone_make_no_habit(seed: int) -> None:
    """Nothing says that these are outages: only that no two keep to an interval."""
    draw = random.Random(seed)
    starts = [Start(d * DAY + draw.uniform(0, 20 * HOUR), draw.uniform(5, 110)) for d in range(1, 180, 3 + seed % 4)]
    b = book(starts, 182)
    assert b.known["A"].exercise_every_days is None
    assert set(b.starts["cause"]) == {"unknown"}


@pytest.mark.parametrize("seed", range(10))
def test_outages_in_the_evening_peak_make_no_habit(seed: int) -> None:
    draw = random.Random(seed)
    starts = [
        Start(d * DAY + draw.uniform(17, 21) * HOUR, draw.uniform(5, 110)) for d in draw.sample(range(1, 180), 25)
    ]
    assert book(starts, 182).known["A"].exercise_every_days is None


def local(day: int, hour: float, zone: str, *, follows: bool) -> float:
    """Seconds from T0 of a local hour, `day` days after it; by winter time where the timer does not follow."""
    own = ZoneInfo(zone)
    winter = datetime(2026, 1, 15, tzinfo=own).utcoffset()
    offset = datetime.fromtimestamp(T0.timestamp() + day * DAY + hour * HOUR, UTC).astimezone(own).utcoffset()
    shift = offset if follows else winter
    assert shift is not None
    return day * DAY + hour * HOUR - shift.total_seconds()


@pytest.mark.parametrize("told_zone", ["Europe/Vienna", "UTC"])
@pytest.mark.parametrize("follows", [True, False])
@pytest.mark.parametrize("hour", [10.0, 0.5, 23.9])
def test_daylight_saving_moves_no_exercise(told_zone: str, follows: bool, hour: float) -> None:
    """Half of the log in winter time, half in summer time; the timer follows or not, and the register knows the zone or not."""
    starts = [Start(local(1 + 7 * i, hour, "Europe/Vienna", follows=follows), 20) for i in range(9)]
    starts += [Start(s.at_s + (2 + 0.31 * i) * DAY + 5 * HOUR, 50) for i, s in enumerate(starts[:5])]
    b = book(starts, 70, time_zone=told_zone)
    assert b.known["A"].exercise_every_days == 7
    assert (b.known["A"].exercise_minute_utc is not None) <= (told_zone != "UTC")
    exercises = b.starts.join(b.runs.select("run", "running_s"), on="run").with_columns(
        (pl.col("running_s") < 1800).alias("ours")
    )
    assert exercises.filter("ours")["cause"].to_list() == ["exercise"] * 9
    assert exercises.filter(~pl.col("ours"))["cause"].to_list() == ["unknown"] * 5


def test_a_short_exercise_at_its_hour_and_day_is_one() -> None:
    starts = weekly(8) + [replace(s, minutes=4.0) for s in weekly(13)[8:]]
    b = book(starts, 95)
    assert b.starts["cause"].to_list() == ["exercise"] * 13


def test_an_exercise_moved_to_another_day_and_hour_goes_on_being_one() -> None:
    starts = weekly(8) + [replace(s, at_s=s.at_s + 2 * DAY + 4 * HOUR) for s in weekly(14)[8:]]
    b = book(starts, 105)
    assert b.starts["cause"].to_list() == ["exercise"] * 14


def test_a_run_of_another_length_on_another_day_at_that_hour_is_not_told() -> None:
    odd = Start(3 * DAY + 10 * HOUR + 300, 90)
    b = book([*weekly(8), odd], 60)
    assert b.starts["cause"].to_list() == ["exercise", "unknown", *["exercise"] * 7]


def test_where_two_were_left_out_the_shorter_interval_is_the_habit() -> None:
    kept = [s for i, s in enumerate(weekly(12, every=14)) if i not in {1, 3}]
    assert book(kept, 170).known["A"].exercise_every_days == 14


def test_with_a_plan_two_runs_are_enough_to_learn_the_hour() -> None:
    plan = {"exercise": {"every_days": 14, "minutes": 20}}
    two = weekly(2, every=14)
    assert book(two, 25).starts["cause"].to_list() == ["unknown"] * 2
    b = book([*two, Start(5 * DAY + 2 * HOUR, 75)], 25, **plan)
    assert b.starts["cause"].to_list() == ["exercise", "unknown", "exercise"]
    assert b.known["A"].exercise_minute_of_day == pytest.approx(600, abs=5)
    assert "exercise_every_days" not in b.known["A"].inferred


def test_runs_by_hand_and_in_outages_teach_nothing() -> None:
    by_hand = [replace(s, mode="manual") for s in weekly(10)]
    in_outages = [replace(s, mains_lost_s=5.0) for s in weekly(10)]
    assert book(by_hand, 75, ()).known["A"].exercise_every_days is None
    assert book(in_outages, 75, ()).known["A"].exercise_every_days is None


@settings(max_examples=8, deadline=None)
@given(
    every=st.sampled_from([7, 10, 14]), hour=st.floats(0.2, 23.2), minutes=st.floats(10, 60),
    lost=st.sets(st.integers(1, 5), max_size=2), late=st.lists(st.integers(-300, 300), min_size=9, max_size=9),
)  # fmt: skip
def test_any_habit_is_learnt_though_some_were_left_out(
    every: int, hour: float, minutes: float, lost: set[int], late: list[int]
) -> None:
    all_of_them = weekly(9, every=every, hour=hour, minutes=minutes)
    starts = [replace(s, at_s=s.at_s + late[i]) for i, s in enumerate(all_of_them) if i not in lost]
    b = book(starts, 9 * every + 3)
    assert b.known["A"].exercise_every_days == every
    assert b.starts["cause"].to_list() == ["exercise"] * len(starts)
