"""Fuel used over a whole log, from levels at rest.

A sender of 1 % steps makes each run's own figure nearly worthless, however many are added up: the steps do not
average out. So the level before the first run and after the last one between two refuels is taken instead,
unless fuel was clearly lost at rest between the runs: then only the sum over the runs leaves that out.

Levels become litres through the tank's shape, and litres are taken at 15 C where the sender sees the fuel swell.
A float does; a pressure sender in an upright tank weighs the fuel and does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import polars as pl

from startworthy.physics.fuel import expansion_per_c, volume_correction_over
from startworthy.physics.tank import full_litres, litres_over
from startworthy.register import SetEntry

HEATED_C, HELD_C = 40.0, 1.0
"""Coolant at rest above the one, or within the other on eight days of ten, is kept warm by a heater; common practice,
no source."""
STEP_FRACTION = 0.04
LEAST_NOISE_FRACTION, USUAL_NOISE_FRACTION = 0.002, 0.005
"""Standard deviation of one level at rest as a share of the tank: the least, and the usual where it is not seen."""
LOSS_A_WEEK = 0.01
"""Share of the tank a week at rest from which a fall counts as a loss; common practice, no source."""
SWELLS_FROM = 0.25
"""Share of the fuel's own swelling from which a level is taken to follow it: the fuel lags behind the air, so that the
day's air shows less than all of it, while a pressure sender shows none; common practice, no source."""
SWELLING_DAYS = 14
UNKNOWN_CHANGE_C, HALF_A_YEAR_DAYS = 30.0, 182.0
"""Change of the fuel's temperature from winter to summer, where a log shows none; common practice, no source."""
SENDER_STEPS = (0.05, 0.025, 0.02, 0.01, 0.005)
AGAIN_DAYS, AGAIN_SHARE, FITS_SHARE = 3, 0.4, 0.95
SURE = 1.96
"""Standard deviations on each side of a 95 % interval."""


@dataclass(frozen=True, slots=True)
class FuelUsed:
    """Litres used over a log, and how far off that may be (95 %, from the level's own scatter at rest).

    swells: whether the level follows the fuel's temperature, as a float does and a pressure sender does not; None
    where the log does not tell: then the litres lie half way, and the error reaches both.
    """

    litres: float
    error_l: float | None
    swells: bool | None = None


def fuel_used(runs: pl.DataFrame, marks: pl.DataFrame, days: pl.DataFrame, entry: SetEntry | None) -> FuelUsed | None:
    """Fuel used by the runs of one set; None where neither flow nor level and tank tell it.

    runs, marks, days: tables of one set. entry: the register's, for the tank; None to go by the flow alone. A run
    without both levels, or with one that the tank's strapping table does not reach, is left out.
    """
    full = None if entry is None else full_litres(entry)
    told = _in_litres(runs, entry)
    if full is None or told.is_empty():
        flows = runs["fuel_used_l"].drop_nulls()
        return FuelUsed(float(flows.sum()), None) if flows.len() else None
    rest = _rest_litres(days, entry)
    told = _numbered(told, marks)
    hidden_l = full * _sender_step(days["rest_fuel_fraction"]) / math.sqrt(12.0)
    if rest["fuel_c"].null_count() == rest.height:
        litres, noise_l = _between_refuels(told, rest, full, hidden_l)
        held_l = float(told["before_l"].max() or 0.0)  # type: ignore[arg-type]
        change_c = UNKNOWN_CHANGE_C * min(rest.height / HALF_A_YEAR_DAYS, 1.0)
        return FuelUsed(litres, SURE * noise_l + expansion_per_c() * change_c * held_l)
    swells = level_follows_temperature(rest)
    ways = [_between_refuels(*_at_15_c(told, rest), full, hidden_l)] if swells is not False else []
    ways += [_between_refuels(told, rest, full, hidden_l)] if swells is not True else []
    litres = sum(way[0] for way in ways) / len(ways)
    apart_l = max(way[0] for way in ways) - litres
    return FuelUsed(litres, SURE * max(way[1] for way in ways) + apart_l, swells)


def _in_litres(runs: pl.DataFrame, entry: SetEntry | None) -> pl.DataFrame:
    """The runs with litres before and after them, through the tank's shape; no rows where these are not known."""
    tanks = {} if entry is None else dict.fromkeys(runs["set_id"].unique(), entry)
    return runs.with_columns(
        litres_over(tanks, pl.col("fuel_before_fraction")).alias("before_l"),
        litres_over(tanks, pl.col("fuel_after_fraction")).alias("after_l"),
    ).drop_nulls(["before_l", "after_l"])


def _rest_litres(days: pl.DataFrame, entry: SetEntry | None) -> pl.DataFrame:
    """Days in order: day, rest_l, calm (no running, nor the day before), fuel_c (the fuel's temperature, about).

    The fuel follows the air with a lag of about a day: the mean of two days of ambient, or of a cold engine's coolant
    where no ambient is logged. Null without either.
    """
    tanks = {} if entry is None else dict.fromkeys(days["set_id"].unique(), entry)
    coolant = pl.col("rest_coolant_c")
    held = coolant.quantile(0.9) - coolant.quantile(0.1) < HELD_C
    cold = pl.when((coolant < HEATED_C) & ~held).then(coolant)
    air_c, before = pl.coalesce("ambient_c", cold), pl.col("day").shift(1)
    still = pl.col("running_s").eq(0.0) & pl.col("running_s").shift(1).eq(0.0)
    next_day = (pl.col("day") - before).dt.total_days() == 1
    return days.sort("day").select(
        "day",
        litres_over(tanks, pl.col("rest_fuel_fraction")).alias("rest_l"),
        (still & next_day).fill_null(False).alias("calm"),
        pl.when(next_day).then(pl.mean_horizontal(air_c, air_c.shift(1))).otherwise(air_c).alias("fuel_c"),
    )


