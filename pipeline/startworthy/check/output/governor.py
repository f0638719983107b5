"""Will it carry the load: droop of the governor, and whether speed and frequency agree."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import found, least, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.check.output.shared import DROOP, POWER, alive, frequency_step_hz, governor, pole_pairs, steady_runs
from startworthy.findings import Clear, Evidence, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.electric import DIESEL
from startworthy.results import Known, Logbook
from startworthy.statistics.regression import robust

_DROOP_CODE = "output.droop"
_MISMATCH = "output.speed_mismatch"


@check(
    _DROOP_CODE,
    question=Question.CARRY,
    signals=["frequency_hz", POWER],
    needs=["runs"],
    limits=[
        *DROOP.values(),
        "output_dead_fraction",
        "output_seen_within_s",
        "droop_runs",
        "droop_points",
        "droop_load_span_fraction",
        "droop_even_load_fraction",
        "droop_levels",
        "trend_confidence",
    ],
    since="0.1",
)
def droop(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Frequency against load over the latest runs: a robust line, drawn out to no load and full load.

    Raised only where the whole interval of the slope lies beyond the class, less what the step of the frequency
    may hide. An engine at the end of its power has left its droop line: loads beyond that are left out.
    """
    rated = known.rated_frequency_hz
    if rated is None:
        yield not_assessed(_DROOP_CODE, Reason.NOT_IN_REGISTER, key="rated_frequency_hz")
        return
    if book.runs["load_fraction_mean"].null_count() == book.runs.height:
        yield not_assessed(_DROOP_CODE, Reason.NOT_IN_REGISTER, key="rated_kw")
        return
    runs = book.runs.sort("began_at").filter(alive(limit, rated))
    points = _points(runs, known, limit)
    refused = _too_little(points, limit)
    if refused is not None:
        yield refused
        return
    lightest, heaviest = least(points["load"]) or 0.0, most(points["load"]) or 0.0
    fit = robust(points["hz"] / rated, points.select("load"), limit.value("trend_confidence"))
    slope = fit.of("load")
    if slope is None:
        yield not_assessed(_DROOP_CODE, Reason.TOO_FEW, why="few_points", seen=points.height, wanted=fit.n)
        return
    hidden = frequency_step_hz(runs) / rated / (heaviest - lightest)
    value, low, high = -slope.estimate, -slope.high - hidden, -slope.low + hidden
    edge = limit[DROOP[governor(known)]]
    evidence: dict[str, Evidence] = {
        "points": points.height,
        "runs": points["began_at"].n_unique(),
        "droop_fraction": value,
        "low_fraction": max(low, 0.0),
        "high_fraction": high,
        "lightest_fraction": lightest,
        "heaviest_fraction": heaviest,
        "edge_fraction": edge.value,
        "governor_class": governor(known),
    }
    if edge.broken_by(low):
        yield found(
            _DROOP_CODE,
            Severity.SOON,
            edge,
            value,
            (points["began_at"].min(), points["ended_at"].max()),  # type: ignore[arg-type]
            evidence=evidence,
        )
    elif edge.broken_by(value):
        yield not_assessed(
            _DROOP_CODE,
            Reason.TOO_FEW,
            why="unsure",
            droop_fraction=value,
            low_fraction=max(low, 0.0),
            high_fraction=high,
        )
    else:
        yield Clear(_DROOP_CODE, evidence)


def _points(runs: pl.DataFrame, known: Known, limit: Limits) -> pl.DataFrame:
    """Load and frequency at the light and the heavy end of each of the latest runs, once where the load stood still."""
    kept = ("began_at", "ended_at", "resolution_s", "ambient_c")
    even = pl.col("load_fraction_max") - pl.col("load_fraction_mean") <= limit.value("droop_even_load_fraction")
    ends = [runs.select(*kept, load=f"load_{end}_fraction", hz=f"frequency_{end}_hz") for end in ("light", "heavy")]
    whole = runs.filter(pl.col("load_light_fraction").is_null() & even)
    ends.append(whole.select(*kept, load="load_fraction_mean", hz="frequency_mean_hz"))
    available = DIESEL.factor_over(known.entry.altitude_m or 0.0, pl.col("ambient_c"))
    points = pl.concat(ends).drop_nulls(["load", "hz"]).filter(pl.col("load") <= available).sort("began_at", "load")
    last = points["began_at"].unique().sort().tail(int(limit.value("droop_runs")))
    return points.filter(pl.col("began_at") >= last[0]) if last.len() else points


