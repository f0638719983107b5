"""What makes checks cry wolf on ordinary small sets, from readings to findings: the tank and the hour meter.

Each test is named for its point in section 10 of the trade notes; the true fault stands beside it where it is cheap
to make. Sets are drawn by hand (tests/support/standby.py): they show behaviour and prove no value.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.support.standby import DAY, HOUR, TEN, WEEK, Standby

EXERCISES = tuple(TEN + DAY + week * WEEK for week in range(13))
SINCE_WEEK_8 = EXERCISES[8] - HOUR


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
