"""Cranks that grow long when the set has stood: fuel that runs back."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import found, middle, not_assessed
from startworthy.check.frame import check
from startworthy.check.start.demands import interval_s
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.statistics.ranks import mann_whitney


@check(
    "start.longer_after_rest",
    question=Question.START,
    signals=["battery_v|speed_rpm", "coolant_c|ambient_c"],
    needs=["starts"],
    limits=[
        "start_rest_long_days",
        "start_rest_short_from_h",
        "start_rest_short_to_h",
        "start_rest_least",
        "start_rest_ratio",
        "start_rest_more_s",
        "start_rest_more_at_1_s",
        "start_rest_fine_s",
        "start_slow_record_c",
        "start_slow_warmer_c",
        "start_slow_seen_within_s",
        "false_discovery_rate",
    ],
    since="0.1",
)
def longer_after_rest(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Cranking time after more than a week of rest against that after a day or two, at equal temperature."""
    code, within = "start.longer_after_rest", limit["start_slow_seen_within_s"]
    engine_c = pl.coalesce("coolant_before_c", "ambient_c").alias("engine_c")
    good = book.starts.sort("began_at").filter("started").with_columns(engine_c)
    if good.is_empty():
        yield not_assessed(code, Reason.NOTHING_SEEN)
        return
    timed = good.filter(pl.col("crank_s").is_not_null() & (pl.col("resolution_s") <= within.value))
    if timed.is_empty():
        seen_s = interval_s(book, known.set_id, good)
        yield not_assessed(code, Reason.TOO_COARSE, interval_s=seen_s, wanted_s=within.value)
        return
    told = timed.filter(pl.col("engine_c").is_not_null() & pl.col("rest_h").is_not_null())
    long = told.filter(pl.col("rest_h") > limit.value("start_rest_long_days") * 24.0)
    short = told.filter(
        pl.col("rest_h").is_between(limit.value("start_rest_short_from_h"), limit.value("start_rest_short_to_h"))
    )
    long, short = _at_equal_temperature(long, short, limit)
    least = limit["start_rest_least"]
    if least.broken_by(long.height) or least.broken_by(short.height):
        yield not_assessed(
            code, Reason.TOO_FEW, why="rests_alike", long=long.height, short=short.height, wanted=int(least.value)
        )
        return
    after_long_s, after_short_s = middle(long["crank_s"]) or 0.0, middle(short["crank_s"]) or 0.0
    more_s = after_long_s - after_short_s
    # rows a second apart blur both ends of a crank: then a short difference is none
    fine = (middle(pl.concat([long, short])["resolution_s"]) or within.value) <= limit.value("start_rest_fine_s")
    wanted_more = limit["start_rest_more_s" if fine else "start_rest_more_at_1_s"]
    test = mann_whitney(long["crank_s"], short["crank_s"], "greater")
    evidence = {
        "long": long.height,
        "short": short.height,
        "after_long_s": after_long_s,
        "after_short_s": after_short_s,
        "long_c": middle(long["engine_c"]),
        "short_c": middle(short["engine_c"]),
        "long_before_v": middle(long["battery_before_v"]),
        "short_before_v": middle(short["battery_before_v"]),
        "rest_days": limit.value("start_rest_long_days"),
        "last_at": long["began_at"][-1],
    }
    ratio = after_long_s / after_short_s if after_short_s else 0.0
    if not (wanted_more.broken_by(more_s) and limit["start_rest_ratio"].broken_by(ratio)):
        yield Clear(code, evidence, test.p)
        return
    yield found(
        code,
        Severity.SOON,
        wanted_more,
        more_s,
        (long["began_at"][0], long["ended_at"][-1] or long["began_at"][-1]),
        evidence=evidence,
        p_value=test.p,
    )


def _at_equal_temperature(long: pl.DataFrame, short: pl.DataFrame, limit: Limits) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Those of both that have a counterpart: one after short rest, a little warmer at most, or some colder."""
    warmer_c = pl.col("short_c") - pl.col("long_c")
    pairs = (
        long.select(pl.col("demand").alias("long"), pl.col("engine_c").alias("long_c"))
        .join(short.select(pl.col("demand").alias("short"), pl.col("engine_c").alias("short_c")), how="cross")
        .filter(warmer_c.is_between(-limit.value("start_slow_record_c"), limit.value("start_slow_warmer_c")))
    )
    return (
        long.filter(pl.col("demand").is_in(pairs["long"].implode())),
        short.filter(pl.col("demand").is_in(pairs["short"].implode())),
    )
