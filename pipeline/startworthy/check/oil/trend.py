"""Will it keep running: whether warm oil pressure sinks, run by run, at the same temperature and load."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.conditions import LIMITS as OF_CONDITIONS
from startworthy.check.conditions import against_early, dates_of, drivers_of, warm_runs
from startworthy.check.found import found, middle, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.oil import ORDINARY_OIL
from startworthy.results import Known, Logbook
from startworthy.statistics.driven import driven_trend


@check(
    "oil.declining",
    question=Question.KEEP_RUNNING,
    signals=["oil_kpa"],
    needs=["runs.oil_warm_kpa"],
    limits=[
        *OF_CONDITIONS,
        "oil_fall_kpa",
        "oil_fall_runs",
        "oil_follows_air_share",
        "oil_thinning_share",
        "oil_low_kpa",
        "oil_forecast_days",
        "trend_confidence",
        "false_discovery_rate",
    ],
    since="0.1",
)
def declining(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Warm pressure at speed over the runs, corrected for viscosity, air and load; late runs against early ones.

    Pressure follows the oil's viscosity, and that its temperature: the coolant of a warm engine stands in for it,
    and the air, as the sump is cooler in the cold.
    """
    warm = warm_runs(book, known, limit)
    runs = warm.runs.drop_nulls("oil_warm_kpa")
    by_coolant = runs["coolant_warm_c"].null_count() <= runs.height // 2
    if runs.height and not by_coolant and warm.air_from is None:
        yield not_assessed("oil.declining", Reason.SIGNAL_MISSING, why="no_temperature")
        return
    needed = (["coolant_warm_c"] if by_coolant else []) + (["air_c"] if warm.air_from else [])
    runs = _with_load(runs.drop_nulls(needed)).with_columns(
        pl.col("coolant_warm_c" if by_coolant else "air_c").alias("oil_c")
    )
    runs = runs.with_columns(ORDINARY_OIL.cst_over(pl.col("oil_c")).alias("viscosity"))
    drivers = drivers_of(runs, "viscosity", *(["air_c"] if by_coolant else []), "load")
    trend = driven_trend(runs["day"], runs["oil_warm_kpa"], drivers, limit.value("trend_confidence"))
    wanted = int(limit.value("oil_fall_runs"))
    if trend.per_day is None or trend.high is None:
        why = "not_apart" if runs.height >= wanted else "few_runs"
        yield not_assessed("oil.declining", Reason.TOO_FEW, why=why, runs=runs.height, wanted=wanted)
        return
    span_days = float(runs["day"][-1]) - float(runs["day"][0])
    fall = -trend.per_day * span_days
    second = against_early(runs, _beyond_thinning(limit, by_coolant=by_coolant), limit)
    least = limit["oil_fall_kpa"]
    if not (least.broken_by(fall) and trend.high < 0.0 and second is not None and second > least.value / 2):
        yield Clear(
            "oil.declining",
            {"runs": runs.height, "fall_kpa": fall, "warm_kpa": middle(runs["oil_warm_kpa"])},
            trend.chance("falls"),
        )
        return
    now = float(runs["day"][-1])
    meeting = trend.meets(limit.value("oil_low_kpa"), side="below", now_day=now)
    dates = dates_of(meeting, limit.value("oil_forecast_days"), now)
    yield found(
        "oil.declining",
        Severity.SOON,
        least,
        fall,
        (runs["began_at"][0], runs["ended_at"][-1]),
        variant="falling" if dates["meets_date"] is None else "dated",
        evidence={
            "fall_kpa": fall,
            "fall_low_kpa": -trend.high * span_days,
            "fall_high_kpa": -(trend.low or 0.0) * span_days,
            "alike_kpa": second,
            "runs": runs.height,
            "span_days": span_days,
            "warm_kpa": middle(runs["oil_warm_kpa"].tail(int(limit.value("recent_runs")))),
            "stop_kpa": limit.value("oil_low_kpa"),
        }
        | dates,
        p_value=trend.chance("falls"),
    )


def _with_load(runs: pl.DataFrame) -> pl.DataFrame:
    """Only the runs with a load, where most have one."""
    with_load = runs.drop_nulls("load")
    return with_load if with_load.height > runs.height // 2 else runs


def _beyond_thinning(limit: Limits, *, by_coolant: bool) -> pl.Expr:
    """Fall from an early run to a late one beyond what warmer oil explains; colder oil is given no credit.

    The oil warms with the coolant, and with the air by a share; pressure falls with a power of the viscosity: less
    than in proportion, as relief valve and sharp edges hold against it.
    """
    early_c, follows = pl.col("oil_c_early"), limit.value("oil_follows_air_share")
    warmer = (pl.col("oil_c") - early_c).clip(0.0)
    if by_coolant:
        warmer = warmer + follows * (pl.col("air_c") - pl.col("air_c_early")).clip(0.0).fill_null(0.0)
    thinner = ORDINARY_OIL.cst_over(early_c + warmer) / ORDINARY_OIL.cst_over(early_c)
    return pl.col("oil_warm_kpa_early") * thinner.pow(limit.value("oil_thinning_share")) - pl.col("oil_warm_kpa")
