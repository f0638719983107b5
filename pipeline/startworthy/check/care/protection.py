"""Did it run on where its protection should have stopped it?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from startworthy.check.found import found, log_ends, long_past, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Finding, Outcome, Question, Reason, Severity
from startworthy.limits import Limit, Limits
from startworthy.results import Known, Logbook

_CODE = "care.protection_silent"


@dataclass(frozen=True, slots=True)
class _Guard:
    """What stops the set: columns of the spell beyond its limit and of how far it went, the limit, and its ends."""

    name: str
    spell: str
    figure: str
    stop: str
    ends: tuple[str, ...]


_GUARDS = (
    _Guard("oil", "oil_low_s", "oil_min_kpa", "oil_low_kpa", ("oil", "shutdown")),
    _Guard("coolant", "coolant_stop_s", "coolant_max_c", "coolant_stop_c", ("coolant", "shutdown")),
    _Guard("speed", "overspeed_s", "speed_max_fraction", "protection_overspeed_fraction", ("overspeed", "shutdown")),
)


@check(
    _CODE,
    question=Question.KEEP_RUNNING,
    signals=["oil_kpa|coolant_c|speed_rpm|frequency_hz"],
    needs=["runs.oil_low_s|runs.coolant_stop_s|runs.overspeed_s|runs.oil_before_kpa|runs.coolant_before_c"],
    limits=[
        "oil_low_kpa",
        "coolant_stop_c",
        "protection_overspeed_fraction",
        "protection_silent_s",
        "protection_silent_rows",
        "protection_rows_s",
        "protection_late_s",
        "protection_still_kpa",
        "protection_still_c",
        "protection_cold_c",
        "protection_warm_run_s",
        "protection_least_runs",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def protection_silent(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Spells beyond a stop limit in runs that no protective stop ended, and values that never answer.

    Either the protection does not act or the sensor is wrong: the log alone cannot tell which. An oil pressure that
    is the same at rest and running in every run since the first row protects nothing.
    """
    runs = book.runs.sort("began_at")
    interval_s = middle(runs["resolution_s"])
    coarse = limit["protection_rows_s"]
    if interval_s is None or coarse.broken_by(interval_s):
        yield not_assessed(_CODE, Reason.TOO_COARSE, interval_s=interval_s, wanted_s=coarse.value)
        return
    still = list(_still(known, limit, runs))
    dead = {finding.variant for finding in still}
    ran_on = [
        finding
        for guard in _GUARDS
        if f"still_{guard.name}" not in dead
        for finding in _ran_on(book, known, limit, guard)
    ]
    if still or ran_on:
        yield from (*still, *ran_on)
        return
    looked = [guard.name for guard in _GUARDS if runs[guard.spell].null_count() < runs.height]
    if not looked:
        yield not_assessed(_CODE, Reason.TOO_FEW, seen=runs.height, wanted=int(limit.value("protection_least_runs")))
        return
    yield Clear(_CODE, {"runs": runs.height, "what": ", ".join(looked)})


def _ran_on(book: Logbook, known: Known, limit: Limits, guard: _Guard) -> Iterator[Finding]:
    """The set went on for longer than the limit allows, and was not stopped by it."""
    runs = book.runs.sort("began_at").filter(pl.col(guard.spell).is_not_null())
    stop = limit[guard.stop]
    wanted_s = pl.max_horizontal(
        pl.lit(limit.value("protection_silent_s")), pl.col("resolution_s") * limit.value("protection_silent_rows")
    )
    figure = pl.col(guard.figure)
    beyond = figure > stop.value if stop.side == "above" else figure < stop.value
    if guard.name == "speed" and known.rated_frequency_hz:
        # a frequency that stays where it should says that the speed is misread
        hz = pl.col("frequency_max_hz") / known.rated_frequency_hz
        beyond = beyond & (hz.is_null() | (hz > stop.value))
    # an end with the value beyond its limit is no stop by it when it had been there for minutes
    acted = pl.col("ended_by").is_in(guard.ends) & (pl.col(guard.spell) < limit.value("protection_late_s"))
    hits = runs.filter(pl.col(guard.spell) >= wanted_s, beyond, ~acted)
    if hits.is_empty():
        return
    last = hits.row(-1, named=True)
    good_since = runs.filter(pl.col("began_at") > last["began_at"]).height
    past = long_past(limit, last["ended_at"], log_ends(book, known.set_id), good_since)
    lasting = limit["fault_good_since"].broken_by(good_since) and (hits.height > 1 or good_since == 0)
    again = hits.height > 1 and not past
    worst = hits.sort(guard.figure, descending=stop.side == "below").row(-1, named=True)
    yield found(
        _CODE,
        Severity.URGENT if lasting else Severity.SOON if again else Severity.NOTE,
        stop,
        worst[guard.figure],
        (hits["began_at"][0], last["ended_at"]),
        variant=guard.name,
        evidence={
            "runs": hits.height,
            "of": runs.height,
            "longest_s": most(hits[guard.spell]),
            "last_at": last["began_at"],
            "ended_by": last["ended_by"],
            "since": good_since,
        },
    )


def _still(known: Known, limit: Limits, runs: pl.DataFrame) -> Iterator[Finding]:
    """Values that never answer that the set runs, from the first row on."""
    before = pl.col("oil_before_kpa")
    apart = pl.max_horizontal((pl.col("oil_min_kpa") - before).abs(), (pl.col("oil_warm_kpa") - before).abs())
    oil = runs.filter(before.is_not_null(), pl.col("oil_min_kpa").is_not_null()).with_columns(apart.alias("moved"))
    kpa = limit["protection_still_kpa"]
    low = bool((oil["oil_min_kpa"] < limit.value("oil_low_kpa")).any())
    yield from _never(limit, kpa, oil, "still_oil", Severity.URGENT if low else Severity.SOON)
    if known.entry.air_cooled:
        return
    cold = pl.col("coolant_before_c") <= limit.value("protection_cold_c")
    warmed = runs.filter(cold, pl.col("running_low_s") >= limit.value("protection_warm_run_s")).with_columns(
        (pl.col("coolant_max_c") - pl.col("coolant_before_c")).alias("moved")
    )
    yield from _never(limit, limit["protection_still_c"], warmed, "still_coolant", Severity.SOON)


def _never(limit: Limits, least: Limit, runs: pl.DataFrame, variant: str, severity: Severity) -> Iterator[Finding]:
    moved = most(runs["moved"])
    if limit["protection_least_runs"].broken_by(runs.height) or moved is None or not least.broken_by(moved):
        return
    yield found(
        _CODE,
        severity,
        least,
        moved,
        (runs["began_at"][0], runs["ended_at"][-1]),
        variant=variant,
        evidence={
            "runs": runs.height,
            "still_kpa": middle(runs["oil_before_kpa"]),
            "still_c": middle(runs["coolant_before_c"]),
        },
    )
