"""How steady frequency and speed were, and what ran away or failed to come: against runs drawn by hand."""

from __future__ import annotations

import numpy as np
import pytest

from startworthy.logbook.build import build
from startworthy.register import Register
from tests.support.logs import Runs, as_readings, spiked


def book(frame, **entry):
    told = {"rated_kw": 10, "rated_voltage_v": 230, "rated_frequency_hz": 50, "rated_rpm": 1500, **entry}
    return build(as_readings(frame), Register.model_validate({"sets": {"A": told}}))


def run_of(truth: Runs, dense_s: float = 1.0, drop: tuple[str, ...] = (), **entry) -> dict:
    return book(truth.log(dense_s, max(dense_s, 60.0), drop=drop), **entry).runs.row(0, named=True)


def swinging(period_s: float, hz: float = 0.8, **running) -> Runs:
    """Frequency (and speed with it) swings by hz to each side."""
    wave = lambda age: np.sin(2 * np.pi * age / period_s)  # noqa: E731
    return Runs(
        running={
            "frequency_hz": lambda age: 50 + hz * wave(age),
            "speed_rpm": lambda age: 1500 + 30 * hz * wave(age),
            **running,
        }
    )


# --- the band and its period -------------------------------------------------------------------------------------


@pytest.mark.parametrize("period_s", [5.0, 8.0, 12.5])
def test_a_swing_of_known_size_and_period(period_s):
    run = run_of(swinging(period_s))
    assert run["frequency_band_hz"] == pytest.approx(1.6, rel=0.06)
    assert run["hunting_period_s"] == pytest.approx(period_s, rel=0.03)
    assert run["hunting_chance"] < 1e-6
    assert run["frequency_windows"] == pytest.approx(19, abs=1)


def test_a_swing_faster_than_four_rows_gets_no_period_that_is_not_its_own():
    run = run_of(swinging(2.5))
    assert run["frequency_band_hz"] == pytest.approx(1.6, rel=0.06)
    assert run["hunting_chance"] is None or run["hunting_chance"] > 0.01


def test_a_steady_frequency_is_asked_for_no_period():
    run = run_of(swinging(8.0, 0.1))
    assert run["frequency_band_hz"] == pytest.approx(0.2, rel=0.06)
    assert run["hunting_period_s"] is None
    assert run["hunting_chance"] is None


def test_noise_alone_has_no_period_to_believe():
    noise = np.random.default_rng(3).normal(0, 0.5, 1200)
    run = run_of(Runs(running={"frequency_hz": lambda age: 50 + noise[age.astype(int)]}))
    assert run["frequency_band_hz"] > 1.25, "wide enough to be looked into"
    assert run["hunting_chance"] > 0.001


@pytest.mark.parametrize("minutes", [60.0, 120.0])
def test_slow_rows_give_a_lower_bound_of_the_band_and_no_period(minutes):
    truth = swinging(7.3)
    long = Runs(minutes=minutes, running=truth.running)
    run = run_of(long, 60.0)
    assert 0.4 * 1.6 <= run["frequency_band_hz"] <= 1.6 + 1e-9
    assert run["frequency_windows"] == pytest.approx(minutes / 10, abs=1)
    assert run["hunting_period_s"] is None


def test_too_few_slow_rows_give_no_band():
    assert run_of(swinging(7.3), 300.0)["frequency_band_hz"] is None
    assert run_of(Runs(minutes=8.0, running=swinging(7.3).running), 60.0)["frequency_band_hz"] is None


def test_the_band_is_taken_at_steady_load_only():
    """A governor with droop moves the frequency with the load: that is not hunting."""
    kw = lambda age: np.floor(age / 200) % 2 * 5 + 1  # noqa: E731
    run = run_of(Runs(running={"power_kw": kw, "frequency_hz": lambda age: 52 - 0.2 * kw(age)}))
    assert run["frequency_band_hz"] == pytest.approx(0.0, abs=1e-9)


def test_a_set_that_runs_away_and_one_that_slows_down_do_not_hunt():
    away = lambda age: np.where(age < 40, 50.0, 50.0 + 1.0 * (age - 40))  # noqa: E731
    down = lambda age: np.where(age < 51, 50.0, 50.0 - 1.0 * (age - 51))  # noqa: E731
    for hz in (away, down):
        trip = Runs(minutes=1.0, running={"frequency_hz": hz, "speed_rpm": lambda age, hz=hz: 30 * hz(age)})
        band = run_of(trip)["frequency_band_hz"]
        assert band in {None, 0.0}


