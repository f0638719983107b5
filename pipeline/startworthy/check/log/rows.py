"""Can the log be trusted: what is missing from it, and what had to be thrown out."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import (
    HOUR_S,
    found,
    not_assessed,
    seconds,
    spoken,
)
from startworthy.check.frame import CATALOGUE, check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook


@check(
    "log.gap",
    question=Question.LOG,
    carries=True,
    needs=["days.covered_s"],
    limits=["log_gap_h", "log_coverage_fraction"],
    since="0.1",
)
def gap(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Covered share of the time between the first row and the last, and the longest gap."""
    began, ended = book.span[known.set_id]
    span_s, covered_s = seconds(ended, began), float(book.days["covered_s"].sum())
    if span_s <= 0.0 or covered_s <= 0.0:
        yield not_assessed("log.gap", Reason.TOO_SHORT, why="one_row")
        return
    coverage, longest_h = min(1.0, covered_s / span_s), limit["log_gap_h"]
    gaps = (
        book.marks.filter(pl.col("kind") == "gap")
        .with_columns(pl.col("ended_at").fill_null(ended))
        .with_columns(
            ((pl.col("ended_at") - pl.col("began_at")).dt.total_milliseconds() / (1000.0 * HOUR_S)).alias("hours")
        )
        .sort("hours", "began_at")
    )
    worst = gaps.row(-1, named=True) if gaps.height else None
    evidence = {
        "coverage_fraction": coverage,
        "missing_fraction": 1.0 - coverage,
        "gaps": gaps.height,
        "longest_h": worst["hours"] if worst else 0.0,
        "from_at": worst["began_at"] if worst else None,
        "until_at": worst["ended_at"] if worst else None,
    }
    if limit["log_coverage_fraction"].broken_by(coverage):
        yield found(
            "log.gap",
            Severity.SOON,
            limit["log_coverage_fraction"],
            coverage,
            (began, ended),
            variant="missing",
            evidence=evidence,
        )
    elif worst and longest_h.broken_by(worst["hours"]):
        yield found(
            "log.gap",
            Severity.NOTE,
            longest_h,
            worst["hours"],
            (worst["began_at"], worst["ended_at"]),
            variant="long",
            evidence=evidence,
        )
    else:
        yield Clear("log.gap", evidence)


@check(
    "log.value_rejected",
    question=Question.LOG,
    carries=True,
    limits=[
        "log_refused_fraction",
        "log_refused_carrier_fraction",
        "log_refused_many_fraction",
        "log_refused_least",
    ],
    since="0.1",
)
def value_rejected(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Share of the values of each signal, and of the rows, that could not be what they say they are."""
    counts = [
        {"signal": signal, "refused": refused, "read": read}
        for signal, (refused, read) in book.refused.get(known.set_id, {}).items()
    ]
    table = pl.DataFrame(counts, schema={"signal": pl.String, "refused": pl.Int64, "read": pl.Int64})
    table = table.filter(pl.col("read") >= limit.value("log_refused_least")).with_columns(
        (pl.col("refused") / pl.col("read")).alias("share"),
        pl.col("signal").is_in(_carriers()).alias("carrier"),
    )
    if table.is_empty():
        yield not_assessed(
            "log.value_rejected",
            Reason.TOO_FEW,
            why="no_values",
            wanted=int(limit.value("log_refused_least")),
        )
        return
    many = (
        pl.when("carrier")
        .then(limit.value("log_refused_carrier_fraction"))
        .otherwise(limit.value("log_refused_many_fraction"))
    )
    table = table.with_columns((pl.col("share") > many).alias("many")).sort("many", "share", "signal")
    hits = table.filter(pl.col("share") > limit.value("log_refused_fraction"))
    totals = {
        "refused": int(table["refused"].sum()),
        "values": int(table["read"].sum()),
        "signals": table.height,
    }
    if hits.is_empty():
        yield Clear("log.value_rejected", totals)
        return
    worst = hits.row(-1, named=True)
    name = "log_refused_fraction"
    if worst["many"]:
        name = "log_refused_carrier_fraction" if worst["carrier"] else "log_refused_many_fraction"
    yield found(
        "log.value_rejected",
        Severity.SOON if worst["many"] else Severity.NOTE,
        limit[name],
        worst["share"],
        book.span[known.set_id],
        variant="rows" if worst["signal"] == "row" else "many" if worst["many"] else "some",
        evidence={
            "signal": spoken(worst["signal"]),
            "refused": worst["refused"],
            "read": worst["read"],
            "refused_share": worst["share"],
            "more": hits.height - 1,
        },
    )


def _carriers() -> list[str]:
    """Signals on which an answer stands: what the checks that carry a question need, and whole rows."""
    needed = {
        one for entry in CATALOGUE.values() if entry.carries for choice in entry.signals for one in choice.split("|")
    }
    return ["row", *sorted(needed)]
