"""What makes checks cry wolf on ordinary small sets, from readings to findings: output, engine and exercise.

Each test is named for its point in section 10 of the trade notes; the true fault stands beside it where it is cheap
to make. Sets are drawn by hand (tests/support/standby.py): they show behaviour and prove no value.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from tests.support.standby import DAY, Standby

# --- 2 -----------------------------------------------------------------------------------------------------------


def at_hz(hz: float, load_kw: float = 0.0, **more) -> Standby:
    return Standby(
        load_kw=load_kw, running={"frequency_hz": hz, "speed_rpm": 30 * hz},
        register={"exercise": {"every_days": 7, "minutes": 20}, **more.pop("register", {})}, **more,
    )  # fmt: skip


@pytest.mark.parametrize("drop", [(), ("power_kw",)])
def test_point_02_a_g1_governor_unloaded_at_54_hz_is_in_order(drop):
    told = at_hz(53.9).said(drop=drop)
    assert told.how("output.frequency_off") == "clear"
    assert "output.overspeed" not in told.raised()


@pytest.mark.parametrize(("hz", "load_kw"), [(56.5, 0.0), (47.5, 4.8), (54.0, 11.8)])
def test_point_02_but_off_its_droop_line_it_is_not(hz, load_kw):
    assert "output.frequency_off" in at_hz(hz, load_kw).said().raised()


# --- 3 -----------------------------------------------------------------------------------------------------------


def test_point_03_a_short_unloaded_exercise_with_an_early_thermostat_is_not_running_cold():
    for set_ in (
        Standby(warm_c=66.0, load_kw=0.0),
        Standby(warm_c=72.0),
        Standby(warm_c=58.0, air_c=-12.0, minutes=40.0),
    ):
        assert "cooling.running_cold" not in set_.said().found


def test_point_03_an_air_cooled_engine_is_not_assessed():
    told = Standby(register={"air_cooled": True}, minutes=40.0, warm_c=52.0).said()
    assert told.how("cooling.running_cold") == "not_assessed"


def test_point_03_an_hour_under_load_that_stays_at_50_c_is():
    assert "cooling.running_cold" in Standby(minutes=60.0, load_kw=7.0, warm_c=50.0).said().raised()


# --- 4 -----------------------------------------------------------------------------------------------------------


def test_point_04_no_short_weekly_exercise_is_held_to_71_c_and_30_minutes_more():
    told = Standby(minutes=15.0, register={"exercise": {"every_days": 7, "minutes": 15}}).said()
    assert told.how("exercise.cold") in {"not_assessed", "clear", "note"}


def test_point_04_where_the_plan_asks_for_45_minutes_it_is():
    told = Standby(minutes=45.0, warm_c=55.0, register={"exercise": {"every_days": 7, "minutes": 45}}).said()
    assert told.how("exercise.cold") in {"note", "soon"}
    assert told.how("exercise.cold") != "clear"


# --- 10 ----------------------------------------------------------------------------------------------------------


def at_volts(volts: float, kw: float) -> Standby:
    return Standby(running={"voltage_v": volts}, register={"rated_kw": kw}, load_kw=0.4 * kw)


@pytest.mark.parametrize(("volts", "kw"), [(210.0, 8.0), (250.0, 8.0), (216.0, 12.0)])
def test_point_10_small_g1_sets_have_10_per_cent_and_the_meter_has_its_own(volts, kw):
    assert at_volts(volts, kw).said().how("output.voltage_off") == "clear"


def test_point_10_building_up_and_running_down_do_not_count():
    ends = lambda age: np.where(age < 9, 25 * age, np.where(age > 1192, 120.0, 231.0))  # noqa: E731
    assert "output.voltage_off" not in Standby(running={"voltage_v": ends}).said().found


@pytest.mark.parametrize(("volts", "kw"), [(200.0, 8.0), (212.0, 12.0), (247.0, 12.0)])
def test_point_10_beyond_the_band_and_the_meter_it_is_off(volts, kw):
    assert "output.voltage_off" in at_volts(volts, kw).said().raised()


# --- 11 ----------------------------------------------------------------------------------------------------------


def test_point_11_heat_that_soaks_in_after_the_stop_is_no_overheating():
    set_ = Standby(warm_c=97.0)
    soak = lambda t: np.where(set_.since_end_s(t) < 900, 106.0, 20.0)  # noqa: E731
    assert "cooling.overheat" not in replace(set_, resting={"coolant_c": soak}).said().found


def test_point_11_a_few_rows_above_it_are_not_but_minutes_are():
    hot = lambda for_s: lambda age: np.where((age > 900) & (age <= 900 + for_s), 103.0, 85.0)  # noqa: E731
    assert "cooling.overheat" not in Standby(running={"coolant_c": hot(20)}).said().raised()
    always = Standby(running={"coolant_c": lambda age: np.where(age > 900, 103.0, 85.0)})
    assert "cooling.overheat" in always.said().raised()


def test_point_11_oil_pressure_builds_after_firing_and_falls_in_the_run_down():
    building = lambda age: np.where(age < 13, 20.0, 350.0)  # noqa: E731
    speed = lambda age: np.where(age > 1190, 1500 - 60 * (age - 1190), 1500.0)  # noqa: E731
    falling = lambda age: np.where(age > 1192, 60.0, building(age))  # noqa: E731
    told = Standby(running={"oil_kpa": falling, "speed_rpm": speed, "frequency_hz": lambda age: speed(age) / 30}).said()
    assert "oil.low" not in told.found
    assert {run["ended_by"] for run in told.book.runs.iter_rows(named=True)} == {"stop"}


def test_point_11_a_sender_that_shows_25_kpa_at_rest_is_none_of_the_oils():
    told = Standby(resting={"oil_kpa": 25.0}).said()
    assert told.raised() == {}


def test_point_11_low_pressure_at_speed_is_urgent():
    low = lambda age: np.where(age > 600, 80.0, 350.0)  # noqa: E731
    assert Standby(running={"oil_kpa": low}).said().how("oil.low") == "urgent"


# --- 13 ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("days", [91.0, 364.0])
def test_point_13_a_set_exercised_unloaded_by_design_is_one_standing_note(days):
    told = Standby(days=days, load_kw=0.0).said(10.0)
    assert told.how("exercise.light_load") in {"note", "clear"}
    assert [f.code for f in told.findings].count("exercise.light_load") <= 1
    assert told.raised() == {}


def test_point_13_where_the_plan_asks_for_load_it_is_one_finding_still():
    plan = {"exercise": {"every_days": 7, "minutes": 20, "min_load_fraction": 0.3}}
    told = Standby(load_kw=0.0, register=plan).said()
    assert [f.code for f in told.findings].count("exercise.light_load") == 1
    assert told.how("exercise.light_load") == "soon"


# --- 17 ----------------------------------------------------------------------------------------------------------


def test_point_17_a_sensor_in_the_canopy_that_warms_by_25_c_in_a_run_is_in_order():
    set_ = Standby()

    def canopy(t):
        running = sum(((t >= b) & (t < b + 1200)) * np.minimum(25, (t - b) / 30) for b in set_.begins)
        after = 25 * np.exp(-set_.since_end_s(t) / 1800)
        return np.round(12 + 4 * np.sin(2 * np.pi * t / DAY) + np.maximum(running, after), 1)

    told = replace(set_, more={"ambient_c": canopy}).said()
    assert told.raised() == {}
    assert told.book.sensors.filter(pl.col("signal") == "ambient_c")["spikes"].sum() == 0
