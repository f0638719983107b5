"""What looks like a fault and is none: each from readings to findings, and nothing urgent or soon by any check.

Sets are drawn by hand (tests/support/standby.py): they show behaviour and prove no value.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import polars as pl
import pytest

from startworthy.register import Register
from tests.support.logs import Start, Truth, instant, log
from tests.support.said import said
from tests.support.standby import DAY, HOUR, TEN, WEEK, Standby

RATES = [(1.0, 300.0), (60.0, 60.0), (300.0, 300.0)]


def winter(t):
    """From 12 C to -20 C and back within the log, colder by night."""
    return 12 - 32 * np.sin(np.pi * t / (182 * DAY)) ** 2


def by_air(at_25_v: float, per_c: float):
    """Volts that follow the air of `winter`."""
    return lambda t: np.round(at_25_v - per_c * (25 - winter(t)), 2)


@pytest.mark.parametrize(("dense", "rest"), RATES)
def test_a_healthy_set_at_any_rate(dense, rest):
    told = Standby(days=182.0).said(dense, rest)
    assert told.raised() == {}
    assert len(told.found) <= 1, "notes are rare too"


@pytest.mark.parametrize("preheat_v", [12.9, 12.2, 11.7])
def test_a_preheat_dip_and_the_low_battery_warning_that_comes_with_it(preheat_v):
    set_ = Standby(preheat_v=preheat_v, preheat_s=12.0)
    glowing = pl.any_horizontal(pl.col("at").is_between(instant(b - 12), instant(b - 3)) for b in set_.begins)
    warned = set_.log().with_columns(
        pl.when(glowing).then(pl.lit("low battery voltage warning")).cast(pl.Categorical).alias("alarm")
    )
    told = said(warned, **set_.entry())
    assert told.raised() == {}
    assert told.book.starts["attempts"].to_list() == [1] * len(set_.begins)


@pytest.mark.parametrize(("dense", "rest"), RATES[:2])
def test_cold_weather_pulls_the_crank_down_and_makes_it_longer(dense, rest):
    set_ = Standby(days=182.0, air_c=winter, crank_v=by_air(10.6, 0.03), crank_s=3.0, preheat_v=by_air(12.9, 0.01))
    told = set_.said(dense, rest)
    assert told.raised() == {}
    assert "battery.crank_sag_growing" not in told.found


def test_surface_charge_after_a_run_of_a_set_without_a_charger():
    set_ = Standby(register={"charger": False})
    rest = lambda t: np.round(12.72 + 0.6 * np.exp(-np.clip(set_.since_end_s(t), 0, None) / 5400), 2)  # noqa: E731
    told = replace(set_, float_v=rest, preheat_v=12.1).said()
    assert told.raised() == {}


@pytest.mark.parametrize("system", [1, 2])
def test_a_float_voltage_that_follows_the_temperature(system):
    """3 mV a cell and C over 40 C between winter and summer: 0.72 V on six cells."""
    set_ = Standby(
        days=182.0,
        air_c=winter,
        float_v=lambda t: np.round(system * by_air(13.6, -0.018)(t), 2),
        crank_v=10.4 * system,
        preheat_v=12.8 * system,
        running={"battery_v": 14.2 * system},
        register={"battery_nominal_v": 12 * system},
    )
    assert set_.said().raised() == {}


@pytest.mark.parametrize("step", [0.001, 0.01])
def test_a_fuel_level_that_moves_with_the_warmth_of_day_and_night(step):
    plain = Standby()

    def level(t):
        contents = 0.85 - plain.ran_s(t) / 3600 * 2.0 / 110
        warm = 12 * np.sin(2 * np.pi * (t / DAY - 0.35)) + 6 * np.sin(2 * np.pi * t / (30 * DAY))
        return np.round(contents * (1 + 0.00084 * warm) / step) * step

    assert replace(plain, more={"fuel_fraction": level}).said().raised() == {}


def test_a_sloshing_sender_while_it_runs():
    plain = Standby()

    def level(t):
        rng = np.random.default_rng(11)
        contents = 0.85 - plain.ran_s(t) / 3600 * 2.0 / 110
        running = plain.since_end_s(t) > 0
        for begins in plain.begins:
            running &= ~((t >= begins) & (t < begins + 1200))
        return np.round(contents + np.where(running, 0.001, 0.06) * rng.standard_normal(len(t)), 3)

    told = replace(plain, more={"fuel_fraction": level}).said()
    assert told.raised() == {}
    assert "fuel.lost_at_rest" not in told.found


@pytest.mark.parametrize("after_run_h", [0.3, 48.0])
def test_a_refuel_however_soon_after_a_run(after_run_h):
    plain = Standby()
    filled = plain.begins[6] + after_run_h * HOUR + 1200

    def level(t):
        return np.round(0.6 - plain.ran_s(t) / 3600 * 2.0 / 110 + np.where(t >= filled, 0.35, 0.0), 3)

    told = replace(plain, more={"fuel_fraction": level}).said()
    assert told.raised() == {}
    assert told.book.marks.filter(pl.col("kind") == "refuel").height == 1


def in_order(*starts: Start) -> Truth:
    """Thirteen weeks with these starts, which a set drawn by hand wants in the order of time."""
    return Truth(days=91, starts=tuple(sorted(starts, key=lambda start: start.at_s)))


@pytest.mark.parametrize("pause_s", [4.0, 20.0, 60.0])
def test_a_stop_and_a_restart_within_seconds_by_hand(pause_s):
    weekly = tuple(Start(TEN + DAY + week * WEEK) for week in range(13))
    by_hand = Start(45 * DAY, minutes=4.0, mode="manual")
    again = Start(by_hand.run_span[1] + pause_s, minutes=6.0, mode="manual", preheat_s=2.0)
    truth = in_order(*weekly, by_hand, again)
    register = Register.model_validate({"sets": {"A": {"rated_kw": 10, "tank_litres": 100}}})
    told = said(log(truth, 1, 300, drop=("ambient_c",)), register)
    assert told.raised() == {}
    assert told.book.starts.height == 15
    assert told.how("start.stalled") in {"clear", "note"}


def test_a_long_outage():
    """30 h on load; the battery is on the engine, the charger is back with the mains."""
    weekly = tuple(Start(TEN + DAY + week * WEEK) for week in range(13))
    outage = Start(60 * DAY, minutes=30 * 60, mains_lost_s=6.0, load_kw=5.0)
    truth = in_order(*weekly, outage)
    frame = log(truth, 10, 300, drop=("ambient_c",)).with_columns(fuel_fraction=pl.col("fuel_fraction").clip(0.4))
    register = Register.model_validate({"sets": {"A": {"rated_kw": 10, "exercise": {"every_days": 7, "minutes": 20}}}})
    told = said(frame, register)
    assert told.raised() == {}
    assert told.book.runs["cause"].to_list().count("outage") == 1


def test_resting_zeros():
    """Speed, volts, frequency, oil and load are 0 for weeks: at rest they have to be."""
    told = Standby(days=182.0, begins_s=tuple(TEN + DAY + month * 28 * DAY for month in range(6)),
                   register={"exercise": {"every_days": 28, "minutes": 20}}).said()  # fmt: skip
    assert told.raised() == {}
    assert "log.sensor_stuck" not in told.found
    assert "log.signal_lost" not in told.found


def test_whole_degrees_and_volts_in_tenths():
    whole = lambda frame: frame.with_columns(  # noqa: E731
        *(pl.col(name).round(0) for name in ("coolant_c", "ambient_c", "voltage_v")),
        *(pl.col(name).round(1) for name in ("battery_v", "frequency_hz", "power_kw")),
        pl.col("fuel_fraction").round(2),
        (pl.col("oil_kpa") / 10).round(0) * 10,
    )
    for dense, rest in RATES:
        assert Standby(days=182.0, change=whole).said(dense, rest).raised() == {}


@pytest.mark.parametrize("zone", ["Europe/Vienna", "America/Denver", "Australia/Sydney"])
@pytest.mark.parametrize("follows", [True, False])
def test_a_change_to_summer_time_within_the_log(zone, follows):
    """The controller keeps local time, or goes on in winter time: either way it is the same weekly exercise."""
    local = pl.DataFrame({"day": pl.date_range(instant(DAY).date(), instant(90 * DAY).date(), "7d", eager=True)})
    at = pl.col("day").cast(pl.Datetime("us")).dt.offset_by("10h").dt.replace_time_zone(zone)
    begins = local.select((at.dt.convert_time_zone("UTC") - instant(0)).dt.total_seconds()).to_series().to_list()
    if not follows:
        begins = [begins[0] + week * WEEK for week in range(len(begins))]
    set_ = Standby(begins_s=tuple(float(b) for b in begins if b > 2 * HOUR), register={"time_zone": zone})
    told = set_.said()
    assert told.raised() == {}
    assert "care.settings_changed" not in told.found


@pytest.mark.parametrize("after_s", [-6.0, -1.0, 180.0, 700.0, 3 * HOUR, 30 * HOUR, 6 * DAY])
def test_a_log_that_simply_ends(after_s):
    """In the preheat, in the crank, in the run, some hours or days after it."""
    set_ = Standby()
    frame = set_.log().filter(pl.col("at") < instant(set_.begins[9] + after_s))
    assert said(frame, **set_.entry()).raised() == {}


@pytest.mark.parametrize("by_days", [-1.0, 1.0])
def test_one_exercise_moved_by_a_day(by_days):
    begins = [TEN + DAY + week * WEEK for week in range(13)]
    begins[7] += by_days * DAY
    told = Standby(begins_s=tuple(begins)).said()
    assert told.raised() == {}
    assert "exercise.moved" not in told.found


def test_an_exercise_done_as_a_real_outage():
    starts = [Start(TEN + DAY + week * WEEK) for week in range(13)]
    starts[7] = Start(starts[7].at_s - 20 * HOUR, minutes=150.0, mains_lost_s=5.0, load_kw=5.0)
    register = Register.model_validate({"sets": {"A": {"rated_kw": 10, "exercise": {"every_days": 7, "minutes": 20}}}})
    told = said(log(in_order(*starts), 1, 300, drop=("ambient_c",)), register)
    assert told.raised() == {}
    assert "exercise.missed" not in told.found


def test_a_hot_summer_week():
    """A week of 42 C: coolant and rest volts follow, the band of the charger falls."""

    def air(t):
        return 24 + 18 * np.exp(-(((t - 60 * DAY) / (4 * DAY)) ** 2))

    set_ = Standby(air_c=air, float_v=lambda t: np.round(13.6 - 0.018 * (air(t) - 25), 2))
    hot_runs = replace(
        set_, running={"coolant_c": lambda age: np.round(np.minimum(93.0, 25 + age / 8) + 0.4 * np.sin(age / 40), 1)}
    )
    assert set_.said().raised() == {}
    assert hot_runs.said().raised() == {}


@pytest.mark.parametrize("minutes", [7.0, 12.0, 20.0])
@pytest.mark.parametrize(("dense", "rest"), RATES)
def test_an_hour_meter_that_counts_in_tenths(minutes, dense, rest):
    """Seven minutes are 0.117 h: the meter moves by 0.1 or 0.2, and once in a while not at all."""
    set_ = Standby(days=182.0, minutes=minutes, register={"exercise": {"every_days": 7, "minutes": minutes}})
    told = set_.said(dense, rest)
    assert "care.hours_disagree" not in told.found
    assert "log.sensor_stuck" not in told.found


@pytest.mark.parametrize("climate", [-25.0, 45.0])
@pytest.mark.parametrize("hz", [50, 60])
def test_ends_of_the_climate_and_both_frequencies(climate, hz):
    k = hz / 50
    plain = Standby(air_c=climate)
    run = plain.runs().running
    set_ = replace(
        plain,
        crank_s=6.0 if climate < 0 else 2.0,
        crank_v=9.4 if climate < 0 else 10.6,
        running={name: (lambda age, of=run[name]: of(age) * k) for name in ("frequency_hz", "speed_rpm")},
        float_v=round(13.6 - 0.018 * (climate - 25), 2),
        register={"rated_frequency_hz": hz, "rated_rpm": 30 * hz},
    )
    assert set_.said().raised() == {}
