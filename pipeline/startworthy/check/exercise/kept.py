"""Does the set run now and then to stay ready, and for long enough?"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import polars as pl

from startworthy.check.found import (
    DAY_S,
    MINUTE_S,
    TELLS_RUNNING,
    day_begins,
    day_ends,
    found,
    least,
    middle,
    most,
    not_assessed,
    seconds,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.logbook.tables import UTC_TIME
from startworthy.results import Known, Logbook

_NO_LENGTH_S = 0.0


def _every_days(known: Known) -> tuple[float | None, bool]:
    """Days between exercises, and whether they are only a habit told from the log."""
    plan = known.entry.exercise.every_days
    return (plan, False) if plan is not None else (known.exercise_every_days, True)


def exercise_minutes(known: Known) -> float | None:
    """Minutes of an exercise by the plan, else by habit; None where neither is known."""
    return known.entry.exercise.minutes or known.exercise_minutes


@check(
    "exercise.missed",
    question=Question.CARE,
    carries=True,
    signals=[TELLS_RUNNING],
    needs=["days"],
    limits=[
        "exercise_missed_intervals",
        "exercise_log_intervals",
        "exercise_good_since",
        "exercise_seen_within_s",
        "exercise_rows",
        "exercise_short_share",
        "log_coverage_fraction",
    ],
    since="0.1",
)
def missed(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Covered stretches, longer than the interval and its slack, without any run that counts as exercise."""
    every, habit = _every_days(known)
    if every is None:
        yield not_assessed("exercise.missed", Reason.NOT_IN_REGISTER, key="exercise.every_days")
        return
    minutes = exercise_minutes(known)
    sampling = book.sampling[known.set_id]
    interval_s = sampling.running_s or sampling.rest_s
    wanted_s = (
        limit.value("exercise_seen_within_s") if minutes is None else minutes * MINUTE_S / limit.value("exercise_rows")
    )
    if interval_s is not None and interval_s > wanted_s:
        yield not_assessed("exercise.missed", Reason.TOO_COARSE, interval_s=interval_s, wanted_s=wanted_s)
        return
    began, ended = watched(book, known)
    covered_days, wanted_days = seconds(ended, began) / DAY_S, every * limit.value("exercise_log_intervals")
    if covered_days < wanted_days:
        yield not_assessed(
            "exercise.missed", Reason.TOO_SHORT, seen_s=covered_days * DAY_S, wanted_s=wanted_days * DAY_S
        )
        return
    slack = limit["exercise_missed_intervals"]
    hidden = holes(book, known, limit, (began, ended), (minutes or _NO_LENGTH_S) * MINUTE_S)
    longest_days = most(_between(hidden)["days"]) or 0.0
    if not slack.broken_by(longest_days / every):
        yield not_assessed(
            "exercise.missed",
            Reason.TOO_SHORT,
            why="gaps",
            seen_s=longest_days * DAY_S,
            wanted_s=every * slack.value * DAY_S,
        )
        return
    runs = _counted_runs(book, limit, minutes)
    stretches = _between(pl.concat([hidden, runs]))
    inside = (pl.col("before") == "run") & (pl.col("after") == "run")
    # between two runs one interval was kept; where a run is not seen at an end, only whole intervals are sure
    times = pl.max_horizontal(
        pl.lit(1.0),
        pl.when(inside).then((pl.col("days") / every).round() - 1.0).otherwise((pl.col("days") / every).floor()),
    )
    bad = stretches.with_columns(times.alias("missed")).filter(pl.col("days") / every > slack.value)
    if bad.is_empty():
        yield Clear(
            "exercise.missed",
            {
                "runs": runs.height,
                "every_days": every,
                "longest_s": float(most(stretches["days"]) or 0.0) * DAY_S,
            },
        )
        return
    worst, last = bad.sort("days").row(-1, named=True), bad.row(-1, named=True)
    count = int(bad["missed"].sum())
    since = runs.filter(pl.col("began_at") >= last["ended_at"]).height
    lasts = last["ended_at"] == ended
    once = count == 1 and not limit["exercise_good_since"].broken_by(since)
    variant = "once" if once else ("lasts" if lasts else "missed") + ("_habit" if habit else "")
    yield found(
        "exercise.missed",
        Severity.NOTE if once else Severity.SOON,
        slack,
        worst["days"] / every,
        (bad["began_at"][0], last["ended_at"]),
        variant=variant,
        evidence={
            "missed": count,
            "longest_s": worst["days"] * DAY_S,
            "every_days": every,
            "habit": habit,
            "since": since,
            "from_date": worst["began_at"],
            "until_date": worst["ended_at"],
            "last_date": last["began_at"],
            "told": known.inferred.get("exercise_every_days"),
        },
    )