def _numbered(told: pl.DataFrame, marks: pl.DataFrame) -> pl.DataFrame:
    """The runs with `span`: which stretch between two refuels or sudden losses each belongs to."""
    # a step is seen over some quarter hours on each side: it lies where it ends, and a run just before it is before it
    steps = marks.filter(pl.col("kind").is_in(["refuel", "fuel_loss"])).select(
        pl.coalesce("ended_at", "began_at").alias("step_at")
    )
    numbered = steps.sort("step_at").with_row_index("span", offset=1)
    told = told.sort("ended_at").join_asof(numbered, left_on="ended_at", right_on="step_at", strategy="backward")
    return told.with_columns(pl.col("span").fill_null(0))


def level_follows_temperature(rest: pl.DataFrame) -> bool | None:
    """Whether the litres at rest follow the fuel's temperature; None where the days are too few or say too little.

    rest: columns of `_rest_litres`. The change of the contents from one calm day to the next, as a share of them, over
    that of the temperature, by least squares with a constant for what leaks; judged on its 95 % interval.
    """
    change, change_c = pl.col("rest_l").log().diff(), pl.col("fuel_c").diff()
    steps = (
        rest.with_columns(pl.when(pl.col("rest_l") > 0.0).then("rest_l").alias("rest_l"))
        .select(pl.when("calm").then(change).alias("share"), pl.when("calm").then(change_c).alias("c"))
        .drop_nulls()
        .filter(pl.col("share").abs() < STEP_FRACTION)
    )
    if steps.height < SWELLING_DAYS or steps["c"].n_unique() < 2:
        return None
    x = steps["c"].to_numpy() - steps["c"].to_numpy().mean()
    y = steps["share"].to_numpy() - steps["share"].to_numpy().mean()
    slope = float(x @ y / (x @ x))
    left = y - slope * x
    reach = SURE * math.sqrt(float(left @ left) / (steps.height - 2) / float(x @ x))
    edge = SWELLS_FROM * expansion_per_c()
    if slope - reach > edge:
        return True
    return False if slope + reach < edge else None


def _at_15_c(told: pl.DataFrame, rest: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Runs and days with their litres as they would be at 15 C; as they are where no temperature is near.

    From winter to summer a tank's contents swell by more than a run uses.
    """
    factor = volume_correction_over(pl.col("fuel_c")).fill_null(1.0)
    known = rest.select("day", "fuel_c").drop_nulls()
    told = told.with_columns(pl.col("began_at").dt.date().alias("day")).sort("day")
    told = told.join_asof(known, on="day", strategy="nearest", tolerance="2d").sort("ended_at")
    return told.with_columns(pl.col("before_l", "after_l") * factor), rest.with_columns(pl.col("rest_l") * factor)


def _between_refuels(told: pl.DataFrame, rest: pl.DataFrame, full: float, hidden_l: float) -> tuple[float, float]:
    """Litres used and their standard deviation: from end to end of each span, or run by run where fuel went at rest.

    hidden_l: standard deviation of what the sender's own step hides.
    """
    before, after = pl.col("before_l"), pl.col("after_l")
    rested = (pl.col("began_at") - pl.col("ended_at").shift(1).over("span")).dt.total_seconds() / (7 * 86400.0)
    spans = (
        told.with_columns((after.shift(1).over("span") - before).alias("fell"), rested.alias("weeks"))
        .group_by("span", maintain_order=True)
        .agg(
            (before.first() - after.last()).alias("ends"),
            (before - after).sum().alias("used"),
            pl.col("fell").sum(),
            pl.col("weeks").sum(),
            pl.len().alias("n"),
        )
    )
    # a sender's steps hide up to half a step at each end of a span
    end_noise = math.hypot(_end_noise(rest, full), hidden_l)
    used, variance = 0.0, 0.0
    for span in spans.iter_rows(named=True):
        noise_l = 3.0 * end_noise * math.sqrt(2.0 * max(span["n"] - 1, 1))
        lost = bool(span["weeks"]) and span["fell"] > noise_l and span["fell"] / span["weeks"] > LOSS_A_WEEK * full
        used += span["used"] if lost else span["ends"]
        variance += 2 * end_noise**2 * (span["n"] if lost else 1)
    return used, math.sqrt(variance)


def _end_noise(rest: pl.DataFrame, full: float) -> float:
    """Standard deviation of one level at rest, in litres: from day to day without a run."""
    steps = rest.select(pl.col("rest_l").diff().filter("calm").drop_nulls()).to_series()
    steps = steps.filter(steps.abs() < STEP_FRACTION * full)
    if steps.len() < 3:
        return USUAL_NOISE_FRACTION * full
    # a step is the difference of two levels
    return max(LEAST_NOISE_FRACTION * full, float(steps.to_numpy().std(ddof=1)) / math.sqrt(2.0))


def _sender_step(levels: pl.Series) -> float:
    """The step in which a level comes, as a share of the depth: the coarsest that fits the levels seen again and again.

    0 where few days share a level: a sender that scatters over more than its step hides nothing from a mean.
    """
    again = levels.drop_nulls().round(6).value_counts().filter(pl.col("count") >= AGAIN_DAYS)
    days = int(again["count"].sum())
    if days < AGAIN_SHARE * (levels.len() - levels.null_count()) or not days:
        return 0.0
    level = pl.col(levels.name)
    for step in SENDER_STEPS:
        on_step = ((level / step).round() * step - level).abs() < 1e-5
        if int(again.filter(on_step)["count"].sum()) >= FITS_SHARE * days:
            return step
    return 0.0
