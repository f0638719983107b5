"""What makes checks cry wolf on ordinary small sets, from readings to findings: starts and stops.

Each test is named for its point in section 10 of the trade notes; the true fault stands beside it where it is cheap
to make. Sets are drawn by hand (tests/support/standby.py): they show behaviour and prove no value.
"""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from tests.support.logs import Runs, instant
from tests.support.said import said
from tests.support.standby import DAY, HOUR, TEN, WEEK, Standby

EXERCISES = tuple(TEN + DAY + week * WEEK for week in range(13))


# --- 12 ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("crank_s", "air_c"), [(4.0, 0.0), (6.0, 0.0), (8.0, -6.0), (3.0, 20.0)])
def test_point_12_a_few_seconds_in_the_cold_are_ordinary(crank_s, air_c):
    assert "start.slow" not in Standby(crank_s=crank_s, air_c=air_c).said().raised()


def test_point_12_8_s_on_a_warm_day_are_slow():
    assert "start.slow" in Standby(crank_s=8.0, air_c=22.0).said().raised()


# --- 14 ----------------------------------------------------------------------------------------------------------


def test_point_14_a_few_dozen_starts_met_are_not_held_to_the_rate_of_nuclear_sets():
    told = Standby().said()
    assert told.how("start.reliability") == "clear"
    assert told.answers["start"] == "yes"


def test_point_14_one_failed_demand_of_many_is_no_unreliable_set_and_four_of_sixteen_are():
    def told(failures: tuple[float, ...]):
        set_ = Standby()
        dead = Runs(begins_s=failures, minutes=0.0, days=91.0, crank_s=10.0, preheat_s=8.0)
        turning = dead.at(t := dead_instants(set_, failures))
        extra = pl.DataFrame(
            {"at": [instant(s) for s in t], "speed": turning["speed_rpm"], "volts": turning["battery_v"]}
        )
        frame = set_.log()
        rest = frame.filter(pl.col("speed_rpm") == 0).drop("speed_rpm", "battery_v").sort("at")
        rows = extra.with_columns(pl.col("at").cast(pl.Datetime("us", "UTC"))).sort("at").join_asof(rest, on="at")
        rows = rows.rename({"speed": "speed_rpm", "volts": "battery_v"}).select(frame.columns)
        return said(pl.concat([frame, rows]).unique("at", keep="last").sort("at"), **set_.entry())

    once = told((40 * DAY,))
    assert once.book.starts.filter(~pl.col("started")).height == 1
    assert "start.reliability" not in once.raised()
    often = told((12 * DAY, 35 * DAY, 58 * DAY, 80 * DAY))
    assert often.book.starts.filter(~pl.col("started")).height == 4
    assert "start.reliability" in often.raised()


def dead_instants(set_: Standby, at_s: tuple[float, ...]) -> np.ndarray:
    """A row a second around each of these."""
    return np.concatenate([np.arange(at - 40, at + 40) for at in at_s])


# --- 15 ----------------------------------------------------------------------------------------------------------


def breaking_off(set_: Standby, for_s: float) -> pl.DataFrame:
    """No rows from each stop on, for as long: the last row is at speed and under load."""
    frame = set_.log()
    lost = pl.any_horizontal(
        pl.col("at").is_between(instant(b + set_.minutes * 60 - 100), instant(b + set_.minutes * 60 + for_s))
        for b in set_.begins
    )
    return frame.filter(~lost)


def test_point_15_a_logger_that_sleeps_after_one_run_is_no_power_cut():
    set_ = Standby(begins_s=EXERCISES)
    once = set_.log().filter(~pl.col("at").is_between(instant(EXERCISES[6] + 1100), instant(EXERCISES[6] + 2 * DAY)))
    told = said(once, **set_.entry())
    assert "care.stopped_by_power_cut" not in told.raised()
    assert told.book.runs["ended_by"].to_list()[6] in {"unknown", "log_end"}


def test_point_15_a_log_that_ends_while_it_runs_is_none_either():
    set_ = Standby()
    told = said(set_.log().filter(pl.col("at") < instant(EXERCISES[-1] + 700)), **set_.entry())
    assert told.book.runs["ended_by"].to_list()[-1] == "log_end"
    assert told.raised() == {}


def test_point_15_no_cool_down_three_times_is_the_second_sign():
    set_ = Standby()
    assert "care.stopped_by_power_cut" in said(breaking_off(set_, 20 * HOUR), **set_.entry()).raised()


# --- 18 ----------------------------------------------------------------------------------------------------------


def retrying(pause_s: float, preheat_s: float) -> pl.DataFrame:
    """An attempt that fails, a pause, a long preheat, and the attempt that fires."""
    set_ = Standby()
    first = EXERCISES[5] - 2 - preheat_s - pause_s
    frame = set_.log()
    turning = pl.col("at").is_between(instant(first - 6), instant(first - 1))
    glowing = pl.col("at").is_between(instant(EXERCISES[5] - 2 - preheat_s), instant(EXERCISES[5] - 3))
    return frame.with_columns(
        pl.when(turning).then(200.0).otherwise(pl.col("speed_rpm")).alias("speed_rpm"),
        pl.when(turning).then(10.4).when(glowing).then(12.8).otherwise(pl.col("battery_v")).alias("battery_v"),
    )


def test_point_18_a_preheat_of_30_s_after_a_rest_of_30_s_is_still_the_same_demand():
    told = said(retrying(30, 30), **Standby().entry())
    fifth = told.book.starts.filter(pl.col("run") == 6).row(0, named=True)
    assert (fifth["attempts"], fifth["started"]) == (2, True)
    assert told.book.starts.height == 13
    assert told.how("start.failed") == "clear"
