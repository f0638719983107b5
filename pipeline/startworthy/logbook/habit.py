"""The set's exercise habit, learnt from its own runs, and why each demand was made."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import polars as pl

from startworthy.results import Known

# Common practice, no source.
EXERCISE_MINUTES = (3.0, 120.0)
LEAST_INTERVALS, LEAST_PLANNED, LEAST_REPEATS = 3, 1, 2
NEAR_MINUTES, GRID_MINUTES = 30, 15
LONGEST_EVERY_DAYS = 62
LENGTH_RATIO = (0.5, 1.5)
ALIKE, NEARLY = 1.33, 0.75
HOUR_MINUTES, DAY_MINUTES, WEEK_DAYS = 60, 1440, 7


def with_habit(known: Mapping[str, Known], starts: pl.DataFrame, runs: pl.DataFrame) -> dict[str, Known]:
    """Known, with the exercise habit filled in where the register has no plan. Times are the set's local ones."""
    habits = {row["set_id"]: row for row in _habits(known, starts, runs).iter_rows(named=True)}
    return {set_id: _learnt(one, habits.get(set_id)) for set_id, one in known.items()}


def _learnt(known: Known, habit: dict[str, Any] | None) -> Known:
    if habit is None:
        return known
    inferred = dict(known.inferred)
    every, minutes = known.exercise_every_days, known.exercise_minutes
    seen = f"{habit['times']} of {habit['intervals']} intervals between its runs at that hour"
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
        exercise_minute_utc=int(habit["minute_utc"]) if habit["clock"] == "utc" else None,
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
        _minute_of_day("local").alias("minute"),
        _minute_of_day("began_at").alias("minute_utc"),
        pl.coalesce("asked_in", "mode").alias("asked_in"),
    )


def _minute_of_day(column: str) -> pl.Expr:
    return pl.col(column).dt.hour().cast(pl.Int32) * 60 + pl.col(column).dt.minute()


