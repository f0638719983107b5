"""Will it keep running: whether the coolant creeps up, run by run, at the same load and air."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.conditions import LIMITS as OF_CONDITIONS
from startworthy.check.conditions import against_early, dates_of, drivers_of, warm_runs
from startworthy.check.found import found, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Evidence, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.statistics.driven import DrivenTrend, driven_trend, forecast
from startworthy.statistics.regression import robust


@check(
    "cooling.declining",
    question=Question.KEEP_RUNNING,
    signals=["coolant_c"],
    needs=["runs.coolant_warm_c"],
    limits=[
        *OF_CONDITIONS,
        "coolant_rise_c",
        "coolant_rise_runs",
        "coolant_high_c",
        "coolant_hot_day_c",
        "coolant_forecast_days",
        "trend_confidence",
        "false_discovery_rate",
    ],
    since="0.1",
)
def declining(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Warm coolant over the runs, corrected for air and load, and the late runs against early ones no easier.

    A thermostat that holds the coolant hides what the radiator has left: then neither sign shows, and nothing is said.
    """
    if known.entry.air_cooled:
        yield not_assessed("cooling.declining", Reason.NOTHING_SEEN, why="air_cooled")
        return
    warm = warm_runs(book, known, limit)
    runs = warm.runs.drop_nulls("coolant_warm_c")
    if warm.air_from is None and runs.height:
        yield not_assessed("cooling.declining", Reason.SIGNAL_MISSING, why="no_air")
        return
    runs = runs.drop_nulls("air_c")
    with_load = runs.drop_nulls("load")
    loaded = with_load.height > runs.height // 2
    runs = with_load if loaded else runs.with_columns(pl.lit(None, pl.Float64).alias("load"))
    trend = _trend(runs, limit)
    if trend.per_day is None or trend.low is None:
        apart = runs.height >= limit.value("coolant_rise_runs")
        yield not_assessed(
            "cooling.declining",
            Reason.TOO_FEW,
            why="not_apart" if apart else "few_runs",
            runs=runs.height,
            wanted=int(limit.value("coolant_rise_runs")),
        )
        return
    span_days = float(runs["day"][-1]) - float(runs["day"][0])
    rise = trend.per_day * span_days
    warmer = (pl.col("air_c") - pl.col("air_c_early")).clip(0.0)
    second = against_early(runs, pl.col("coolant_warm_c") - pl.col("coolant_warm_c_early") - warmer, limit)
    least = limit["coolant_rise_c"]
    sure = trend.low > 0.0 and second is not None and second > least.value / 2
    if not (least.broken_by(rise) and sure):
        yield Clear(
            "cooling.declining",
            {"runs": runs.height, "rise_dc": rise, "highest_c": most(runs["coolant_warm_c"])},
            trend.chance("rises"),
        )
        return
    ahead = _hot_day(runs, book, trend, limit)
    variant = "load_unknown" if not loaded else "rising" if ahead["meets_date"] is None else "dated"
    if loaded and not limit["coolant_high_c"].value > _number(ahead["hot_day_c"]):
        variant = "at_limit"
    yield found(
        "cooling.declining",
        Severity.SOON if loaded else Severity.NOTE,
        least,
        rise,
        (runs["began_at"][0], runs["ended_at"][-1]),
        variant=variant,
        evidence={
            "rise_dc": rise,
            "rise_low_dc": trend.low * span_days,
            "rise_high_dc": (trend.high or 0.0) * span_days,
            "alike_dc": second,
            "runs": runs.height,
            "span_days": span_days,
            "warm_c": middle(runs["coolant_warm_c"].tail(int(limit.value("recent_runs")))),
            "limit_high_c": limit.value("coolant_high_c"),
        }
        | ahead,
        p_value=trend.chance("rises"),
    )


def _trend(runs: pl.DataFrame, limit: Limits) -> DrivenTrend:
    drivers = drivers_of(runs, "air_c", "load")
    return driven_trend(runs["day"], runs["coolant_warm_c"], drivers, limit.value("trend_confidence"))


def _hot_day(runs: pl.DataFrame, book: Logbook, trend: DrivenTrend, limit: Limits) -> dict[str, Evidence]:
    """What a full-load run on a hot day would come to now, and when that meets the warning limit, with its interval."""
    drivers = drivers_of(runs, "air_c", "load")
    fit = robust(
        runs["coolant_warm_c"], drivers.with_columns(runs["day"] - runs["day"][0]), limit.value("trend_confidence")
    )
    by_air, by_load = fit.of("air_c"), fit.of("load")
    seen = most(pl.concat([runs["air_c"], book.days["ambient_c"]]).cast(pl.Float64))
    hot_c = max(limit.value("coolant_hot_day_c"), seen or limit.value("coolant_hot_day_c"))
    level = trend.level or 0.0
    # a degree of air is a degree of coolant at the most, and load never cools
    if by_air is not None:
        level += min(max(by_air.estimate, 0.0), 1.0) * (hot_c - (middle(runs["air_c"]) or hot_c))
    if by_load is not None:
        level += max(by_load.estimate, 0.0) * (1.0 - (middle(runs["load"]) or 1.0))
    now, at_day = float(runs["day"][-1]), trend.at_day or 0.0
    meeting = forecast(
        trend.slope, level, at_day=at_day, limit=limit.value("coolant_high_c"), side="above", now_day=now
    )
    dates = dates_of(meeting, limit.value("coolant_forecast_days"), now)
    return {"hot_day_c": level + (trend.per_day or 0.0) * (now - at_day), "hot_air_c": hot_c, **dates}


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0
