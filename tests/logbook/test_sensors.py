"""The sensors table: what each signal showed on each day, drawn by hand."""

from __future__ import annotations

from datetime import date

import numpy as np
import polars as pl
import pytest

from startworthy.logbook.build import build
from startworthy.register import Register
from tests.support.logs import Runs, Start, Truth, as_readings, instant, log, spiked

HOUR, DAY = 3600.0, 86400.0
TWO_DAYS = Runs(begins_s=(DAY + 36000,), days=2.0)
FIRST, SECOND = date(2026, 3, 2), date(2026, 3, 3)


def sensors(frame: pl.DataFrame) -> dict[tuple[date, str], dict]:
    table = build(as_readings(frame), Register()).sensors
    return {(row["day"], row["signal"]): row for row in table.iter_rows(named=True)}


def test_every_number_signal_has_a_row_for_every_day():
    table = sensors(TWO_DAYS.log())
    signals = {"speed_rpm", "frequency_hz", "voltage_v", "oil_kpa", "coolant_c", "battery_v", "power_kw"}
    assert set(table) == {(day, name) for day in (FIRST, SECOND) for name in signals}


def test_lowest_and_highest_at_rest_and_while_running():
    wave = lambda t: 13.4 + 0.2 * np.sin(2 * np.pi * t / DAY)  # noqa: E731
    truth = Runs(begins_s=TWO_DAYS.begins_s, days=2.0, resting={"battery_v": wave})
    table = sensors(truth.log())
    rest, ran = table[FIRST, "battery_v"], table[SECOND, "battery_v"]
    assert (rest["rest_low"], rest["rest_high"]) == pytest.approx((13.2, 13.6), abs=0.001)
    assert (rest["running_low"], rest["running_high"]) == (None, None)
    assert (ran["running_low"], ran["running_high"]) == (14.2, 14.2)
    coolant = table[SECOND, "coolant_c"]
    assert (coolant["running_low"], coolant["running_high"]) == pytest.approx((20.0, 82.0))


def test_a_signal_that_stands_still_has_one_value():
    row = sensors(TWO_DAYS.log())[FIRST, "coolant_c"]
    assert row["rest_low"] == row["rest_high"] == 20.0
    assert row["filled"] == 1.0
    assert row["spikes"] == 0


def test_the_share_of_rows_with_a_value():
    frame = TWO_DAYS.log()
    silent = pl.col("at") >= instant(18 * HOUR)
    table = sensors(frame.with_columns(pl.when(~silent).then("battery_v").alias("battery_v")))
    assert table[FIRST, "battery_v"]["filled"] == pytest.approx(0.75)
    assert table[SECOND, "battery_v"]["filled"] == 0.0
    assert table[SECOND, "battery_v"]["rest_low"] is None
    assert table[FIRST, "coolant_c"]["filled"] == 1.0


def test_days_are_those_of_the_sets_own_zone():
    register = Register.model_validate({"sets": {"A": {"time_zone": "Pacific/Auckland"}}})
    table = build(as_readings(TWO_DAYS.log()), register).sensors
    assert set(table["day"]) == {FIRST, SECOND, date(2026, 3, 4)}


@pytest.mark.parametrize("name", ["battery_v", "coolant_c"])
@pytest.mark.parametrize(("dense", "rest"), [(1.0, 60.0), (10.0, 10.0), (300.0, 300.0)])
def test_lone_wild_values_at_rest_are_counted_by_day(name, dense, rest):
    wild = {"battery_v": 7.0, "coolant_c": 140.0}[name]
    frame = spiked(TWO_DAYS.log(dense, rest), name, wild, 6 * HOUR, 7 * HOUR, DAY + 3 * HOUR)
    table = sensors(frame)
    assert table[FIRST, name]["spikes"] == 2
    assert table[SECOND, name]["spikes"] == 1
    assert sum(row["spikes"] for row in table.values()) == 3, "no other signal is blamed"


def test_lone_wild_values_while_running_are_counted():
    frame = spiked(TWO_DAYS.log(), "oil_kpa", 900.0, DAY + 36600)
    frame = spiked(frame, "voltage_v", 0.0, DAY + 36700, DAY + 36800)
    table = sensors(frame)
    assert table[SECOND, "oil_kpa"]["spikes"] == 1
    assert table[SECOND, "voltage_v"]["spikes"] == 2


@pytest.mark.parametrize(("nominal", "dip", "spikes"), [(1.0, 2.0, 1), (2.0, 2.0, 0), (2.0, 4.0, 1)])
def test_what_is_wild_goes_by_the_battery(nominal, dip, spikes):
    truth = Runs(
        begins_s=TWO_DAYS.begins_s, days=2.0, crank_v=10.4 * nominal,
        resting={"battery_v": 13.6 * nominal}, running={"battery_v": 14.2 * nominal},
    )  # fmt: skip
    table = sensors(spiked(truth.log(), "battery_v", 13.6 * nominal - dip, 6 * HOUR))
    assert table[FIRST, "battery_v"]["spikes"] == spikes


WEEK = Truth(days=7, starts=tuple(Start(day * DAY + 36000, cranks=(2.0,)) for day in range(1, 7)))


@pytest.mark.parametrize(("dense", "rest"), [(1.0, 60.0), (2.0, 60.0), (10.0, 60.0), (60.0, 60.0), (300.0, 300.0)])
@pytest.mark.parametrize("offset", [0.0, 8.5])
def test_a_crank_a_preheat_and_a_stop_are_no_spikes(dense, rest, offset):
    frame = log(WEEK, dense, rest, offset_s=offset)
    assert sum(row["spikes"] for row in sensors(frame).values()) == 0


def test_a_step_that_stays_and_one_of_two_rows_are_no_spikes():
    frame = TWO_DAYS.log()
    stays = frame.with_columns(
        pl.when(pl.col("at") >= instant(6 * HOUR)).then(12.0).otherwise(pl.col("battery_v")).alias("battery_v")
    )
    assert sensors(stays)[FIRST, "battery_v"]["spikes"] == 0
    two_rows = spiked(frame, "battery_v", 9.0, 6 * HOUR, 6 * HOUR + 60)
    assert sensors(two_rows)[FIRST, "battery_v"]["spikes"] == 0


def test_a_value_beside_an_empty_one_is_not_called_wild():
    frame = spiked(TWO_DAYS.log(), "battery_v", 7.0, 6 * HOUR)
    holed = frame.with_columns(pl.when(pl.col("at") != instant(6 * HOUR + 60)).then("battery_v").alias("battery_v"))
    assert sensors(holed)[FIRST, "battery_v"]["spikes"] == 0


def test_the_end_of_one_set_and_the_beginning_of_the_next_are_no_spike():
    a = TWO_DAYS.log()
    b = spiked(TWO_DAYS.log(set_id="B"), "battery_v", 7.0, 0.0)
    both = pl.concat([a.cast({"set_id": pl.String}), b.cast({"set_id": pl.String})]).cast({"set_id": pl.Categorical})
    assert build(as_readings(both), Register()).sensors["spikes"].sum() == 0


def test_a_set_that_ran_all_day_is_judged_by_its_running_rows():
    truth = Runs(begins_s=(DAY - 3600,), minutes=26 * 60, days=3.0)
    row = sensors(truth.log(10.0, 60.0))[SECOND, "oil_kpa"]
    assert row["filled"] == 1.0
    assert (row["rest_low"], row["rest_high"]) == (None, None)
    assert (row["running_low"], row["running_high"]) == (350.0, 350.0)