def _too_little(points: pl.DataFrame, limit: Limits) -> Outcome | None:
    """Why these points make no line; None where they do."""
    wanted, span_wanted = limit["droop_points"], limit["droop_load_span_fraction"]
    if wanted.broken_by(points.height):
        return not_assessed(_DROOP_CODE, Reason.TOO_FEW, why="few_points", seen=points.height, wanted=int(wanted.value))
    low, high = least(points["load"]) or 0.0, most(points["load"]) or 0.0
    if span_wanted.broken_by(high - low):
        return not_assessed(
            _DROOP_CODE,
            Reason.TOO_FEW,
            why="load_span",
            low_fraction=low,
            high_fraction=high,
            wanted_fraction=span_wanted.value,
        )
    levels = (points["load"] / limit.value("droop_even_load_fraction")).floor().n_unique()
    coarse = limit["output_seen_within_s"].broken_by(middle(points["resolution_s"]) or 0.0)
    if coarse and limit["droop_levels"].broken_by(levels):
        return not_assessed(
            _DROOP_CODE, Reason.TOO_FEW, why="few_levels", seen=levels, wanted=int(limit.value("droop_levels"))
        )
    return None


@check(
    _MISMATCH,
    question=Question.CARRY,
    signals=["speed_rpm", "frequency_hz"],
    needs=["runs.speed_mean_rpm", "runs.frequency_mean_hz"],
    limits=[
        "speed_mismatch_fraction",
        "speed_mismatch_far_fraction",
        "speed_most_poles",
        "output_dead_fraction",
        "output_steady_s",
        "output_coarse_s",
        "output_coarse_rows",
        "recent_runs",
        "recent_repeats",
    ],
    since="0.1",
)
def speed_mismatch(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Frequency over speed in steady state makes pairs of poles, f = p n / 120: the latest runs are judged.

    A speed that is taken from the frequency always fits, but where its number of poles is set wrongly.
    """
    rated = known.rated_frequency_hz
    if rated is None:
        yield not_assessed(_MISMATCH, Reason.NOT_IN_REGISTER, key="rated_frequency_hz")
        return
    runs = steady_runs(book, limit, "speed_mean_rpm").filter(alive(limit, rated), pl.col("speed_mean_rpm") > 0)
    if runs.is_empty():
        yield not_assessed(_MISMATCH, Reason.TOO_FEW, why="not_steady", wanted_s=limit.value("output_steady_s"))
        return
    slight, far = limit["speed_mismatch_fraction"], limit["speed_mismatch_far_fraction"]
    pairs, off = pole_pairs(limit)
    due = 60 * rated / known.rated_rpm if known.rated_rpm else None
    runs = runs.with_columns(off.alias("off"), pairs.alias("pairs"))
    latest = runs.tail(int(limit.value("recent_runs")))
    off_by = middle(latest["off"]) or 0.0
    fits = pl.col("pairs").round() == (round(due) if due else pl.col("pairs").round())
    wrong = latest.with_columns((pl.col("off").abs() > slight.value).alias("odd"), fits.alias("fits"))
    if slight.broken_by(abs(off_by)):
        hits = wrong.filter("odd")
        variant = "far" if far.broken_by(abs(off_by)) else "slight"
    elif limit["recent_repeats"].broken_by(wrong.filter(~pl.col("fits")).height):
        hits, variant = wrong.filter(~pl.col("fits")), "poles"
        off_by = (middle(hits["pairs"]) or 0.0) / (due or 1) - 1
    else:
        yield Clear(
            _MISMATCH,
            {"runs": runs.height, "poles": 2 * round(middle(latest["pairs"]) or 0.0), "off_fraction": abs(off_by)},
        )
        return
    often = limit["recent_repeats"].broken_by(hits.height)
    last = hits.row(-1, named=True)
    yield found(
        _MISMATCH,
        Severity.SOON if often and variant != "slight" else Severity.NOTE,
        slight if variant == "slight" else far,
        abs(off_by),
        (hits["began_at"][0], last["ended_at"]),
        variant=variant if often else "once",
        evidence={
            "runs": latest.height,
            "odd": hits.height,
            "speed_rpm": last["speed_mean_rpm"],
            "frequency_hz": last["frequency_mean_hz"],
            "poles": 2 * round(last["pairs"]),
            "rated_rpm": known.rated_rpm,
            "off_fraction": abs(off_by),
            "last_at": last["began_at"],
        },
    )
