"""Was it left locked out after a protective stop or a failed start?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import polars as pl

from startworthy.check.care.modes import OUT, PROTECTIVE, READY, mode_spells
from startworthy.check.found import (
    DAY_S,
    HOUR_S,
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
from startworthy.logbook.tables import UTC_TIME
from startworthy.results import Known, Logbook

_CODE = "care.left_locked_out"
_SPEAKS_OF_FAULTS = frozenset({"alarm", "state"})


@check(
    _CODE,
    question=Question.CARE,
    signals=[TELLS_STARTS],
    needs=["starts|runs"],
    limits=[
        "locked_out_h",
        "locked_out_intervals",
        "locked_out_alarm_s",
        "locked_out_outage_s",
        "locked_out_seen_s",
        "locked_out_gap_h",
        "protection_late_s",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def left_locked_out(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Time in automatic after a protective stop or a failed start without a run, until somebody came.

    Somebody came when it was next started, when the alarm of that fault went, or, where none is logged, when it was
    taken out of automatic, or may have come in a gap. That it was really locked out is shown by an alarm that lasted,
    an exercise that was due or an outage that was not answered; else nobody seems to have been there, and no more.
    """
    faults = _with_signs(book, known, limit, _faults(book, limit))
    if faults.is_empty():
        sampling = book.sampling[known.set_id]
        interval_s = sampling.start_s or middle(book.runs["resolution_s"])
        seen = bool(book.signals[known.set_id] & _SPEAKS_OF_FAULTS)
        wanted = limit["locked_out_seen_s"]
        if seen or (interval_s is not None and not wanted.broken_by(interval_s)):
            yield Clear(_CODE, {"faults": 0, "longest_h": 0.0})
        else:
            yield not_assessed(_CODE, Reason.TOO_COARSE, interval_s=interval_s, wanted_s=wanted.value)
        return
    long_h = limit["locked_out_h"]
    over = faults.filter(pl.col("hours") > long_h.value)
    sure = over.filter(pl.any_horizontal("alarm", "due", "outage"))
    chosen = sure if sure.height else over.filter("lasts", "automatic")
    if chosen.is_empty():
        yield Clear(_CODE, {"faults": faults.height, "longest_h": most(faults["hours"])})
        return
    last = chosen.row(-1, named=True)
    worst = chosen.sort("hours").row(-1, named=True)
    variant, severity = _judged(book, known, limit, last, bool(sure.height))
    yield found(
        _CODE,
        severity,
        long_h,
        worst["hours"],
        (chosen["at"][0], last["until"]),
        variant=variant,
        question=Question.START if severity is Severity.URGENT else None,
        evidence={
            "times": chosen.height,
            "faults": faults.height,
            "out_h": worst["hours"],
            "since_at": last["at"],
            "until_at": last["until"],
            "fault": last["fault"],
            "due": int(chosen["due"].sum()),
            "outages": int(chosen["outage"].sum()),
            "alarms": int(chosen["alarm"].sum()),
        },
    )


def _judged(book: Logbook, known: Known, limit: Limits, last: dict[str, Any], sure: bool) -> tuple[str, Severity]:
    if not sure:
        return "unattended", Severity.NOTE
    if last["lasts"]:
        return "now", Severity.URGENT if last["automatic"] else Severity.SOON
    good = book.runs.filter(pl.col("began_at") > last["at"]).height
    past = long_past(limit, last["until"], log_ends(book, known.set_id), good)
    return "ended", Severity.NOTE if past else Severity.SOON


def _faults(book: Logbook, limit: Limits) -> pl.DataFrame:
    """Protective stops and failed starts not by hand, in order, each to the next start: at, fault, next_at."""
    failed = book.starts.filter(~pl.col("started"), ~pl.col("mode").is_in(OUT).fill_null(False)).select(
        pl.coalesce("ended_at", "began_at").alias("at"), pl.lit("failed start").alias("fault")
    )
    # with no word of an alarm, a value that was beyond its limit for minutes did not stop it
    beyond_s = pl.max_horizontal("oil_low_s", "coolant_stop_s").fill_null(0.0)
    told = pl.col("end_text").is_not_null() | (beyond_s <= limit.value("protection_late_s"))
    stopped = book.runs.filter(pl.col("ended_by").is_in(PROTECTIVE), told).select(
        pl.col("ended_at").alias("at"), pl.col("ended_by").alias("fault")
    )
    asked = pl.concat([book.starts["began_at"], book.runs["began_at"]]).sort()
    return (
        pl.concat([failed, stopped])
        .sort("at", "fault")
        .join_asof(
            pl.DataFrame({"next_at": asked}, schema={"next_at": UTC_TIME}),
            left_on="at",
            right_on="next_at",
            strategy="forward",
            allow_exact_matches=False,
            coalesce=False,
        )
    )


