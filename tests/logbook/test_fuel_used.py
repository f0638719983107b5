"""Fuel used over a log, from levels at rest between refuels."""

from __future__ import annotations

import polars as pl
import pytest

from startworthy.logbook.build import build
from startworthy.logbook.fuel_used import fuel_used
from startworthy.register import Register
from tests.support.logs import Start, Truth, as_readings, log

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
