"""Fuel used over a log, from levels at rest between refuels."""

from __future__ import annotations

import math
from datetime import timedelta

import polars as pl
import pytest

from startworthy.logbook.build import build
from startworthy.logbook.fuel_used import _sender_step, fuel_used
from startworthy.physics.fuel import volume_correction_over
from startworthy.physics.tank import levels_over
from startworthy.register import Register, SetEntry
from tests.support.logs import T0, Start, Truth, as_readings, log

TANK = 100.0
REGISTER = Register.model_validate({"sets": {"A": {"tank_litres": TANK}}})
STARTS = tuple(Start(d * 86400.0 + 36000, minutes=120) for d in range(2, 30, 3))
USED = TANK * 0.02 * 2 * len(STARTS)


def used(level: pl.Expr | None = None, truth: Truth | None = None):
    frame = log(truth or Truth(days=32, starts=STARTS), 10.0, 300.0)
    if level is not None:
        frame = frame.with_columns(level.alias("fuel_fraction"))
    book = build(as_readings(frame), REGISTER)
    return fuel_used(book.runs, book.marks, book.days, REGISTER.of("A"))


def test_a_fine_sender_gives_the_truth() -> None:
    got = used()
    assert got is not None
    assert got.litres == pytest.approx(USED, rel=0.01)


@pytest.mark.parametrize("step", [0.005, 0.01, 0.02])
def test_a_sender_that_moves_in_steps_costs_one_step_and_not_one_a_run(step: float) -> None:
    got = used((pl.col("fuel_fraction") / step).round() * step)
    assert got is not None
    assert abs(got.litres - USED) <= 1.5 * step * TANK


def test_a_refuel_is_not_taken_for_use() -> None:
    refuel = pl.when(pl.col("at").dt.ordinal_day() > pl.col("at").dt.ordinal_day().min() + 15).then(0.15).otherwise(0.0)
    got = used(pl.col("fuel_fraction") + refuel)
    assert got is not None
    assert got.litres == pytest.approx(USED, rel=0.03)


def test_what_leaks_at_rest_is_not_what_the_engine_used() -> None:
    got = used(truth=Truth(days=32, starts=STARTS, leak_per_day=0.008))
    assert got is not None
    assert got.litres == pytest.approx(USED, rel=0.1)


def test_neither_flow_nor_tank_is_not_known() -> None:
    book = build(as_readings(log(Truth(days=32, starts=STARTS), 10.0, 300.0)), Register())
    assert fuel_used(book.runs, book.marks, book.days, None) is None


DAY_S = 86400.0
LONG = Truth(days=64, starts=tuple(Start(d * DAY_S + 36000, minutes=90) for d in range(2, 62, 4)))
LONG_USED = TANK * 0.02 * 1.5 * len(LONG.starts)
BOX, LYING = {"tank_litres": TANK}, {"tank_litres": TANK, "tank_shape": "horizontal_cylinder"}
DIPPED = {"tank_shape": [[0, 0], [20, 12], [50, 45], [80, 84], [100, 100]]}


def fuel_c(at: pl.Expr) -> pl.Expr:
    """From spring to summer, with warm and cold spells of some days on it."""
    day = (at - at.min()).dt.total_seconds() / DAY_S
    return 5.0 + day * 0.35 + 5.0 * (day * (2 * math.pi / 9.0)).sin() + 2.0 * (day * (2 * math.pi / 23.0)).cos()


def logged(tank: dict[str, object], *, sees_swelling: bool, drop: tuple[str, ...] = (), as_litres: bool = False):
    """What a float or a pressure sender in this tank shows, the fuel being as warm as the air; and what comes of it."""
    entry = SetEntry.model_validate(tank)
    frame = log(LONG, 60.0, 1800.0)
    warm = frame.with_columns(fuel_c(pl.col("at")).alias("ambient_c"))
    grown = volume_correction_over(pl.col("ambient_c")) if sees_swelling else pl.lit(1.0)
    litres = (pl.col("fuel_fraction") * TANK / grown).alias("fuel_l")
    warm = warm.with_columns(litres)
    if as_litres:
        warm = warm.drop("fuel_fraction")
    else:
        level = levels_over({"A": entry}, pl.col("fuel_l")).alias("fuel_fraction")
        warm = warm.with_columns(pl.col("set_id").cast(pl.String)).with_columns(level).drop("fuel_l")
        warm = warm.with_columns(pl.col("set_id").cast(pl.Categorical))
    book = build(as_readings(warm.drop(drop)), Register(sets={"A": entry}))
    return fuel_used(book.runs, book.marks, book.days, entry), book


