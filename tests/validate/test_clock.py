"""Disturbed clocks: hours, demands, failed demands, attempts and runs are those of the clean clock, or rows are refused.

The sets are simulated and invented: they show behaviour and prove no value.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import startworthy as sw
from startworthy.validate.clock import _long_steps
from startworthy.validate.clock.track import DAY, S, first_of_year
from tests.support.clocks import NOW, RESET, cleaned, counts, kinds, moved, raw_of, reset, simulated

H, D, Y = timedelta(hours=1), timedelta(days=1), timedelta(days=365)
DAYS = 20.0
SETS = [("healthy", 0, "60"), ("fails_often", 4, "dense"), ("power_cut", 6, "300"), ("healthy", 3, "dense")]
every_set = pytest.mark.parametrize(("kind", "seed", "cadence"), SETS)


def the_log(kind: str, seed: int, cadence: str) -> pl.DataFrame:
    return simulated(seed, cadence, DAYS, kind)[0]


def in_a_run(log: pl.DataFrame, which: float = 0.5) -> int:
    """A row in the middle of a run."""
    turning = next(c for c in ("speed_rpm", "frequency_hz", "voltage_v", "voltage_l1_v") if c in log.columns)
    rows = np.flatnonzero((log[turning] > 45).fill_null(False).to_numpy())
    return int(rows[int(which * (len(rows) - 1))])


def refused(done) -> int:
    return sum(f.rows_refused for f in done.files)


# -- the clock fell to an early date


@every_set
@pytest.mark.parametrize("place", ["rest", "run"])
def test_a_reset_that_lost_no_time_is_undone_to_the_microsecond(kind: str, seed: int, cadence: str, place: str) -> None:
    log = the_log(kind, seed, cadence)
    first = log.height // 3 if place == "rest" else in_a_run(log)
    until = min(first + log.height // 4, log.height - 5)
    done = cleaned(reset(log, first, until))
    assert ("clock_reset", "bounds") in kinds(done)
    assert done.frame["at"].equals(log["at"])
    assert refused(done) == 0
    (told,) = done.jumps.filter(pl.col("kind") == "clock_reset").iter_rows(named=True)
    assert (told["before_at"], told["at"], told["rows"]) == (log["at"][first], log["at"][until - 1], until - first)
    assert told["line"] == first + 2
    assert str(until - first) in done.files[0].notes[0]


@every_set
def test_a_reset_that_lost_time_is_set_against_the_row_after_it(kind: str, seed: int, cadence: str) -> None:
    log = the_log(kind, seed, cadence)
    first, lost = log.height // 3, 600
    until = first + log.height // 4
    written = pl.concat([log[:first], log[first + lost :]])
    done = cleaned(reset(log, first, until, lost=lost))
    assert ("clock_reset", "end") in kinds(done)
    assert counts(done) == counts(cleaned(written))
    assert (done.frame["at"] - written["at"]).abs().max() <= timedelta(seconds=300)


@every_set
def test_a_file_that_begins_under_the_early_date(kind: str, seed: int, cadence: str) -> None:
    log = the_log(kind, seed, cadence)
    done = cleaned(reset(log, 0, log.height // 3))
    assert kinds(done) == [("clock_reset", "end")]
    assert counts(done) == counts(cleaned(log))
    assert (done.files[0].first_at, done.files[0].last_at) == (done.frame["at"].min(), done.frame["at"].max())


def test_a_reset_that_nobody_corrected_is_refused_with_line_time_and_reason() -> None:
    log = the_log("healthy", 0, "60")
    first = 20_000
    done = cleaned(reset(log, first, None))
    assert kinds(done) == [("clock_jump", None), ("clock_reset", "refused")]
    assert refused(done) == log.height - first
    told = done.refused.sort("line").row(0, named=True)
    assert (told["line"], told["value"], told["reason"], told["cost"], told["file"]) == (
        first + 2, "2000-01-01 00:00:20", "clock_reset", "row", "log0.csv",
    )  # fmt: skip
    # what is left is the log up to there, and nothing stands in the year 2000
    assert counts(done) == counts(cleaned(log[:first]))
    assert done.frame["at"].min() == log["at"][0]


def test_a_set_that_ran_through_the_fall_tells_where_the_rest_belongs() -> None:
    log = counted(simulated(0, "60", DAYS, "power_cut")[0])
    done = cleaned(reset(log, in_a_run(log), None))
    assert ("clock_reset", "start") in kinds(done)
    assert counts(done) == counts(cleaned(log))


def test_between_two_resets_nobody_knows_how_long_supply_was_away() -> None:
    log = the_log("healthy", 0, "60")
    twice = reset(reset(log, 6000, 14_000, lost=30), 9000, 14_000 - 30, lost=50)
    done = cleaned(twice)
    assert sorted(k for k in kinds(done) if k[0] == "clock_reset") == [
        ("clock_reset", "end"),
        ("clock_reset", "refused"),
    ]
    assert refused(done) == 3000
    assert done.frame["at"].min() == log["at"][0]
    clean = counts(cleaned(log))
    assert all(v is None or v <= clean[n] + 1e-9 for n, v in counts(done).items())


def test_two_resets_that_lost_no_time_leave_one_place_for_both() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(reset(reset(log, 6000, 14_000), 9000, 14_000))
    assert refused(done) == 0
    assert counts(done) == counts(cleaned(log))


def test_an_hour_meter_that_moved_forbids_to_set_rows_against_the_row_after_them() -> None:
    log = the_log("healthy", 0, "60")
    first, until = 8000, 10_000
    later = pl.int_range(pl.len()) >= until
    away = log.with_columns(hour_meter_h=pl.when(later).then(pl.col("hour_meter_h") + 7.0).otherwise("hour_meter_h"))
    done = cleaned(reset(away, first, until, lost=60).with_columns())
    assert ("clock_reset", "refused") in kinds(done)
    assert refused(done) == until - first - 60


def test_other_dates_at_which_clocks_begin() -> None:
    log = the_log("healthy", 0, "60")
    for year in (1970, 1980, 1990, 2010, 2023):
        done = cleaned(reset(log, 8000, 12_000, lost=100, to=datetime(year, 1, 1, tzinfo=UTC)))
        assert ("clock_reset", "end") in kinds(done), year
        assert refused(done) == 0


def test_a_clock_that_was_never_set_is_told_and_kept() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(moved(log, 0, None, datetime(1970, 1, 1, tzinfo=UTC) - log["at"][0]))
    assert kinds(done) == [("clock_reset", "never_set")]
    assert counts(done) == counts(cleaned(log))


def test_years_of_a_log_in_the_wrong_order_are_no_reset() -> None:
    log = the_log("healthy", 0, "60")
    meter = pl.int_range(pl.len()) / 100.0
    older = log.with_columns(at=pl.col("at") + (datetime(2020, 1, 1, tzinfo=UTC) - log["at"][0]), hour_meter_h=meter)
    newer = log.with_columns(hour_meter_h=meter + 1000.0)
    done = cleaned(pl.concat([newer, older]))
    assert refused(done) == 0
    assert [k for k, _ in kinds(done)] == ["out_of_order"]


def test_a_log_with_years_between_its_rows_is_left_alone() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(moved(log, 0, 10_000, -timedelta(days=1500)))
    assert kinds(done) == []
    assert refused(done) == 0


# -- the clock was set


@every_set
@pytest.mark.parametrize("by", [H, -H, D, -D, Y, -Y, timedelta(minutes=37), -timedelta(minutes=12)], ids=str)
@pytest.mark.parametrize("place", ["rest", "run"])
def test_a_wrong_time_between_two_equal_steps_is_undone(
    kind: str, seed: int, cadence: str, by: timedelta, place: str
) -> None:
    log = the_log(kind, seed, cadence)
    first = log.height // 3 if place == "rest" else in_a_run(log, 0.3)
    until = first + log.height // 4
    done = cleaned(moved(log, first, until, by))
    assert done.frame["at"].equals(log["at"])
    (told,) = done.jumps.filter(pl.col("kind") == "clock_step").iter_rows(named=True)
    assert (told["shift_s"], told["rows"]) == (-by.total_seconds(), until - first)
    assert told["text"] == "equal_steps"


@every_set
@pytest.mark.parametrize("by", [H, D, Y], ids=str)
def test_a_clock_set_back_for_good_counts_no_hour_twice(kind: str, seed: int, cadence: str, by: timedelta) -> None:
    log = the_log(kind, seed, cadence)
    first = log.height // 2
    done = cleaned(moved(log, first, None, -by))
    got, clean = counts(done), counts(cleaned(log))
    assert {n: got[n] for n in got if n != "running_h"} == {n: clean[n] for n in clean if n != "running_h"}
    assert got["running_h"] == pytest.approx(clean["running_h"], abs=0.02)
    assert refused(done) == 0
    (told,) = done.jumps.filter(pl.col("kind") == "clock_jump").iter_rows(named=True)
    assert told["step_s"] == pytest.approx(-by.total_seconds(), abs=301)


@every_set
@pytest.mark.parametrize("by", [H, D, Y], ids=str)
def test_a_clock_set_forward_at_rest_is_a_gap_and_changes_no_count(
    kind: str, seed: int, cadence: str, by: timedelta
) -> None:
    log = the_log(kind, seed, cadence)
    got, clean = counts(cleaned(moved(log, log.height // 2, None, by))), counts(cleaned(log))
    assert {n: got[n] for n in got if n != "running_h"} == {n: clean[n] for n in clean if n != "running_h"}
    assert got["running_h"] == pytest.approx(clean["running_h"], abs=0.02)


def test_a_set_that_ran_through_a_step_forward_started_once() -> None:
    log = counted(simulated(0, "60", DAYS, "healthy")[0])
    done = cleaned(moved(log, in_a_run(log), None, D))
    assert kinds(done) == [("clock_step", "ran_through")]
    assert counts(done) == counts(cleaned(log))
    # where the counter moved it may as well have stopped and started again
    after = pl.int_range(pl.len()) >= in_a_run(log)
    again = log.with_columns(starts_counter=pl.col("starts_counter") + after.cast(pl.Float64))
    assert kinds(cleaned(moved(again, in_a_run(log), None, D))) == []
    # and where the meter never moves it tells nothing
    dead = log.with_columns(hour_meter_h=pl.lit(55.5))
    assert kinds(cleaned(moved(dead, in_a_run(log), None, D))) == []


def counted(log: pl.DataFrame) -> pl.DataFrame:
    """The log with an hour meter of tenths and a starts counter that count its runs."""
    turning = next(c for c in ("speed_rpm", "frequency_hz", "voltage_v") if c in log.columns)
    runs = (pl.col(turning) > 45).fill_null(False)
    hours = (runs.shift(1).fill_null(False) * pl.col("at").diff().dt.total_seconds().fill_null(0)).cum_sum() / 3600
    starts = (runs & ~runs.shift(1).fill_null(False)).cum_sum()
    return log.with_columns(
        hour_meter_h=100.0 + ((hours + 1e-9) * 10).floor() / 10, starts_counter=40.0 + starts.cast(pl.Float64)
    )


def test_the_shorter_part_is_set_against_the_longer() -> None:
    log = the_log("healthy", 0, "60")
    late = cleaned(moved(log, log.height - 3000, None, -H))
    assert late.frame["at"].equals(log["at"])
    early = cleaned(moved(log, 3000, None, -H))
    assert early.frame["at"].equals(log["at"] - H)
    assert late.jumps.row(0, named=True)["rows"] == early.jumps.row(0, named=True)["rows"] == 3000


# -- the future


def test_a_log_wholly_in_the_future_is_told_and_kept() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(log, now=log["at"][0] - D - H)
    assert kinds(done) == [("clock_ahead", "whole")]
    assert done.frame["at"].equals(log["at"])


def test_a_clock_some_days_ahead_is_told_and_kept() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(log, now=log["at"][-1] - 3 * D)
    assert kinds(done) == [("clock_ahead", "runs_on")]
    assert refused(done) == 0
    assert done.jumps["step_s"][0] == pytest.approx(3 * 86400.0)


def test_lone_rows_in_the_future_are_refused() -> None:
    log = the_log("healthy", 0, "60")
    end = log[-3:].with_columns(at=pl.col("at") + timedelta(days=20_000))
    done = cleaned(pl.concat([log[:-3], end]))
    assert kinds(done) == [("clock_ahead", "refused")]
    assert refused(done) == 3
    assert done.refused["reason"].unique().to_list() == ["time_in_future"]
    assert done.frame["at"].max() == log["at"][-4]


def test_a_year_set_wrongly_at_the_end_is_told_by_the_future() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(moved(log, 20_000, None, Y), now=log["at"][-1] + D)
    assert kinds(done) == [("clock_step", "whole_years")]
    assert done.frame["at"].equals(log["at"])


# -- order


def test_newest_first_is_turned_and_nothing_is_told() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(log.reverse())
    assert kinds(done) == []
    assert done.frame["at"].equals(log["at"])


def test_newest_first_with_a_reset_and_an_hour_set_wrongly() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(moved(reset(log, 3000, 6000), 9000, 12_000, H).reverse())
    assert done.frame["at"].equals(log["at"])
    assert {k for k in kinds(done) if k[1]} == {("clock_reset", "bounds"), ("clock_step", "equal_steps")}


@given(st.lists(st.integers(1, 28_000), min_size=1, max_size=6, unique=True), st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_blocks_in_any_order_are_sorted(cuts: list[int], rng) -> None:
    log = the_log("healthy", 0, "60")
    edges = [0, *sorted(cuts), log.height]
    parts = [log[a:b] for a, b in pairwise(edges)]
    rng.shuffle(parts)
    done = cleaned(pl.concat(parts))
    assert done.frame["at"].equals(log["at"])
    far = done.jumps.filter(pl.col("step_s") < -120)
    assert set(far["kind"]) <= {"out_of_order"}


def test_rows_in_no_order_are_sorted_and_those_of_another_time_refused() -> None:
    log = the_log("healthy", 0, "60")
    done = cleaned(reset(log, 5000, 6000).sample(fraction=1.0, shuffle=True, seed=3))
    assert sorted(kinds(done)) == [("clock_reset", "refused"), ("out_of_order", "no_order")]
    assert refused(done) == 1000
    assert done.frame["at"].equals(pl.concat([log[:5000], log[6000:]])["at"])


def test_two_loggers_in_turn_are_no_clock() -> None:
    log = the_log("healthy", 0, "60")
    other = log.with_columns(at=pl.col("at") - timedelta(days=3))
    both = pl.concat([log.with_row_index("n"), other.with_row_index("n")]).sort("n", maintain_order=True).drop("n")
    assert kinds(cleaned(both)) == [("out_of_order", "no_order")]


# -- anything


steps = st.sampled_from([H, -H, D, -D, Y, -Y, timedelta(minutes=30), timedelta(seconds=5), -timedelta(seconds=90)])


@given(
    st.sampled_from(SETS),
    st.lists(
        st.tuples(st.sampled_from(["reset", "step", "sent", "cut"]), st.floats(0, 1), st.floats(0, 0.4), steps),
        min_size=1,
        max_size=3,
    ),
    st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_whatever_is_done_to_a_clock_no_hour_is_counted_twice(
    which: tuple[str, int, str], done_to: list[tuple[str, float, float, timedelta]], turned: bool
) -> None:
    """And every row is accounted for (see `cleaned`), and each that was moved or refused is told."""
    log = the_log(*which)
    spoilt = log
    for what, place, length, by in done_to:
        first = 1 + int(place * (spoilt.height - 3))
        until = min(first + 1 + int(length * spoilt.height), spoilt.height)
        if what == "reset":
            spoilt = reset(spoilt, first, until, to=RESET)
        elif what == "step":
            spoilt = moved(spoilt, first, until, by)
        elif what == "sent":
            spoilt = pl.concat([spoilt[:until], spoilt[first:]])
        else:
            spoilt = pl.concat([spoilt[until:], spoilt[:until]])
    done = cleaned(spoilt.reverse() if turned else spoilt)
    truth = counts(cleaned(log))
    if len(done_to) == 1:
        assert counts(done)["running_h"] <= truth["running_h"] + 0.1
    told = done.jumps.filter(pl.col("kind").is_in(["clock_reset", "clock_step", "clock_ahead", "clock_jump"]))
    away = told.filter(pl.col("text") == "refused")["rows"].sum()
    assert away == refused(done)


def test_looks_that_the_straight_path_pays_for_find_every_long_step() -> None:
    rng = np.random.default_rng(1)
    for _ in range(200):
        n = int(rng.integers(2, 3000))
        steps = np.where(rng.random(n) < 0.01, rng.integers(1, 3600 * S, n), rng.integers(1, 90 * S, n))
        at = np.cumsum(steps)
        if rng.random() < 0.3:
            at[n // 2 :] -= at[n // 2] - 5
        assert (np.flatnonzero(np.diff(at) > 720 * S) == _long_steps(at)).all()


def test_where_a_year_begins() -> None:
    base = int(datetime(2000, 1, 1, tzinfo=UTC).timestamp()) * S
    assert first_of_year(base)
    assert first_of_year(base - 14 * 3600 * S)
    assert first_of_year(base + 14 * 3600 * S)
    assert not first_of_year(base + DAY)
    assert not first_of_year(base - DAY)


def test_the_present_is_that_of_the_run() -> None:
    from startworthy.validate import clean

    log = the_log("healthy", 0, "60")
    assert clean(raw_of(log)).jumps.is_empty() == (log["at"][-1] < datetime.now(UTC))
    assert clean(raw_of(log), now=NOW).jumps.is_empty()


# -- local times, and no zone known


def local(log: pl.DataFrame, zone: str) -> pl.DataFrame:
    """The log with the times that clocks of a zone showed, read as UTC."""
    face = pl.col("at").dt.convert_time_zone(zone).dt.replace_time_zone(None).dt.replace_time_zone("UTC")
    return log.with_columns(at=face)


ZONES = ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe"]


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("cadence", ["60", "300"])
@pytest.mark.parametrize("turned", [False, True], ids=["oldest first", "newest first"])
def test_local_times_through_both_changes_count_no_hour_twice(zone: str, cadence: str, turned: bool) -> None:
    log = simulated(0, cadence, 260.0, "healthy")[0].with_columns(at=pl.col("at") - timedelta(days=10))
    log = log.filter(pl.col("at").is_between(datetime(2024, 3, 8, tzinfo=UTC), datetime(2024, 11, 20, tzinfo=UTC)))
    shown = local(log, zone)
    done = cleaned(shown.reverse() if turned else shown)
    assert counts(done) == counts(cleaned(log))
    assert refused(done) == 0
    assert {text for _, text in kinds(done)} == {f"summer_time {zone}"}
    assert done.frame["at"].diff().max() == log["at"].diff().max()
    (found,) = [f for f in sw.check(done, strict=True).sets[0].findings if f.code == "log.clock_fault"]
    assert (found.variant, str(found.severity), found.evidence["zone"]) == ("summer_time", "note", zone)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "Australia/Lord_Howe"])
@pytest.mark.parametrize("month", [3, 4, 10])
def test_one_change_alone_names_the_zone_too(zone: str, month: int) -> None:
    log = simulated(0, "60", 260.0, "healthy")[0].with_columns(at=pl.col("at") - timedelta(days=10))
    begin = datetime(2024, month, 1, tzinfo=UTC)
    log = log.filter(pl.col("at").is_between(begin, begin + timedelta(days=35)))
    changes = {"Europe/Berlin": {3, 10}, "Australia/Lord_Howe": {4, 10}}[zone]
    done = cleaned(local(log, zone))
    got, clean = counts(done), counts(cleaned(log))
    assert {n: got[n] for n in got if n != "running_h"} == {n: clean[n] for n in clean if n != "running_h"}
    assert got["running_h"] == pytest.approx(clean["running_h"], abs=0.02)
    found = [f.variant for f in sw.check(done, strict=True).sets[0].findings if f.code == "log.clock_fault"]
    if month in changes:
        assert found == ["summer_time"]
    elif zone == "Europe/Berlin":
        assert found == []


def test_a_zone_without_summer_time_has_no_step() -> None:
    log = simulated(0, "300", 260.0, "healthy")[0]
    assert kinds(cleaned(local(log, "Asia/Kolkata"))) == []
