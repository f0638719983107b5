"""Will it carry the load: does it run away, and does it make volts at speed?"""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import eased, found, log_ends, long_past, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.check.output.shared import pole_pairs
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.signals import LINE_VOLTAGES, PHASE_VOLTAGES

_OVERSPEED = "output.overspeed"
_NO_VOLTAGE = "output.no_voltage"


@check(
    _OVERSPEED,
    question=Question.CARRY,
    signals=["speed_rpm|frequency_hz"],
    needs=["runs.overspeed_s"],
    limits=[
        "overspeed_for_s",
        "overspeed_overshoot_s",
        "overspeed_far_fraction",
        "speed_mismatch_far_fraction",
        "speed_most_poles",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def overspeed(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Lastingly above rated speed, its droop and 2 %, or shut down for overspeed.

    A load that is taken off lets any engine run up for a few seconds, and a lone row may be a spike: both stay out.
    Where speed and frequency make no whole number of poles one of them is wrong, and speed says nothing.
    """
    _, off = pole_pairs(limit)
    told = book.runs.sort("began_at").filter(pl.col("overspeed_s").is_not_null() | (pl.col("ended_by") == "overspeed"))
    # a run too short to be steady reads its speed as the others do
    misread = off.fill_null(off.median()).abs() > limit.value("speed_mismatch_far_fraction")
    runs = told.filter(~misread.fill_null(False))
    if runs.is_empty():
        yield not_assessed(_OVERSPEED, Reason.CONFLICT, why="speed_and_frequency", runs=told.height)
        return
    over_s, far = limit["overspeed_for_s"], limit["overspeed_far_fraction"]
    # stopped in the moment in which its load went, and no alarm says why: it ran up as any engine does
    let_go = pl.col("end_text").is_null() & (pl.col("unloaded_end_s") <= over_s.value).fill_null(False)
    shut = (pl.col("ended_by") == "overspeed") & ~let_go
    spell_s = pl.col("overspeed_s").fill_null(0.0)
    runs = runs.with_columns(
        shut.alias("shut"),
        ((pl.col("speed_max_fraction") > far.value) & (spell_s > limit.value("overspeed_overshoot_s")))
        .fill_null(False)
        .alias("far"),
        (spell_s > over_s.value).alias("long"),
    )
    hits = runs.filter(pl.any_horizontal("shut", "far", "long"))
    if hits.is_empty():
        yield Clear(
            _OVERSPEED,
            {
                "runs": runs.height,
                "highest_fraction": most(runs["speed_max_fraction"]),
                "longest_s": most(runs["overspeed_s"]),
            },
        )
        return
    grave = hits.filter(pl.col("shut") | pl.col("far"))
    judged = grave if grave.height else hits
    last = judged.row(-1, named=True)
    good_since = runs.filter(pl.col("began_at") > last["began_at"]).height
    past = long_past(limit, last["began_at"], log_ends(book, known.set_id), good_since)
    severity = Severity.URGENT if grave.height else Severity.SOON
    beyond = last["speed_max_fraction"]
    by_speed = grave.height > 0 and beyond is not None
    yield found(
        _OVERSPEED,
        eased(severity) if past else severity,
        far if by_speed else over_s,
        beyond if by_speed else last["overspeed_s"] or 0.0,
        (judged["began_at"][0], last["ended_at"]),
        variant="past" if past else "shut_down" if last["shut"] else "far" if grave.height else "lasting",
        evidence={
            "over": hits.height,
            "runs": runs.height,
            "shut_down": hits.filter("shut").height,
            "highest_fraction": beyond,
            "over_s": last["overspeed_s"],
            "load_fraction": last["load_fraction_mean"],
            "last_at": last["began_at"],
            "good_since": good_since,
        },
    )


@check(
    _NO_VOLTAGE,
    question=Question.CARRY,
    signals=["speed_rpm", "|".join(("voltage_v", *PHASE_VOLTAGES, *LINE_VOLTAGES))],
    needs=["runs.no_voltage_s"],
    limits=[
        "no_voltage_for_s",
        "no_voltage_rows",
        "no_load_fraction",
        "fault_recent_days",
        "fault_good_since",
        "recent_repeats",
    ],
    since="0.1",
)
def no_voltage(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """At speed without volts, where speed has a pick-up of its own and volts are seen in other runs.

    Volts measured behind an open breaker are missing in every run without load: so a run without them counts only
    where another showed volts before it took its load, after it, or without any, or was alike and had them.
    """
    runs = book.runs.sort("began_at").filter(pl.col("no_voltage_s").is_not_null())
    runs = _voltless(runs, limit)
    hits, sound = runs.filter("hit"), runs.filter(~pl.col("hit"))
    if hits.is_empty():
        yield Clear(
            _NO_VOLTAGE,
            {"runs": runs.height, "longest_s": most(runs["no_voltage_s"]), "explained": runs.filter("dead").height},
        )
        return
    if not sound.height:
        yield from _never(hits, limit)
        return
    # load flows: then there are volts, and what is missing is their reading
    flows = pl.coalesce("load_late_fraction", "load_fraction_max", 0.0) >= limit.value("no_load_fraction")
    fed, real = hits.filter(flows), hits.filter(~flows)
    if not sound["off_load"].any():
        # the same demand, another time, had volts: an outage without them is no breaker left open by design
        real = real.filter((pl.col("cause") == "outage") & pl.lit((sound["cause"] == "outage").any()))
    judged = real if real.height else fed
    if judged.is_empty():
        yield not_assessed(_NO_VOLTAGE, Reason.TOO_FEW, why="behind_breaker", seen=hits.height, runs=runs.height)
        return
    last = judged.row(-1, named=True)
    since = runs.filter(pl.col("began_at") > last["began_at"], ~pl.col("dead")).height
    past = long_past(limit, last["began_at"], log_ends(book, known.set_id), since)
    # one run without, and volts ever since: something that came back by itself
    once = judged.height == 1 and limit["recent_repeats"].broken_by(since)
    severity = Severity.URGENT if real.height else Severity.SOON
    yield found(
        _NO_VOLTAGE,
        Severity.NOTE if past else eased(severity) if once else severity,
        limit["no_voltage_for_s"],
        last["no_voltage_s"],
        (judged["began_at"][0], last["ended_at"]),
        variant="reading" if not real.height else "past" if past or once else "none",
        evidence={
            "without": judged.height,
            "runs": runs.height,
            "without_s": last["no_voltage_s"],
            "speed_rpm": last["speed_mean_rpm"],
            "voltage_v": last["voltage_mean_v"],
            "usual_v": middle(sound["voltage_mean_v"]),
            "load_fraction": last["load_late_fraction"] or last["load_fraction_max"],
            "good_since": since,
            "last_at": last["began_at"],
        },
    )


def _voltless(runs: pl.DataFrame, limit: Limits) -> pl.DataFrame:
    """`dead`: a spell without volts; `hit`: time without load does not cover it; `off_load`: volts without load."""
    resolution, spell_s = pl.col("resolution_s").fill_null(0.0), pl.col("no_voltage_s")
    least_s = pl.max_horizontal(
        pl.lit(limit.value("no_voltage_for_s")), resolution * (limit.value("no_voltage_rows") - 1)
    )
    no_load_s = pl.max_horizontal("load_taken_s", "unloaded_end_s")
    no_load = pl.col("load_fraction_max") < limit.value("no_load_fraction")
    dead = spell_s > least_s
    # volts behind the breaker are missing for as long as load is: while warming up, or cooling down
    covered = (spell_s <= no_load_s + least_s + resolution).fill_null(False)
    long_off = no_load_s > least_s + resolution
    return runs.with_columns(
        dead.alias("dead"),
        (dead & ~covered).alias("hit"),
        (~dead & (no_load.fill_null(True) | long_off.fill_null(False))).alias("off_load"),
    )


def _never(hits: pl.DataFrame, limit: Limits) -> Iterator[Outcome]:
    """No run at all with volts: a dead alternator from the first row on, or volts that are not connected."""
    last = hits.row(-1, named=True)
    yield found(
        _NO_VOLTAGE,
        Severity.NOTE,
        limit["no_voltage_for_s"],
        last["no_voltage_s"],
        (hits["began_at"][0], last["ended_at"]),
        variant="never",
        evidence={"runs": hits.height, "speed_rpm": last["speed_mean_rpm"], "last_at": last["began_at"]},
    )
