"""The load columns of the runs table, against runs whose load, frequency and volts are drawn by hand."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

from startworthy.logbook.build import build
from startworthy.register import Register
from tests.support.logs import Runs, as_readings


def run_of(truth: Runs, dense_s: float = 1.0, rest_s: float = 60.0, drop: tuple[str, ...] = (), **entry) -> dict:
    """The first run of the set; `entry` is laid over what the register says."""
    register = Register.model_validate({"sets": {"A": {"rated_kw": 10, "rated_voltage_v": 230, **entry}}})
    return build(as_readings(truth.log(dense_s, rest_s, drop=drop)), register).runs.row(0, named=True)


def loaded(kw, **running) -> Runs:
    return Runs(running={"power_kw": kw, **running})


def between(low: float, high: float, kw: float, else_kw: float = 4.0):
    """A load of kw from `low` to `high` seconds after it fired."""
    return lambda age: np.where((age >= low) & (age < high), kw, else_kw)


def test_the_load_is_taken_some_time_after_the_start_and_given_up_some_time_before_the_stop():
    run = run_of(loaded(between(30, 1020, 4.0, 0.0)))
    assert run["load_taken_s"] == pytest.approx(30)
    assert run["unloaded_end_s"] == pytest.approx(180, abs=1)


@pytest.mark.parametrize("dense", [10.0, 60.0])
def test_slow_rows_tell_when_it_was_loaded_to_within_their_own_interval(dense):
    run = run_of(loaded(between(30, 1020, 4.0, 0.0)), dense, 60.0)
    assert 30 <= run["load_taken_s"] <= 30 + dense
    assert 180 - dense <= run["unloaded_end_s"] <= 180 + dense


def test_a_run_without_load_took_none():
    run = run_of(loaded(0.0))
    assert run["load_taken_s"] is None
    assert run["unloaded_end_s"] is None
    assert run["load_late_fraction"] == 0.0


def test_the_late_load_is_that_of_the_last_third():
    assert run_of(loaded(between(800, 1200, 6.0, 2.0)))["load_late_fraction"] == pytest.approx(0.6)


def test_the_late_load_is_weighted_by_time():
    """9 kW for 100 s in which rows come every second, 1 kW for the rest of it, with a row a minute."""
    truth = loaded(between(800, 900, 9.0, 1.0))
    frame = truth.log(1.0)
    age = (pl.col("at") - frame["at"][0]).dt.total_seconds() - truth.begins_s[0]
    thinned = frame.filter(age.is_between(800, 900) | (age % 60 == 0))
    register = Register.model_validate({"sets": {"A": {"rated_kw": 10}}})
    run = build(as_readings(thinned), register).runs.row(0, named=True)
    assert run["load_late_fraction"] == pytest.approx((100 * 0.9 + 300 * 0.1) / 400, abs=0.03)


def test_load_columns_are_null_where_load_is_not_logged():
    run = run_of(loaded(4.0), drop=("power_kw",))
    names = [n for n in run if n.startswith(("load_", "overload", "step"))]
    assert {name: run[name] for name in names} == dict.fromkeys(names)


def test_without_a_rating_load_is_taken_but_no_overload_is_told():
    run = build(as_readings(loaded(between(30, 1020, 4.0, 0.0)).log()), Register()).runs.row(0, named=True)
    assert run["load_taken_s"] == pytest.approx(30)
    assert run["overload_s"] is None
    assert run["load_late_fraction"] is None


def test_overload_is_the_longest_spell_and_one_row_is_none():
    run = run_of(loaded(between(300, 600, 10.5)))
    assert run["overload_s"] == pytest.approx(300, abs=1.5)
    assert run["overload_far_s"] == 0.0
    far = run_of(loaded(lambda age: np.where((age >= 300) & (age < 400), 11.5, np.where(age == 900, 15.0, 4.0))))
    assert far["overload_far_s"] == pytest.approx(100, abs=1.5)
    assert far["overload_s"] == far["overload_far_s"]
    assert run_of(loaded(between(900, 901, 20.0)))["overload_far_s"] == 0.0


def test_the_rated_load_itself_is_no_overload():
    assert run_of(loaded(10.0))["overload_s"] == 0.0


@pytest.mark.parametrize(
    ("entry", "ambient_c", "kw", "over"),
    [
        ({}, 20.0, 9.0, False),
        ({"altitude_m": 152.0}, 29.0, 9.9, False),
        # 1 - 0.03 x (1500 - 152) / 305 = 0.867 of the rating
        ({"altitude_m": 1500.0}, 20.0, 8.5, False),
        ({"altitude_m": 1500.0}, 20.0, 8.8, True),
        # and 1 - 0.01 x (43 - 29) / 2.7 = 0.948 of it in the heat
        ({}, 43.0, 9.4, False),
        ({}, 43.0, 9.6, True),
        ({"altitude_m": 1500.0}, 43.0, 8.4, True),
        ({"altitude_m": 1500.0}, 43.0, 8.1, False),
    ],
)
def test_height_and_heat_take_off_the_rating(entry, ambient_c, kw, over):
    truth = Runs(running={"power_kw": kw, "ambient_c": ambient_c}, resting={"ambient_c": ambient_c})
    run = run_of(truth, **entry)
    assert (run["overload_s"] > 1000) is over


def test_the_air_before_the_run_counts_and_not_the_enclosure_that_warms_up():
    truth = Runs(
        running={"power_kw": 9.6, "ambient_c": lambda age: 25 + np.minimum(25, age / 20)}, resting={"ambient_c": 25.0}
    )
    run = run_of(truth)
    assert run["ambient_before_c"] == 25.0
    assert run["overload_s"] == 0.0


def test_frequency_at_light_and_at_heavy_load():
    kw = lambda age: np.select([age < 400, age < 800], [1.0, 5.0], 9.0)  # noqa: E731
    run = run_of(loaded(kw, frequency_hz=lambda age: 52.2 - 0.2 * kw(age)))
    assert run["frequency_light_hz"] == pytest.approx(52.0)
    assert run["load_light_fraction"] == pytest.approx(0.1)
    assert run["frequency_heavy_hz"] == pytest.approx(50.4)
    assert run["load_heavy_fraction"] == pytest.approx(0.9)


def test_one_level_of_load_tells_no_light_and_no_heavy_one():
    run = run_of(loaded(lambda age: 4.0 + 0.5 * np.sin(age / 50)))
    assert run["frequency_light_hz"] is None
    assert run["frequency_heavy_hz"] is None


DIP = {600: (47.0, 184.0), 601: (48.0, 207.0), 602: (49.0, 229.0), 603: (49.7, 230.0)}


def stepping(back: float = 1200.0) -> Runs:
    """6 kW at once after 10 min: 4 Hz and 46 V down at once, 1 Hz and 0 V down for good; off again at `back`."""

    def hz(age):
        held = np.where((age >= 600) & (age < back), 50.0, 51.0)
        return np.select([age == s for s in DIP], [v[0] for v in DIP.values()], held)

    def volts(age):
        return np.select([age == s for s in DIP], [v[1] for v in DIP.values()], 230.0)

    return loaded(between(600, back, 6.0, 0.0), frequency_hz=hz, voltage_v=volts)


def test_a_step_its_dip_and_its_recovery():
    run = run_of(stepping())
    assert run["steps"] == 1
    assert run["step_fraction"] == pytest.approx(0.6)
    assert run["step_frequency_fraction"] == pytest.approx((47 - 51) / 50)
    assert run["step_frequency_s"] == pytest.approx(2.0), "out at 47, 48, 49; 49.7 is within 0.625 Hz of 50"
    assert run["step_voltage_fraction"] == pytest.approx((184 - 230) / 230)
    assert run["step_voltage_s"] == pytest.approx(1.0)


def test_of_two_steps_the_one_that_went_furthest_is_told():
    run = run_of(stepping(back=900.0))
    assert run["steps"] == 2
    assert run["step_fraction"] == pytest.approx(0.6), "the rise of 1 Hz when the load went is the lesser one"


def test_a_load_that_comes_in_over_three_rows_is_one_step():
    ramp = lambda age: np.clip((age - 599) * 2.0, 0.0, 6.0)  # noqa: E731
    run = run_of(loaded(ramp, frequency_hz=lambda age: np.where(age == 601, 48.0, 50.0)))
    assert run["steps"] == 1
    assert run["step_fraction"] == pytest.approx(0.6)
    assert run["step_frequency_fraction"] == pytest.approx(-0.04)


def test_a_frequency_that_does_not_settle_has_no_recovery_time():
    swings = lambda age: 50 + np.where(age >= 600, 1.5 * np.cos(np.pi * age), 0.0)  # noqa: E731
    run = run_of(loaded(between(600, 1200, 6.0, 0.0), frequency_hz=swings))
    assert run["steps"] == 1
    assert run["step_frequency_s"] is None


def test_a_small_change_of_load_is_no_step():
    run = run_of(loaded(between(600, 1200, 4.9, 4.0)))
    assert run["steps"] == 0
    assert run["step_fraction"] is None


@pytest.mark.parametrize("dense", [2.0, 10.0, 60.0])
def test_rows_further_apart_than_a_second_show_no_step(dense):
    run = run_of(stepping(), dense)
    assert run["steps"] is None
    assert run["step_frequency_fraction"] is None


def test_a_step_needs_some_output_to_be_judged_by_and_says_which():
    only_volts = run_of(stepping(), drop=("frequency_hz",))
    assert only_volts["step_frequency_fraction"] is None
    assert only_volts["step_voltage_fraction"] == pytest.approx(-0.2)
    only_speed = run_of(stepping(), drop=("frequency_hz", "voltage_v"))
    assert only_speed["steps"] is None


def test_the_inrush_at_the_very_end_of_the_log_is_not_judged():
    truth = stepping()
    cut = truth.log().filter(pl.col("at") < pl.col("at").first() + pl.duration(seconds=int(truth.begins_s[0]) + 606))
    register = Register.model_validate({"sets": {"A": {"rated_kw": 10, "rated_voltage_v": 230}}})
    run = build(as_readings(cut), register).runs.row(0, named=True)
    assert run["steps"] == 0, "6 s after it are too few to say how it recovered"
