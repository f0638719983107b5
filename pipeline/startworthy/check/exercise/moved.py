"""Has the exercise left the day, the hour or the interval that it used to keep?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import polars as pl

from startworthy.check.exercise.kept import exercise_minutes, holes, watched
from startworthy.check.found import DAY_S, HOUR_S, MINUTE_S, TELLS_RUNNING, WEEK_DAYS, found, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Finding, Outcome, Question, Reason, Severity
from startworthy.limits import Limit, Limits
from startworthy.results import Known, Logbook

_DAY_MINUTES = int(DAY_S / MINUTE_S)
_HALF_DAY = _DAY_MINUTES // 2


@check(
    "exercise.moved",
    question=Question.CARE,
    signals=[TELLS_RUNNING],
    needs=["runs"],
    limits=[
        "exercise_moved_h",
        "exercise_moved_days",
        "exercise_moved_ratio",
        "exercise_moved_least",
        "exercise_slot_minutes",
        "exercise_timer_h",
        "exercise_like_share",
        "exercise_kept_share",
        "exercise_habit_least",
        "exercise_seen_within_s",
        "exercise_rows",
        "log_coverage_fraction",
        "recent_repeats",
    ],
    since="0.1",
)
def moved(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """The hour, the weekday and the interval of the latest exercises against those of the set's earlier ones."""
    code, minutes = "exercise.moved", exercise_minutes(known)
    sampling = book.sampling[known.set_id]
    interval_s = sampling.running_s or sampling.rest_s
    fine_s = limit.value("exercise_seen_within_s")
    wanted_s = fine_s if minutes is None else minutes * MINUTE_S / limit.value("exercise_rows")
    if interval_s is not None and interval_s > wanted_s:
        yield not_assessed(code, Reason.TOO_COARSE, interval_s=interval_s, wanted_s=wanted_s)
        return
    placed = _placed(_likely(book, known, limit, minutes), limit)
    habit = limit["exercise_habit_least"]
    sizes = placed.group_by("slot").agg(pl.len().alias("n"), pl.col("at").min().alias("first_at"))
    regular = sizes.filter(pl.col("n") >= habit.value)
    if regular.is_empty():
        wanted = int(habit.value + limit.value("exercise_moved_least"))
        yield not_assessed(code, Reason.TOO_FEW, why="no_habit", seen=placed.height, wanted=wanted)
        return
    first = placed.filter(pl.col("slot") == regular.sort("first_at")["slot"][0])
    finding = (
        _other_hour(book, placed, first, limit)
        or _other_day(book, _latest_slot(placed, regular), limit)
        or _other_interval(book, known, _latest_slot(placed, regular), limit, minutes)
    )
    yield finding or Clear(code, {"exercises": placed.height, "usual_time": _clock(first)})


def _likely(book: Logbook, known: Known, limit: Limits, minutes: float | None) -> pl.DataFrame:
    """Runs that may be exercises (not by hand, not in an outage, about as long): `at` and `local`, in order."""
    by_hand = pl.col("mode").is_in(["manual", "off"]).fill_null(False)
    outages = book.starts.filter(pl.col("mains_lost_at").is_not_null() & pl.col("run").is_not_null())["run"]
    long_enough = pl.lit(True)
    if minutes is not None:
        share = limit.value("exercise_like_share")
        ratio = pl.col("running_s") / (minutes * MINUTE_S)
        long_enough = (ratio >= share) & (ratio * share <= 1)
    local = pl.col("began_at").dt.convert_time_zone(known.time_zone).dt.replace_time_zone(None)
    return (
        book.runs.filter(
            pl.col("cause").is_in(["exercise", "unknown"]) & ~by_hand & pl.col("start_seen"),
            ~pl.col("run").is_in(outages.implode()),
            long_enough.fill_null(True),
        )
        .sort("began_at")
        .select(pl.col("began_at").alias("at"), "ended_at", local.alias("local"))
    )


def _placed(likely: pl.DataFrame, limit: Limits) -> pl.DataFrame:
    """Adds `minute` (local, of the day), `slot` (runs at about the same time of day) and `day` (number, by that time).

    Times of day close to one another make a slot; an hour of daylight saving lies within it. `day` turns half a day
    away from the slot's own time, so that an exercise at midnight does not change its weekday by a minute.
    """
    minute = pl.col("local").dt.hour().cast(pl.Int64) * int(MINUTE_S) + pl.col("local").dt.minute()
    runs = likely.with_columns(minute.alias("minute"))
    if runs.is_empty():
        return runs.with_columns(pl.lit(0).alias("slot"), pl.lit(0).alias("day"))
    ordered = runs["minute"].sort()
    gaps = ordered.diff().fill_null(ordered[0] + _DAY_MINUTES - ordered[-1])
    # the day is cut open at its longest stretch without a start
    turned = (pl.col("minute") - ordered[gaps.arg_max() or 0]) % _DAY_MINUTES
    apart = pl.col("turned").diff().fill_null(0) > limit.value("exercise_slot_minutes")
    runs = runs.with_columns(turned.alias("turned")).sort("turned", "at").with_columns(apart.cum_sum().alias("slot"))
    own = pl.col("minute").median().over("slot")
    first = pl.col("local").min()
    since = (pl.col("local") - first.dt.truncate("1d")).dt.total_minutes()
    return runs.with_columns(((since - own + _HALF_DAY) / _DAY_MINUTES).floor().cast(pl.Int64).alias("day")).sort("at")


