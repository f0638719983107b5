"""Will it start: demands that failed, starts that needed another attempt, cranks that last too long."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import polars as pl

from startworthy.check.found import (
    TELLS_STARTS,
    found,
    log_ends,
    long_past,
    middle,
    most,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_SPEAKS_OF_STARTS = frozenset({"alarm", "state"})
"""Signals that tell of a failed start however far apart the rows are. A starts counter may count good ones only."""


@check(
    "start.failed",
    question=Question.START,
    carries=True,
    signals=[TELLS_STARTS],
    needs=["starts"],
    limits=[
        "start_failed_demands",
        "fault_recent_days",
        "fault_good_since",
        "start_by_hand_h",
        "start_seen_within_s",
    ],
    since="0.1",
)
def failed(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Demands that led to no run. One in the table counts at any sampling; silence needs close rows."""
    starts = book.starts.sort("began_at")
    bad = starts.filter(~pl.col("started"))
    if bad.is_empty():
        sampling = book.sampling[known.set_id]
        interval_s = sampling.start_s or middle(starts["resolution_s"]) or sampling.rest_s
        wanted = limit["start_seen_within_s"]
        told = book.signals[known.set_id] & _SPEAKS_OF_STARTS
        if not told and (interval_s is None or wanted.broken_by(float(interval_s))):
            yield not_assessed("start.failed", Reason.TOO_COARSE, interval_s=interval_s, wanted_s=wanted.value)
            return
        yield Clear("start.failed", {"demands": starts.height, "last_at": starts["began_at"][-1]})
        return
    by_hand = _by_hand_then_good(starts, limit)
    last = bad.row(-1, named=True)
    good_since = starts.filter(pl.col("began_at") > last["began_at"]).height
    past = long_past(limit, last["began_at"], log_ends(book, known.set_id), good_since)
    variant = "by_hand" if by_hand else "latest" if good_since == 0 else "older" if past else "recent"
    severity = Severity.SOON if by_hand or past else Severity.URGENT
    if by_hand and not limit["fault_good_since"].broken_by(good_since):
        severity = Severity.NOTE
    attempts = book.attempts.filter(pl.col("demand").is_in(bad["demand"].implode()))
    yield found(
        "start.failed",
        severity,
        limit["start_failed_demands"],
        bad.height,
        (bad["began_at"][0], last["ended_at"] or last["began_at"]),
        variant=variant,
        evidence={
            "failed": bad.height,
            "demands": starts.height,
            "good_since": good_since,
            "first_at": bad["began_at"][0],
            "last_at": last["began_at"],
            "attempts": last["attempts_at_least"],
            "before_v": last["battery_before_v"],
            "crank_v": middle(attempts["battery_mean_v"]),
            "coolant_c": last["coolant_before_c"],
        },
    )


def _by_hand_then_good(starts: pl.DataFrame, limit: Limits) -> bool:
    """Every failed start was asked for by hand, and a good one followed soon: service work looks so."""
    within = timedelta(hours=limit.value("start_by_hand_h"))
    hand = (pl.col("cause") == "manual") | pl.col("mode").is_in(["manual", "off"]).fill_null(False)
    good_at = pl.when("started").then("began_at").backward_fill()
    return bool(
        starts.with_columns(good_at.alias("good_at"))
        .filter(~pl.col("started"))
        .select((hand & (pl.col("good_at") - pl.col("began_at") <= within).fill_null(False)).all())
        .item()
    )


