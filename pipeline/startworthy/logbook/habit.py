"""The set's exercise habit, learnt from its own runs, and why each demand was made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import polars as pl

from startworthy.results import Known

# Common practice, no source.
EXERCISE_MINUTES = (3.0, 120.0)
LEAST_INTERVALS = 3
WHOLE_DAY_SLACK = 0.1
NEAR_MINUTES = 30
LENGTH_RATIO = (0.5, 1.5)
DAY_MINUTES = 1440


def with_habit(known: Mapping[str, Known], starts: pl.DataFrame, runs: pl.DataFrame) -> dict[str, Known]:
    """Known, with the exercise habit filled in where the register has no plan. Times are the set's local ones."""
    habits = {row["set_id"]: row for row in _habits(known, starts, runs).iter_rows(named=True)}
    return {set_id: _learnt(one, habits.get(set_id)) for set_id, one in known.items()}


def _learnt(known: Known, habit: dict[str, float] | None) -> Known:
    if habit is None:
        return known
    inferred = dict(known.inferred)
    every, minutes = known.exercise_every_days, known.exercise_minutes
    seen = f"{habit['times']} of {habit['intervals']} intervals between its runs"
    if every is None:
        every = float(habit["every"])
        inferred["exercise_every_days"] = f"{every:.0f} days in {seen}"
    if minutes is None:
        minutes = float(habit["minutes"])
        inferred["exercise_minutes"] = f"{minutes:.0f} min, median of {habit['runs']} runs"
    return replace(
        known,
        exercise_every_days=every,
        exercise_minutes=minutes,
        exercise_weekday=int(habit["weekday"]),
        exercise_minute_of_day=int(habit["minute"]),
        inferred=inferred,
    )


def _candidates(known: Mapping[str, Known], starts: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """Runs that may be exercises: neither by hand nor in an outage, of fitting length, with local begin."""
    asked = starts.filter(pl.col("started")).select("set_id", "run", "mains_lost_at", pl.col("mode").alias("asked_in"))
    runs = runs.join(asked, on=["set_id", "run"], how="inner").with_columns(
        (pl.col("running_s") / 60.0).alias("minutes")
    )
    parts = []
    for zone in {one.time_zone for one in known.values()}:
        own = [set_id for set_id, one in known.items() if one.time_zone == zone]
        part = runs.filter(pl.col("set_id").is_in(own))
        parts.append(
            part.with_columns(pl.col("began_at").dt.convert_time_zone(zone).dt.replace_time_zone(None).alias("local"))
        )
    local = pl.concat(parts).sort("set_id", "began_at")
    return local.with_columns(
        (pl.col("local").dt.hour().cast(pl.Int32) * 60 + pl.col("local").dt.minute()).alias("minute"),
        pl.coalesce("asked_in", "mode").alias("asked_in"),
    )


def _habits(known: Mapping[str, Known], starts: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    by_itself = _candidates(known, starts, runs).filter(
        pl.col("minutes").is_between(*EXERCISE_MINUTES)
        & pl.col("mains_lost_at").is_null()
        & pl.col("asked_in").ne_missing("manual")
    )
    days = (pl.col("local") - pl.col("local").shift(1).over("set_id")).dt.total_minutes() / DAY_MINUTES
    whole = days.round(0)
    paced = by_itself.with_columns(
        pl.when((days - whole).abs() <= WHOLE_DAY_SLACK).then(whole).alias("every"), days.alias("days")
    )
    paced = paced.with_columns(pl.col("days").count().over("set_id").alias("intervals"))
    found = (
        paced.filter(pl.col("every") >= 1)
        .group_by("set_id", "every")
        .agg(
            pl.len().alias("times"),
            pl.col("intervals").first(),
            pl.col("minute").median().alias("minute"),
            pl.col("minutes").median(),
            pl.col("local").dt.weekday().mode().min().alias("weekday"),
        )
        .filter((pl.col("times") >= LEAST_INTERVALS) & (pl.col("times") * 2 >= pl.col("intervals")))
        .sort("set_id", "times", "every", descending=[False, True, False])
    )
    return found.unique("set_id", keep="first", maintain_order=True).with_columns((pl.col("times") + 1).alias("runs"))


def with_causes(
    starts: pl.DataFrame, runs: pl.DataFrame, known: Mapping[str, Known]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Starts and runs with their causes: outage where mains were lost, by hand by the selector, exercise by habit.

    An exercise is told by test mode, by the habit's hour, or in automatic with mains present by its length.
    """
    habit = pl.DataFrame(
        {
            "set_id": list(known),
            "habit_minute": [one.exercise_minute_of_day for one in known.values()],
            "habit_minutes": [one.exercise_minutes for one in known.values()],
        },
        schema={"set_id": pl.String, "habit_minute": pl.Int64, "habit_minutes": pl.Float64},
    )
    local = _candidates(known, starts, runs).select("set_id", "run", "minute", "minutes", "asked_in")
    told = starts.join(local, on=["set_id", "run"], how="left").join(habit, on="set_id", how="left")
    mode = pl.coalesce("asked_in", "mode")
    apart = (pl.col("minute") - pl.col("habit_minute")).abs()
    on_time = pl.min_horizontal(apart, DAY_MINUTES - apart) <= NEAR_MINUTES
    fits = (pl.col("minutes") / pl.col("habit_minutes")).is_between(*LENGTH_RATIO) & mode.eq("automatic")
    cause = (
        pl.when(pl.col("mains_lost_at").is_not_null())
        .then(pl.lit("outage"))
        .when(mode.eq("manual"))
        .then(pl.lit("manual"))
        .when(mode.eq("test"))
        .then(pl.lit("exercise"))
        .when(on_time | fits)
        .then(pl.lit("exercise"))
        .otherwise(pl.lit("unknown"))
    )
    told = told.with_columns(cause.alias("cause"), mode.alias("mode")).select(starts.columns).sort("set_id", "demand")
    by_run = told.filter(pl.col("run").is_not_null()).select("set_id", "run", pl.col("cause").alias("told"))
    runs = runs.join(by_run, on=["set_id", "run"], how="left", maintain_order="left").with_columns(
        pl.col("told").fill_null("unknown").alias("cause")
    )
    return told, runs.drop("told")
