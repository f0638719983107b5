"""Will it keep running: what it burns, against what it burnt at the same load before."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING

import polars as pl

from startworthy.check.found import found, middle, not_assessed
from startworthy.check.frame import check
from startworthy.check.fuel.burn import LIMITS as OF_BURN
from startworthy.check.fuel.burn import Burnt, burnt
from startworthy.findings import Clear, Finding, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.fuel import fuel_curve
from startworthy.results import Known, Logbook
from startworthy.statistics.regression import least_squares

if TYPE_CHECKING:
    from startworthy.findings import Evidence

_LATE = "late"


@check(
    "fuel.rate_high",
    question=Question.KEEP_RUNNING,
    signals=["fuel_fraction|fuel_l|fuel_flow_lph"],
    needs=["runs.fuel_before_fraction|runs.fuel_used_l"],
    limits=[
        *OF_BURN,
        "fuel_rate_spans",
        "fuel_rate_high_times",
        "fuel_rate_curve_times",
        "trend_confidence",
        "false_discovery_rate",
    ],
    since="0.1",
)
def rate_high(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """The latest stretches against the first ones, each by what its hours and loads should burn; then the curve."""
    burn = burnt(book, known, limit)
    if not burn.loads:
        yield not_assessed("fuel.rate_high", Reason.SIGNAL_MISSING, why="no_load")
        return
    spans, least = burn.spans, int(limit.value("fuel_rate_spans"))
    evidence: dict[str, Evidence] = {"spans": spans.height, "times": None, "curve_times": None}
    p_value = None
    if spans.height >= 2 * least:
        size = max(least, spans.height // 2 // 2)
        early, late = spans.head(size), spans.tail(size)
        times, low, high, p_value = _times(early, late, limit)
        evidence |= {"times": times}
        if limit["fuel_rate_high_times"].broken_by(times) and low > 1.0:
            yield _more(burn, early, late, (times, low, high, p_value), limit)
            return
    curve = _over_curve(spans.tail(least), burn, known) if spans.height >= least else None
    if curve is not None:
        evidence |= {"curve_times": curve}
        if limit["fuel_rate_curve_times"].broken_by(curve):
            yield _over(spans.tail(least), curve, limit)
            return
    if p_value is None and curve is None:
        yield not_assessed(
            "fuel.rate_high",
            Reason.TOO_FEW,
            why="few_spans",
            spans=spans.height,
            wanted=2 * least,
            span_share=limit.value("fuel_span_share"),
        )
        return
    yield Clear("fuel.rate_high", evidence, p_value)


def _times(early: pl.DataFrame, late: pl.DataFrame, limit: Limits) -> tuple[float, float, float, float]:
    """How many times the fuel of the early spans the late ones took at equal load: best, low, high, p.

    By the idle share that makes less of it: what it truly is, nobody knows. The mean by least squares, or the
    medians where they say less; never surer than the levels at the spans' ends.
    """
    both = pl.concat([early.with_columns(pl.lit(0.0).alias(_LATE)), late.with_columns(pl.lit(1.0).alias(_LATE))])
    ways = []
    for full in ("full_low_h", "full_high_h"):
        rates = both.select((pl.col("used") / pl.col(full)).log().alias("rate"), _LATE, "error")
        fit = least_squares(rates["rate"], rates.select(_LATE), limit.value("trend_confidence"))
        step = fit.of(_LATE)
        if step is None:
            continue
        medians = [middle(rates.filter(pl.col(_LATE) == part)["rate"]) or 0.0 for part in (0.0, 1.0)]
        by_ends = float((rates["error"] ** 2).sum()) ** 0.5 / early.height
        half = max(step.high - step.estimate, 2 * by_ends)
        best = min(step.estimate, medians[1] - medians[0])
        ways.append((best, best - half, best + half, step.p))
    best, low, high, p = min(ways)
    return math.exp(best), math.exp(low), math.exp(high), p


def _more(
    burn: Burnt, early: pl.DataFrame, late: pl.DataFrame, more: tuple[float, float, float, float], limit: Limits
) -> Finding:
    times, low, high, p_value = more
    before, after = _an_hour(early), _an_hour(late)
    named = "lph" if burn.litres else "share"
    return found(
        "fuel.rate_high",
        Severity.SOON,
        limit["fuel_rate_high_times"],
        times,
        _span(late),
        variant="more" if burn.litres else "more_share",
        evidence={
            "times": times,
            "times_low": low,
            "times_high": high,
            "hours_h": float(late["hours"].sum()),
            "load_fraction": _load(late),
            "load_before_fraction": _load(early),
            f"before_{named}": before,
            f"after_{named}": after,
            "from_date": late["began_at"][0],
            "before_date": early["ended_at"][-1],
        },
        p_value=p_value,
    )


def _over_curve(late: pl.DataFrame, burn: Burnt, known: Known) -> float | None:
    """What the late spans took over what the register's curve gives for their hours and loads; None without either."""
    points = known.entry.fuel_curve
    if not points or not burn.litres:
        return None
    should = late.select((fuel_curve(points).over(pl.col("load")) * pl.col("hours")).sum()).item()
    return float(late["used"].sum()) / should if should else None


def _over(late: pl.DataFrame, times: float, limit: Limits) -> Finding:
    return found(
        "fuel.rate_high",
        Severity.SOON,
        limit["fuel_rate_curve_times"],
        times,
        _span(late),
        variant="curve",
        evidence={
            "times": times,
            "hours_h": float(late["hours"].sum()),
            "load_fraction": _load(late),
            "after_lph": _an_hour(late),
            "from_date": late["began_at"][0],
        },
    )


def _an_hour(spans: pl.DataFrame) -> float:
    return float(spans["used"].sum()) / float(spans["hours"].sum())


def _load(spans: pl.DataFrame) -> float:
    return float((spans["load"] * spans["hours"]).sum()) / float(spans["hours"].sum())


def _span(spans: pl.DataFrame) -> tuple[datetime, datetime]:
    return spans["began_at"][0], spans["ended_at"][-1]