def _latest_slot(placed: pl.DataFrame, regular: pl.DataFrame) -> pl.DataFrame:
    kept = placed.filter(pl.col("slot").is_in(regular["slot"].implode()))
    return kept.filter(pl.col("slot") == kept["slot"][-1])


def _other_hour(book: Logbook, placed: pl.DataFrame, first: pl.DataFrame, limit: Limits) -> Finding | None:
    """The slot that came after the first regular one had ended, and lies hours away from it."""
    later = placed.filter(pl.col("at") > first["at"][-1])
    counts = later.group_by("slot").agg(pl.len().alias("n"), pl.col("at").max().alias("last_at"))
    counts = counts.filter(pl.col("n") > limit.value("recent_repeats")).sort("n", "last_at")
    if counts.is_empty():
        return None
    now = later.filter(pl.col("slot") == counts["slot"][-1])
    away = abs((middle(now["minute"]) or 0.0) - (middle(first["minute"]) or 0.0))
    away_h = min(away, _DAY_MINUTES - away) * MINUTE_S / HOUR_S
    if not limit["exercise_moved_h"].broken_by(away_h) or _by_timer(book, first, now, limit):
        return None
    return _found("hour", limit["exercise_moved_h"], away_h, (first, now), limit)


def _other_day(book: Logbook, runs: pl.DataFrame, limit: Limits) -> Finding | None:
    """The same hour on another day of the week, where it used to be one day."""
    runs = runs.with_columns((pl.col("day") % int(WEEK_DAYS)).alias("weekday"))
    lasting = (pl.col("weekday") != pl.col("weekday").last()).cast(pl.Int32).reverse().cum_sum().reverse() == 0
    now, before = runs.filter(lasting), runs.filter(~lasting)
    usual = before["weekday"].mode().sort()
    kept = before.filter(pl.col("weekday") == usual[0]) if usual.len() else before
    enough = not limit["exercise_habit_least"].broken_by(kept.height) and limit["recent_repeats"].broken_by(now.height)
    if not enough or kept["weekday"][0] == now["weekday"][0]:
        return None
    # one that goes round the week keeps no day
    strays = limit["exercise_kept_share"].broken_by(kept.height / before.height)
    if strays or _by_timer(book, kept, now, limit):
        return None
    later = (int(now["weekday"][0]) - int(kept["weekday"][0])) % int(WEEK_DAYS)
    return _found("day", limit["exercise_moved_days"], min(later, WEEK_DAYS - later), (kept, now), limit)


def _other_interval(
    book: Logbook, known: Known, runs: pl.DataFrame, limit: Limits, minutes: float | None
) -> Finding | None:
    """The same hour, but the days between have changed and keep to their new number."""
    paced = runs.with_columns(pl.col("day").diff().alias("days")).drop_nulls("days")
    lasting = (pl.col("days") != pl.col("days").last()).cast(pl.Int32).reverse().cum_sum().reverse() == 0
    now, before = paced.filter(lasting), paced.filter(~lasting)
    usual = before["days"].mode().sort()
    kept = before.filter(pl.col("days") == usual[0]) if usual.len() else before
    least = limit["exercise_moved_least"]
    if least.broken_by(kept.height) or least.broken_by(now.height) or kept.height / before.height < 0.5:
        return None
    ratio = float(now["days"][0]) / float(kept["days"][0])
    change = max(ratio, 1 / ratio) if ratio > 0 else 0.0
    hidden = holes(book, known, limit, watched(book, known), (minutes or 0.0) * MINUTE_S).filter(
        pl.col("ended_at") > kept["at"][-1], pl.col("began_at") < now["at"][-1]
    )
    if not limit["exercise_moved_ratio"].broken_by(change) or hidden.height:
        return None
    return _found("rarer" if ratio > 1 else "oftener", limit["exercise_moved_ratio"], change, (kept, now), limit)


def _by_timer(book: Logbook, before: pl.DataFrame, now: pl.DataFrame, limit: Limits) -> bool:
    """A control that counts the days from the last run of any kind: a run by hand or in an outage shifts the rest."""
    every = most(before["day"].diff().drop_nulls().mode())
    if every is None:
        return False
    since_h = (now["at"][0] - pl.col("began_at")).dt.total_seconds() / HOUR_S
    between = book.runs.filter(
        pl.col("began_at") > before["at"][-1],
        pl.col("began_at") < now["at"][0],
        (since_h - every * DAY_S / HOUR_S).abs() <= limit.value("exercise_timer_h"),
    )
    return between.height > 0


def _found(
    variant: str, broken: Limit, value: float, both: tuple[pl.DataFrame, pl.DataFrame], limit: Limits
) -> Finding:
    before, now = both
    few = limit["exercise_moved_least"].broken_by(now.height)
    evidence: dict[str, Any] = {
        "before": before.height,
        "now": now.height,
        "was_time": _clock(before),
        "now_time": _clock(now),
        "was_every_days": middle(before["day"].diff()),
        "now_every_days": middle(now["day"].diff()),
        "was_date": before["at"][-1],
        "since_date": now["at"][0],
    }
    when = (now["at"][0], now["ended_at"][-1])
    severity = Severity.NOTE if few else Severity.SOON
    variant = "twice" if few else variant
    return found("exercise.moved", severity, broken, value, when, variant=variant, evidence=evidence)


def _clock(runs: pl.DataFrame) -> str:
    """The usual time of day of these runs."""
    minute = int(middle(runs["minute"]) or 0)
    return f"{minute // int(MINUTE_S):02d}:{minute % int(MINUTE_S):02d}"
