"""The twenty things that make checks cry wolf on ordinary small sets, each from readings to findings.

Each test is named for its point in section 10 of the trade notes; the true fault stands beside it where it is cheap
to make. Sets are drawn by hand (tests/support/standby.py): they show behaviour and prove no value.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from tests.support.logs import Runs, instant
from tests.support.said import said
from tests.support.standby import DAY, HOUR, TEN, WEEK, Standby

EXERCISES = tuple(TEN + DAY + week * WEEK for week in range(13))
SINCE_WEEK_8 = EXERCISES[8] - HOUR


def from_week_8(before: float, after: float):
    """A figure that changes between the eighth exercise and the ninth."""
    return lambda t: np.where(t < SINCE_WEEK_8, before, after)


# --- 1 -----------------------------------------------------------------------------------------------------------


def cranking(lowest: float, volts: float, seconds: float = 5.0, every: bool = True) -> Standby:
    """The first row of each crank (or of the last three) at `lowest`, the others at `volts`."""

    def curve(t):
        first = np.min([np.where(t >= b - seconds, t - (b - seconds), 1e9) for b in EXERCISES], axis=0) < 1.0
        late = t >= EXERCISES[-3] - HOUR
        return np.where(first & (late | every), lowest, np.where(late | every, volts, 10.4))

    return Standby(crank_s=seconds, crank_v=curve)


def test_point_01_one_row_of_inrush_is_no_weak_battery():
    told = cranking(7.558, 10.4).said()
    assert told.how("battery.crank_sag") in {"clear", "note"}
    assert told.raised() == {}


def test_point_01_a_low_median_alone_is_never_urgent_and_one_with_a_second_sign_is():
    alone = cranking(8.4, 8.4).said()
    assert alone.how("battery.crank_sag") in {"soon", "note"}
    slower = replace(cranking(8.4, 8.4, 9.0), float_v=12.3, register={"charger": False}).said()
    assert slower.how("battery.crank_sag") == "urgent"


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


# --- 5 -----------------------------------------------------------------------------------------------------------


def leaking(a_day: float, *, noise: float = 0.0, sudden: float = 0.0) -> Standby:
    def level(t):
        rng = np.random.default_rng(5)
        base = 0.9 - a_day * t / DAY - np.where(t > 60 * DAY, sudden, 0.0)
        return np.clip(np.round(base + noise * rng.standard_normal(len(t)), 3), 0, 1)

    return Standby(more={"fuel_fraction": level}, litres_an_hour=0.0)


def test_point_05_noise_and_the_swelling_of_warm_fuel_are_no_loss():
    assert "fuel.lost_at_rest" not in leaking(0.0, noise=0.01).said().found
    # 0.084 % of the contents for each degree: 25 C from late summer to winter
    cooled = Standby(
        air_c=lambda t: 27 - 25 * t / (91 * DAY),
        more={"fuel_fraction": lambda t: np.round(0.8 * (1 - 0.00084 * 25 * t / (91 * DAY)), 4)},
    )
    assert "fuel.lost_at_rest" not in cooled.said().raised()


@pytest.mark.parametrize(("a_day", "sudden"), [(0.004, 0.0), (0.0, 0.25)])
def test_point_05_a_slow_leak_and_a_sudden_loss_are_found(a_day, sudden):
    assert "fuel.lost_at_rest" in leaking(a_day, noise=0.002, sudden=sudden).said().raised()


# --- 6 -----------------------------------------------------------------------------------------------------------


def burning(litres_an_hour_late: float, minutes: float = 20.0, step: float = 0.01, level: float = 0.95) -> Standby:
    """2 L/h, and from the eighth exercise on another rate, shown by a sender in steps."""
    plain = Standby(minutes=minutes)

    def used(t):
        late = np.clip(t, SINCE_WEEK_8, None)
        return (
            plain.ran_s(np.minimum(t, SINCE_WEEK_8)) * 2.0
            + (plain.ran_s(late) - plain.ran_s(np.full(len(t), SINCE_WEEK_8))) * litres_an_hour_late
        ) / 3600

    stepped = lambda t: np.round((level - used(t) / 110) / step) * step  # noqa: E731
    return replace(plain, more={"fuel_fraction": stepped}, register={"exercise": {"every_days": 7, "minutes": minutes}})


def test_point_06_runs_that_burn_less_than_a_step_of_the_sender_are_not_judged_one_by_one():
    told = burning(2.0).said()
    assert told.how("fuel.rate_high") in {"clear", "not_assessed"}
    assert "fuel.rate_high" not in burning(2.0, step=0.02).said().found


def test_point_06_even_a_doubled_rate_is_not_told_from_a_twentieth_of_the_tank():
    assert burning(4.0).said().how("fuel.rate_high") == "not_assessed"


def test_point_06_a_rate_that_rose_by_half_is_found_once_enough_was_burnt():
    """90 min a day at 2 L/h, later at 3 L/h, filled up each time the tank is down to 40 %."""
    begins = tuple(day * DAY + TEN for day in range(1, 90))
    late = begins[45] - HOUR
    set_ = Standby(begins_s=begins, minutes=90.0)

    def level(t):
        used = (
            set_.ran_s(np.minimum(t, late)) * 2.0
            + (set_.ran_s(np.clip(t, late, None)) - set_.ran_s(np.full(len(t), late))) * 3.0
        ) / 3600
        return np.round(0.95 - np.mod(used / 110, 0.55), 2)

    daily = replace(set_, more={"fuel_fraction": level}, register={"exercise": {"every_days": 1, "minutes": 90}})
    assert "fuel.rate_high" in daily.said(60.0, 300.0).raised()


# --- 7 -----------------------------------------------------------------------------------------------------------


def test_point_07_a_plain_charger_in_the_heat_is_no_overcharge():
    assert "battery.overcharged" not in Standby(float_v=13.8, air_c=34.0).said().raised()
    assert "battery.overcharged" not in Standby(float_v=13.75, air_c=30.0).said().found


def test_point_07_the_hours_of_absorption_after_a_run_do_not_count():
    set_ = Standby()
    boost = lambda t: np.where(set_.since_end_s(t) < 3.5 * HOUR, 14.7, 13.6)  # noqa: E731
    assert "battery.overcharged" not in replace(set_, float_v=boost).said().found


def test_point_07_far_above_float_for_weeks_is_a_note_and_above_15_v_is_urgent():
    assert Standby(float_v=14.5).said().how("battery.overcharged") == "note"
    assert Standby(float_v=lambda t: np.where(t > 80 * DAY, 15.4, 13.6)).said().how("battery.overcharged") == "urgent"


# --- 8 -----------------------------------------------------------------------------------------------------------


def charged(running_v: float, float_v: float, **more) -> Standby:
    return Standby(running={"battery_v": lambda age: running_v - 0.0001 * age}, float_v=float_v, **more)


def test_point_08_with_a_mains_charger_on_the_exercise_proves_nothing():
    told = charged(13.6, 13.6).said()
    assert told.how("battery.not_charged_by_engine") == "not_assessed"


def test_point_08_in_an_outage_or_without_a_charger_it_does():
    alone = charged(12.9, 12.75, register={"charger": False}).said()
    assert alone.how("battery.not_charged_by_engine") in {"soon", "urgent"}
    falling = charged(12.5, 12.7, register={"charger": False}).said()
    assert falling.how("battery.not_charged_by_engine") == "urgent"


# --- 9 -----------------------------------------------------------------------------------------------------------


def test_point_09_losing_the_charger_is_no_change_of_the_crank():
    """Before each crank 13.6 V on float, later 12.7 V off it: cranking volts are what they were."""
    told = Standby(float_v=from_week_8(13.6, 12.7), preheat_v=from_week_8(12.8, 12.2)).said()
    assert told.how("battery.crank_sag_growing") in {"clear", "not_assessed"}
    assert "battery.crank_sag" not in told.found


def test_point_09_a_preheat_from_float_may_dip_by_2_v():
    assert Standby(preheat_v=11.7).said().raised() == {}


def test_point_09_cranking_volts_that_fall_week_by_week_are_found():
    fading = lambda t: np.round(10.8 - 1.4 * t / (180 * DAY) + 0.03 * np.sin(t), 2)  # noqa: E731
    told = Standby(days=182.0, crank_s=4.0, crank_v=fading).said()
    assert "battery.crank_sag_growing" in told.raised()


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


# --- 12 ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("crank_s", "air_c"), [(4.0, 0.0), (6.0, 0.0), (8.0, -6.0), (3.0, 20.0)])
def test_point_12_a_few_seconds_in_the_cold_are_ordinary(crank_s, air_c):
    assert "start.slow" not in Standby(crank_s=crank_s, air_c=air_c).said().raised()


def test_point_12_8_s_on_a_warm_day_are_slow():
    assert "start.slow" in Standby(crank_s=8.0, air_c=22.0).said().raised()


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


# --- 16 ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("dense", [1.0, 60.0, 300.0])
def test_point_16_an_hour_meter_in_tenths_agrees_with_rows_at_any_rate(dense):
    assert "care.hours_disagree" not in Standby(days=182.0).said(dense, 300.0).found


def test_point_16_a_meter_that_counts_the_key_agrees_too():
    set_ = Standby(days=182.0)

    def keyed(t):
        begun = sum(np.clip(t - (begins - 10), 0, set_.minutes * 60 + 10) for begins in set_.begins)
        return np.floor((100 + begun / 3600) * 10) / 10

    assert "care.hours_disagree" not in replace(set_, more={"hour_meter_h": keyed}).said().raised()


def test_point_16_a_meter_that_counts_half_does_not():
    set_ = Standby(days=182.0)
    half = lambda t: np.floor((100 + set_.ran_s(t) / 7200) * 10) / 10  # noqa: E731
    assert "care.hours_disagree" in replace(set_, more={"hour_meter_h": half}).said().raised()


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


# --- 19 ----------------------------------------------------------------------------------------------------------


def emptied(level_at_stop: float, *, sags: bool) -> Standby:
    """A long run on the last day that ends by itself at that level."""
    length = 6 * HOUR
    last = 89 * DAY
    set_ = Standby(begins_s=(*EXERCISES[:12], last))

    def level(t):
        return np.round(
            np.where(
                t < last,
                level_at_stop + 0.2,
                np.maximum(level_at_stop, level_at_stop + 0.2 * (1 - (t - last) / length)),
            ),
            3,
        )

    hz = lambda age: np.where(sags & (age > length - 60) & (age < length - 30), 46.0, 51.0)  # noqa: E731
    return replace(set_, begins_s=(last,), minutes=length / 60, more={"fuel_fraction": level},
                   running={"frequency_hz": hz, "speed_rpm": lambda age: 30 * hz(age)})  # fmt: skip


def test_point_19_a_stop_at_the_low_fuel_level_without_a_sag_wants_a_refill_and_no_bleeding():
    told = emptied(0.10, sags=False).said()
    assert told.variant("fuel.run_out") not in {"dry", "ran_dry"}


def test_point_19_a_sag_before_a_stop_at_the_bottom_ran_dry():
    told = emptied(0.01, sags=True).said()
    assert told.how("fuel.run_out") == "urgent"
    protected = emptied(0.10, sags=False).said()
    assert told.variant("fuel.run_out") != protected.variant("fuel.run_out")


# --- 20 ----------------------------------------------------------------------------------------------------------


def test_point_20_the_same_rest_volts_mean_less_charge_in_a_sealed_battery():
    at_rest = Standby(float_v=12.48, register={"charger": False, "battery_type": "flooded"})
    assert "battery.low_at_rest" not in at_rest.said().raised()
    sealed = replace(at_rest, register={"charger": False, "battery_type": "agm"})
    assert "battery.low_at_rest" in sealed.said().raised()


# -----------------------------------------------------------------------------------------------------------------


def test_all_twenty_points_have_a_test():
    numbers = {int(m[1]) for name in globals() if (m := re.match(r"test_point_(\d\d)_", name))}
    assert numbers == set(range(1, 21))
