"""The battery before, during and after a run, and how long a charger held it too high: drawn by hand."""

from __future__ import annotations

import numpy as np
import pytest

from startworthy.logbook.build import build
from startworthy.register import Register
from tests.support.logs import Runs, as_readings

HOUR, DAY = 3600.0, 86400.0
BEGINS, ENDS = 2 * DAY, 2 * DAY + 1200


def book(truth: Runs, dense_s: float = 1.0, rest_s: float = 60.0, **entry):
    return build(as_readings(truth.log(dense_s, rest_s)), Register.model_validate({"sets": {"A": entry}}))


def run_of(truth: Runs, dense_s: float = 1.0, rest_s: float = 60.0) -> dict:
    return book(truth, dense_s, rest_s).runs.row(0, named=True)


def after(*steps: tuple[float, float], before: float = 13.0):
    """Rest volts: `before`, then from each hour after the run's end on the volts beside it."""

    def curve(t):
        volts = np.full(len(t), before)
        for hours, value in steps:
            volts[t >= ENDS + hours * HOUR] = value
        return volts

    return curve


def resting(curve, **more) -> Runs:
    return Runs(begins_s=(BEGINS,), days=4.0, resting={"battery_v": curve}, **more)


@pytest.mark.parametrize(("dense", "rest"), [(1.0, 60.0), (60.0, 60.0), (1.0, 300.0), (300.0, 300.0)])
def test_rest_before_and_after_leave_the_surface_charge_out(dense, rest):
    run = run_of(resting(after((0, 13.6), (4, 12.9), (12.5, 12.5))), dense, rest)
    assert run["battery_rest_before_v"] == pytest.approx(13.0, abs=0.01)
    assert run["battery_rest_after_v"] == pytest.approx(12.9, abs=0.01)


def test_the_crank_itself_is_not_rest():
    run = run_of(resting(after((0, 12.9)), crank_s=20.0, crank_v=9.0))
    assert run["battery_rest_before_v"] == pytest.approx(13.0, abs=1e-6)


def test_only_the_day_before_counts():
    sinking = lambda t: np.where(t < DAY - 100, 12.0, 13.0)  # noqa: E731
    assert run_of(resting(sinking))["battery_rest_before_v"] == pytest.approx(13.0)


def test_a_second_run_hides_the_rest_after_the_first():
    twice = Runs(begins_s=(BEGINS, ENDS + 3 * HOUR), days=4.0, resting={"battery_v": after((0, 13.6), (8, 12.9))})
    first, second = book(twice).runs.iter_rows(named=True)
    assert first["battery_rest_after_v"] is None
    assert second["battery_rest_before_v"] is None, "all of the rest before it is surface charge"
    assert second["battery_rest_after_v"] == pytest.approx(12.9)


def test_a_log_that_ends_soon_after_the_run_shows_no_rest_after_it():
    short = Runs(begins_s=(BEGINS,), days=2.1, resting={"battery_v": 13.0})
    assert run_of(short)["battery_rest_after_v"] is None


def test_the_battery_late_in_the_run():
    truth = resting(13.0, running={"battery_v": lambda age: np.where(age < 780, 13.0, 14.2)})
    run = run_of(truth)
    assert run["battery_running_v"] == pytest.approx(13.0)
    assert run["battery_running_end_v"] == pytest.approx(14.2)


def test_a_run_shorter_than_5_min_says_nothing_of_charging():
    run = run_of(resting(13.0, minutes=4.5))
    assert run["battery_running_v"] is None
    assert run["battery_running_end_v"] is None


@pytest.mark.parametrize(("nominal", "volts"), [(12.0, 15.3), (24.0, 30.6)])
def test_time_above_the_limit_of_lasting_overcharge(nominal, volts):
    k = nominal / 12
    high = lambda t: np.where((t >= DAY + 6 * HOUR) & (t < DAY + 8 * HOUR), volts, 13.6 * k)  # noqa: E731
    truth = Runs(begins_s=(3.5 * DAY,), days=4.0, resting={"battery_v": high}, running={"battery_v": 14.2 * k})
    b = book(truth)
    assert b.known["A"].battery_nominal_v == nominal
    assert b.days["rest_battery_over_s"].to_list() == pytest.approx([0.0, 2 * HOUR, 0.0, 0.0])


def test_a_boost_after_a_run_is_no_overcharge_but_one_that_lasts_is():
    boost = lambda hours: after((0, 15.2), (hours, 13.6), before=13.6)  # noqa: E731
    assert book(resting(boost(3.5))).days["rest_battery_over_s"].sum() == 0.0
    assert book(resting(boost(10))).days["rest_battery_over_s"].sum() == pytest.approx(6 * HOUR, abs=900)


def test_no_battery_no_figure():
    b = build(as_readings(resting(13.0).log(drop=("battery_v",))), Register())
    assert b.days["rest_battery_over_s"].null_count() == b.days.height
    assert b.runs.select("battery_rest_before_v", "battery_rest_after_v", "battery_running_end_v").row(0) == (None,) * 3