def test_one_odd_minute_does_not_make_the_band():
    gust = lambda age: 50 + np.where((age > 300) & (age < 340), 2 * np.sin(age), 0.0)  # noqa: E731
    assert run_of(Runs(running={"frequency_hz": gust}))["frequency_band_hz"] == pytest.approx(0.0, abs=1e-9)


# --- sagging before the end --------------------------------------------------------------------------------------


def sagging(at_s: float, by: float = 0.1, for_s: float = 20.0) -> Runs:
    share = lambda age: np.where((age >= at_s) & (age < at_s + for_s), 1 - by, 1.0)  # noqa: E731
    return Runs(running={"frequency_hz": lambda age: 50 * share(age), "speed_rpm": lambda age: 1500 * share(age)})


def test_speed_that_sags_and_comes_back_before_the_stop():
    assert run_of(sagging(1100))["end_sag_fraction"] == pytest.approx(0.1, abs=0.005)
    assert run_of(sagging(1100), drop=("speed_rpm",))["end_sag_fraction"] == pytest.approx(0.1, abs=0.005)


def test_a_plain_stop_and_a_sag_long_before_it_are_none():
    assert run_of(Runs())["end_sag_fraction"] == pytest.approx(0.0, abs=1e-9)
    assert run_of(sagging(500))["end_sag_fraction"] == pytest.approx(0.0, abs=0.005)


def test_slowing_down_to_the_stop_is_no_sag():
    down = lambda age: np.where(age < 1190, 1.0, np.maximum(0.55, 1 - (age - 1190) / 20))  # noqa: E731
    truth = Runs(running={"frequency_hz": lambda age: 50 * down(age), "speed_rpm": lambda age: 1500 * down(age)})
    assert run_of(truth)["end_sag_fraction"] == pytest.approx(0.0, abs=0.02)


def test_the_dip_of_the_start_of_a_short_run_is_no_sag():
    up = lambda age: np.minimum(1.0, 0.6 + age / 30)  # noqa: E731
    truth = Runs(minutes=2, running={"frequency_hz": lambda age: 50 * up(age), "speed_rpm": lambda age: 1500 * up(age)})
    assert run_of(truth)["end_sag_fraction"] == pytest.approx(0.0, abs=0.005)


# --- running away, and output that does not come -----------------------------------------------------------------


def both_at(frame, share: float, *at_s: float):
    """Speed and frequency at that share of the rated ones."""
    return spiked(spiked(frame, "speed_rpm", 1500 * share, *at_s), "frequency_hz", 50 * share, *at_s)


def test_the_highest_speed_is_one_that_two_rows_reached():
    truth = Runs()
    at = truth.begins_s[0] + 600
    plain = truth.log()
    once = book(both_at(plain, 1.2, at)).runs.row(0, named=True)
    assert once["speed_max_fraction"] == pytest.approx(1.0)
    assert once["overspeed_s"] == 0.0
    twice = book(both_at(plain, 1.2, at, at + 1)).runs.row(0, named=True)
    assert twice["speed_max_fraction"] == pytest.approx(1.2)
    assert twice["overspeed_s"] == pytest.approx(1.0)


def test_a_speed_that_the_frequency_does_not_bear_out_is_no_overspeed():
    wrong = run_of(Runs(running={"speed_rpm": 1800.0}))
    assert wrong["speed_max_fraction"] == pytest.approx(1.0)
    assert wrong["overspeed_s"] == 0.0


def fast(rpm: float) -> Runs:
    """Thirty seconds at that speed, and the frequency with it."""
    speed = lambda age: np.where((age > 600) & (age <= 630), rpm, 1500.0)  # noqa: E731
    return Runs(running={"speed_rpm": speed, "frequency_hz": lambda age: speed(age) / 30})


def test_overspeed_is_told_beyond_the_droop_and_2_per_cent():
    assert run_of(fast(1640.0))["overspeed_s"] == 0.0, "8 % droop and 2 %: 1650 rpm"
    assert run_of(fast(1660.0))["overspeed_s"] == pytest.approx(29)
    g3 = run_of(fast(1600.0), governor_class="G3")
    assert g3["overspeed_s"] == pytest.approx(29), "3 % droop and 2 %: 1575 rpm"


def test_frequency_stands_in_for_the_speed_where_that_is_not_logged():
    run = run_of(fast(1680.0), drop=("speed_rpm",))
    assert run["speed_max_fraction"] == pytest.approx(1.12)
    assert run["overspeed_s"] == pytest.approx(29)


