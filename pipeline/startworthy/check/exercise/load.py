"""Does the exercise put load on the set?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import polars as pl

from startworthy.check.exercise.kept import exercises
from startworthy.check.found import TELLS_RUNNING, found, middle, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limit, Limits
from startworthy.results import Known, Logbook


@check(
    "exercise.light_load",
    question=Question.CARE,
    signals=[TELLS_RUNNING, "power_kw|load_fraction"],
    needs=["runs"],
    limits=[
        "exercise_load_fraction",
        "exercise_load_slack_share",
        "exercise_load_rows",
        "exercise_like_share",
        "exercise_recent",
        "exercise_habit_least",
        "exercise_habit_s",
        "recent_repeats",
    ],
    since="0.1",
)
def light_load(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """The mean load of the latest exercises, from taking load to the cool-down, against the plan's or general least."""
    code, recent = "exercise.light_load", int(limit.value("exercise_recent"))
    done = exercises(book, known, limit)
    if done.is_empty():
        yield not_assessed(code, Reason.NOTHING_SEEN, why="no_exercise")
        return
    # one that broke off early had no time to take load
    usual_s = middle(done["running_s"]) or 0.0
    done = done.filter(pl.col("running_s").fill_null(0.0) >= limit.value("exercise_like_share") * usual_s)
    loaded = done.filter(pl.col("load_fraction_mean").is_not_null())
    if loaded.is_empty():
        if done["load_kw_mean"].null_count() < done.height:
            yield not_assessed(code, Reason.NOT_IN_REGISTER, key="rated_kw")
        else:
            yield not_assessed(code, Reason.NOTHING_SEEN, why="no_load")
        return
    rows = limit["exercise_load_rows"]
    seen = loaded.filter(pl.col("rows") >= rows.value).with_columns(_load().alias("load"))
    if seen.is_empty():
        yield not_assessed(
            code,
            Reason.TOO_COARSE,
            interval_s=middle(loaded["resolution_s"]),
            wanted_s=(middle(loaded["running_s"]) or 0.0) / rows.value,
        )
        return
    asked, least = known.entry.exercise.min_load_fraction, _least(known, limit)
    seen = seen.with_columns((pl.col("load") < least.value * limit.value("exercise_load_slack_share")).alias("light"))
    latest = seen.tail(recent)
    hits = latest.filter("light")
    # the stretch of light ones up to the end of the log, and what was usual before it
    lasting = (~pl.col("light")).cast(pl.Int32).reverse().cum_sum().reverse() == 0
    since, before = seen.filter(lasting), seen.filter(~lasting)
    often = limit["recent_repeats"].broken_by(hits.height)
    enough = limit["exercise_habit_least"]
    stands = not enough.broken_by(since.height)
    if hits.is_empty() or (asked is None and not stands):
        yield Clear(
            code, {"exercises": seen.height, "load_fraction": middle(seen["load"]), "least_fraction": least.value}
        )
        return
    own = before.filter(~pl.col("light"))
    fell = stands and not enough.broken_by(own.height) and 2 * own.height >= before.height
    pressing = often if asked is not None else fell
    shown = since if stands else hits
    load = middle(shown["load"]) or 0.0
    yield found(
        code,
        Severity.SOON if pressing else Severity.NOTE,
        least,
        load,
        (shown["began_at"][0], shown["ended_at"][-1]),
        variant="fell" if fell else "standing" if asked is None else "asked" if often else "once",
        evidence={
            "light": hits.height,
            "latest": latest.height,
            "exercises": seen.height,
            "load_fraction": load,
            "least_fraction": least.value,
            "before_fraction": middle(own["load"]),
            "since_date": shown["began_at"][0],
            "coolant_c": middle(shown["coolant_max_c"]),
        },
    )


def _least(known: Known, limit: Limits) -> Limit:
    """The least load: the plan's own goes before the general one."""
    least, asked = limit["exercise_load_fraction"], known.entry.exercise.min_load_fraction
    return least if asked is None else replace(least, value=asked, basis="register", source="register")


def _load() -> pl.Expr:
    """The mean load of a run over the time from taking load to the cool-down."""
    idle_s = pl.col("load_taken_s").fill_null(0.0) + pl.col("unloaded_end_s").fill_null(0.0)
    under_way_s = pl.col("running_s") - idle_s
    mean = pl.col("load_fraction_mean")
    return pl.when(under_way_s > 0).then(mean * pl.col("running_s") / under_way_s).otherwise(mean)
