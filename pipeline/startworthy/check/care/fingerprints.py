"""The traces that a set's timers leave in its logbook: one row of values for each, in order of time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import polars as pl

from startworthy.check.care.modes import OUT, PROTECTIVE
from startworthy.check.found import DAY_S, HOUR_S, MINUTE_S, day_begins, middle
from startworthy.limits import Limits
from startworthy.logbook.tables import UTC_TIME
from startworthy.results import Known, Logbook

Kind = Literal["start", "timer", "count", "interval", "hour", "level", "volts"]


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """One timer, and what it left behind.

    events, sorted by at: at, value; dt, the interval of rows, of a timer in seconds; temp_c where it may follow it.
    name: as a person would say it. unit: ending that tells how a value is printed. dt: what rows apart may move a
    value by, in its unit. kind: which rows show it, and how a change of it is judged.
    """

    name: str
    unit: str
    kind: Kind
    dt: float
    events: pl.DataFrame


def fingerprints(book: Logbook, known: Known, limit: Limits) -> Iterator[Fingerprint]:
    """All fingerprints that the rows are close enough to show, of three events a side or more at best."""
    least = 2 * int(limit.value("settings_events"))
    every = (
        *_of_attempts(book, limit),
        *_of_starts(book, known, limit),
        *_of_runs(book, limit),
        *_of_exercises(book, known, limit),
        *_of_levels(book, known),
    )
    yield from (one for one in every if one.events.height >= least)


def exercises(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """Runs that may be exercises, in order: not by hand, not in an outage; `whole`: not cut short by a fault.

    None of a set that has no exercise, by its register and by its habit.
    """
    has_habit = (known.entry.exercise.every_days or known.exercise_every_days) is not None
    local = pl.col("began_at").dt.convert_time_zone(known.time_zone)
    return (
        book.runs.sort("began_at")
        .filter(
            pl.lit(has_habit),
            pl.col("cause").is_in(["exercise", "unknown"]),
            ~pl.col("mode").is_in(OUT).fill_null(False),
            pl.col("start_seen"),
            pl.col("running_s").is_between(
                limit.value("settings_exercise_least_s"), limit.value("settings_exercise_most_s")
            ),
        )
        .with_columns(
            (~pl.col("ended_by").is_in(PROTECTIVE)).alias("whole"),
            (local.dt.hour().cast(pl.Float64) + local.dt.minute() / MINUTE_S).alias("hour"),
        )
    )


def _of_attempts(book: Logbook, limit: Limits) -> Iterator[Fingerprint]:
    by_hand = book.starts.filter(pl.col("mode").is_in(OUT))["demand"]
    attempts = (
        book.attempts.sort("began_at")
        .filter(
            ~pl.col("demand").is_in(by_hand.implode()),
            pl.col("resolution_s") <= limit.value("settings_start_rows_s"),
        )
        .with_columns(pl.col("ended_at").shift(1).over("demand").alias("was_at"))
    )
    temp = pl.coalesce("coolant_before_c", "ambient_c").alias("temp_c")
    preheat = attempts.filter(pl.col("attempt") == 1, pl.col("preheat_s").is_not_null())
    yield _timer("preheat", "start", preheat.with_columns(temp), pl.col("preheat_s"))
    # only an attempt that did not fire runs into the limit of the starter
    failed = attempts.filter(~pl.col("fired"), pl.col("crank_s").is_not_null())
    yield _timer("crank time of failed attempts", "start", failed, pl.col("crank_s"))
    rested = attempts.filter(pl.col("attempt") > 1, pl.col("was_at").is_not_null())
    pause_s = (pl.col("began_at") - pl.col("was_at")).dt.total_milliseconds() / 1000.0
    yield _timer("rest between attempts", "start", rested, pause_s)


def _of_starts(book: Logbook, known: Known, limit: Limits) -> Iterator[Fingerprint]:
    starts = book.starts.sort("began_at").filter(~pl.col("mode").is_in(OUT).fill_null(False))
    gave_up = starts.filter(~pl.col("started"), pl.col("attempts").is_not_null())
    yield Fingerprint("attempts allowed", "", "count", 0.0, _events(gave_up, pl.col("attempts").cast(pl.Float64)))
    sampling = book.sampling[known.set_id]
    # mains are lost while it rests: their loss is only known to within a row at rest
    rest_s = sampling.rest_s or sampling.start_s
    if rest_s is None or limit["settings_start_rows_s"].broken_by(rest_s):
        return
    answered = starts.filter("started", pl.col("mains_lost_at").is_not_null()).with_columns(
        pl.max_horizontal("resolution_s", pl.lit(rest_s)).alias("resolution_s")
    )
    delay_s = (pl.col("began_at") - pl.col("mains_lost_at")).dt.total_milliseconds() / 1000.0
    yield _timer("start delay after loss of mains", "start", answered, delay_s - pl.col("preheat_s").fill_null(0.0))


def _of_runs(book: Logbook, limit: Limits) -> Iterator[Fingerprint]:
    runs = book.runs.sort("began_at").filter(~pl.col("mode").is_in(OUT).fill_null(False))
    ended = runs.filter(pl.col("ended_by") == "stop", "end_seen", pl.col("unloaded_end_s").is_not_null())
    begun = runs.filter("start_seen", pl.col("load_taken_s").is_not_null())
    outage = pl.col("cause") == "outage"
    start_rows = pl.col("resolution_s") <= limit.value("settings_start_rows_s")
    rows = pl.col("resolution_s") <= limit.value("settings_timer_rows_s")
    for own, where in ((outage, "in outages"), (~outage, "in exercises")):
        yield _timer(f"cool-down {where}", "timer", ended.filter(own, rows), pl.col("unloaded_end_s"))
        yield _timer(f"time to load {where}", "start", begun.filter(own, start_rows), pl.col("load_taken_s"))


def _of_exercises(book: Logbook, known: Known, limit: Limits) -> Iterator[Fingerprint]:
    done = exercises(book, known, limit)
    rows = pl.col("resolution_s") <= limit.value("settings_timer_rows_s")
    yield _timer("length of exercise", "timer", done.filter("whole", rows), pl.col("running_s"))
    interval_s = middle(done["resolution_s"]) or 0.0
    apart_days = (pl.col("began_at") - pl.col("began_at").shift(1)).dt.total_seconds() / DAY_S
    paced = _events(done, apart_days).drop_nulls("value")
    yield Fingerprint("interval of exercises", "days", "interval", interval_s / DAY_S, paced)
    usual = middle(done["hour"]) if known.exercise_minute_of_day is None else known.exercise_minute_of_day / MINUTE_S
    rest_s = book.sampling[known.set_id].rest_s or 0.0
    # hours run round the clock: told from the usual one, half a day either way
    noon = DAY_S / HOUR_S / 2
    turned = (pl.col("hour") - (usual or 0.0) + noon) % (2 * noon) - noon + (usual or 0.0)
    yield Fingerprint("hour of exercise", "clock", "hour", max(interval_s, rest_s) / HOUR_S, _events(done, turned))


def _of_levels(book: Logbook, known: Known) -> Iterator[Fingerprint]:
    dry = book.runs.sort("began_at").filter(pl.col("ended_by") == "fuel", pl.col("fuel_after_fraction").is_not_null())
    yield Fingerprint("low-fuel stop", "fraction", "level", 0.0, _events(dry, pl.col("fuel_after_fraction")))
    days = book.days.sort("day").filter(pl.col("on_charge").fill_null(False), pl.col("rest_battery_v").is_not_null())
    at = [day_begins(day, known.time_zone) for day in days["day"]]
    floating = days.select(
        pl.Series("at", at, dtype=UTC_TIME),
        pl.col("rest_battery_v").alias("value"),
        pl.coalesce("ambient_c", "rest_coolant_c").alias("temp_c"),
    )
    yield Fingerprint("float voltage", "v", "volts", 0.0, floating)


def _timer(name: str, kind: Kind, rows: pl.DataFrame, value_s: pl.Expr) -> Fingerprint:
    """A fingerprint in seconds; rows have began_at, resolution_s, and temp_c where it may follow temperature."""
    events = _events(rows, value_s, pl.col("resolution_s").alias("dt"))
    return Fingerprint(name, "s", kind, middle(rows["resolution_s"]) or 0.0, events)


def _events(rows: pl.DataFrame, value: pl.Expr, *more: pl.Expr) -> pl.DataFrame:
    temp = [pl.col("temp_c")] if "temp_c" in rows.columns else []
    return rows.select(pl.col("began_at").alias("at"), value.alias("value"), *more, *temp)
