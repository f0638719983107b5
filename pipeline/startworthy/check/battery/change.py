"""How the volts while cranking change over the log: little by little, or by a step."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from startworthy.check.battery.evidence import slope_p
from startworthy.check.battery.rest import nominal_v
from startworthy.check.conditions import dates_of
from startworthy.check.found import by_nominal, found, least, middle, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Evidence, NotAssessed, Outcome, Question, Reason, Severity
from startworthy.limits import Limit, Limits
from startworthy.physics.battery import load_test, volts_at_charge
from startworthy.results import Known, Logbook
from startworthy.statistics.driven import DrivenTrend, Meeting, days_of, driven_trend, forecast
from startworthy.statistics.ranks import mann_whitney, step
from startworthy.statistics.regression import robust
from startworthy.statistics.robust import scatter

_TEMPERATURE, _CHARGER, _TIME, _AFTER = "battery_c", ("on_float", "short_v"), "day", "after"


def _cranks(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """The first attempt of each demand whose volts while cranking were seen, in order.

    Columns: began_at, ended_at, day (since 1970), volts, rows, battery_c (coolant too cold for a heater, or ambient,
    whichever is lower), before_v, dip_v (before preheat less while preheating), on_float (1 or 0), short_v
    (how far it rested below full; 0 on float, where that does not show).
    """
    nominal = nominal_v(known)
    coolant, before = pl.col("coolant_before_c"), pl.col("battery_before_v")
    cold_engine = pl.when(coolant <= limit.value("battery_heated_c")).then(coolant)
    engine_c = pl.lit(None, pl.Float64) if known.entry.coolant_heater else cold_engine
    floats = (before >= by_nominal(limit, "battery_float_low", nominal).value).fill_null(True)
    short = (before - volts_at_charge(1.0, nominal)).clip(upper_bound=0.0)
    first = book.attempts.sort("began_at").group_by("demand", maintain_order=True).agg(pl.all().first())
    seen = first.filter(
        pl.col("battery_mean_v").is_not_null(),
        pl.col("resolution_s") <= limit.value("battery_crank_seen_within_s"),
    )
    return seen.select(
        "began_at",
        "ended_at",
        "rows",
        days_of(seen["began_at"]).alias(_TIME),
        pl.col("battery_mean_v").alias("volts"),
        pl.min_horizontal(engine_c, "ambient_c").alias(_TEMPERATURE),
        before.alias("before_v"),
        (before - pl.col("preheat_v")).alias("dip_v"),
        floats.cast(pl.Float64).alias("on_float"),
        pl.when(floats).then(0.0).otherwise(short).alias("short_v"),
    )


def _comparable(
    code: str, book: Logbook, known: Known, limit: Limits, wanted: float
) -> tuple[pl.DataFrame, bool] | NotAssessed:
    """Cranks of known temperature, and whether each has enough rows: those that have, if `wanted` of them do.

    Cranks of one or two rows are a lower bound each, and only many of them say anything.
    """
    all_seen = _cranks(book, known, limit)
    cranks = all_seen.drop_nulls(_TEMPERATURE)
    if cranks.height <= all_seen.height // 2:
        if all_seen.height:
            return not_assessed(code, Reason.NOTHING_SEEN, why="no_temperature", starts=all_seen.height)
        interval_s = middle(book.attempts["resolution_s"])
        within_s = limit.value("battery_crank_seen_within_s")
        return not_assessed(code, Reason.TOO_COARSE, interval_s=interval_s, wanted_s=within_s)
    whole = cranks.filter(pl.col("rows") >= limit.value("battery_crank_rows"))
    many = limit["battery_crank_trend_starts"]
    few = many.broken_by(cranks.height)
    # where most have few rows the others are the long ones, and no fair choice
    if whole.height >= wanted and (few or whole.height > cranks.height // 2):
        return whole, True
    if few:
        return not_assessed(
            code,
            Reason.TOO_FEW,
            why="few_starts",
            starts=cranks.height,
            whole=whole.height,
            rows=int(limit.value("battery_crank_rows")),
            wanted=int(wanted),
            many=int(many.value),
        )
    return cranks, False


@dataclass(frozen=True, slots=True)
class _Step:
    """The best place to cut the cranks in two levels. size_v: of the second over the first, at equal temperature.

    sharp: down, by more than the limit, and two levels fit better than a straight line in time. p: that there is none
    (rank test, times the cuts tried).
    """

    row: int
    size_v: float
    p: float
    sharp: bool
    scatter_before_v: float
    scatter_after_v: float


def _step(cranks: pl.DataFrame, large: Limit, limit: Limits) -> _Step | None:
    """None where there are too few cranks either side, or time cannot be told from temperature."""
    volts, driver, confidence = cranks["volts"], cranks.select(_TEMPERATURE), limit.value("trend_confidence")
    side = int(limit.value("battery_joint_side_starts"))
    warm = robust(volts, driver, confidence).residuals
    cut = step(volts if warm is None else warm, least=side).row
    if cut is None:
        return None
    after = (pl.int_range(cranks.height, eager=True) >= cut).cast(pl.Float64).alias(_AFTER)
    levels = robust(volts, driver.with_columns(after), confidence)
    size = levels.of(_AFTER)
    if size is None or levels.residuals is None:
        return None
    # less temperature's part, before and after
    alike = levels.residuals + size.estimate * after
    cuts = cranks.height - 2 * side + 1
    p = mann_whitney(alike[cut:], alike[:cut], "less").p
    found_by_chance = 1.0 if p is None else min(1.0, p * cuts)
    sharp = False
    if large.broken_by(-size.estimate) and size.high < 0.0:
        line = robust(volts, driver.with_columns(cranks[_TIME]), confidence).residuals
        share = limit.value("battery_joint_sharper_share")
        sharp = line is not None and float(levels.residuals.abs().sum()) < share * float(line.abs().sum())
    spread = scatter(alike[:cut]).scatter or 0.0, scatter(alike[cut:]).scatter or 0.0
    return _Step(cut, size.estimate, found_by_chance, sharp, *spread)


@check(
    "battery.crank_sag_growing",
    question=Question.START,
    signals=["battery_v", "coolant_c|ambient_c"],
    needs=["attempts"],
    limits=[
        "battery_sag_growth_12_v",
        "battery_sag_growth_24_v",
        "battery_sag_soon_days",
        "battery_crank_trend_least",
        "battery_crank_trend_starts",
        "battery_crank_rows",
        "battery_crank_seen_within_s",
        "battery_crank_low_12_v",
        "battery_crank_low_24_v",
        "battery_heated_c",
        "battery_float_low_12_v",
        "battery_float_low_24_v",
        "battery_flat_dates_days",
        "recent_starts",
        "battery_charger_state_starts",
        "battery_joint_step_12_v",
        "battery_joint_step_24_v",
        "battery_joint_side_starts",
        "battery_joint_sharper_share",
        "trend_confidence",
        "false_discovery_rate",
    ],
    since="0.1",
)
def crank_sag_growing(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Trend of the mean volts while cranking, with temperature and the charger's state held, and where it leads."""
    code = "battery.crank_sag_growing"
    if known.battery_nominal_v is None:
        yield not_assessed(code, Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    comparable = _comparable(code, book, known, limit, limit.value("battery_crank_trend_least"))
    if isinstance(comparable, NotAssessed):
        yield comparable
        return
    cranks, whole = comparable
    cranks, drivers = _of_one_charger(cranks, limit)
    trend = driven_trend(cranks[_TIME], cranks["volts"], cranks.select(drivers), limit.value("trend_confidence"))
    p = slope_p(trend)
    if p is None or trend.high is None or trend.per_day is None:
        yield not_assessed(code, Reason.TOO_FEW, why="entangled", starts=cranks.height)
        return
    span = float(cranks[_TIME][-1] - cranks[_TIME][0])
    fall_v, least_v, most_v = (-per_day * span for per_day in (trend.per_day, trend.high, trend.low or 0.0))
    growth = by_nominal(limit, "battery_sag_growth", known.battery_nominal_v)
    by_chance = limit["false_discovery_rate"].broken_by(p)
    alike_v = _fall_at_like_temperature(cranks, int(limit.value("recent_starts")))
    # a line that a few cranks in the inrush have bent: the latest are no lower than earlier ones as cold
    bent = alike_v is not None and alike_v <= 0.0
    if by_chance or bent or not growth.broken_by(fall_v) or least_v <= 0.0:
        yield Clear(
            code,
            {
                "starts": cranks.height,
                "fall_v": fall_v,
                "least_v": least_v,
                "most_v": most_v,
                "limit_v": growth.value,
            },
            p_value=p,
        )
        return
    meeting, edge = _meets(cranks, drivers, trend, known, limit)
    now_day = float(cranks[_TIME][-1])
    left = None if meeting.day is None else meeting.day - now_day
    near = left is not None and left <= limit.value("battery_sag_soon_days")
    stepped = _step(cranks, by_nominal(limit, "battery_joint_step", known.battery_nominal_v), limit)
    # a few rows each are a lower bound: there all of the interval has to matter; a step is bad_joint's to tell
    sure = (whole or growth.broken_by(least_v)) and not (stepped and stepped.sharp)
    seen: dict[str, Evidence] = {
        "starts": cranks.height,
        "whole": whole,
        "fall_v": fall_v,
        "least_v": least_v,
        "most_v": most_v,
        "span_days": span,
        "held": ", ".join(_HELD[name] for name in trend.drivers) or "nothing",
    }
    yield found(
        code,
        Severity.SOON if near and sure else Severity.NOTE,
        growth,
        fall_v,
        (cranks["began_at"][0], cranks["ended_at"][-1] or cranks["began_at"][-1]),
        variant="growing" if not near else "reached" if not left else "dated",
        evidence=seen | edge | dates_of(meeting, limit.value("battery_flat_dates_days"), now_day),
        p_value=p,
    )


def _fall_at_like_temperature(cranks: pl.DataFrame, recent: int) -> float | None:
    """Median volts of earlier cranks, as cold as the latest or colder, less that of the latest. None: too few."""
    late = cranks.tail(recent)
    warmest_c = middle(late[_TEMPERATURE])
    early = cranks.head(cranks.height - late.height).filter(pl.col(_TEMPERATURE) <= warmest_c)
    was_v, is_v = middle(early["volts"]), middle(late["volts"])
    return was_v - is_v if early.height > recent // 2 and was_v is not None and is_v is not None else None


_HELD = {_TEMPERATURE: "temperature", "on_float": "charger on or off", "short_v": "charge off charger"}


def _of_one_charger(cranks: pl.DataFrame, limit: Limits) -> tuple[pl.DataFrame, list[str]]:
    """Cranks, and what their volts are corrected for: those of a charger's state that hardly ever was are left out."""
    wanted = limit["battery_charger_state_starts"]
    on = cranks.filter(pl.col("on_float") > 0.0)
    off = cranks.filter(pl.col("on_float") <= 0.0)
    if wanted.broken_by(off.height):
        return on, [_TEMPERATURE]
    if wanted.broken_by(on.height):
        return off, [_TEMPERATURE, "short_v"]
    return cranks, [_TEMPERATURE, *_CHARGER]


def _meets(
    cranks: pl.DataFrame, drivers: list[str], trend: DrivenTrend, known: Known, limit: Limits
) -> tuple[Meeting, dict[str, Evidence]]:
    """When the volts meet the load-test limit at the coldest temperature seen, and both of these."""
    nominal = nominal_v(known)
    table, low = load_test(nominal), by_nominal(limit, "battery_crank_low", nominal).value
    coldest_c = least(cranks[_TEMPERATURE]) or 0.0
    edge_v = low + table.at(coldest_c) - table.y[-1]
    fit = robust(cranks["volts"], cranks.select(*drivers, _TIME), limit.value("trend_confidence"))
    per_c = fit.of(_TEMPERATURE)
    # cold never helps: a slope the wrong way is chance, of a log without much cold in it
    colder = coldest_c - (middle(cranks[_TEMPERATURE]) or 0.0)
    level = (trend.level or 0.0) + max(0.0, per_c.estimate if per_c else 0.0) * colder
    now_day = float(cranks[_TIME][-1])
    meeting = forecast(trend.slope, level, at_day=trend.at_day or now_day, limit=edge_v, side="below", now_day=now_day)
    return meeting, {"coldest_c": coldest_c, "edge_v": edge_v}


@check(
    "battery.bad_joint",
    question=Question.START,
    signals=["battery_v", "coolant_c|ambient_c"],
    needs=["attempts"],
    limits=[
        "battery_joint_step_12_v",
        "battery_joint_step_24_v",
        "battery_joint_rest_12_v",
        "battery_joint_rest_24_v",
        "battery_joint_dip_ratio",
        "battery_joint_scatter_ratio",
        "battery_joint_least_starts",
        "battery_joint_side_starts",
        "battery_joint_sharper_share",
        "battery_crank_trend_starts",
        "battery_crank_rows",
        "battery_crank_seen_within_s",
        "battery_heated_c",
        "battery_float_low_12_v",
        "battery_float_low_24_v",
        "trend_confidence",
        "false_discovery_rate",
    ],
    since="0.1",
)
def bad_joint(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """A step down in the volts while cranking that the battery at rest knows nothing of, or that preheat shows too."""
    code = "battery.bad_joint"
    if known.battery_nominal_v is None:
        yield not_assessed(code, Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    comparable = _comparable(code, book, known, limit, limit.value("battery_joint_least_starts"))
    if isinstance(comparable, NotAssessed):
        yield comparable
        return
    cranks, _ = comparable
    large = by_nominal(limit, "battery_joint_step", known.battery_nominal_v)
    cut = _step(cranks, large, limit)
    if cut is None:
        yield not_assessed(code, Reason.TOO_FEW, why="entangled", starts=cranks.height)
        return
    fell_v = -cut.size_v
    by_chance = limit["false_discovery_rate"].broken_by(cut.p)
    if by_chance or not cut.sharp:
        yield Clear(
            code,
            {"starts": cranks.height, "step_v": fell_v, "limit_v": large.value, "rest_change_v": None},
            p_value=cut.p,
        )
        return
    before, after = cranks[: cut.row], cranks[cut.row :]
    rest_v = (middle(after["before_v"]) or 0.0) - (middle(before["before_v"]) or 0.0)
    if (
        rest_v < -by_nominal(limit, "battery_joint_rest", known.battery_nominal_v).value
        and not after["on_float"].median()
    ):
        # weak, flat, or its charger gone: what it rests at knows of it
        yield Clear(
            code,
            {"starts": cranks.height, "step_v": fell_v, "limit_v": large.value, "rest_change_v": rest_v},
            p_value=cut.p,
        )
        return
    same_rest = not by_nominal(limit, "battery_joint_rest", known.battery_nominal_v).broken_by(abs(rest_v))
    dips = middle(before["dip_v"]), middle(after["dip_v"])
    deeper = bool(dips[0] and dips[1] and dips[1] >= limit.value("battery_joint_dip_ratio") * dips[0])
    wilder = bool(
        cut.scatter_before_v
        and cut.scatter_after_v >= limit.value("battery_joint_scatter_ratio") * cut.scatter_before_v
    )
    second = same_rest or deeper or wilder
    yield found(
        code,
        Severity.SOON if second else Severity.NOTE,
        large,
        fell_v,
        (after["began_at"][0], after["ended_at"][-1] or after["began_at"][-1]),
        variant="suspect" if second else "step",
        evidence={
            "starts": cranks.height,
            "after": after.height,
            "step_v": fell_v,
            "before_v": middle(before["volts"]),
            "after_v": middle(after["volts"]),
            "since_date": after["began_at"][0],
            "rest_change_v": rest_v,
            "same_rest": same_rest,
            "dip_before_v": dips[0],
            "dip_after_v": dips[1],
            "deeper_preheat": deeper,
            "wilder": wilder,
        },
        p_value=cut.p,
    )
