"""Will it carry the load: does the frequency stand still when the load does?"""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import MINUTE_S, found, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.check.output.shared import BAND, alive, frequency_step_hz, governor
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_CODE = "output.frequency_hunting"


@check(
    _CODE,
    question=Question.CARRY,
    signals=["frequency_hz"],
    needs=["runs.frequency_band_hz"],
    limits=[
        *BAND.values(),
        "frequency_instrument_fraction",
        "output_dead_fraction",
        "output_seen_within_s",
        "output_coarse_s",
        "output_last_run_s",
        "hunting_blind_bands",
        "hunting_dropout_fraction",
        "hunting_chance_fraction",
        "hunting_stretches",
        "hunting_skew_fraction",
        "recent_runs",
        "recent_repeats",
    ],
    since="0.1",
)
def frequency_hunting(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Peak to peak of the frequency at steady load, less the step in which it comes, against the class's steady band.

    What slow rows show is a lower bound, so they raise less and never more. Where load is not logged, a load that
    comes and goes looks alike: the band is then held wider, and slow rows say nothing.
    """
    rated = known.rated_frequency_hz
    if rated is None:
        yield not_assessed(_CODE, Reason.NOT_IN_REGISTER, key="rated_frequency_hz")
        return
    told = _told(book, limit, rated)
    if told.is_empty():
        yield not_assessed(_CODE, Reason.TOO_FEW, why="drops_out")
        return
    told = told.filter(pl.col("coarse") | (pl.col("frequency_windows") >= limit.value("hunting_stretches")))
    if told.is_empty():
        yield not_assessed(
            _CODE, Reason.TOO_FEW, why="few_stretches", wanted_s=limit.value("hunting_stretches") * MINUTE_S
        )
        return
    seen = told.filter("seen")
    runs = seen.filter(~(pl.col("blind") & pl.col("coarse")))
    if runs.is_empty():
        yield not_assessed(
            _CODE,
            Reason.TOO_COARSE,
            why="load_unknown" if seen.height else "coarse",
            interval_s=middle(told["resolution_s"]),
            wanted_s=limit.value("output_coarse_s" if seen.height else "output_seen_within_s"),
        )
        return
    band = limit[BAND[governor(known)]]
    edge = band.value + limit.value("frequency_instrument_fraction")
    step = frequency_step_hz(runs)
    times = pl.when("blind").then(limit.value("hunting_blind_bands")).otherwise(1.0)
    runs = runs.with_columns(
        ((pl.col("frequency_band_hz") - step) / rated).clip(0.0).alias("band"), (edge * times).alias("edge")
    ).with_columns(((pl.col("band") > pl.col("edge")) & ~pl.col("lone")).alias("wide"))
    hits = runs.filter("wide")
    if hits.is_empty():
        yield Clear(_CODE, {"runs": runs.height, "widest_hz": most(runs["frequency_band_hz"]), "edge_hz": edge * rated})
        return
    latest = runs.tail(int(limit.value("recent_runs"))).filter("wide")
    newest = runs.row(-1, named=True)
    lasts = (
        newest["wide"] and not newest["coarse"] and not limit["output_last_run_s"].broken_by(newest["steady_s"] or 0.0)
    )
    counts = limit["recent_repeats"].broken_by(latest.height) or lasts
    judged = latest if counts else hits
    last = judged.row(-1, named=True)
    periodic = judged.filter(pl.col("hunting_chance") < limit.value("hunting_chance_fraction"))
    yield found(
        _CODE,
        Severity.SOON if counts else Severity.NOTE,
        band,
        last["band"],
        (hits["began_at"][0], last["ended_at"]),
        variant="once" if not counts else "periodic" if periodic.height else "wide",
        edge=last["edge"],
        evidence={
            "wide": hits.height,
            "runs": runs.height,
            "band_hz": last["frequency_band_hz"],
            "step_hz": step,
            "rated_hz": rated,
            "edge_hz": last["edge"] * rated,
            "load_fraction": last["load_fraction_mean"],
            "period_s": middle(periodic["hunting_period_s"]) if periodic.height else None,
            "resolution_s": last["resolution_s"],
            "last_at": last["began_at"],
        },
    )


def _told(book: Logbook, limit: Limits, rated: float) -> pl.DataFrame:
    """Runs with a steady band. `seen`: rows close enough to show it; `coarse`: barely; `blind`: load not known.

    `lone`: of a few slow rows one lies far from the others, as one that met the set while it slowed down.
    """
    resolution = pl.col("resolution_s").fill_null(0.0)
    coarse = resolution > limit.value("output_coarse_s")
    low, high = pl.col("frequency_min_hz"), pl.col("frequency_max_hz")
    skew = (pl.col("frequency_mean_hz") - (low + high) / 2).abs() / (high - low)
    return (
        book.runs.sort("began_at")
        .filter(
            pl.col("frequency_band_hz").is_not_null(),
            alive(limit, rated),
            # no engine swings as far as this and runs on: values that drop out
            pl.col("frequency_band_hz") <= limit.value("hunting_dropout_fraction") * rated,
        )
        .with_columns(
            (resolution <= limit.value("output_seen_within_s")).alias("seen"),
            coarse.alias("coarse"),
            (coarse & (skew > limit.value("hunting_skew_fraction"))).fill_null(False).alias("lone"),
            pl.col("load_fraction_mean").is_null().alias("blind"),
        )
    )