def watched(book: Logbook, known: Known) -> tuple[datetime, datetime]:
    """From when to when exercises are looked for: the log, but not before the set was commissioned."""
    began, ended = book.span[known.set_id]
    commissioned = known.entry.commissioned
    return (max(began, day_begins(commissioned, known.time_zone)) if commissioned else began), ended


def holes(
    book: Logbook, known: Known, limit: Limits, watched: tuple[datetime, datetime], hides_s: float
) -> pl.DataFrame:
    """Time in which an exercise could go unseen: long gaps, poorly covered days, the ends of the log."""
    began, ended = watched
    gaps = book.marks.filter(
        pl.col("kind") == "gap",
        pl.col("ended_at").is_not_null(),
        (pl.col("ended_at") - pl.col("began_at")).dt.total_seconds() > hides_s,
    ).select("began_at", "ended_at")
    # the first and the last day are only partly in the log: that is no hole
    days = book.days.sort("day")
    poor = days.slice(1, max(0, days.height - 2)).filter(
        pl.col("coverage").fill_null(0.0) < limit.value("log_coverage_fraction")
    )
    poor_days = pl.DataFrame(
        {
            "began_at": [day_begins(day, known.time_zone) for day in poor["day"]],
            "ended_at": [day_ends(day, known.time_zone) for day in poor["day"]],
        },
        schema={"began_at": UTC_TIME, "ended_at": UTC_TIME},
    )
    ends = pl.DataFrame({"began_at": [began, ended], "ended_at": [began, ended]}, schema=poor_days.schema)
    return (
        pl.concat([gaps, poor_days, ends])
        .filter(pl.col("ended_at") >= began, pl.col("began_at") <= ended)
        .with_columns(pl.lit("hole").alias("kind"))
    )


def _counted_runs(book: Logbook, limit: Limits, minutes: float | None) -> pl.DataFrame:
    """Runs that count as exercise: any but those by hand or in an outage that were too short to be one."""
    long_enough = pl.lit(True)
    if minutes is not None:
        least_s = minutes * MINUTE_S * limit.value("exercise_short_share")
        other = pl.col("cause").is_in(["manual", "outage"])
        cut = ~pl.col("start_seen") | ~pl.col("end_seen")
        long_enough = ~other | cut | (pl.col("running_high_s").fill_null(least_s) >= least_s)
    return book.runs.sort("began_at").filter(long_enough).select("began_at", "ended_at", pl.lit("run").alias("kind"))


def _between(stops: pl.DataFrame) -> pl.DataFrame:
    """The stretches between the stops (began_at, ended_at, kind), in order, with the kinds at both ends."""
    reach = pl.col("ended_at").cum_max().shift(1)
    return (
        stops.sort("began_at", "ended_at", maintain_order=True)
        .select(
            reach.alias("began_at"),
            pl.col("began_at").alias("ended_at"),
            pl.col("kind").shift(1).alias("before"),
            pl.col("kind").alias("after"),
        )
        .drop_nulls("began_at")
        .with_columns(
            ((pl.col("ended_at") - pl.col("began_at")).dt.total_milliseconds() / (1000.0 * DAY_S)).alias("days")
        )
        .filter(pl.col("days") > 0.0)
    )


