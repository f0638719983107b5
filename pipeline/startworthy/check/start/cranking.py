"""Cranks that last too long, absolutely or by the set's own record."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import (
    TELLS_STARTS,
    found,
    most,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.check.start.demands import interval_s
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

SLOW_LIMITS = (
    "start_slow_warm_s",
    "start_slow_cold_s",
    "start_cold_c",
    "start_slow_ordinary_cold_s",
    "start_slow_ratio",
    "start_slow_more_s",
    "start_slow_record_c",
    "start_slow_warmer_c",
    "start_slow_record_least",
)
"""What slow_cranks asks for: every check that stands on it names them."""


@check(
    "start.slow",
    question=Question.START,
    carries="crank",
    signals=[TELLS_STARTS],
    needs=["starts"],
    limits=[
        *SLOW_LIMITS,
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
        seen_s = interval_s(book, known.set_id, book.starts)
        yield not_assessed("start.slow", Reason.TOO_COARSE, interval_s=seen_s, wanted_s=within.value)
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
