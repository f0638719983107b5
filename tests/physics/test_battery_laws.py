"""Charge, float band, time to flat and acid: over columns, the other way, and what is refused."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.physics.battery import (
    FLOAT_CELL,
    SELF_DISCHARGE,
    ah_per_day,
    charge_at,
    charge_over,
    days_to_flat,
    float_band,
    freezing_point_c,
    gravity_at_27_c,
    volts_at_charge,
)

NOMINAL = st.sampled_from([12.0, 24.0])


@given(st.floats(0, 1), NOMINAL, st.sampled_from([0.0, 0.15]))
def test_volts_and_charge_lead_to_each_other(charge: float, nominal_v: float, higher_v: float) -> None:
    volts = volts_at_charge(charge, nominal_v, higher_v=higher_v)
    assert charge_at(volts, nominal_v, higher_v=higher_v) == pytest.approx(charge, abs=1e-9)
    # a battery that rests higher holds less at the same volts
    assert charge_at(volts, nominal_v, higher_v=higher_v + 0.1) <= charge + 1e-9


@given(st.lists(st.none() | st.floats(8, 30), min_size=1), NOMINAL)
def test_a_column_gives_what_single_volts_give(volts: list[float | None], nominal_v: float) -> None:
    frame = pl.DataFrame({"v": pl.Series(volts, dtype=pl.Float64)})
    got = frame.select(charge_over(pl.col("v"), nominal_v, higher_v=0.15)).to_series().to_list()
    want = [None if v is None else charge_at(v, nominal_v, higher_v=0.15) for v in volts]
    assert got == [None if w is None else pytest.approx(w, abs=1e-12) for w in want]


@pytest.mark.parametrize(("nominal_v", "cells"), [(12, 6), (24, 12)])
def test_the_float_band_is_that_of_its_cells(nominal_v: float, cells: int) -> None:
    for celsius in (-20.0, 25.0, 40.0):
        of_cells = [cells * v for v in FLOAT_CELL.at(celsius)]
        assert list(float_band(nominal_v).at(celsius)) == pytest.approx(of_cells)
    low, high = float_band(nominal_v).over(pl.col("c"))
    frame = pl.DataFrame({"c": [-20.0, None, 40.0]}).select(low.alias("low"), high.alias("high"))
    assert frame.row(0) == pytest.approx(float_band(nominal_v).at(-20.0))
    assert frame.row(1) == (None, None)
    assert frame.row(2) == pytest.approx(float_band(nominal_v).at(40.0))


@given(st.floats(10, 200), st.floats(0.001, 1), st.floats(0, 1), st.floats(0, 1))
def test_what_drains_a_day_makes_the_days(capacity_ah: float, drain_a: float, one: float, other: float) -> None:
    flat, charge = sorted((one, other))
    days = days_to_flat(capacity_ah, drain_a, charge=charge, flat=flat)
    # the same drain seen as a slope of the charge
    assert ah_per_day(capacity_ah, -24 * drain_a / capacity_ah) * days == pytest.approx(
        capacity_ah * (charge - flat), abs=1e-9
    )


def test_a_battery_stored_warm_loses_more() -> None:
    assert SELF_DISCHARGE.at(10) < SELF_DISCHARGE.at(20) < SELF_DISCHARGE.at(30)


def test_the_freezing_point_is_told_only_where_the_table_goes() -> None:
    assert freezing_point_c(1.15) is freezing_point_c(1.29) is None
    assert freezing_point_c(1.235) == pytest.approx((-35.0 - 52.2) / 2)


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: charge_at(-1, 12), "volts"),
        (lambda: volts_at_charge(1.1, 12), "within 0 and 1"),
        (lambda: float_band(12).at(200), "charged"),
        (lambda: days_to_flat(0, 0.05), "above 0"),
        (lambda: days_to_flat(60, 0), "above 0"),
        (lambda: days_to_flat(60, 0.05, charge=0.4, flat=0.5), "goes down"),
        (lambda: ah_per_day(60, float("nan")), "slope"),
        (lambda: freezing_point_c(0.9), "water"),
        (lambda: gravity_at_27_c(1.25, 300), "acid"),
        (lambda: gravity_at_27_c(0.9, 27), "water"),
    ],
)
def test_what_cannot_be_is_refused(call, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        call()


def test_no_float_band_for_another_nominal_voltage() -> None:
    with pytest.raises(KeyError):
        float_band(48)
