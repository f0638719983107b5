"""The glow plugs, told by what they take from the battery before the crank."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

import polars as pl

from startworthy.check.found import by_nominal, found, middle, not_assessed
from startworthy.check.frame import check
from startworthy.check.start.demands import interval_s
from startworthy.findings import Clear, Evidence, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook


@check(
    "start.no_preheat",
    question=Question.START,
    signals=["battery_v", "coolant_c|ambient_c"],
    needs=["starts"],
    limits=[
        "start_preheat_dip_12_v",
        "start_preheat_dip_24_v",
        "start_preheat_as_charged_12_v",
        "start_preheat_as_charged_24_v",
        "start_preheat_share",
        "start_preheat_least",
        "start_preheat_kept_share",
        "start_preheat_cold_c",
        "start_preheat_colder_c",
        "start_slow_seen_within_s",
        "recent_repeats",
    ],
    since="0.1",
)
def no_preheat(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """First attempts without the dip of a preheat, or with a much smaller one, where earlier ones had it."""
    code, least = "start.no_preheat", int(limit.value("start_preheat_least"))
    if known.entry.preheat is False:
        yield not_assessed(code, Reason.NOTHING_SEEN, why="no_plugs")
        return
    nominal_v = known.battery_nominal_v
    if nominal_v is None:
        yield not_assessed(code, Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    by_itself = _by_itself(book, limit)
    seen = by_itself.filter(pl.col("preheat_s").is_not_null())
    if seen.is_empty():
        yield not_assessed(
            code,
            Reason.TOO_COARSE,
            interval_s=interval_s(book, known.set_id, book.starts),
            wanted_s=limit.value("start_slow_seen_within_s"),
        )
        return
    needed = by_nominal(limit, "start_preheat_dip", nominal_v)
    dip = pl.when(pl.col("preheat_s") > 0).then(pl.col("battery_before_v") - pl.col("preheat_v")).otherwise(0.0)
    seen = seen.with_columns(dip.alias("dip_v"))
    # the stretch without a dip that lasts to the end of the log; what lies before it is the set's own record
    lasting = (pl.col("preheat_s") > 0).cast(pl.Int32).reverse().cum_sum().reverse() == 0
    record, lacking = seen.filter(~lasting), seen.filter(lasting)
    had = record.filter(pl.col("dip_v") >= needed.value)
    if had.height < least:
        yield not_assessed(code, Reason.NOTHING_SEEN, why="never_seen", starts=seen.height, with_dip=had.height)
        return
    evidence: dict[str, Evidence] = {
        "starts": seen.height,
        "earlier": had.height,
        "usual_dip_v": middle(had["dip_v"]),
        "usual_preheat_s": middle(had["preheat_s"]),
        "latest_c": seen["engine_c"][-1],
        "last_at": seen["began_at"][-1],
    }
    repeats = limit["recent_repeats"]
    gone = _comparable(lacking, record, needed.value, limit)
    if repeats.broken_by(gone.height):
        figures = {"gone": gone.height, "since_date": gone["began_at"][0], "crank_s": middle(gone["crank_s"])}
        yield found(code, Severity.SOON, needed, 0.0, _when(gone), variant="gone", evidence=evidence | figures)
        return
    if repeats.broken_by(lacking.height):
        yield not_assessed(code, Reason.TOO_FEW, why="no_record", lacking=lacking.height, with_dip=had.height)
        return
    share, latest = limit["start_preheat_share"], had.tail(least)
    as_charged = by_nominal(limit, "start_preheat_as_charged", nominal_v)
    alike = _as_charged(had.head(had.height - latest.height), latest, as_charged.value)
    was_v, now_v = middle(alike["dip_v"]), middle(latest["dip_v"])
    if alike.height >= least and was_v and now_v and share.broken_by(now_v / was_v):
        figures = {"now_dip_v": now_v, "was_dip_v": was_v, "latest": latest.height, "since_date": latest["began_at"][0]}
        yield found(
            code, Severity.SOON, share, now_v / was_v, _when(latest), variant="weaker", evidence=evidence | figures
        )
        return
    yield Clear(code, evidence)


def _by_itself(book: Logbook, limit: Limits) -> pl.DataFrame:
    """First attempts with close rows, in order, but those by hand: a person may skip the preheat."""
    hand = (pl.col("cause") == "manual") | pl.col("mode").is_in(["manual", "off"]).fill_null(False)
    by_hand = book.starts.filter(hand)["demand"]
    return (
        book.attempts.filter(
            pl.col("attempt") == 1,
            ~pl.col("demand").is_in(by_hand.implode()),
            pl.col("resolution_s") <= limit.value("start_slow_seen_within_s"),
        )
        .with_columns(pl.coalesce("coolant_before_c", "ambient_c").alias("engine_c"))
        .sort("began_at")
    )


def _comparable(lacking: pl.DataFrame, record: pl.DataFrame, needed_v: float, limit: Limits) -> pl.DataFrame:
    """Those of `lacking` for which nearly all starts of the record at no lower temperature had a dip of `needed_v`.

    A cold engine is always preheated: there a start of the record may have been somewhat colder. Above that a
    control may leave it out, so only starts as warm or warmer say anything.
    """
    cold = pl.col("engine_c") < limit.value("start_preheat_cold_c")
    colder_c = pl.when(cold).then(limit.value("start_preheat_colder_c")).otherwise(0.0)
    held = (
        lacking.select("demand", "engine_c")
        .join(record.select(pl.col("engine_c").alias("was_c"), "dip_v"), how="cross")
        .filter(pl.col("was_c") >= pl.col("engine_c") - colder_c)
        .group_by("demand")
        .agg((pl.col("dip_v") >= needed_v).sum().alias("with_dip"), pl.len().alias("of"))
        .filter(
            pl.col("with_dip") > limit.value("recent_repeats"),
            pl.col("with_dip") / pl.col("of") >= limit.value("start_preheat_kept_share"),
        )
    )
    return lacking.filter(pl.col("demand").is_in(held["demand"].implode()))


def _as_charged(record: pl.DataFrame, latest: pl.DataFrame, within_v: float) -> pl.DataFrame:
    """Those of the record with the battery at the volts of the latest: from float a dip is far deeper."""
    now_v = middle(latest["battery_before_v"])
    return record.filter((pl.col("battery_before_v") - now_v).abs() <= within_v)


def _when(rows: pl.DataFrame) -> tuple[datetime, datetime]:
    return rows["began_at"][0], rows["ended_at"][-1] or rows["began_at"][-1]