@check(
    "exercise.short",
    question=Question.CARE,
    signals=[TELLS_RUNNING],
    needs=["runs"],
    limits=[
        "exercise_short_share",
        "exercise_recent",
        "recent_repeats",
        "exercise_habit_least",
        "exercise_habit_s",
    ],
    since="0.1",
)
def short(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Exercises whose running time, at its upper bound, falls short of the plan, or of the set's habit."""
    share, recent = limit["exercise_short_share"], int(limit.value("exercise_recent"))
    done = exercises(book, known, limit)
    if done.is_empty():
        yield not_assessed("exercise.short", Reason.NOTHING_SEEN, why="no_exercise")
        return
    minutes = known.entry.exercise.minutes
    if minutes is None:
        yield from _shrunk(known, limit, done)
        return
    least_s = minutes * MINUTE_S * share.value
    blur_s = pl.col("running_high_s") - pl.col("running_low_s")
    seen = done.filter(blur_s.fill_null(0.0) < least_s)
    if seen.is_empty():
        yield not_assessed(
            "exercise.short",
            Reason.TOO_COARSE,
            interval_s=middle(done["resolution_s"]),
            wanted_s=least_s / 2,
        )
        return
    latest = seen.tail(recent)
    hits = latest.filter(pl.col("running_high_s") < least_s)
    if hits.is_empty():
        yield Clear(
            "exercise.short",
            {
                "exercises": seen.height,
                "shortest_s": least(seen["running_high_s"]),
                "planned_s": minutes * MINUTE_S,
            },
        )
        return
    often = limit["recent_repeats"].broken_by(hits.height)
    worst_s = least(hits["running_high_s"]) or 0.0
    yield found(
        "exercise.short",
        Severity.SOON if often else Severity.NOTE,
        share,
        worst_s / (minutes * MINUTE_S),
        (hits["began_at"][0], hits["ended_at"][-1]),
        variant="often" if often else "once",
        evidence={
            "short": hits.height,
            "latest": latest.height,
            "shortest_s": worst_s,
            "planned_s": minutes * MINUTE_S,
            "last_at": hits["began_at"][-1],
        },
    )


def exercises(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """Whole exercise runs in order: told as such, or of unknown cause at the hour of the set's exercises."""
    told = pl.col("cause") == "exercise"
    hour = known.exercise_minute_of_day
    if hour is not None:
        local = pl.col("began_at").dt.convert_time_zone(known.time_zone)
        minute = local.dt.hour().cast(pl.Int32) * 60 + local.dt.minute().cast(pl.Int32)
        away = (minute - hour).abs()
        day_minutes = int(DAY_S / MINUTE_S)
        near = pl.min_horizontal(away, day_minutes - away) <= limit.value("exercise_habit_s") / MINUTE_S
        told = told | ((pl.col("cause") == "unknown") & near)
    whole = pl.col("start_seen") & pl.col("end_seen") & (pl.col("missing_s").fill_null(0.0) == 0.0)
    return book.runs.sort("began_at").filter(told, whole, pl.col("running_high_s").is_not_null())


def _shrunk(known: Known, limit: Limits, done: pl.DataFrame) -> Iterator[Outcome]:
    """Without a plan: all of the latest exercises are shorter than the set's own earlier ones."""
    share, recent = limit["exercise_short_share"], int(limit.value("exercise_recent"))
    enough = limit["exercise_habit_least"]
    earlier, latest = done.head(max(0, done.height - recent)), done.tail(recent)
    if enough.broken_by(earlier.height):
        yield not_assessed(
            "exercise.short",
            Reason.TOO_FEW,
            why="no_habit",
            seen=done.height,
            wanted=int(enough.value) + recent,
        )
        return
    habit_s = middle(earlier["running_low_s"]) or 0.0
    longest_s = most(latest["running_high_s"]) or 0.0
    if habit_s <= 0.0 or not share.broken_by(longest_s / habit_s):
        yield Clear(
            "exercise.short",
            {"exercises": done.height, "shortest_s": least(done["running_high_s"]), "planned_s": habit_s},
        )
        return
    yield found(
        "exercise.short",
        Severity.SOON,
        share,
        longest_s / habit_s,
        (latest["began_at"][0], latest["ended_at"][-1]),
        variant="shrunk",
        evidence={
            "latest": latest.height,
            "longest_s": longest_s,
            "habit_s": habit_s,
            "last_at": latest["began_at"][0],
        },
    )
