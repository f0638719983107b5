"""What charges the starting battery: its mains charger too high, and the engine's own alternator."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.battery.rest import nominal_v, rest_days, with_charge_seen
from startworthy.check.found import (
    HOUR_S,
    MINUTE_S,
    by_nominal,
    day_begins,
    day_ends,
    found,
    least,
    most,
    not_assessed,
    spells,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.battery import float_band, load_test
from startworthy.results import Known, Logbook


def battery_c(known: Known, limit: Limits, coolant: str) -> pl.Expr:
    """Temperature of a battery at rest: the lower of ambient and coolant, which a heater or the sun may raise.

    Null where neither is known, or only a coolant that a heater may hold.
    """
    cool = pl.col(coolant)
    unheated = pl.when(cool <= limit.value("battery_heated_c")).then(cool)
    stands_in = pl.lit(None, pl.Float64) if known.entry.coolant_heater else unheated
    return pl.min_horizontal(stands_in, "ambient_c")


@check(
    "battery.overcharged",
    question=Question.START,
    signals=["battery_v"],
    needs=["days.rest_battery_v"],
    limits=[
        "battery_float_over_12_v",
        "battery_float_over_24_v",
        "battery_float_over_days",
        "battery_over_12_v",
        "battery_over_24_v",
        "battery_over_h",
        "battery_over_good_days",
        "battery_heated_c",
        "battery_rest_least_h",
    ],
    since="0.1",
)
def overcharged(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Rest volts above what float charging gives at the day's temperature for days on end, or far above it for hours.

    The hours after a run are not in them.
    """
    if known.battery_nominal_v is None:
        yield not_assessed("battery.overcharged", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    days = _held_against_float(rest_days(book, limit), known, limit)
    wanted = limit["battery_float_over_days"]
    far = days.filter(pl.col("far_h") > limit.value("battery_over_h"))
    if far.height:
        yield _far_over(days, far, known, limit)
        return
    if wanted.broken_by(days.height):
        yield not_assessed(
            "battery.overcharged", Reason.TOO_FEW, why="few_days", days=days.height, wanted=int(wanted.value)
        )
        return
    facts = (
        pl.col("day").first().alias("first_day"),
        pl.col("day").last().alias("last_day"),
        pl.len().alias("days"),
        pl.col("rest_battery_v").median().alias("volts_v"),
        pl.col("edge_v").median(),
        pl.col("battery_c").median(),
    )
    over = spells(days, pl.col("rest_battery_v") > pl.col("edge_v"), *facts).filter(pl.col("days") >= wanted.value)
    if over.is_empty():
        nearest = days.sort(pl.col("rest_battery_v") - pl.col("edge_v")).row(-1, named=True)
        yield Clear(
            "battery.overcharged",
            {"days": days.height, "highest_v": nearest["rest_battery_v"], "limit_v": nearest["edge_v"]},
        )
        return
    last = over.row(-1, named=True)
    lasts = last["last_row"] == days.height - 1
    yield found(
        "battery.overcharged",
        Severity.NOTE,
        by_nominal(limit, "battery_float_over", nominal_v(known)),
        last["volts_v"],
        (day_begins(last["first_day"], known.time_zone), day_ends(last["last_day"], known.time_zone)),
        variant="high" if lasts else "was_high",
        edge=last["edge_v"],
        evidence={
            "days": last["days"],
            "volts_v": last["volts_v"],
            "limit_v": last["edge_v"],
            "temperature_c": last["battery_c"],
            "since_date": day_begins(last["first_day"], known.time_zone),
            "until_date": day_begins(last["last_day"], known.time_zone),
        },
    )


def _held_against_float(days: pl.DataFrame, known: Known, limit: Limits) -> pl.DataFrame:
    """Added: battery_c, edge_v (float band's upper edge at that temperature and what is put up with), far_h.

    At a temperature that is not known the coldest of the load-test table is allowed: float is highest there.
    """
    nominal = nominal_v(known)
    coldest_c = load_test(nominal).x[0]
    celsius = battery_c(known, limit, "rest_coolant_c")
    _, high = float_band(nominal).over(celsius.fill_null(coldest_c))
    all_day = pl.when(pl.col("rest_battery_v") > by_nominal(limit, "battery_over", nominal).value)
    rest_s = pl.coalesce("rest_battery_s", "covered_s")
    far_s = pl.coalesce(pl.col("rest_battery_over_s"), all_day.then(rest_s).otherwise(0.0))
    return days.with_columns(
        celsius.alias("battery_c"),
        (high + by_nominal(limit, "battery_float_over", nominal).value).alias("edge_v"),
        (far_s / HOUR_S).alias("far_h"),
    )


def _far_over(days: pl.DataFrame, far: pl.DataFrame, known: Known, limit: Limits) -> Outcome:
    """Days on which it stood far too high for more than an hour: urgent while it lasts."""
    last, first = far.row(-1, named=True), far.row(0, named=True)
    good = days.filter(pl.col("day") > last["day"]).height
    lasts = limit["battery_over_good_days"].broken_by(good)
    return found(
        "battery.overcharged",
        Severity.URGENT if lasts else Severity.NOTE,
        limit["battery_over_h"],
        last["far_h"],
        (day_begins(first["day"], known.time_zone), day_ends(last["day"], known.time_zone)),
        variant="far_over" if lasts else "was_far_over",
        evidence={
            "over_h": last["far_h"],
            "days": far.height,
            "since_date": day_begins(first["day"], known.time_zone),
            "until_date": day_begins(last["day"], known.time_zone),
            "highest_v": most(far.select(pl.coalesce("rest_battery_high_v", "rest_battery_v")).to_series()),
            "limit_v": by_nominal(limit, "battery_over", nominal_v(known)).value,
            "temperature_c": last["battery_c"],
        },
    )


@check(
    "battery.not_charged_by_engine",
    question=Question.START,
    signals=["battery_v"],
    needs=["runs"],
    limits=[
        "battery_running_low_12_v",
        "battery_running_low_24_v",
        "battery_running_flat_12_v",
        "battery_running_flat_24_v",
        "battery_running_rise_12_v",
        "battery_running_rise_24_v",
        "battery_running_recovers_12_v",
        "battery_running_recovers_24_v",
        "battery_running_minutes",
        "battery_running_rows",
        "battery_float_low_12_v",
        "battery_float_low_24_v",
        "recent_runs",
        "recent_repeats",
    ],
    since="0.1",
)
def not_charged_by_engine(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Battery volts from 5 min after the start, in runs in which no mains charger could hold them up."""
    if known.battery_nominal_v is None:
        yield not_assessed("battery.not_charged_by_engine", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    runs = _running_volts(book, known, limit)
    if runs.is_empty():
        yield not_assessed(
            "battery.not_charged_by_engine",
            Reason.NOTHING_SEEN,
            why="short_runs",
            runs=book.runs.height,
            least_minutes=limit.value("battery_running_minutes"),
        )
        return
    judged = runs.filter(pl.col("low") | pl.col("charged"))
    if judged.is_empty():
        yield not_assessed("battery.not_charged_by_engine", Reason.NOTHING_SEEN, why="charger_on", runs=runs.height)
        return
    latest = judged.tail(int(limit.value("recent_runs")))
    hits = latest.filter("low")
    if hits.is_empty():
        yield Clear(
            "battery.not_charged_by_engine",
            {"runs": judged.height, "of": runs.height, "lowest_v": least(judged["battery_running_v"])},
        )
        return
    worst = hits.row(-1, named=True)
    flat = by_nominal(limit, "battery_running_flat", known.battery_nominal_v)
    pressing = limit["recent_repeats"].broken_by(hits.height) or bool(latest["low"][-1])
    # within the last run, or from one run to the next where volts come in whole tenths
    recovers = by_nominal(limit, "battery_running_recovers", known.battery_nominal_v)
    sinks = worst["falls"] or recovers.broken_by(hits["battery_running_v"][0] - worst["battery_running_v"])
    urgent = pressing and flat.broken_by(worst["battery_running_v"]) and sinks
    yield found(
        "battery.not_charged_by_engine",
        Severity.URGENT if urgent else Severity.SOON if pressing else Severity.NOTE,
        by_nominal(limit, "battery_running_low", known.battery_nominal_v),
        worst["battery_running_v"],
        (hits["began_at"][0], worst["ended_at"]),
        variant="drains" if urgent else "low" if pressing else "once",
        evidence={
            "low": hits.height,
            "latest": latest.height,
            "volts_v": worst["battery_running_v"],
            "end_v": worst["battery_running_end_v"],
            "last_at": worst["began_at"],
            "ran_s": worst["running_s"],
            "cause": worst["cause"],
        },
    )


def _running_volts(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """Runs long enough to judge, in order. Added: falls, low (neither charger nor engine holds it up), charged.

    A battery that rises from low volts is being charged. A charger that was on, with mains there, may be all that
    holds the volts up: then only a clear rise over float shows the engine's own.
    """
    nominal = nominal_v(known)
    low = by_nominal(limit, "battery_running_low", nominal).value
    rise = by_nominal(limit, "battery_running_rise", nominal).value
    recovers = by_nominal(limit, "battery_running_recovers", nominal).value
    long_s = pl.max_horizontal(
        pl.lit(limit.value("battery_running_minutes") * MINUTE_S),
        pl.col("resolution_s") * limit.value("battery_running_rows"),
    )
    volts, end = pl.col("battery_running_v"), pl.col("battery_running_end_v")
    # before the first day nobody knows: a charger may be on
    before = pl.col("battery_rest_before_v")
    on_float = (before >= by_nominal(limit, "battery_float_low", nominal).value).fill_null(True)
    held = pl.lit(False) if known.entry.charger is False else on_float & (pl.col("cause") != "outage")
    return (
        book.runs.sort("began_at")
        .filter(volts.is_not_null(), pl.col("running_s") >= long_s)
        .with_columns((end < volts).fill_null(False).alias("falls"))
        .with_columns(
            ((volts < low) & ~(end > volts + recovers).fill_null(False)).alias("low"),
            ((volts >= low) & (~held | (volts >= before + rise).fill_null(False))).alias("charged"),
        )
    )


@check(
    "battery.not_recharged",
    question=Question.START,
    signals=["battery_v"],
    needs=["runs"],
    limits=[
        "battery_not_recharged_12_v",
        "battery_not_recharged_24_v",
        "battery_not_recharged_in_all_12_v",
        "battery_not_recharged_in_all_24_v",
        "battery_not_recharged_runs",
        "battery_not_recharged_long_runs",
        "battery_running_minutes",
        "battery_float_low_12_v",
        "battery_float_low_24_v",
        "battery_rest_least_h",
    ],
    since="0.1",
)
def not_recharged(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Rest volts some hours after a run lower than the day before it, run after run, with no charger on."""
    if known.battery_nominal_v is None:
        yield not_assessed("battery.not_recharged", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    runs = _rest_about_runs(book, known, limit)
    wanted = limit["battery_not_recharged_runs"]
    off = runs.filter("off")
    if wanted.broken_by(off.height):
        yield not_assessed(
            "battery.not_recharged",
            Reason.TOO_FEW,
            why="few_runs",
            runs=off.height,
            of=runs.height,
            wanted=int(wanted.value),
        )
        return
    drop = by_nominal(limit, "battery_not_recharged", known.battery_nominal_v)
    in_all = by_nominal(limit, "battery_not_recharged_in_all", known.battery_nominal_v)
    lost = pl.col("lost_v") > drop.value
    facts = (
        pl.col("began_at").first().alias("first_at"),
        pl.col("ended_at").last().alias("last_at"),
        pl.len().alias("runs"),
        pl.col("battery_rest_before_v").first().alias("before_v"),
        pl.col("battery_rest_after_v").last().alias("after_v"),
        pl.col("lost_v").median(),
    )
    each = spells(off, lost, *facts).filter(pl.col("runs") >= wanted.value)
    # a fall too small to show in one run shows over several of which none gained
    fell = pl.col("before_v") - pl.col("after_v") > in_all.value
    slowly = spells(off, pl.col("lost_v") >= 0.0, *facts).filter(
        pl.col("runs") >= limit.value("battery_not_recharged_long_runs"), fell
    )
    worse = each if each.height else slowly
    if worse.is_empty():
        yield Clear(
            "battery.not_recharged",
            {"runs": off.height, "of": runs.height, "most_v": most(off["lost_v"]), "limit_v": drop.value},
        )
        return
    last = worse.row(-1, named=True)
    # a hundredth gained now and then is no charging
    lasts = not drop.broken_by(float(off["battery_rest_after_v"][-1]) - last["after_v"])
    in_each = each.height > 0
    yield found(
        "battery.not_recharged",
        Severity.SOON if lasts else Severity.NOTE,
        drop if in_each else in_all,
        last["lost_v"] if in_each else last["before_v"] - last["after_v"],
        (last["first_at"], last["last_at"]),
        variant="recovered" if not lasts else "each_run" if in_each else "over_runs",
        evidence={
            "runs": last["runs"],
            "lost_v": last["lost_v"],
            "before_v": last["before_v"],
            "after_v": last["after_v"],
            "since_date": last["first_at"],
            "until_date": last["last_at"],
        },
    )


def _rest_about_runs(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """Runs with rest volts on both sides, in order. Added: off (no charger at work before or after), lost_v.

    Short runs are left out: they cannot give back what the crank took. A charger that pulses shows in the highest volts
    of the day before.
    """
    float_low = by_nominal(limit, "battery_float_low", nominal_v(known)).value
    days = with_charge_seen(rest_days(book, limit), float_low).select(pl.col("day").alias("day_before"), "pulsed")
    before, after = pl.col("battery_rest_before_v"), pl.col("battery_rest_after_v")
    local_day = pl.col("began_at").dt.convert_time_zone(known.time_zone).dt.date()
    return (
        book.runs.sort("began_at")
        .filter(
            before.is_not_null(),
            after.is_not_null(),
            pl.col("running_s") >= limit.value("battery_running_minutes") * MINUTE_S,
        )
        .with_columns(local_day.dt.offset_by("-1d").alias("day_before"), (before - after).round(2).alias("lost_v"))
        .join(days, on="day_before", how="left", maintain_order="left")
        .with_columns(((before < float_low) & (after < float_low) & ~pl.col("pulsed").fill_null(False)).alias("off"))
    )
