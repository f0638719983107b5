"""Will it start: how far the demands of the past can be relied on, and what they leave open."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import NamedTuple

import polars as pl

from startworthy.check.found import HOUR_S, TELLS_STARTS, eased, found, log_ends, long_past, not_assessed
from startworthy.check.frame import check
from startworthy.check.start.demands import SPEAKS_OF_STARTS, by_hand_then_good, decided, interval_s
from startworthy.findings import Clear, Evidence, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.statistics.proportion import clopper_pearson, jeffreys, poisson_rate, zero_failure_bound

_FAULT_ENDS = ("fuel", "oil", "coolant", "overspeed", "overload", "shutdown")
_DAY_H = 24.0
_WINDOWS = ("short", "middle", "long")


class _Trigger(NamedTuple):
    """One of the lists of latest demands: how many failed, of how many; `over`: more than is put up with."""

    failed: int
    demands: int
    over: bool


@check(
    "start.reliability",
    question=Question.START,
    signals=[TELLS_STARTS],
    needs=["starts"],
    limits=[
        "start_reliability_share",
        "start_reliability_least",
        "start_interval_share",
        "start_same_trouble_h",
        "start_short_window",
        "start_short_failed",
        "start_middle_window",
        "start_middle_failed",
        "start_long_window",
        "start_long_failed",
        "start_by_hand_h",
        "start_log_ends_s",
        "start_seen_within_s",
        "start_slow_seen_within_s",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def reliability(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Failed demands among the latest 20, 50 and 100, and how large a share of failures they leave possible."""
    demands = _counted(decided(book, known.set_id, limit), limit)
    failed = demands.filter(~pl.col("started"))
    triggers = [_trigger(demands, limit, window) for window in _WINDOWS]
    over = [one for one in triggers if one.over]
    interval = interval_s(book, known.set_id, book.starts)
    told = bool(book.signals[known.set_id] & SPEAKS_OF_STARTS)
    evidence = _figures(book, demands, failed.height, limit)
    # failures that fall between rows are not counted: then the share seen is a lower bound
    may_miss = not told and (interval is None or limit["start_slow_seen_within_s"].broken_by(interval))
    evidence |= {"may_miss": may_miss, "interval_s": interval}
    if over:
        worst = max(over, key=lambda one: one.failed / one.demands)
        target = limit["start_reliability_share"]
        low_share = evidence["low_share"]
        sure = isinstance(low_share, float) and low_share > 1.0 - target.value
        last_at = failed["began_at"][-1]
        good_since = demands.filter(pl.col("began_at") > last_at).height
        past = long_past(limit, last_at, log_ends(book, known.set_id), good_since)
        severity = Severity.URGENT if sure else Severity.SOON
        yield found(
            "start.reliability",
            eased(severity) if past else severity,
            target,
            1.0 - worst.failed / worst.demands,
            (failed["began_at"][0], failed["ended_at"][-1] or last_at),
            variant="past" if past else "sure" if sure else "often",
            evidence=evidence
            | {"window_failed": worst.failed, "window": worst.demands, "good_since": good_since, "last_at": last_at},
        )
        return
    least = limit["start_reliability_least"]
    if least.broken_by(demands.height):
        yield not_assessed("start.reliability", Reason.TOO_FEW, seen=demands.height, wanted=int(least.value))
        return
    wanted = limit["start_seen_within_s"]
    if not told and (interval is None or wanted.broken_by(interval)):
        yield not_assessed(
            "start.reliability",
            Reason.TOO_COARSE,
            interval_s=interval,
            wanted_s=wanted.value,
            failed=failed.height,
            demands=demands.height,
        )
        return
    yield Clear("start.reliability", evidence)


def _counted(ordered: pl.DataFrame, limit: Limits) -> pl.DataFrame:
    """The demands that count, in order.

    Left out: a failed one by hand with a good start soon after (service work), and one that failed soon after
    another with no good one between: trying again before the cause is found says nothing new.
    """
    good_before = pl.when("started").then("began_at").forward_fill().shift(1)
    failed_before = pl.when(~pl.col("started")).then("began_at").forward_fill().shift(1)
    soon = (pl.col("began_at") - failed_before) <= timedelta(hours=limit.value("start_same_trouble_h"))
    same_trouble = (soon & (good_before.is_null() | (good_before < failed_before))).fill_null(False)
    service = by_hand_then_good(limit)
    return ordered.filter(pl.col("started") | ~(same_trouble | service))


def _trigger(demands: pl.DataFrame, limit: Limits, window: str) -> _Trigger:
    latest = demands.tail(int(limit.value(f"start_{window}_window")))
    failed = latest.filter(~pl.col("started")).height
    return _Trigger(failed, latest.height, limit[f"start_{window}_failed"].broken_by(failed))


def _figures(book: Logbook, demands: pl.DataFrame, failed: int, limit: Limits) -> dict[str, Evidence]:
    """Shares of failures with their intervals, and runs ended by a fault for each day of running."""
    confidence, n = limit.value("start_interval_share"), demands.height
    exact, near = clopper_pearson(failed, n, confidence), jeffreys(failed, n, confidence)
    allows = exact if failed else zero_failure_bound(n, confidence)
    stopped = book.runs.filter(pl.col("ended_by").is_in(_FAULT_ENDS)).height
    running_h = float(book.runs["running_s"].sum() or 0.0) / HOUR_S
    stops = poisson_rate(stopped, running_h / _DAY_H, confidence)
    return {
        "failed": failed,
        "demands": n,
        "failed_share": exact.share,
        "low_share": exact.low,
        "high_share": exact.high,
        "jeffreys_low_share": near.low,
        "jeffreys_high_share": near.high,
        "allows_share": allows.high,
        "stopped": stopped,
        "runs": book.runs.height,
        "running_h": running_h,
        "stops_a_day": stops.per_unit,
        "stops_a_day_low": stops.low,
        "stops_a_day_high": stops.high,
    }
