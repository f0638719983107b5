"""It fired, and stopped again within the first minute though nobody asked it to."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import polars as pl

from startworthy.check.found import (
    DAY_S,
    MINUTE_S,
    TELLS_RUNNING,
    eased,
    found,
    least,
    log_ends,
    long_past,
    middle,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_NOT_NAMED = ("stop", "shutdown", "unknown")
"""Ends that name no protection: one that does is told by its own check."""


@check(
    "start.stalled",
    question=Question.START,
    signals=[TELLS_RUNNING],
    needs=["runs"],
    limits=[
        "start_stalled_s",
        "start_stalled_rows",
        "start_stalled_within_days",
        "recent_repeats",
        "exercise_habit_s",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def stalled(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Runs by themselves that ended within a minute, at the upper bound, with no reason to stop."""
    shortest, repeats = limit["start_stalled_s"], limit["recent_repeats"]
    wanted_s = shortest.value / limit.value("start_stalled_rows")
    runs = _by_itself(book, known, limit)
    if runs.is_empty():
        yield not_assessed("start.stalled", Reason.NOTHING_SEEN)
        return
    seen = runs.filter(pl.col("resolution_s") <= wanted_s)
    if seen.is_empty():
        interval_s = middle(runs["resolution_s"])
        yield not_assessed("start.stalled", Reason.TOO_COARSE, interval_s=interval_s, wanted_s=wanted_s)
        return
    short = pl.col("running_high_s") < shortest.value
    hits = seen.filter(short & pl.col("ended_by").is_in(_NOT_NAMED) & ~pl.col("mains_back").fill_null(False))
    if hits.is_empty():
        yield Clear("start.stalled", {"runs": seen.height, "shortest_s": least(seen["running_low_s"])})
        return
    last = hits.row(-1, named=True)
    window = timedelta(days=limit.value("start_stalled_within_days"))
    latest = hits.filter(pl.col("began_at") >= last["began_at"] - window)
    often = repeats.broken_by(latest.height)
    good_since = seen.filter(pl.col("began_at") > last["began_at"]).height
    past = long_past(limit, last["began_at"], log_ends(book, known.set_id), good_since)
    # a start whose cause is not known may be somebody's trial, unless the set itself called it a fault
    doubtful = not often and last["cause"] == "unknown" and last["end_text"] is None
    severity = Severity.NOTE if doubtful else Severity.URGENT if often else Severity.SOON
    yield found(
        "start.stalled",
        eased(severity) if past else severity,
        shortest,
        last["running_high_s"],
        (latest["began_at"][0], last["ended_at"]),
        variant="past" if past else "doubtful" if doubtful else "often" if often else "once",
        evidence={
            "stalled": hits.height,
            "runs": seen.height,
            "latest": latest.height,
            "ran_low_s": last["running_low_s"],
            "ran_high_s": last["running_high_s"],
            "last_at": last["began_at"],
            "good_since": good_since,
            "load_fraction": last["load_fraction_max"],
            "coolant_c": last["coolant_before_c"],
            "fuel_fraction": last["fuel_before_fraction"],
        },
    )


def _by_itself(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """Whole runs that the set was asked for by its own controls, in order, with `mains_back`.

    In test mode only those at the hour of the exercise count: at another hour somebody stands beside it.
    mains_back: the loss of the mains that it answered ended before the run did, so the stop was called for.
    """
    lost = book.marks.filter(pl.col("kind") == "mains_lost").select(
        pl.col("began_at").alias("mains_lost_at"), pl.col("ended_at").alias("mains_back_at")
    )
    answered = (
        book.starts.filter(pl.col("run").is_not_null() & pl.col("mains_lost_at").is_not_null())
        .select("run", "mains_lost_at")
        .join(lost.unique("mains_lost_at"), on="mains_lost_at", how="inner")
    )
    own = (pl.col("cause") != "manual") & ~pl.col("mode").is_in(["manual", "off"]).fill_null(False)
    trial = pl.col("mode").eq("test").fill_null(False) & ~_at_its_hour(known, limit)
    whole = pl.col("start_seen") & pl.col("end_seen") & (pl.col("missing_s").fill_null(0.0) == 0.0)
    return (
        book.runs.filter(own & ~trial & whole, pl.col("running_high_s").is_not_null())
        .join(answered.unique("run"), on="run", how="left")
        .with_columns((pl.col("mains_back_at") < pl.col("ended_at")).alias("mains_back"))
        .sort("began_at")
    )


def _at_its_hour(known: Known, limit: Limits) -> pl.Expr:
    """The run began near the hour of the set's exercises, local time; True where no hour is known."""
    if known.exercise_minute_of_day is None:
        return pl.lit(True)
    local = pl.col("began_at").dt.convert_time_zone(known.time_zone)
    minute = local.dt.hour().cast(pl.Int32) * int(MINUTE_S) + local.dt.minute().cast(pl.Int32)
    away, day_minutes = (minute - known.exercise_minute_of_day).abs(), int(DAY_S / MINUTE_S)
    return pl.min_horizontal(away, day_minutes - away) <= limit.value("exercise_habit_s") / MINUTE_S
