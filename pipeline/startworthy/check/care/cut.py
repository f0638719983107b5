"""Was it stopped by taking its supply away?"""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.care.meter import jumps, meter_step_h
from startworthy.check.found import (
    DAY_S,
    HOUR_S,
    TELLS_RUNNING,
    found,
    log_ends,
    long_past,
    middle,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_CODE = "care.stopped_by_power_cut"
_UNTOLD = ("power_cut", "unknown")


@check(
    _CODE,
    question=Question.CARE,
    signals=[TELLS_RUNNING],
    needs=["runs"],
    limits=[
        "power_cuts",
        "power_cut_rows_s",
        "power_cut_close_rows_s",
        "power_cut_clock_days",
        "power_cut_gap_steps",
        "power_cut_unloaded_s",
        "power_cut_no_cool_down",
        "hours_rounding_h",
        "recent_runs",
        "recent_repeats",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def stopped_by_power_cut(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Runs after which the rows break off at speed, with a second sign that the supply went with them.

    A sign: the clock fell back at that instant; the hour meter did not advance over the gap; load up to the last row
    three times. Rows at rest must stand before such a run: a logger that the set itself feeds is no sign of anything.
    """
    runs = book.runs.sort("began_at")
    interval_s = middle(runs["resolution_s"])
    broken = _with_signs(book, limit, runs, interval_s)
    hits = broken.filter(pl.any_horizontal("clock", "meter", "loaded"))
    if hits.is_empty():
        ends = runs.filter("end_seen").height
        coarse = limit["power_cut_rows_s"]
        if interval_s is None or not (ends or broken.height):
            yield not_assessed(_CODE, Reason.NOTHING_SEEN, why="no_end", runs=runs.height)
        elif coarse.broken_by(interval_s):
            yield not_assessed(_CODE, Reason.TOO_COARSE, interval_s=interval_s, wanted_s=coarse.value)
        elif not broken.filter(~pl.col("ran_on")).is_empty():
            yield not_assessed(_CODE, Reason.NOTHING_SEEN, why="unsure", broken=broken.height, runs=runs.height)
        else:
            yield Clear(_CODE, {"runs": runs.height, "ends": ends})
        return
    last = hits.row(-1, named=True)
    good_since = runs.filter("end_seen", pl.col("began_at") > last["began_at"]).height
    past = long_past(limit, last["ended_at"], log_ends(book, known.set_id), good_since)
    latest = runs.tail(int(limit.value("recent_runs")))["run"]
    often = limit["recent_repeats"].broken_by(hits.filter(pl.col("run").is_in(latest.implode())).height)
    yield found(
        _CODE,
        Severity.SOON if often and not past else Severity.NOTE,
        limit["power_cuts"],
        hits.height,
        (hits["began_at"][0], last["ended_at"]),
        variant="often" if often else "once" if hits.height == 1 else "past",
        evidence={
            "cuts": hits.height,
            "runs": runs.height,
            "last_at": last["ended_at"],
            "clock": int(hits["clock"].sum()),
            "meter": int(hits["meter"].sum()),
            "loaded": int(hits["loaded"].sum()),
            "since": good_since,
        },
    )


def _with_signs(book: Logbook, limit: Limits, runs: pl.DataFrame, interval_s: float | None) -> pl.DataFrame:
    """Runs that break off with rows at rest before them, and what is said of each.

    clock, meter, loaded: its second signs; ran_on: the hour meter went on in the gap.
    """
    back = book.marks.filter(
        pl.col("kind") == "clock_jump", pl.col("value") < -limit.value("power_cut_clock_days") * DAY_S
    )
    jumped = book.marks.filter(pl.col("kind") == "clock_jump")
    gaps = book.marks.filter(pl.col("kind") == "gap", pl.col("ended_at").is_not_null()).select(
        pl.col("began_at").alias("ended_at"),
        ((pl.col("ended_at") - pl.col("began_at")).dt.total_seconds() / HOUR_S).alias("gap_h"),
    )
    at = pl.col("ended_at")
    slight = at.is_in(jumped["began_at"].implode()) & ~at.is_in(back["began_at"].implode())
    close = interval_s is not None and not limit["power_cut_rows_s"].broken_by(interval_s)
    closer = interval_s is not None and not limit["power_cut_close_rows_s"].broken_by(interval_s)
    step_h = meter_step_h(book, limit)
    steps = limit.value("power_cut_gap_steps") * step_h
    more_h = pl.col("hours_after_h") - pl.col("hours_before_h") - pl.col("running_s") / HOUR_S
    # where the meter was set, or went wrong, at the end of the run, it tells nothing of the gap
    set_at_end = at.is_in(jumps(book, limit)["began_at"].implode())
    broken = (
        runs.filter("start_seen", ~pl.col("end_seen"), pl.col("ended_by").is_in(_UNTOLD))
        .join(gaps.unique("ended_at"), on="ended_at", how="left", maintain_order="left")
        .with_columns(pl.when(~set_at_end).then(more_h).alias("more_h"))
        .with_columns(
            # an hour's step at the change of daylight saving is no lost supply
            ((pl.col("ended_by") == "power_cut") & ~slight).alias("clock"),
            ((pl.col("more_h") <= step_h) & (pl.col("gap_h") > steps)).fill_null(False).alias("meter"),
            (pl.col("more_h") > step_h).fill_null(False).alias("ran_on"),
            (pl.col("unloaded_end_s") < limit.value("power_cut_unloaded_s")).fill_null(False).alias("loaded"),
        )
    )
    # one gap may be too short for a coarse meter to tell, all of them together not
    told = broken.filter(pl.col("more_h").is_not_null() & pl.col("gap_h").is_not_null())
    gap_h, sum_h = float(told["gap_h"].sum()), float(told["more_h"].sum())
    together = told.height > 1 and sum_h <= step_h and gap_h > steps
    loaded = broken["loaded"].sum() >= limit.value("power_cut_no_cool_down")
    meter = pl.col("meter") | (pl.lit(together) & pl.col("gap_h").is_not_null())
    return broken.with_columns(
        (pl.lit(close) & meter).alias("meter"), (pl.lit(closer and bool(loaded)) & pl.col("loaded")).alias("loaded")
    )
