"""Does the hour meter count the hours that the set runs?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import polars as pl

from startworthy.check.care.meter import jumps, meter_step_h
from startworthy.check.found import HOUR_S, TELLS_RUNNING, found, middle, not_assessed, spells
from startworthy.check.frame import check
from startworthy.findings import Clear, Evidence, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_CODE = "care.hours_disagree"


@check(
    _CODE,
    question=Question.CARE,
    signals=["hour_meter_h", TELLS_RUNNING],
    needs=["runs.hours_after_h"],
    limits=[
        "hours_rounding_h",
        "hours_rows",
        "hours_disagree_fraction",
        "hours_stopped_steps",
        "hours_least_runs",
        "hours_at_rest_h",
        "hours_at_rest_times",
    ],
    since="0.1",
)
def hours_disagree(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Advance of the hour meter over whole runs against the running time of their rows, and between runs at rest.

    Only runs without gaps count, so that nothing is bridged. Tolerance: one step of the meter, a tenth of an hour a
    run (some meters drop what is left over), and three times dt sqrt(runs) / 2 for what the rows do not show.
    """
    set_at = jumps(book, limit)
    runs = _whole_runs(book, set_at)
    step_h = meter_step_h(book, limit)
    stopped = _stopped(limit, runs, step_h)
    ran_h, told_h = float(runs["ran_h"].sum()), float(runs["moved_h"].sum())
    tolerance_h = _tolerance_h(limit, runs, step_h)
    off_h = told_h - ran_h
    rest_h = _at_rest_h(book, runs, set_at)
    share = limit["hours_disagree_fraction"]
    jumped_h = abs(float(set_at["value"][-1] or 0.0)) if set_at.height else 0.0
    evidence: dict[str, Evidence] = {
        "runs": runs.height,
        "ran_h": ran_h,
        "told_h": told_h,
        "off_h": abs(off_h),
        "tolerance_h": tolerance_h,
        "rest_h": rest_h,
        "steps": set_at.height,
        "last_at": set_at["ended_at"][-1] if set_at.height else None,
        "step_h": jumped_h,
    }
    when = (runs["began_at"][0], runs["ended_at"][-1]) if runs.height else (None, None)
    if stopped is not None:
        yield found(
            _CODE, Severity.SOON, limit["hours_stopped_steps"], stopped["ran_h"] / step_h,
            (stopped["began_at"], stopped["ended_at"]), variant="stopped",
            evidence=evidence | {"since_at": stopped["began_at"], "stopped_h": stopped["ran_h"]},
        )  # fmt: skip
    elif runs.height and abs(off_h) > tolerance_h and share.broken_by(abs(off_h) / ran_h):
        yield found(
            _CODE, Severity.SOON, share, abs(off_h) / ran_h, when, variant="fast" if off_h > 0.0 else "slow",
            evidence=evidence,
        )  # fmt: skip
    elif runs.height and limit["hours_at_rest_h"].broken_by(rest_h - step_h):
        often = limit["hours_at_rest_times"].broken_by(rest_h / max(ran_h, step_h))
        yield found(
            _CODE, Severity.SOON if often else Severity.NOTE, limit["hours_at_rest_h"], rest_h, when, variant="at_rest",
            evidence=evidence,
        )  # fmt: skip
    elif set_at.height:
        yield found(
            _CODE, Severity.NOTE, limit["hours_rounding_h"], jumped_h,
            (set_at["began_at"][0], set_at["ended_at"][-1]), variant="jumped", evidence=evidence,
        )  # fmt: skip
    elif limit["hours_least_runs"].broken_by(runs.height) or ran_h <= tolerance_h:
        yield not_assessed(
            _CODE, Reason.TOO_FEW, why="few", seen=runs.height, ran_h=ran_h, tolerance_h=tolerance_h
        )  # fmt: skip
    else:
        yield Clear(_CODE, evidence)


def _whole_runs(book: Logbook, set_at: pl.DataFrame) -> pl.DataFrame:
    """Runs without gaps whose meter is known on both sides and was not set in them, with ran_h and moved_h."""
    runs = book.runs.sort("began_at").filter(
        pl.col("start_seen"),
        pl.col("end_seen"),
        pl.col("missing_s").fill_null(0.0) == 0.0,
        pl.col("running_s").is_not_null(),
        pl.col("hours_before_h").is_not_null(),
        pl.col("hours_after_h").is_not_null(),
    )
    within = runs.join(set_at.select(pl.col("ended_at").alias("jump_at")), how="cross").filter(
        pl.col("jump_at") >= pl.col("began_at"), pl.col("jump_at") <= pl.col("ended_at")
    )
    return runs.filter(~pl.col("run").is_in(within["run"].implode())).with_columns(
        (pl.col("running_s") / HOUR_S).alias("ran_h"),
        (pl.col("hours_after_h") - pl.col("hours_before_h")).alias("moved_h"),
    )


def _tolerance_h(limit: Limits, runs: pl.DataFrame, step_h: float) -> float:
    """What rounding of the meter and rows apart may hide, in hours."""
    rows_h = float((middle(runs["resolution_s"]) or 0.0) / HOUR_S * runs.height**0.5) / 2
    return step_h + limit.value("hours_rounding_h") * runs.height + limit.value("hours_rows") * rows_h


def _stopped(limit: Limits, runs: pl.DataFrame, step_h: float) -> dict[str, Any] | None:
    """The latest stretch of runs over which the meter stood still for longer than its steps can hide.

    A run shorter than a tenth of an hour is nothing to a meter that drops what is left over.
    """
    over = (pl.col("ran_h") - limit.value("hours_rounding_h")).clip(0.0)
    still = spells(
        runs,
        pl.col("moved_h") <= 0.0,
        pl.col("began_at").first(),
        pl.col("ended_at").last(),
        over.sum().alias("over_h"),
        pl.col("ran_h").sum(),
    ).filter(pl.col("over_h") > limit.value("hours_stopped_steps") * step_h)
    return still.row(-1, named=True) if still.height else None


def _at_rest_h(book: Logbook, runs: pl.DataFrame, set_at: pl.DataFrame) -> float:
    """How far the meter went between runs that follow one another with no gap, no jump and no other run between."""
    breaks = pl.concat([book.marks.filter(pl.col("kind") == "gap")["began_at"], set_at["began_at"]])
    order = book.runs.sort("began_at").with_row_index("order").select("run", "order")
    pairs = runs.join(order, on="run", how="left", maintain_order="left").select(
        pl.col("ended_at").shift(1).alias("from_at"),
        pl.col("began_at").alias("to_at"),
        (pl.col("hours_before_h") - pl.col("hours_after_h").shift(1)).alias("rest_h"),
        (pl.col("order") - pl.col("order").shift(1)).alias("apart"),
    )
    cut = pairs.join(pl.DataFrame({"cut_at": breaks}), how="cross").filter(
        pl.col("cut_at") >= pl.col("from_at"), pl.col("cut_at") <= pl.col("to_at")
    )
    whole = pairs.filter(pl.col("apart") == 1, ~pl.col("to_at").is_in(cut["to_at"].implode()))
    return float(whole["rest_h"].sum() or 0.0)
