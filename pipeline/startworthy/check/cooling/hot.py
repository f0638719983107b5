"""Will it keep running: the coolant while it runs."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import (
    eased,
    found,
    log_ends,
    long_past,
    most,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook


@check(
    "cooling.overheat",
    question=Question.KEEP_RUNNING,
    carries=True,
    signals=["coolant_c"],
    needs=["runs.coolant_max_c"],
    limits=[
        "coolant_high_c",
        "coolant_stop_c",
        "coolant_high_for_s",
        "coolant_run_s",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def overheat(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Coolant above the warning limit for longer than a moment while running, not in the soak after it."""
    high, stop = limit["coolant_high_c"], limit["coolant_stop_c"]
    if known.entry.air_cooled and high.basis != "register":
        yield not_assessed("cooling.overheat", Reason.NOTHING_SEEN, why="air_cooled")
        return
    runs = book.runs.sort("began_at").filter(pl.col("coolant_max_c").is_not_null())
    hot = (pl.col("coolant_high_s") > limit.value("coolant_high_for_s")).fill_null(False)
    hits = runs.filter(hot | (pl.col("ended_by") == "coolant"))
    long_runs = runs.filter(pl.col("running_high_s") >= limit.value("coolant_run_s"))
    if hits.is_empty():
        if long_runs.is_empty():
            yield not_assessed(
                "cooling.overheat",
                Reason.TOO_FEW,
                why="no_long_run",
                runs=runs.height,
                wanted_s=limit.value("coolant_run_s"),
            )
        else:
            yield Clear(
                "cooling.overheat",
                {"runs": runs.height, "highest_c": most(runs["coolant_max_c"]), "limit_c": high.value},
            )
        return
    last = hits.row(-1, named=True)
    peak = hits.sort("coolant_max_c").row(-1, named=True)
    over_stop = stop.broken_by(peak["coolant_max_c"])
    shut_down = hits.filter(pl.col("ended_by").is_in(["coolant", "shutdown"])).height
    severity = Severity.URGENT if over_stop or shut_down else Severity.SOON
    good_since = long_runs.filter(pl.col("began_at") > last["began_at"]).height
    past = long_past(limit, last["began_at"], log_ends(book, known.set_id), good_since)
    yield found(
        "cooling.overheat",
        eased(severity) if past else severity,
        stop if over_stop else high,
        peak["coolant_max_c"],
        (hits["began_at"][0], last["ended_at"]),
        variant="past" if past else "shut_down" if shut_down else "stop" if over_stop else "high",
        evidence={
            "hot": hits.height,
            "runs": runs.height,
            "peak_c": peak["coolant_max_c"],
            "high_s": peak["coolant_high_s"],
            "high_limit_c": high.value,
            "stop_limit_c": stop.value,
            "ambient_c": peak["ambient_c"],
            "load_fraction": peak["load_fraction_mean"],
            "peak_at": peak["began_at"],
            "last_at": last["began_at"],
            "shut_down": shut_down,
            "good_since": good_since,
        },
    )