def test_the_first_and_the_last_run_do_not_lend_each_other_a_row():
    """The last row of one set's run and the first of the next set's stand side by side in the frame."""
    rises = lambda age: np.where(age >= 299, 2000.0, 1500.0)  # noqa: E731
    run = run_of(Runs(minutes=5, running={"speed_rpm": rises, "frequency_hz": lambda age: rises(age) / 30}))
    assert run["speed_max_fraction"] == pytest.approx(1.0)


def test_no_voltage_at_speed():
    dead = lambda low, high: lambda age: np.where((age >= low) & (age < high), 8.0, 230.0)  # noqa: E731
    assert run_of(Runs(running={"voltage_v": dead(300, 400)}))["no_voltage_s"] == pytest.approx(99)
    assert run_of(Runs(running={"voltage_v": 0.0}))["no_voltage_s"] == pytest.approx(1179, abs=1)
    assert run_of(Runs())["no_voltage_s"] == 0.0
    building = Runs(running={"voltage_v": lambda age: np.where(age < 6, 0.0, 230.0)})
    assert run_of(building)["no_voltage_s"] == 0.0, "it has to build up first"


def test_a_frequency_cannot_stand_in_for_the_speed_where_there_is_no_voltage():
    assert run_of(Runs(running={"voltage_v": 0.0}), drop=("speed_rpm",))["no_voltage_s"] is None
    assert run_of(Runs(), drop=("voltage_v",))["no_voltage_s"] is None


# --- oil and coolant ---------------------------------------------------------------------------------------------


def test_when_oil_pressure_is_there_has_two_bounds():
    oil = Runs(running={"oil_kpa": lambda age: np.where(age < 12, 40.0, 350.0)})
    run = run_of(oil)
    assert (run["oil_ready_low_s"], run["oil_ready_s"]) == (11.0, 12.0)
    run = run_of(oil, 2.0)
    assert run["oil_ready_low_s"] <= 12.0 <= run["oil_ready_s"] <= run["oil_ready_low_s"] + 2.0
    run = run_of(oil, 10.0)
    assert (run["oil_ready_low_s"], run["oil_ready_s"]) == (None, None)


def test_oil_that_is_there_at_once_and_oil_that_never_comes():
    assert run_of(Runs())["oil_ready_low_s"] == 0.0
    never = run_of(Runs(running={"oil_kpa": 50.0}))
    assert never["oil_ready_s"] is None
    assert never["oil_min_kpa"] == 50.0
    assert never["oil_low_s"] == pytest.approx(1184, abs=1)


def test_oil_pressure_before_the_run_is_that_of_the_row_before():
    truth = Runs(resting={"oil_kpa": 35.0})
    assert run_of(truth)["oil_before_kpa"] == 35.0


def test_coolant_above_the_stop_limit_and_when_it_was_hot():
    hot = Runs(
        running={"coolant_c": lambda age: np.where((age >= 900) & (age < 1000), 108.0, np.minimum(85, 20 + age / 10))}
    )
    run = run_of(hot)
    assert run["coolant_hot_s"] == pytest.approx(510)
    assert run["coolant_stop_s"] == pytest.approx(99)
    assert run["coolant_high_s"] == pytest.approx(99)


def test_a_stop_limit_that_was_not_reached_is_0_s_and_one_row_above_it_is_too():
    assert run_of(Runs())["coolant_stop_s"] == 0.0
    once = Runs(running={"coolant_c": lambda age: np.where(age == 900, 120.0, 85.0)})
    assert run_of(once)["coolant_stop_s"] == 0.0


def test_heat_that_soaks_in_after_the_stop_is_not_running_hot():
    """Trade, section 10, 11: coolant creeps up for ten minutes after a stop."""
    truth = Runs(running={"coolant_c": 95.0}, resting={"coolant_c": lambda t: np.where(t > 8400, 109.0, 20.0)})
    run = run_of(truth)
    assert run["coolant_max_c"] == 95.0
    assert run["coolant_stop_s"] == 0.0
    assert run["coolant_high_s"] == 0.0


def test_an_engine_that_never_became_hot_has_no_time_for_it():
    assert run_of(Runs(running={"coolant_c": 65.0}))["coolant_hot_s"] is None


# --- the end ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("dense", [1.0, 10.0, 60.0])
def test_one_row_of_a_sloshing_sender_does_not_empty_the_tank(dense):
    slosh = lambda age: np.where(age >= 1140, 0.0, 0.3)  # noqa: E731
    last = Runs(running={"fuel_fraction": slosh}, resting={"fuel_fraction": 0.3})
    assert run_of(last, dense)["ended_by"] == "stop"
    empty = Runs(running={"fuel_fraction": lambda age: 0.03 - age / 1e5}, resting={"fuel_fraction": 0.02})
    assert run_of(empty, dense)["ended_by"] == "fuel"