def _with_signs(book: Logbook, known: Known, limit: Limits, faults: pl.DataFrame) -> pl.DataFrame:
    """Each fault with `until` somebody came, hours in automatic up to then, and what shows that it was locked out.

    automatic: the mode is known; lasts: nobody came before the log ended.
    """
    ended = log_ends(book, known.set_id)
    near = pl.duration(milliseconds=int(1000 * limit.value("locked_out_alarm_s")))
    faults = faults.with_row_index("n")
    alarms = book.marks.filter(pl.col("kind") == "alarm").select(
        pl.col("began_at").alias("alarm_at"), pl.col("ended_at").fill_null(ended).alias("alarm_to")
    )
    own = (
        faults.join(alarms, how="cross")
        .filter((pl.col("alarm_at") - pl.col("at")).is_between(-near, near))
        .group_by("n")
        .agg(pl.col("alarm_to").max())
    )
    spells = mode_spells(book, known)
    left = spells.filter(~pl.col("mode").is_in(READY)).select(pl.col("began_at").alias("left_at"))
    # whoever came in a gap is not seen either
    hidden = book.marks.filter(
        pl.col("kind") == "gap", pl.col("value") > limit.value("locked_out_gap_h") * HOUR_S
    ).select(pl.col("began_at").alias("left_at"))
    left = pl.concat([left, hidden]).sort("left_at")
    faults = faults.join(own, on="n", how="left", maintain_order="left").join_asof(
        left, left_on="at", right_on="left_at", strategy="forward", coalesce=False
    )
    until = pl.min_horizontal(pl.col("next_at").fill_null(ended), pl.coalesce("alarm_to", "left_at").fill_null(ended))
    faults = faults.with_columns(until.alias("until"))
    faults = faults.filter(pl.col("until") > pl.col("at")).with_columns(
        _hours_ready(book, faults.filter(pl.col("until") > pl.col("at")), spells).alias("hours"),
        pl.lit(spells.height > 0).alias("automatic"),
        (pl.col("until") >= ended).alias("lasts"),
    )
    every = known.entry.exercise.every_days or known.exercise_every_days
    due_h = None if every is None else every * limit.value("locked_out_intervals") * DAY_S / HOUR_S
    lost = book.marks.filter(
        pl.col("kind") == "mains_lost",
        pl.col("ended_at").fill_null(ended) - pl.col("began_at")
        > pl.duration(milliseconds=int(1000 * limit.value("locked_out_outage_s"))),
    ).select(pl.col("began_at").alias("lost_at"), pl.col("ended_at").fill_null(ended).alias("back_at"))
    unanswered = faults.join(lost, how="cross").filter(
        pl.col("lost_at") > pl.col("at"), pl.col("back_at") <= pl.col("until")
    )
    lasted_h = (pl.col("alarm_to") - pl.col("at")).dt.total_seconds() / HOUR_S
    return faults.with_columns(
        (lasted_h > limit.value("locked_out_h")).fill_null(False).alias("alarm"),
        (pl.col("hours") > due_h if due_h is not None else pl.lit(False)).alias("due"),
        pl.col("n").is_in(unanswered["n"].implode()).alias("outage"),
    )


def _hours_ready(book: Logbook, faults: pl.DataFrame, spells: pl.DataFrame) -> pl.Series:
    """Hours from each fault to `until` in which it said that it was ready (or, mode not logged, all), less gaps."""
    ready = spells.filter(pl.col("mode").is_in(READY)).select(
        pl.col("began_at").alias("from_at"), pl.col("ended_at").alias("to_at")
    )
    if spells.is_empty():
        ready = faults.select(pl.col("at").min().alias("from_at"), pl.col("until").max().alias("to_at"))
    gaps = book.marks.filter(pl.col("kind") == "gap", pl.col("ended_at").is_not_null()).select(
        pl.col("began_at").alias("from_at"), pl.col("ended_at").alias("to_at")
    )
    return (_overlap_h(faults, ready) - _overlap_h(faults, gaps)).clip(0.0)


def _overlap_h(faults: pl.DataFrame, spans: pl.DataFrame) -> pl.Series:
    """Hours that the spans have in common with the time from each fault to `until`."""
    common = pl.min_horizontal("until", "to_at") - pl.max_horizontal("at", "from_at")
    found_h = (
        faults.join(spans, how="cross")
        .group_by("n")
        .agg((common.dt.total_milliseconds().clip(0).sum() / (1000.0 * HOUR_S)).alias("h"))
    )
    return faults.select("n").join(found_h, on="n", how="left", maintain_order="left")["h"].fill_null(0.0)