@pytest.mark.parametrize("tank", [BOX, LYING, DIPPED], ids=["rectangular", "lying", "strapping table"])
@pytest.mark.parametrize("sees_swelling", [True, False], ids=["float", "pressure"])
def test_litres_go_through_the_tank_and_swelling_counts_only_where_it_is_seen(
    tank: dict[str, object], sees_swelling: bool
) -> None:
    got, book = logged(tank, sees_swelling=sees_swelling)
    assert got is not None
    assert got.swells is sees_swelling
    assert got.litres == pytest.approx(LONG_USED, rel=0.01)
    assert abs(got.litres - LONG_USED) <= got.error_l
    # what one run used is told in litres as well
    assert book.runs["fuel_used_l"].to_list() == pytest.approx(
        [LONG_USED / len(LONG.starts)] * len(LONG.starts), abs=0.25
    )


@pytest.mark.parametrize("tank", [BOX, LYING, DIPPED], ids=["rectangular", "lying", "strapping table"])
def test_a_log_in_litres_needs_no_shape_to_stay_right(tank: dict[str, object]) -> None:
    got, _ = logged(tank, sees_swelling=False, as_litres=True)
    assert got is not None
    assert got.litres == pytest.approx(LONG_USED, rel=0.01)


@pytest.mark.parametrize("sees_swelling", [True, False], ids=["float", "pressure"])
def test_without_any_temperature_the_error_reaches_both_kinds_of_sender(sees_swelling: bool) -> None:
    got, _ = logged(BOX, sees_swelling=sees_swelling, drop=("ambient_c", "coolant_c"))
    assert got is not None
    assert got.swells is None
    assert abs(got.litres - LONG_USED) <= got.error_l
    known, _ = logged(BOX, sees_swelling=sees_swelling)
    assert got.error_l > known.error_l


def test_coolant_that_a_heater_holds_says_nothing_of_the_fuel() -> None:
    frame = log(LONG, 60.0, 1800.0).drop("ambient_c")
    held = pl.when(pl.col("coolant_c") < 38.0).then(38.0).otherwise("coolant_c").alias("coolant_c")
    book = build(as_readings(frame.with_columns(held)), REGISTER)
    cold = build(as_readings(frame.drop("coolant_c")), REGISTER)
    entry = REGISTER.of("A")
    assert fuel_used(book.runs, book.marks, book.days, entry) == fuel_used(cold.runs, cold.marks, cold.days, entry)


def test_days_that_say_too_little_leave_the_sender_unknown_and_both_ways_in_the_error() -> None:
    shaky = pl.col("fuel_fraction") + 0.015 * (pl.col("at").dt.ordinal_day().cast(pl.Float64) ** 2 * 1.7).sin()
    frame = log(LONG, 60.0, 1800.0).with_columns(fuel_c(pl.col("at")).alias("ambient_c"), shaky.alias("fuel_fraction"))
    book = build(as_readings(frame), REGISTER)
    got = fuel_used(book.runs, book.marks, book.days, REGISTER.of("A"))
    assert got is not None
    assert got.swells is None
    assert abs(got.litres - LONG_USED) <= got.error_l


@pytest.mark.parametrize(
    "after_min", [-100, -45, 35, 50, 120], ids=lambda m: f"{abs(m)} min {'before' if m < 0 else 'after'}"
)
def test_a_refuel_close_to_a_run_hides_nothing(after_min: float) -> None:
    if after_min < 0:
        after_min -= 90  # before the run's beginning
    refuelled_at = T0 + timedelta(days=30, seconds=36000 + 90 * 60 + after_min * 60)
    assert any(s.at_s == 30 * DAY_S + 36000 for s in LONG.starts)
    refuel = pl.when(pl.col("at") >= refuelled_at).then(0.15).otherwise(0.0)
    frame = log(LONG, 60.0, 300.0).with_columns((pl.col("fuel_fraction") + refuel).alias("fuel_fraction"))
    book = build(as_readings(frame), REGISTER)
    assert book.marks.filter(pl.col("kind") == "refuel").height == 1
    got = fuel_used(book.runs, book.marks, book.days, REGISTER.of("A"))
    assert got is not None
    assert got.litres == pytest.approx(LONG_USED, rel=0.01)


def test_a_level_above_a_short_strapping_table_is_not_known() -> None:
    short = SetEntry(tank_shape=[(0, 0), (50, 50)])
    book = build(as_readings(log(LONG, 60.0, 1800.0)), Register(sets={"A": short}))
    assert book.runs["fuel_before_fraction"].min() > 0.3
    got = fuel_used(book.runs, book.marks, book.days, short)
    assert got is None or got.litres < LONG_USED


@pytest.mark.parametrize(
    ("levels", "step"),
    [
        ([0.8] * 5 + [0.78] * 5 + [0.76] * 5, 0.02),
        ([0.8] * 5 + [0.79] * 5 + [0.7833, 0.7867, 0.78, 0.78, 0.78], 0.01),
        ([0.8 - 0.0013 * i for i in range(20)], 0.0),
        ([None, None], 0.0),
    ],
)
def test_the_step_of_a_sender(levels: list[float | None], step: float) -> None:
    assert _sender_step(pl.Series("rest_fuel_fraction", levels, dtype=pl.Float64)) == step
