"""Fuel used over a whole log, from levels at rest.

A sender of 1 % steps makes each run's own figure nearly worthless, however many are added up: the steps do not
average out. So the level before the first run and after the last one between two refuels is taken instead,
unless fuel was clearly lost at rest between the runs: then only the sum over the runs leaves that out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import polars as pl

from startworthy.results import Known

SWELLING_PER_C = 0.000844
"""Share of its volume by which diesel of 840 kg/m3 swells per C (ASTM D1250-80, 54B: 186.9696/840^2 + 0.4862/840)."""
HEATED_C = 40.0
"""Coolant at rest above this is kept warm by a heater; common practice, no source."""
STEP_FRACTION = 0.04
LOSS_A_WEEK = 0.01
"""Share of the tank a week at rest from which a fall counts as a loss; common practice, no source."""


def tank_litres(known: Known) -> float | None:
    """Litres of a full tank whose level is a plain share of them; None for other shapes: their level is a depth."""
    return known.entry.tank_litres if known.entry.tank_shape in {None, "rectangular"} else None


@dataclass(frozen=True, slots=True)
class FuelUsed:
    """Litres used over a log, and how far off that may be (95 %, from the level's own scatter at rest)."""

    litres: float
    error_l: float | None


def fuel_used(runs: pl.DataFrame, marks: pl.DataFrame, days: pl.DataFrame, tank: float | None) -> FuelUsed | None:
    """Fuel used by the runs of one set; None where neither flow nor level and tank tell it.

    runs, marks, days: tables of one set. tank: litres when full. A run without both levels is left out.
    """
    told = runs.filter(pl.col("fuel_before_fraction").is_not_null() & pl.col("fuel_after_fraction").is_not_null())
    if tank is None or told.is_empty():
        flows = runs["fuel_used_l"].drop_nulls()
        return FuelUsed(float(flows.sum()), None) if flows.len() else None
    steps = marks.filter(pl.col("kind").is_in(["refuel", "fuel_loss"])).select(pl.col("began_at").alias("step_at"))
    numbered = steps.sort("step_at").with_row_index("span", offset=1)
    told = told.sort("ended_at").join_asof(numbered, left_on="ended_at", right_on="step_at", strategy="backward")
    told = _at_15_c(told.with_columns(pl.col("span").fill_null(0)), days)
    before, after = pl.col("fuel_before_fraction"), pl.col("fuel_after_fraction")
    rested = (pl.col("began_at") - pl.col("ended_at").shift(1).over("span")).dt.total_seconds() / (7 * 86400.0)
    spans = (
        told.with_columns((after.shift(1).over("span") - before).alias("fell"), rested.alias("weeks"))
        .group_by("span", maintain_order=True)
        .agg(
            (before.first() - after.last()).alias("ends"),
            (before - after).sum().alias("used"),
            pl.col("fell").sum(),
            pl.col("fell").std().alias("scatter"),
            pl.col("weeks").sum(),
            pl.len().alias("n"),
        )
    )
    # a sender's steps hide up to half a step at each end of a span; its scatter at rest shows how far they reach
    end_noise = _end_noise(days)
    used, variance = 0.0, 0.0
    for span in spans.iter_rows(named=True):
        noise = 3.0 * (span["scatter"] or 0.0) * math.sqrt(max(span["n"] - 1, 1))
        lost = bool(span["weeks"]) and span["fell"] > noise and span["fell"] / span["weeks"] > LOSS_A_WEEK
        used += span["used"] if lost else span["ends"]
        variance += 2 * end_noise**2 * (span["n"] if lost else 1)
    return FuelUsed(used * tank, 1.96 * math.sqrt(variance) * tank)


def _at_15_c(told: pl.DataFrame, days: pl.DataFrame) -> pl.DataFrame:
    """The levels as they would be at 15 C: from winter to summer a tank's contents swell by more than a run uses.

    The day's ambient stands in for the fuel's temperature, or the coolant of a cold engine where no ambient is
    logged; without either the levels are left as they are.
    """
    cold = pl.when(pl.col("rest_coolant_c") < HEATED_C).then("rest_coolant_c")
    ambient = days.select("day", pl.coalesce("ambient_c", cold).alias("fuel_c")).drop_nulls().sort("day")
    if ambient.is_empty():
        return told
    told = told.with_columns(pl.col("began_at").dt.date().alias("day")).sort("day")
    told = told.join_asof(ambient, on="day", strategy="nearest", tolerance="2d").sort("ended_at")
    shrink = 1.0 - SWELLING_PER_C * (pl.col("fuel_c").fill_null(15.0) - 15.0)
    return told.with_columns(pl.col("fuel_before_fraction", "fuel_after_fraction") * shrink)


def _end_noise(days: pl.DataFrame) -> float:
    """Standard deviation of one level at rest, as a share of the tank: from day to day without a run, 0.2 % or more."""
    calm = pl.col("running_s").eq(0) & pl.col("running_s").shift(1).eq(0)
    steps = days.select(pl.col("rest_fuel_fraction").diff().filter(calm).drop_nulls().abs()).to_series()
    steps = steps.filter(steps < STEP_FRACTION)
    return max(0.002, float(steps.to_numpy().std(ddof=1))) if steps.len() > 2 else 0.005
