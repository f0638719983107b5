"""Fuel used over a whole log, from levels at rest.

A sender of 1 % steps makes each run's own figure nearly worthless, however many are added up: the steps do not
average out. So the level before the first run and after the last one between two refuels is taken instead,
unless fuel was clearly lost at rest between the runs: then only the sum over the runs leaves that out.
"""

from __future__ import annotations

import math

import polars as pl

from startworthy.results import Known

LOSS_A_WEEK = 0.01
"""Share of the tank a week at rest from which a fall counts as a loss; common practice, no source."""


def tank_litres(known: Known) -> float | None:
    """Litres of a full tank whose level is a plain share of them; None for other shapes: their level is a depth."""
    return known.entry.tank_litres if known.entry.tank_shape in {None, "rectangular"} else None


def fuel_used_l(runs: pl.DataFrame, marks: pl.DataFrame, tank_litres: float | None) -> float | None:
    """Litres used by the runs of one set; None where neither flow nor level and tank tell it.

    runs, marks: tables of one set. A run without a level on both sides is left out of the sum.
    """
    told = runs.filter(pl.col("fuel_before_fraction").is_not_null() & pl.col("fuel_after_fraction").is_not_null())
    if tank_litres is None or told.is_empty():
        flows = runs["fuel_used_l"].drop_nulls()
        return float(flows.sum()) if flows.len() else None
    steps = (
        marks.filter(pl.col("kind").is_in(["refuel", "fuel_loss"]))
        .select(pl.col("began_at").alias("step_at"))
        .sort("step_at")
    )
    numbered = steps.with_row_index("span", offset=1)
    told = (
        told.sort("began_at")
        .join_asof(numbered, left_on="ended_at", right_on="step_at", strategy="backward")
        .with_columns(pl.col("span").fill_null(0))
    )
    fell_at_rest = pl.col("fuel_after_fraction").shift(1).over("span") - pl.col("fuel_before_fraction")
    rested = (pl.col("began_at") - pl.col("ended_at").shift(1).over("span")).dt.total_seconds() / (7 * 86400.0)
    spans = (
        told.with_columns(
            fell_at_rest.alias("fell"),
            rested.alias("weeks"),
            (pl.col("fuel_before_fraction") - pl.col("fuel_after_fraction")).alias("used"),
        )
        .group_by("span", maintain_order=True)
        .agg(
            (pl.col("fuel_before_fraction").first() - pl.col("fuel_after_fraction").last()).alias("ends"),
            pl.col("used").sum(),
            pl.col("fell").sum(),
            pl.col("fell").std().alias("scatter"),
            pl.col("weeks").sum(),
            pl.len().alias("n"),
        )
    )
    used = 0.0
    for span in spans.iter_rows(named=True):
        noise = 3.0 * (span["scatter"] or 0.0) * math.sqrt(max(span["n"] - 1, 1))
        lost = span["fell"] > noise and span["weeks"] and span["fell"] / span["weeks"] > LOSS_A_WEEK
        used += span["used"] if lost else span["ends"]
    return used * tank_litres
