"""Does the exercise warm the engine through?"""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.exercise.kept import exercises
from startworthy.check.found import MINUTE_S, TELLS_RUNNING, found, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook


@check(
    "exercise.cold",
    question=Question.CARE,
    signals=[TELLS_RUNNING, "coolant_c"],
    needs=["runs"],
    limits=[
        "exercise_hot_c",
        "exercise_hot_slack_c",
        "exercise_hot_coarse_c",
        "exercise_seen_within_s",
        "exercise_coolant_rise_c",
        "exercise_hot_plan_minutes",
        "exercise_hot_after_minutes",
        "exercise_recent",
        "exercise_habit_s",
        "recent_repeats",
    ],
    since="0.1",
)
def cold(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Long exercises in which the coolant never came to working temperature, where the plan is meant to reach it."""
    code, hot = "exercise.cold", limit["exercise_hot_c"]
    if known.entry.air_cooled:
        yield not_assessed(code, Reason.NOTHING_SEEN, why="air_cooled")
        return
    minutes, wanted = known.entry.exercise.minutes, limit["exercise_hot_plan_minutes"]
    if hot.basis != "register" and (minutes is None or wanted.broken_by(minutes)):
        yield not_assessed(code, Reason.NOT_IN_REGISTER, why="short_plan", minutes=minutes, wanted_minutes=wanted.value)
        return
    done = exercises(book, known, limit)
    long_s = limit.value("exercise_hot_after_minutes") * MINUTE_S
    # a sensor that does not follow the engine says nothing of it
    rise_c = pl.col("coolant_max_c") - pl.col("coolant_before_c")
    seen = done.filter(
        pl.col("running_low_s") >= long_s,
        pl.col("coolant_max_c").is_not_null(),
        (rise_c >= limit.value("exercise_coolant_rise_c")).fill_null(True) | (pl.col("coolant_max_c") >= hot.value),
    )
    if seen.is_empty():
        yield not_assessed(code, Reason.NOTHING_SEEN, why="no_long_exercise", exercises=done.height, wanted_s=long_s)
        return
    latest = seen.tail(int(limit.value("exercise_recent")))
    # coolant climbs to the very end of an unloaded run: rows far apart miss the last of it
    coarse = pl.col("resolution_s") > limit.value("exercise_seen_within_s")
    missed_c = pl.when(coarse).then(limit.value("exercise_hot_coarse_c")).otherwise(0.0)
    hits = latest.filter(pl.col("coolant_max_c") + missed_c < hot.value - limit.value("exercise_hot_slack_c"))
    if hits.is_empty():
        yield Clear(code, {"exercises": seen.height, "coolant_c": middle(seen["coolant_max_c"]), "hot_c": hot.value})
        return
    often = limit["recent_repeats"].broken_by(hits.height)
    yield found(
        code,
        Severity.SOON if often else Severity.NOTE,
        hot,
        middle(hits["coolant_max_c"]) or hot.value,
        (hits["began_at"][0], hits["ended_at"][-1]),
        variant="often" if often else "once",
        evidence={
            "cold": hits.height,
            "latest": latest.height,
            "coolant_c": middle(hits["coolant_max_c"]),
            "warmest_c": most(hits["coolant_max_c"]),
            "hot_c": hot.value,
            "ran_s": middle(hits["running_s"]),
            "ambient_c": middle(hits["ambient_c"]),
            "load_fraction": middle(hits["load_fraction_mean"]),
            "last_at": hits["began_at"][-1],
        },
    )
