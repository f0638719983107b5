"""Will it keep running: how soon after firing oil pressure is there."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import found, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook


@check(
    "oil.slow_to_build",
    question=Question.KEEP_RUNNING,
    signals=["oil_kpa"],
    needs=["runs.oil_min_kpa|runs.oil_ready_s"],
    limits=[
        "oil_build_s",
        "oil_build_cold_s",
        "oil_build_coarse_s",
        "oil_build_rows_s",
        "oil_build_coarse_rows_s",
        "oil_build_frost_c",
        "oil_low_kpa",
        "recent_runs",
        "recent_repeats",
    ],
    since="0.1",
)
def slow_to_build(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Time from the first running row to the stop limit of oil pressure, by its lower bound, in the latest runs."""
    seen = book.runs.sort("began_at").filter(
        pl.col("resolution_s") <= limit.value("oil_build_coarse_rows_s"), pl.col("oil_ready_low_s").is_not_null()
    )
    if seen.is_empty():
        yield not_assessed(
            "oil.slow_to_build",
            Reason.TOO_COARSE,
            interval_s=middle(book.runs["resolution_s"]),
            wanted_s=limit.value("oil_build_coarse_rows_s"),
        )
        return
    # a sender that shows pressure before the start tells nothing of how it builds
    runs = seen.filter((pl.col("oil_before_kpa") < limit.value("oil_low_kpa")).fill_null(True))
    if runs.is_empty():
        yield not_assessed("oil.slow_to_build", Reason.NOTHING_SEEN, why="pressure_before", runs=seen.height)
        return
    frost = pl.min_horizontal("coolant_before_c", "ambient_before_c") < limit.value("oil_build_frost_c")
    coarse = pl.col("resolution_s") > limit.value("oil_build_rows_s")
    allowed = pl.max_horizontal(
        pl.lit(limit.value("oil_build_s")),
        pl.when(frost.fill_null(False)).then(limit.value("oil_build_cold_s")),
        pl.when(coarse).then(limit.value("oil_build_coarse_s")),
    )
    runs = runs.with_columns(allowed.alias("allowed_s"))
    latest = runs.tail(int(limit.value("recent_runs")))
    hits = latest.filter(pl.col("oil_ready_low_s") > pl.col("allowed_s"))
    if hits.is_empty():
        yield Clear("oil.slow_to_build", {"runs": runs.height, "slowest_s": most(latest["oil_ready_low_s"])})
        return
    last, worst = hits.row(-1, named=True), hits.sort("oil_ready_low_s").row(-1, named=True)
    repeated = limit["recent_repeats"].broken_by(hits.height)
    yield found(
        "oil.slow_to_build",
        Severity.SOON if repeated else Severity.NOTE,
        limit["oil_build_s"],
        worst["oil_ready_low_s"],
        (hits["began_at"][0], last["ended_at"]),
        variant="slow" if repeated else "once",
        edge=worst["allowed_s"],
        evidence={
            "slow": hits.height,
            "latest": latest.height,
            "slowest_s": worst["oil_ready_low_s"],
            "usual_s": middle(runs.filter(pl.col("oil_ready_low_s") <= pl.col("allowed_s"))["oil_ready_low_s"]),
            "allowed_s": worst["allowed_s"],
            "stop_kpa": limit.value("oil_low_kpa"),
            "coolant_c": worst["coolant_before_c"],
            "last_at": last["began_at"],
        },
    )
