"""Will it keep running: runs that the fuel ended."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import HOUR_S, eased, found, least, log_ends, long_past, middle, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook


@check(
    "fuel.run_out",
    question=Question.KEEP_RUNNING,
    signals=["fuel_fraction|fuel_l|alarm|state"],
    needs=["runs.ended_by"],
    limits=[
        "fuel_bottom_fraction",
        "fuel_stop_fraction",
        "fuel_near_stop_fraction",
        "fuel_sag_fraction",
        "fuel_sag_rows_s",
        "fuel_fastest_share",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def run_out(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Runs that ended for want of fuel: run dry, stopped by the low-fuel protection, or starved with fuel in the tank.

    A sag of speed that came back before the stop, or a level at the bottom, tells a dry tank from a stop that the
    protection made in time.
    """
    runs = _judged(book, limit)
    named = {"alarm", "state"} & book.signals[known.set_id]
    if runs.is_empty() or (not named and runs["level"].null_count() == runs.height):
        yield not_assessed("fuel.run_out", Reason.NOTHING_SEEN)
        return
    hits = runs.filter(pl.col("how").is_not_null())
    if hits.is_empty():
        yield Clear("fuel.run_out", {"runs": runs.height, "least_fraction": least(runs["level"])})
        return
    last = hits.row(-1, named=True)
    how = str(last["how"])
    good_since = runs.filter(pl.col("began_at") > last["began_at"], pl.col("how").is_null()).height
    protected = hits.filter(pl.col("how") == "protected")["level"]
    stop, bottom = limit["fuel_stop_fraction"], limit["fuel_bottom_fraction"]
    severity = Severity.URGENT if how in {"dry", "shut_down"} and not good_since else Severity.SOON
    if long_past(limit, last["began_at"], log_ends(book, known.set_id), good_since):
        severity = eased(severity)
    by_sag = how == "dry" and not _below(last["level"], bottom.value)
    held = limit["fuel_sag_fraction"] if by_sag else bottom if how in {"dry", "bottom"} else stop
    value = last["sag"] if by_sag else last["level"]
    yield found(
        "fuel.run_out",
        severity,
        held,
        stop.value if value is None else value,
        (hits["began_at"][0], last["ended_at"]),
        variant=how,
        edge=None if held is not stop else stop.value + limit.value("fuel_near_stop_fraction"),
        evidence={
            "times": hits.height,
            "runs": runs.height,
            "level_fraction": last["level"],
            "before_fraction": last["fuel_before_fraction"],
            "sag_fraction": last["sag"],
            "hours_h": float(last["running_s"] or 0.0) / HOUR_S,
            "stop_fraction": middle(protected) if protected.len() else stop.value,
            "last_at": last["ended_at"],
            "good_since": good_since,
        },
    )


def _below(level: float | None, edge: float) -> bool:
    return level is not None and level < edge


def _judged(book: Logbook, limit: Limits) -> pl.DataFrame:
    """The runs in order, with level (after it), sag (null below the limit), and how the fuel ended it, else null."""
    bottom = limit.value("fuel_bottom_fraction")
    low = limit.value("fuel_stop_fraction") + limit.value("fuel_near_stop_fraction")
    level, before = pl.col("level"), pl.col("fuel_before_fraction")
    sag = pl.when(pl.col("end_sag_fraction") > limit.value("fuel_sag_fraction")).then("end_sag_fraction")
    # a sender that fails within a run, or was dead before it, shows an empty tank as well
    burnable = bottom + limit.value("fuel_fastest_share") * pl.col("running_high_s") / HOUR_S
    believed = (before > bottom) & (before - level <= burnable)
    at_bottom = ((level < bottom) & believed).fill_null(False)
    told = pl.col("ended_by") == "fuel"
    # an end by a person is none for want of fuel, but for rows so far apart that they show no sag
    away = _mains_away(book)
    ended = pl.col("ended_by").is_in(["shutdown", "unknown"]) | told | pl.col("ended_at").is_in(away.implode())
    unseen = (pl.col("ended_by") == "stop") & (pl.col("resolution_s") > limit.value("fuel_sag_rows_s"))
    sagged = pl.col("sag").is_not_null()
    near = (level < low).fill_null(False)
    return (
        book.runs.sort("began_at")
        .with_columns(pl.col("fuel_after_fraction").alias("level"), sag.alias("sag"))
        .with_columns(
            pl.when((told & (sagged | at_bottom)) | (sagged & near & believed) | (at_bottom & ended))
            .then(pl.lit("dry"))
            .when(told & (near | level.is_null()))
            .then(pl.lit("protected"))
            .when(told)
            .then(pl.lit("shut_down"))
            .when(at_bottom & unseen)
            .then(pl.lit("bottom"))
            .alias("how")
        )
    )


def _mains_away(book: Logbook) -> pl.Series:
    """Ends of runs at which the mains were still away: nobody asked for that stop."""
    ends = book.runs.select("ended_at")
    lost = book.marks.filter(pl.col("kind") == "mains_lost").select(
        pl.col("began_at").alias("lost_at"), pl.col("ended_at").alias("back_at")
    )
    inside = (pl.col("lost_at") < pl.col("ended_at")) & (pl.col("ended_at") < pl.col("back_at")).fill_null(True)
    return ends.join(lost, how="cross").filter(inside)["ended_at"].unique()