@check(
    "start.retried",
    question=Question.START,
    signals=[TELLS_STARTS],
    needs=["starts"],
    limits=["start_attempts", "start_retried_share", "start_retried_window", "recent_repeats"],
    since="0.1",
)
def retried(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Starts that came, but not at the first attempt, where attempts could be counted."""
    one = limit["start_attempts"]
    tries = pl.coalesce("attempts", "attempts_at_least")
    good = book.starts.sort("began_at").filter("started")
    counted = good.filter(pl.col("attempts").is_not_null() | (pl.col("attempts_at_least") > one.value)).with_columns(
        (tries > one.value).alias("again"), tries.alias("tries")
    )
    if good.is_empty():
        yield not_assessed("start.retried", Reason.NOTHING_SEEN)
        return
    if counted.is_empty():
        yield not_assessed(
            "start.retried",
            Reason.TOO_COARSE,
            why="not_counted",
            interval_s=_interval_s(book, known.set_id, good),
            starts=good.height,
        )
        return
    latest = counted.tail(int(limit.value("start_retried_window")))
    again, in_latest = int(counted["again"].sum()), int(latest["again"].sum())
    if again == 0:
        yield Clear("start.retried", {"starts": counted.height, "of": good.height})
        return
    share, repeats = again / counted.height, limit["recent_repeats"]
    hits = counted.filter("again")
    evidence = {
        "again": again,
        "starts": counted.height,
        "again_share": share,
        "latest_again": in_latest,
        "latest": latest.height,
        "last_at": hits["began_at"][-1],
        "most": int(most(hits["tries"]) or 0),
        "coolant_c": hits["coolant_before_c"][-1],
    }
    when = (hits["began_at"][0], hits["ended_at"][-1] or hits["began_at"][-1])
    if repeats.broken_by(in_latest):
        yield found("start.retried", Severity.SOON, repeats, in_latest, when, variant="often", evidence=evidence)
    elif limit["start_retried_share"].broken_by(share) and repeats.broken_by(again) and in_latest > 0:
        yield found(
            "start.retried",
            Severity.SOON,
            limit["start_retried_share"],
            share,
            when,
            variant="often",
            evidence=evidence,
        )
    else:
        yield found("start.retried", Severity.NOTE, one, evidence["most"], when, variant="once", evidence=evidence)


def _interval_s(book: Logbook, set_id: str, starts: pl.DataFrame) -> float | None:
    """Seconds between rows around the starts, as the starts themselves say, else as the whole log does."""
    own = middle(starts["resolution_s"])
    return own if own is not None else book.sampling[set_id].start_s or book.sampling[set_id].rest_s


@check(
    "start.slow",
    question=Question.START,
    signals=[TELLS_STARTS],
    needs=["starts"],
    limits=[
        "start_slow_warm_s",
        "start_slow_cold_s",
        "start_cold_c",
        "start_slow_ordinary_cold_s",
        "start_slow_ratio",
        "start_slow_more_s",
        "start_slow_record_c",
        "start_slow_warmer_c",
        "start_slow_record_least",
        "start_slow_seen_within_s",
        "recent_starts",
        "recent_repeats",
    ],
    since="0.1",
)
def slow(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Cranks that last too long, by the lower bound of the attempt that fired: absolute, or by own record."""
    fired = book.attempts.sort("began_at").filter(pl.col("fired") & pl.col("crank_low_s").is_not_null())
    within = limit["start_slow_seen_within_s"]
    seen = fired.filter(pl.col("resolution_s") <= within.value)
    if fired.is_empty():
        yield not_assessed("start.slow", Reason.TOO_COARSE, why="not_seen")
        return
    if seen.is_empty():
        interval_s = _interval_s(book, known.set_id, book.starts)
        yield not_assessed("start.slow", Reason.TOO_COARSE, interval_s=interval_s, wanted_s=within.value)
        return
    judged = slow_cranks(seen, limit)
    latest = judged.tail(int(limit.value("recent_starts")))
    hits = latest.filter("slow")
    if hits.is_empty():
        yield Clear("start.slow", {"starts": seen.height, "longest_s": most(seen["crank_low_s"])})
        return
    repeats, worst = limit["recent_repeats"], hits.row(-1, named=True)
    often = repeats.broken_by(hits.height)
    own = worst["by_record"]
    name = "start_slow_ratio" if own else "start_slow_cold_s" if worst["cold"] else "start_slow_warm_s"
    value = worst["crank_low_s"] / worst["record_s"] if own else worst["crank_low_s"]
    yield found(
        "start.slow",
        Severity.SOON if often else Severity.NOTE,
        limit[name],
        value,
        (hits["began_at"][0], worst["ended_at"] or worst["began_at"]),
        variant=("record" if own else "long") if often else "once",
        evidence={
            "slow": hits.height,
            "latest": latest.height,
            "crank_s": worst["crank_low_s"],
            "coolant_c": worst["engine_c"],
            "record_s": worst["record_s"],
            "last_at": worst["began_at"],
            "allowed_s": worst["allowed_s"],
        },
    )


def slow_cranks(fired: pl.DataFrame, limit: Limits) -> pl.DataFrame:
    """The attempts (sorted by time), with `slow` and what they were judged by.

    Added: engine_c (coolant, else ambient), cold, allowed_s (absolute limit), record_s (median upper bound of
    earlier cranks at equal temperature, null where they are few), by_record (slow by that alone), slow.
    """
    engine_c = pl.coalesce("coolant_before_c", "ambient_c")
    frame = fired.with_columns(engine_c.alias("engine_c")).with_row_index("row")
    # a temperature that is not known is judged as cold: that limit is the wider one
    cold = pl.col("engine_c").is_null() | (pl.col("engine_c") < limit.value("start_cold_c"))
    frame = frame.with_columns(cold.alias("cold")).with_columns(
        pl.when("cold")
        .then(limit.value("start_slow_cold_s"))
        .otherwise(limit.value("start_slow_warm_s"))
        .alias("allowed_s")
    )
    earlier = frame.select(
        pl.col("row").alias("was"),
        pl.col("engine_c").alias("was_c"),
        pl.coalesce("crank_high_s", "crank_s", "crank_low_s").alias("was_s"),
    )
    warmer_c = pl.col("was_c") - pl.col("engine_c")
    record = (
        frame.select("row", "engine_c")
        .join(earlier, how="cross")
        .filter(
            pl.col("was") < pl.col("row"),
            warmer_c.is_between(-limit.value("start_slow_record_c"), limit.value("start_slow_warmer_c")),
        )
        .group_by("row")
        .agg(pl.col("was_s").median().alias("record_s"), pl.len().alias("record_n"))
        .filter(pl.col("record_n") >= limit.value("start_slow_record_least"))
        .select("row", "record_s")
    )
    crank = pl.col("crank_low_s")
    least_s = pl.when("cold").then(limit.value("start_slow_ordinary_cold_s")).otherwise(0.0)
    own = (
        (crank > limit.value("start_slow_ratio") * pl.col("record_s"))
        & (crank > pl.col("record_s") + limit.value("start_slow_more_s"))
        & (crank > least_s)
    ).fill_null(False)
    absolute = crank > pl.col("allowed_s")
    return (
        frame.join(record, on="row", how="left", maintain_order="left")
        .with_columns((own & ~absolute).alias("by_record"), (own | absolute).alias("slow"))
        .drop("row")
    )
