"""The starting battery off charge: how fast it runs down, and when it will be half empty."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import polars as pl

from startworthy.check.battery.evidence import slope_p
from startworthy.check.battery.rest import nominal_v, rest_days, sealed_v, with_charge_seen
from startworthy.check.conditions import dates_of
from startworthy.check.found import by_nominal, day_begins, day_ends, found, log_ends, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Evidence, Outcome, Question, Reason, Severity
from startworthy.limits import Limit, Limits
from startworthy.physics.battery import ah_per_day, charge_over, days_to_flat
from startworthy.results import Known, Logbook
from startworthy.statistics.driven import days_of, driven_trend
from startworthy.statistics.regression import Coefficient, least_squares

_HOURS_A_DAY = 24


def standing_days(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """Rest days with what they show of a charger.

    Added: charge (a fraction, of days off charge), t (the day's number since 1970).
    """
    nominal = nominal_v(known)
    days = with_charge_seen(rest_days(book, limit), by_nominal(limit, "battery_float_low", nominal).value)
    charge = charge_over(pl.col("rest_battery_v"), nominal, higher_v=sealed_v(known, limit))
    return days.with_columns(
        pl.when("off").then(charge).alias("charge"), pl.col("day").to_physical().cast(pl.Float64).alias("t")
    )


@check(
    "battery.flat_forecast",
    question=Question.START,
    signals=["battery_v"],
    needs=["days.rest_battery_v"],
    limits=[
        "battery_flat_forecast_days",
        "battery_flat_horizon_days",
        "battery_flat_window_days",
        "battery_flat_fit_days",
        "battery_flat_fall_fraction",
        "battery_flat_dates_days",
        "battery_half_fraction",
        "battery_standby_ah",
        "battery_float_low_12_v",
        "battery_float_low_24_v",
        "battery_sealed_higher_12_v",
        "battery_sealed_higher_24_v",
        "battery_rest_days",
        "battery_rest_least_h",
        "charger_float_days",
        "trend_confidence",
        "false_discovery_rate",
    ],
    since="0.1",
)
def flat_forecast(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Off charge to the log's end: when its charge falls to about half, by its own decline and by its ampere hours."""
    if known.battery_nominal_v is None:
        yield not_assessed("battery.flat_forecast", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    days = standing_days(book, known, limit)
    wanted = limit["battery_rest_days"]
    if wanted.broken_by(days.height):
        yield _few("few_days", days.height, wanted)
        return
    off = days.filter(pl.col("off").reverse().cum_min().reverse())
    if off.is_empty():
        yield Clear(
            "battery.flat_forecast",
            {"days": days.height, "off_days": 0, "charge_fraction": None, "fall_fraction": None},
        )
        return
    now = _now(book, known, limit, off)
    if now.charge <= limit.value("battery_half_fraction"):
        # that it is low, and how urgent, is low_at_rest's to say
        yield _few("few_days", off.height, wanted) if wanted.broken_by(off.height) else _found(limit, now, 0.0, "there")
        return
    fit = limit["battery_flat_fit_days"]
    if fit.broken_by(off.height):
        # runs recharge a set without a charger, and no capacity tells how far
        lost = not limit["charger_float_days"].broken_by(int(days["float"].sum()))
        if now.by_capacity_days is None or not lost:
            yield _few("few_off_days", off.height, fit)
            return
        dates = {"left_days": now.by_capacity_days, "meets_date": now.seen["capacity_date"]}
        yield _found(limit, now, now.by_capacity_days, "by_capacity", dates)
        return
    yield _by_decline(limit, now, off.tail(int(limit.value("battery_flat_window_days"))))


@dataclass(frozen=True, slots=True)
class _Now:
    """How a battery off charge stands at the log's end (a day since 1970); by_capacity_days: None without its Ah."""

    charge: float
    day: float
    when: tuple[datetime, datetime]
    by_capacity_days: float | None
    seen: dict[str, Evidence]


def _now(book: Logbook, known: Known, limit: Limits, off: pl.DataFrame) -> _Now:
    latest = off.tail(int(limit.value("battery_rest_days")))
    charge, half = middle(latest["charge"]) or 0.0, limit.value("battery_half_fraction")
    began, ends = day_begins(off["day"][0], known.time_zone), log_ends(book, known.set_id)
    ah, left = known.entry.battery_ah, None
    if ah is not None and charge >= half:
        left = days_to_flat(ah, limit.value("battery_standby_ah") / _HOURS_A_DAY, charge=charge, flat=half)
    seen: dict[str, Evidence] = {
        "off_days": off.height,
        "since_date": began,
        "charge_fraction": charge,
        "volts_v": middle(latest["rest_battery_v"]),
        "half_fraction": half,
        "capacity_ah": ah,
        "capacity_date": None if left is None else ends + timedelta(days=left),
    }
    now_day = float(days_of(pl.Series([ends], dtype=pl.Datetime("us", "UTC")))[0])
    return _Now(charge, now_day, (began, day_ends(off["day"][-1], known.time_zone)), left, seen)


def _few(why: str, days: int, wanted: Limit) -> Outcome:
    return not_assessed("battery.flat_forecast", Reason.TOO_FEW, why=why, days=days, wanted=int(wanted.value))


def _found(
    limit: Limits, now: _Now, left_days: float, variant: str, more: Mapping[str, Evidence] | None = None
) -> Outcome:
    return found(
        "battery.flat_forecast",
        Severity.NOTE,
        limit["battery_flat_forecast_days"],
        left_days,
        now.when,
        variant=variant,
        evidence=now.seen | dict(more or {}),
    )


def _by_decline(limit: Limits, now: _Now, window: pl.DataFrame) -> Outcome:
    """The straight line through the charge of the latest days off charge, held until it meets one half."""
    trend = driven_trend(window["t"], window["charge"], pl.DataFrame(), limit.value("trend_confidence"))
    fall = -(trend.per_day or 0.0) * float(window["t"][-1] - window["t"][0])
    horizon, soon = limit["battery_flat_horizon_days"], limit["battery_flat_forecast_days"]
    meeting = trend.meets(limit.value("battery_half_fraction"), side="below", now_day=now.day)
    left = None if meeting.day is None else meeting.day - now.day
    p = slope_p(trend)
    by_chance = p is None or limit["false_discovery_rate"].broken_by(p)
    enough = limit["battery_flat_fall_fraction"].broken_by(fall) and trend.slope.falls
    if left is None or by_chance or not enough or horizon.broken_by(left):
        return Clear(
            "battery.flat_forecast",
            {
                "days": window.height,
                "off_days": now.seen["off_days"],
                "charge_fraction": now.charge,
                "fall_fraction": fall,
            },
            p_value=p,
        )
    pressing = soon.broken_by(left)
    return found(
        "battery.flat_forecast",
        Severity.SOON if pressing else Severity.NOTE,
        soon,
        left,
        now.when,
        variant="soon" if pressing else "later",
        evidence=now.seen
        | {"left_days": left, "fall_fraction": fall, "days": window.height}
        | dates_of(meeting, limit.value("battery_flat_dates_days"), now.day),
        p_value=p,
    )


@check(
    "battery.standing_drain",
    question=Question.START,
    signals=["battery_v"],
    needs=["days.rest_battery_v"],
    limits=[
        "battery_drain_ah",
        "battery_drain_days",
        "battery_drain_fit_days",
        "battery_drain_window_days",
        "battery_drain_from_fraction",
        "battery_drain_to_fraction",
        "battery_float_low_12_v",
        "battery_float_low_24_v",
        "battery_sealed_higher_12_v",
        "battery_sealed_higher_24_v",
        "battery_rest_least_h",
        "trend_confidence",
    ],
    since="0.1",
)
def standing_drain(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Ampere hours a day that a battery off charge loses between runs, by the slope of its charge."""
    if known.battery_nominal_v is None:
        yield not_assessed("battery.standing_drain", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    ah = known.entry.battery_ah
    if ah is None:
        yield not_assessed("battery.standing_drain", Reason.NOT_IN_REGISTER, key="battery_ah")
        return
    days = standing_days(book, known, limit)
    wanted = limit["battery_drain_days"]
    off = int(days["off"].sum())
    usable = _calm_spells(days, limit)
    if wanted.broken_by(off) or limit["battery_drain_fit_days"].broken_by(usable.height):
        latest = days.filter("off").tail(int(limit.value("battery_drain_window_days")))
        full = bool((latest["charge"] > limit.value("battery_drain_from_fraction")).all())
        # a battery that stays full between its runs loses next to nothing
        if full and not wanted.broken_by(latest.height):
            yield Clear(
                "battery.standing_drain",
                {"days": off, "daily": None, "daily_least": None, "daily_limit": limit.value("battery_drain_ah")},
            )
            return
        yield not_assessed(
            "battery.standing_drain",
            Reason.TOO_FEW,
            why="few_days",
            days=usable.height,
            off_days=off,
            wanted=int(wanted.value),
            usable=int(limit.value("battery_drain_fit_days")),
        )
        return
    window = usable.tail(int(limit.value("battery_drain_window_days")))
    slope = _slope(window, limit)
    drain = limit["battery_drain_ah"]
    drain_ah = ah_per_day(ah, slope.estimate) if slope else 0.0
    least_ah = ah_per_day(ah, slope.high) if slope else 0.0
    if slope is None or not drain.broken_by(drain_ah) or least_ah <= 0.0:
        yield Clear(
            "battery.standing_drain",
            {"days": window.height, "daily": drain_ah, "daily_least": least_ah, "daily_limit": drain.value},
            p_value=slope.p if slope else None,
        )
        return
    recovered = _recovered(days, window, limit)
    sure = drain.broken_by(least_ah) and not recovered
    yield found(
        "battery.standing_drain",
        Severity.SOON if sure else Severity.NOTE,
        drain,
        drain_ah,
        (day_begins(window["day"][0], known.time_zone), day_ends(window["day"][-1], known.time_zone)),
        variant="past" if recovered else "drains" if sure else "perhaps",
        evidence={
            "days": window.height,
            "daily": drain_ah,
            "daily_least": least_ah,
            "daily_limit": drain.value,
            "daily_most": ah_per_day(ah, slope.low),
            "capacity_ah": ah,
            "from_fraction": most(window["charge"]),
            "charge_fraction": float(window["charge"][-1]),
            "since_date": day_begins(window["day"][0], known.time_zone),
            "until_date": day_begins(window["day"][-1], known.time_zone),
        },
        p_value=slope.p,
    )


def _calm_spells(days: pl.DataFrame, limit: Limits) -> pl.DataFrame:
    """Days off charge on which it did not run, within the span of charge that volts can tell, two or more in a row.

    Added: spell, a number that a run, a charge or a missing day ends.
    """
    calm = pl.col("off") & (pl.col("running_s").fill_null(0.0) <= 0.0)
    within = pl.col("charge").is_between(
        limit.value("battery_drain_to_fraction"), limit.value("battery_drain_from_fraction")
    )
    # days beyond that span on either side do not join two spells, and need none of their own
    return (
        days.with_columns((calm & within).fill_null(False).alias("calm"))
        .with_columns((~pl.col("calm") | (pl.col("t").diff() > 1).fill_null(False)).cum_sum().alias("spell"))
        .filter("calm")
        .filter(pl.len().over("spell") > 1)
    )


def _slope(window: pl.DataFrame, limit: Limits) -> Coefficient | None:
    """Charge lost a day, one slope for all spells, each from its own level; None where it does not move at all."""
    levels = window.select(pl.col("spell").cast(pl.String)).to_dummies().cast(pl.Float64)
    fit = least_squares(
        window["charge"], pl.DataFrame({"t": window["t"]}).hstack(levels), limit.value("trend_confidence")
    )
    return fit.of("t")


def _recovered(days: pl.DataFrame, window: pl.DataFrame, limit: Limits) -> bool:
    """It was charged since, and has not been seen to run down again for as long as it took to tell."""
    later = days.filter(pl.col("day") > window["day"][-1])
    if limit["battery_drain_days"].broken_by(later.height):
        return False
    charged = ~pl.col("off") | (pl.col("charge") > limit.value("battery_drain_from_fraction"))
    return bool(later.tail(int(limit.value("battery_drain_days"))).select(charged.all()).item())