def _habits(known: Mapping[str, Known], starts: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """One row per set with a habit: every, times, intervals, runs, minute, minute_utc, clock, minutes, weekday.

    An hour of the day at which it runs most often, and the whole number of days that lies most often between two runs
    of like length at that hour, whatever ran in between.
    """
    by_itself = _candidates(known, starts, runs).filter(
        pl.col("minutes").is_between(*EXERCISE_MINUTES)
        & pl.col("mains_lost_at").is_null()
        & pl.col("asked_in").ne_missing("manual")
    )
    at_hour = _at_one_hour(by_itself)
    apart = _pairs(at_hour)
    plan = pl.DataFrame(
        {"set_id": list(known), "plan": [one.entry.exercise.every_days for one in known.values()]},
        schema={"set_id": pl.String, "plan": pl.Float64},
    )
    every = apart.group_by("set_id", "every").agg(pl.col("times").sum()).join(plan, on="set_id", how="left")
    every = every.join(at_hour.group_by("set_id").agg((pl.len().cast(pl.Int64) - 1).alias("intervals")), on="set_id")
    planned = (pl.col("every") == pl.col("plan")).fill_null(False)
    least = pl.when(planned).then(LEAST_PLANNED).otherwise(LEAST_INTERVALS)
    found = (
        every.filter((pl.col("times") >= least) & (pl.col("times") * 2 >= pl.col("intervals")))
        # where some were left out, two intervals may lie between as many runs as one
        .filter(pl.col("times") >= NEARLY * pl.col("times").max().over("set_id"))
        .sort("set_id", "every")
        .unique("set_id", keep="first", maintain_order=True)
        .drop("plan")
    )
    # what lies a whole interval from another run of like length is what the hour and the length are taken from
    own = apart.join(found.select("set_id", "every"), on=["set_id", "every"], how="semi")
    ends = pl.concat([own.select("set_id", "run"), own.select("set_id", pl.col("next_run").alias("run"))]).unique()
    figures = (
        at_hour.join(ends, on=["set_id", "run"], how="semi")
        .group_by("set_id")
        .agg(
            pl.len().alias("runs"),
            pl.col("clock").first(),
            (pl.col("window") + pl.col("within").median()).first().alias("shown"),
            pl.col("minute").median(),
            pl.col("minute_utc").median(),
            pl.col("minutes").median(),
            pl.col("local").dt.weekday().mode().min().alias("weekday"),
        )
    )
    # around midnight a median of minutes of the day would be noon: the window's own count is taken
    shown = pl.col("shown") % DAY_MINUTES
    return found.join(figures, on="set_id").with_columns(
        pl.when(pl.col("clock") == "local").then(shown).otherwise("minute").alias("minute"),
        pl.when(pl.col("clock") == "utc").then(shown).otherwise("minute_utc").alias("minute_utc"),
    )


def _at_one_hour(by_itself: pl.DataFrame) -> pl.DataFrame:
    """The runs within the hour of the day in which most begin, by local time or, for timers that keep winter time, UTC.

    One run a day. Adds clock (local or utc), window (minute of the day at which the hour begins), within (minutes into
    it), day (number of the day by that clock).
    """
    both = pl.concat(
        [
            by_itself.with_columns(
                pl.lit(clock).alias("clock"), pl.col(minute).alias("shows"), pl.col(instant).dt.date().alias("date")
            )
            for clock, minute, instant in (("local", "minute", "local"), ("utc", "minute_utc", "began_at"))
        ]
    )
    back = list(range(0, 2 * NEAR_MINUTES, GRID_MINUTES))
    spread = both.with_columns(pl.lit(back).alias("back")).explode("back")
    first = (pl.col("shows") // GRID_MINUTES) * GRID_MINUTES - pl.col("back")
    spread = spread.with_columns((first % DAY_MINUTES).alias("window"))
    spread = spread.with_columns(((pl.col("shows") - pl.col("window")) % DAY_MINUTES).alias("within"))
    spread = spread.with_columns(
        # an hour across midnight belongs to the day on which it begins
        (pl.col("date").cast(pl.Int32) - (pl.col("window") + pl.col("within") >= DAY_MINUTES).cast(pl.Int32)).alias(
            "day"
        )
    )
    spread = spread.sort("began_at").unique(["set_id", "clock", "window", "day"], keep="first", maintain_order=True)
    most = (
        spread.group_by("set_id", "clock", "window")
        .agg(pl.len().cast(pl.Int64).alias("n"), (pl.col("within").median() - NEAR_MINUTES).abs().alias("off"))
        # by local time unless more runs than chance keep to the other clock
        .with_columns(pl.col("n") - pl.when(pl.col("clock") == "utc").then(LEAST_INTERVALS).otherwise(0))
        .sort("set_id", "n", "off", "window", descending=[False, True, False, False])
        .unique("set_id", keep="first", maintain_order=True)
    )
    return spread.join(most.select("set_id", "clock", "window"), on=["set_id", "clock", "window"], how="semi")


def _pairs(at_hour: pl.DataFrame) -> pl.DataFrame:
    """Pairs of runs of like length, with the days between them: set_id, run, next_run, every, times (1 each)."""
    low, high = pl.col("running_low_s"), pl.col("running_high_s")
    one = at_hour.select("set_id", "run", "day", low, high)
    other = at_hour.select(
        "set_id", pl.col("run").alias("next_run"), pl.col("day").alias("next_day"),
        low.alias("next_low_s"), high.alias("next_high_s"),
    )  # fmt: skip
    every = pl.col("next_day") - pl.col("day")
    alike = (low <= ALIKE * pl.col("next_high_s")) & (pl.col("next_low_s") <= ALIKE * high)
    pairs = one.join(other, on="set_id").filter(every.is_between(1, LONGEST_EVERY_DAYS) & alike)
    return pairs.select("set_id", "run", "next_run", every.cast(pl.Float64).alias("every"), pl.lit(1).alias("times"))


def with_causes(
    starts: pl.DataFrame, runs: pl.DataFrame, known: Mapping[str, Known]
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Starts and runs with their causes: outage where mains were lost, by hand by the selector, exercise by habit.

    An exercise is told by test mode, by the habit's hour, by others of its length whole intervals away at any one hour,
    or in automatic with mains present by its length. Where no mode is logged, the hour tells it only together with the
    length or with the day.
    """
    habit = pl.DataFrame(
        {
            "set_id": list(known),
            "habit_minute": [one.exercise_minute_of_day for one in known.values()],
            "habit_minute_utc": [one.exercise_minute_utc for one in known.values()],
            "habit_weekday": [one.exercise_weekday for one in known.values()],
            "habit_every": [one.exercise_every_days for one in known.values()],
            "habit_minutes": [one.exercise_minutes for one in known.values()],
        },
        schema={
            "set_id": pl.String, "habit_minute": pl.Int64, "habit_minute_utc": pl.Int64, "habit_weekday": pl.Int64,
            "habit_every": pl.Float64, "habit_minutes": pl.Float64,
        },
    )  # fmt: skip
    own = ("set_id", "run", "minute", "minute_utc", "local", "minutes", "asked_in")
    local = _candidates(known, starts, runs)
    repeats = _repeats(local, habit.select("set_id", "habit_every"))
    told = starts.join(local.select(own), on=["set_id", "run"], how="left").join(habit, on="set_id", how="left")
    told = told.join(repeats, on=["set_id", "run"], how="left")
    mode = pl.coalesce("asked_in", "mode")
    on_time = (
        pl.when(pl.col("habit_minute_utc").is_null())
        .then(_apart("minute", "habit_minute") <= NEAR_MINUTES)
        .otherwise(_apart("minute_utc", "habit_minute_utc") <= NEAR_MINUTES)
    )
    like = (pl.col("minutes") / pl.col("habit_minutes")).is_between(*LENGTH_RATIO)
    weekly = (pl.col("habit_every") % WEEK_DAYS == 0) & (pl.col("local").dt.weekday() == pl.col("habit_weekday"))
    surely = mode.is_not_null() | like | weekly
    # daylight saving that the timer or the zone given for the set does not follow
    hour_off = ((_apart("minute", "habit_minute") - HOUR_MINUTES).abs() <= GRID_MINUTES) & (like | weekly)
    again = (pl.col("repeats") >= LEAST_REPEATS).fill_null(False)
    cause = (
        pl.when(pl.col("mains_lost_at").is_not_null())
        .then(pl.lit("outage"))
        .when(mode.eq("manual"))
        .then(pl.lit("manual"))
        .when(mode.eq("test"))
        .then(pl.lit("exercise"))
        .when((on_time & surely) | hour_off | again | (like & mode.eq("automatic")))
        .then(pl.lit("exercise"))
        .otherwise(pl.lit("unknown"))
    )
    told = told.with_columns(cause.alias("cause"), mode.alias("mode")).select(starts.columns).sort("set_id", "demand")
    by_run = told.filter(pl.col("run").is_not_null()).select("set_id", "run", pl.col("cause").alias("told"))
    runs = runs.join(by_run, on=["set_id", "run"], how="left", maintain_order="left").with_columns(
        pl.col("told").fill_null("unknown").alias("cause")
    )
    return told, runs.drop("told")


def _repeats(local: pl.DataFrame, every: pl.DataFrame) -> pl.DataFrame:
    """set_id, run, repeats: how many runs of like length lie one to three whole intervals away at the same hour."""
    own = local.filter(pl.col("mains_lost_at").is_null() & pl.col("asked_in").ne_missing("manual"))
    own = own.select("set_id", "run", "local", "began_at", "running_low_s", "running_high_s")
    pairs = own.join(every.drop_nulls(), on="set_id").join(own, on="set_id", suffix="_2")
    low, high = pl.col("running_low_s"), pl.col("running_high_s")
    alike = (low <= ALIKE * pl.col("running_high_s_2")) & (pl.col("running_low_s_2") <= ALIKE * high)
    interval = pl.col("habit_every") * DAY_MINUTES
    near = pl.lit(False)
    for clock in ("local", "began_at"):
        away = (pl.col(f"{clock}_2") - pl.col(clock)).dt.total_minutes().abs()
        times = (away / interval).round()
        near = near | (times.is_between(1, 3) & ((away - times * interval).abs() <= NEAR_MINUTES))
    return pairs.filter(alike & near).group_by("set_id", "run").agg(pl.len().alias("repeats"))


def _apart(minute: str, other: str) -> pl.Expr:
    """Minutes between two minutes of the day, across midnight where that is nearer."""
    away = (pl.col(minute) - pl.col(other)).abs()
    return pl.min_horizontal(away, DAY_MINUTES - away)
