"""Will it keep running: oil pressure at speed."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import (
    eased,
    found,
    least,
    log_ends,
    long_past,
    middle,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook


@check(
    "oil.low",
    question=Question.KEEP_RUNNING,
    carries=True,
    signals=["oil_kpa"],
    needs=["runs.oil_min_kpa"],
    limits=[
        "oil_low_kpa",
        "oil_warn_kpa",
        "oil_settle_s",
        "oil_low_for_s",
        "oil_low_rows",
        "oil_close_rows_s",
        "oil_low_lasting_s",
        "oil_seen_within_s",
        "recent_runs",
        "recent_repeats",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def low(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Oil pressure at speed once it had time to build: lastingly below the stop limit, or often near it."""
    runs = book.runs.sort("began_at").filter(pl.col("oil_min_kpa").is_not_null())
    stop, warn = limit["oil_low_kpa"], limit["oil_warn_kpa"]
    resolution, spell_s = pl.col("resolution_s").fill_null(0.0), pl.col("oil_low_s").fill_null(0.0)
    close = resolution <= limit.value("oil_close_rows_s")
    lasting = (
        pl.when(close)
        .then((spell_s > limit.value("oil_low_for_s")) & (spell_s > limit.value("oil_low_rows") * resolution))
        .otherwise(spell_s > limit.value("oil_low_lasting_s"))
    )
    below = pl.col("oil_min_kpa") < stop.value
    stopped = pl.col("ended_by") == "oil"
    seen_at_all = resolution <= limit.value("oil_seen_within_s")
    runs = runs.with_columns(
        (stopped | (seen_at_all & below & lasting)).alias("low"),
        (close & below & ~lasting & ~stopped).alias("moment"),
        ((pl.col("oil_min_kpa") < warn.value) | (pl.col("oil_warm_kpa") < warn.value).fill_null(False)).alias("near"),
        seen_at_all.alias("seen"),
    )
    seen = runs.filter(pl.col("seen") | pl.col("low"))
    if seen.is_empty():
        yield not_assessed(
            "oil.low",
            Reason.TOO_COARSE,
            interval_s=middle(runs["resolution_s"]),
            wanted_s=limit.value("oil_seen_within_s"),
        )
        return
    low_runs = seen.filter("low")
    if low_runs.height:
        last = low_runs.row(-1, named=True)
        good_since = seen.filter(pl.col("began_at") > last["began_at"]).height
        past = long_past(limit, last["began_at"], log_ends(book, known.set_id), good_since)
        least = low_runs.sort("oil_min_kpa").row(0, named=True)
        shut_down = low_runs.filter(pl.col("ended_by") == "oil").height
        yield found(
            "oil.low",
            eased(Severity.URGENT) if past else Severity.URGENT,
            stop,
            least["oil_min_kpa"],
            (low_runs["began_at"][0], last["ended_at"]),
            variant="past" if past else "shut_down" if shut_down else "low",
            evidence={
                "low": low_runs.height,
                "runs": seen.height,
                "least_kpa": least["oil_min_kpa"],
                "low_s": least["oil_low_s"],
                "warm_kpa": least["oil_warm_kpa"],
                "coolant_c": least["coolant_max_c"],
                "last_at": last["began_at"],
                "good_since": good_since,
                "stop_kpa": stop.value,
            },
        )
        return
    yield from _near(seen, limit)


def _near(seen: pl.DataFrame, limit: Limits) -> Iterator[Outcome]:
    """Never lastingly below the stop limit; near it again and again is worth a visit, one moment a note."""
    stop, warn, repeats = limit["oil_low_kpa"], limit["oil_warn_kpa"], limit["recent_repeats"]
    latest = seen.tail(int(limit.value("recent_runs")))
    near, moment = latest.filter("near"), seen.filter("moment")
    if repeats.broken_by(near.height):
        last = near.row(-1, named=True)
        yield found(
            "oil.low",
            Severity.SOON,
            warn,
            least(near["oil_min_kpa"]) or 0.0,
            (near["began_at"][0], last["ended_at"]),
            variant="near",
            evidence={
                "near": near.height,
                "latest": latest.height,
                "least_kpa": least(near["oil_min_kpa"]),
                "warm_kpa": last["oil_warm_kpa"],
                "coolant_c": last["coolant_max_c"],
                "last_at": last["began_at"],
                "warn_kpa": warn.value,
            },
        )
        return
    once = moment if moment.height else near
    if once.is_empty():
        yield Clear(
            "oil.low",
            {"runs": seen.height, "lowest_kpa": least(seen["oil_min_kpa"]), "stop_kpa": stop.value},
        )
        return
    last = once.row(-1, named=True)
    yield found(
        "oil.low",
        Severity.NOTE,
        stop if moment.height else warn,
        last["oil_min_kpa"],
        (once["began_at"][0], last["ended_at"]),
        variant="moment",
        evidence={
            "least_kpa": last["oil_min_kpa"],
            "last_at": last["began_at"],
            "low_s": last["oil_low_s"],
            "warm_kpa": last["oil_warm_kpa"],
        },
    )
