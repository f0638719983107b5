"""Will it start: demands that failed, and starts that needed another attempt."""

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

SPEAKS_OF_STARTS = frozenset({"alarm", "state"})
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
        "start_log_ends_s",
        "start_seen_within_s",
    ],
    since="0.1",
)
def failed(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Demands that led to no run. One in the table counts at any sampling; silence needs close rows."""
    starts = decided(book, known.set_id, limit)
    bad = starts.filter(~pl.col("started"))
    if starts.is_empty():
        yield not_assessed("start.failed", Reason.NOTHING_SEEN)
        return
    if bad.is_empty():
        sampling = book.sampling[known.set_id]
        interval_s = sampling.start_s or middle(starts["resolution_s"]) or sampling.rest_s
        wanted = limit["start_seen_within_s"]
        told = book.signals[known.set_id] & SPEAKS_OF_STARTS
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


def decided(book: Logbook, set_id: str, limit: Limits) -> pl.DataFrame:
    """The demands in order, without one that the log's end cuts off before it can have led to a run or given up."""
    left_s = (log_ends(book, set_id) - pl.coalesce("ended_at", "began_at")).dt.total_microseconds() / (1000.0 * 1000.0)
    cut_off = (left_s <= limit.value("start_log_ends_s")) & (pl.col("told_by") != "alarm")
    return book.starts.sort("began_at").filter(pl.col("started") | ~cut_off)


def _by_hand_then_good(starts: pl.DataFrame, limit: Limits) -> bool:
    """Every failed start was asked for by hand, and a good one followed soon: service work looks so."""
    service = by_hand_then_good(limit)
    return bool(
        starts.sort("began_at").with_columns(service.alias("service")).filter(~pl.col("started"))["service"].all()
    )


def by_hand_then_good(limit: Limits) -> pl.Expr:
    """Whether a demand was asked for by hand, and a good one followed soon after. For starts in order of time."""
    within = timedelta(hours=limit.value("start_by_hand_h"))
    hand = (pl.col("cause") == "manual") | pl.col("mode").is_in(["manual", "off"]).fill_null(False)
    good_at = pl.when("started").then("began_at").backward_fill()
    return hand & (good_at - pl.col("began_at") <= within).fill_null(False)


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
            interval_s=interval_s(book, known.set_id, good),
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


def interval_s(book: Logbook, set_id: str, starts: pl.DataFrame) -> float | None:
    """Seconds between rows around the starts, as the starts themselves say, else as the whole log does."""
    own = middle(starts["resolution_s"])
    return own if own is not None else book.sampling[set_id].start_s or book.sampling[set_id].rest_s
