"""Will it carry the load: voltage and frequency in steady state, held against the rated values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import polars as pl

from startworthy.check.found import (
    found,
    least,
    most,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.check.output.shared import BAND, DROOP, alive, governor, steady_runs
from startworthy.findings import Clear, Evidence, Outcome, Question, Reason, Severity
from startworthy.limits import Limit, Limits
from startworthy.results import Known, Logbook
from startworthy.signals import LINE_VOLTAGES, PHASE_VOLTAGES

_PERSISTENCE = (
    "output_steady_s",
    "output_coarse_s",
    "output_coarse_rows",
    "output_last_run_s",
    "recent_runs",
    "recent_repeats",
    "output_far_bands",
)


@dataclass(frozen=True, slots=True)
class _Judged:
    """Steady runs: `mean`, the edges allowed to it (`low`, `high`), the far edges (`far_low`, `far_high`)."""

    code: str
    runs: pl.DataFrame
    limit: Limit
    rated: float


@check(
    "output.voltage_off",
    question=Question.CARRY,
    carries=True,
    signals=["|".join(("voltage_v", *PHASE_VOLTAGES, *LINE_VOLTAGES))],
    needs=["runs.voltage_mean_v"],
    limits=[
        "voltage_band_fraction",
        "voltage_band_small_fraction",
        "voltage_small_set_kw",
        "voltage_instrument_fraction",
        *_PERSISTENCE,
    ],
    since="0.1",
)
def voltage_off(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Mean steady voltage of each run outside the class's band and the instrument's own error."""
    rated = known.rated_voltage_v
    if rated is None:
        yield not_assessed("output.voltage_off", Reason.NOT_IN_REGISTER, key="rated_voltage_v")
        return
    # rated power not known: the wider band, which never cries wolf
    large = known.rated_kw is not None and limit["voltage_small_set_kw"].broken_by(known.rated_kw)
    band = limit["voltage_band_fraction" if large else "voltage_band_small_fraction"]
    instrument = limit.value("voltage_instrument_fraction")
    wide, far = band.value + instrument, limit.value("output_far_bands") * band.value + instrument
    runs = steady_runs(book, limit, "voltage_mean_v").with_columns(
        low=pl.lit(rated * (1 - wide)),
        high=pl.lit(rated * (1 + wide)),
        far_low=pl.lit(rated * (1 - far)),
        far_high=pl.lit(rated * (1 + far)),
    )
    yield from _outcome(_Judged("output.voltage_off", runs, band, rated), book, limit, "v")


@check(
    "output.frequency_off",
    question=Question.CARRY,
    carries=True,
    signals=["frequency_hz"],
    needs=["runs.frequency_mean_hz"],
    limits=["output_dead_fraction", *DROOP.values(), *BAND.values(), "frequency_instrument_fraction", *_PERSISTENCE],
    since="0.1",
)
def frequency_off(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Mean steady frequency of each run against the droop line of the governor's class.

    A mechanical governor runs unloaded well above rated, an isochronous one at rated under any load: both are
    right. The mean may lie from rated to rated x (1 + droop x (1 - load)), widened by half the steady band.
    """
    rated = known.rated_frequency_hz
    if rated is None:
        yield not_assessed("output.frequency_off", Reason.NOT_IN_REGISTER, key="rated_frequency_hz")
        return
    droop, band = limit.value(DROOP[governor(known)]), limit[BAND[governor(known)]]
    instrument = limit.value("frequency_instrument_fraction")
    half = band.value / 2
    wide, far = half + instrument, limit.value("output_far_bands") * half + instrument
    # load not known: as if unloaded for the upper edge, as if at full load for the lower one
    spare = (1.0 - pl.col("load_fraction_mean").fill_null(0.0)).clip(0.0, 1.0)
    over = (pl.col("load_fraction_mean").fill_null(1.0) - 1.0).clip(0.0)
    top, bottom = 1.0 + droop * spare, 1.0 - droop * over
    runs = (
        steady_runs(book, limit, "frequency_mean_hz")
        .filter(alive(limit, rated))
        .with_columns(
            low=rated * (bottom - wide),
            high=rated * (top + wide),
            far_low=rated * (bottom - far),
            far_high=rated * (top + far),
        )
    )
    yield from _outcome(_Judged("output.frequency_off", runs, band, rated), book, limit, "hz")


def _outcome(judged: _Judged, book: Logbook, limit: Limits, unit: str) -> Iterator[Outcome]:
    """Off in two of the latest runs, or for minutes in the last: a visit; far off: urgent. Once: a note."""
    code, runs = judged.code, judged.runs
    if runs.is_empty():
        steady = most(book.runs["steady_s"]) if book.runs.height else None
        yield not_assessed(
            code, Reason.TOO_FEW, why="not_steady", steady_s=steady, wanted_s=limit.value("output_steady_s")
        )
        return
    low_off, high_off = pl.col("mean") < pl.col("low"), pl.col("mean") > pl.col("high")
    far_off = (pl.col("mean") < pl.col("far_low")) | (pl.col("mean") > pl.col("far_high"))
    runs = runs.with_columns((low_off | high_off).alias("off"), low_off.alias("low_off"), far_off.alias("far"))
    hits = runs.filter("off")
    since = book.runs.filter(pl.col("began_at") > runs["began_at"][-1]).height
    if hits.is_empty() and since > limit.value("recent_runs"):
        # what was right long ago says nothing of a set that was not seen steady since
        yield not_assessed(code, Reason.TOO_COARSE, why="latest_unseen", runs=since, last_at=runs["began_at"][-1])
        return
    if hits.is_empty():
        yield Clear(
            code,
            {
                "runs": runs.height,
                f"lowest_{unit}": least(runs["mean"]),
                f"highest_{unit}": most(runs["mean"]),
                f"rated_{unit}": judged.rated,
            },
        )
        return
    latest = runs.tail(int(limit.value("recent_runs"))).filter("off")
    newest = runs.row(-1, named=True)
    lasts = newest["off"] and not limit["output_last_run_s"].broken_by(newest["steady_s"])
    counts = limit["recent_repeats"].broken_by(latest.height) or lasts
    far = counts and latest["far"].any()
    worst = (latest if counts else hits).row(-1, named=True)
    low = worst["low_off"]
    edge = worst["low"] if low else worst["high"]
    severity = Severity.URGENT if far else Severity.SOON if counts else Severity.NOTE
    evidence: Mapping[str, Evidence] = {
        "off": hits.height,
        "runs": runs.height,
        f"mean_{unit}": worst["mean"],
        f"edge_{unit}": edge,
        f"rated_{unit}": judged.rated,
        "off_fraction": abs(worst["mean"] / judged.rated - 1.0),
        "steady_s": worst["steady_s"],
        "load_fraction": worst["load_fraction_mean"],
        "last_at": worst["began_at"],
    }
    yield found(
        code,
        severity,
        judged.limit,
        abs(worst["mean"] / judged.rated - 1.0),
        (hits["began_at"][0], worst["ended_at"]),
        variant=("low" if low else "high") if counts else ("once_low" if low else "once_high"),
        edge=abs(edge / judged.rated - 1.0),
        evidence=evidence,
    )
