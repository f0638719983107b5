"""The starting battery at rest: its volts off charge, and whether its charger is on."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import (
    HOUR_S,
    by_nominal,
    day_begins,
    day_ends,
    found,
    least,
    not_assessed,
    spells,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.battery import open_circuit
from startworthy.results import Known, Logbook

_SEALED = ("agm", "gel")


def rest_low_v(known: Known, limit: Limits) -> float:
    """Volts at rest below which the battery needs charge; AGM and gel rest higher than flooded ones."""
    return by_nominal(limit, "battery_rest_low", nominal_v(known)).value + sealed_v(known, limit)


def nominal_v(known: Known) -> float:
    """The battery system's nominal volts, where the caller has made sure that they are known."""
    assert known.battery_nominal_v is not None
    return known.battery_nominal_v


def sealed_v(known: Known, limit: Limits) -> float:
    """How much higher than a flooded battery this one rests; 0 where its type is not known."""
    sealed = known.entry.battery_type in _SEALED
    return by_nominal(limit, "battery_sealed_higher", nominal_v(known)).value if sealed else 0.0


def rest_days(book: Logbook, limit: Limits) -> pl.DataFrame:
    """Days with hours of rest volts, in order. `float`: on charge; false where it is not or nobody knows."""
    least_s = limit.value("battery_rest_least_h") * HOUR_S
    return (
        book.days.sort("day")
        .filter(pl.col("rest_battery_v").is_not_null(), pl.coalesce("rest_battery_s", "covered_s") >= least_s)
        .with_columns(pl.col("on_charge").fill_null(False).alias("float"))
    )


@check(
    "battery.low_at_rest",
    question=Question.START,
    carries=True,
    signals=["battery_v"],
    needs=["days.rest_battery_v"],
    limits=[
        "battery_rest_low_12_v",
        "battery_rest_low_24_v",
        "battery_rest_flat_12_v",
        "battery_rest_flat_24_v",
        "battery_near_flat_12_v",
        "battery_near_flat_24_v",
        "battery_sealed_higher_12_v",
        "battery_sealed_higher_24_v",
        "battery_rest_days",
        "battery_rest_least_h",
    ],
    since="0.1",
)
def low_at_rest(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Rest volts below the limit on several days in a row, off charge.

    On float the volts say nothing of the charge: such days are never low.
    """
    if known.battery_nominal_v is None:
        yield not_assessed("battery.low_at_rest", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    nominal, wanted = known.battery_nominal_v, limit["battery_rest_days"]
    days = rest_days(book, limit)
    if wanted.broken_by(days.height):
        yield not_assessed(
            "battery.low_at_rest", Reason.TOO_FEW, why="few_days", days=days.height, wanted=int(wanted.value)
        )
        return
    higher_v = sealed_v(known, limit)
    low = by_nominal(limit, "battery_rest_low", nominal)
    edge = low.value + higher_v
    hit = ~pl.col("float") & (pl.col("rest_battery_v") < edge)
    facts = (
        pl.col("day").first().alias("first_day"),
        pl.col("day").last().alias("last_day"),
        pl.len().alias("days"),
        pl.col("rest_battery_v").tail(int(wanted.value)).median().alias("end_v"),
        pl.col("rest_battery_v").min().alias("least_v"),
    )
    bad = spells(days, hit, *facts).filter(pl.col("days") >= wanted.value)
    if bad.is_empty():
        off = days.filter(~pl.col("float"))
        yield Clear(
            "battery.low_at_rest",
            {
                "days": days.height,
                "off_days": off.height,
                "lowest_v": least(days["rest_battery_v"]),
                "limit_v": edge,
            },
        )
        return
    last = bad.row(-1, named=True)
    lasts = last["last_row"] == days.height - 1
    flat_v = by_nominal(limit, "battery_rest_flat", nominal).value + higher_v
    near_v = by_nominal(limit, "battery_near_flat", nominal).value
    flat = lasts and last["end_v"] < flat_v + near_v
    severity = Severity.NOTE if not lasts else Severity.URGENT if flat else Severity.SOON
    yield found(
        "battery.low_at_rest",
        severity,
        low,
        last["end_v"],
        (day_begins(last["first_day"], known.time_zone), day_ends(last["last_day"], known.time_zone)),
        variant="recovered" if not lasts else "flat" if flat else "low",
        edge=edge,
        evidence={
            "low_days": last["days"],
            "end_v": last["end_v"],
            "least_v": last["least_v"],
            "since_date": day_begins(last["first_day"], known.time_zone),
            "until_date": day_begins(last["last_day"], known.time_zone),
            "charge_fraction": open_circuit(nominal).at(last["end_v"] - higher_v),
            "limit_v": edge,
        },
    )


@check(
    "battery.charger_lost",
    question=Question.START,
    signals=["battery_v"],
    needs=["days.rest_battery_v"],
    limits=[
        "battery_float_low_12_v",
        "battery_float_low_24_v",
        "battery_rest_low_12_v",
        "battery_rest_low_24_v",
        "battery_sealed_higher_12_v",
        "battery_sealed_higher_24_v",
        "charger_float_days",
        "charger_lost_days",
        "charger_whole_day_h",
        "charger_mains_lost_h",
        "charger_run_h",
        "battery_rest_least_h",
        "battery_rest_days",
    ],
    since="0.1",
)
def charger_lost(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Rest volts leave the float band and stay below it, with mains there and the set at rest."""
    if known.battery_nominal_v is None:
        yield not_assessed("battery.charger_lost", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    if known.entry.charger is False:
        yield not_assessed("battery.charger_lost", Reason.NOTHING_SEEN, why="no_charger")
        return
    low = by_nominal(limit, "battery_float_low", known.battery_nominal_v)
    days = _charger_days(book, limit, low.value)
    wanted = limit["charger_float_days"]
    on_float = int(days["float"].sum())
    if wanted.broken_by(on_float):
        yield from _never_on_float(known, limit, days, on_float)
        return
    facts = (
        pl.col("day").first().alias("first_day"),
        pl.col("day").last().alias("last_day"),
        pl.col("whole").sum().alias("whole_days"),
        pl.len().alias("days"),
        pl.col("rest_battery_v").last().alias("end_v"),
        pl.col("float_before").first(),
        pl.col("pulsed_before").first(),
    )
    # one that mostly pulses may leave out a day by design
    steady = pl.col("float_before") >= pl.col("pulsed_before")
    least_days = pl.when(steady).then(limit.value("charger_lost_days")).otherwise(limit.value("battery_rest_days"))
    lost = spells(days, pl.col("off"), *facts).filter(
        pl.col("float_before") >= wanted.value, pl.col("whole_days") >= least_days
    )
    if lost.is_empty():
        yield Clear(
            "battery.charger_lost",
            {"float_days": on_float, "days": days.height, "lowest_v": least(days["rest_battery_v"])},
        )
        return
    last = lost.row(-1, named=True)
    lasts = last["last_row"] == days.height - 1
    # a charger that goes on and off by itself, or a timer socket, has done so before and come back each time
    earlier = lost.head(lost.height - 1)["days"]
    pulses = earlier.len() > 1 and last["days"] <= (earlier.max() or 0)
    low_now = last["end_v"] < rest_low_v(known, limit)
    severity = Severity.NOTE if not lasts or pulses else Severity.URGENT if low_now else Severity.SOON
    yield found(
        "battery.charger_lost",
        severity,
        low,
        last["end_v"],
        (day_begins(last["first_day"], known.time_zone), day_ends(last["last_day"], known.time_zone)),
        variant="came_back" if not lasts else "pulses" if pulses else "low" if low_now else "lost",
        evidence={
            "lost_days": last["days"],
            "float_days": on_float,
            "spells": lost.height,
            "end_v": last["end_v"],
            "since_date": day_begins(last["first_day"], known.time_zone),
            "until_date": day_begins(last["last_day"], known.time_zone),
        },
    )


def with_charge_seen(days: pl.DataFrame, float_low_v: float) -> pl.DataFrame:
    """Rest days with what they show of a charger.

    Added: high (the day's highest volts reach the float band), after_run (a run on that day or the one before, whose
    surface charge can look like a charger), off (below the float band, and no sign of a charger that pulses), pulsed.
    """
    ran = pl.col("running_s").fill_null(0.0) > 0.0
    below = ~pl.col("float") & (pl.col("rest_battery_v") < float_low_v)
    high = pl.coalesce("rest_battery_high_v", "rest_battery_v") >= float_low_v
    return (
        days.with_columns(high.alias("high"), (ran | ran.shift(1, fill_value=False)).alias("after_run"))
        .with_columns((below & pl.col("high") & ~pl.col("after_run")).alias("pulsed"))
        .with_columns((below & ~pl.col("pulsed")).alias("off"))
    )


def _charger_days(book: Logbook, limit: Limits, float_low_v: float) -> pl.DataFrame:
    """Rest days on which a charger should show: not those with mains away, nor those the set ran through.

    Added to `with_charge_seen`: whole (even the day's highest volts lay below the float band, over most of the day),
    float_before and pulsed_before (such days up to the day before).
    """
    mains_away = pl.col("mains_lost_s").fill_null(0.0) > limit.value("charger_mains_lost_h") * HOUR_S
    ran = pl.col("running_s").fill_null(0.0) > limit.value("charger_run_h") * HOUR_S
    days = with_charge_seen(rest_days(book, limit), float_low_v).filter(~mains_away & ~ran)
    least_s = limit.value("charger_whole_day_h") * HOUR_S
    covered = pl.coalesce("rest_battery_s", "covered_s") >= least_s
    return days.with_columns(
        (~pl.col("high") & covered).alias("whole"),
        pl.col("float").cum_sum().shift(1, fill_value=0).alias("float_before"),
        pl.col("pulsed").cum_sum().shift(1, fill_value=0).alias("pulsed_before"),
    )


def _never_on_float(known: Known, limit: Limits, days: pl.DataFrame, on_float: int) -> Iterator[Outcome]:
    """A charger of which the register speaks was never seen to charge; else nobody knows of one.

    A charger that pulses by design shows in the day's highest volts and not in its median.
    """
    wanted = limit["battery_rest_days"]
    off = int((days["off"] & days["whole"]).sum()) if days.height else 0
    pulsed = int(days["high"].sum()) if days.height else 0
    shows = on_float > 0 or not wanted.broken_by(pulsed)
    if not known.entry.charger or shows or wanted.broken_by(off):
        yield not_assessed(
            "battery.charger_lost",
            Reason.NOTHING_SEEN,
            why="never_on_float",
            float_days=on_float,
            days=days.height,
        )
        return
    end_v = float(days["rest_battery_v"][-1])
    low_now = end_v < rest_low_v(known, limit)
    yield found(
        "battery.charger_lost",
        Severity.URGENT if low_now else Severity.SOON,
        by_nominal(limit, "battery_float_low", nominal_v(known)),
        end_v,
        (day_begins(days["day"][0], known.time_zone), day_ends(days["day"][-1], known.time_zone)),
        variant="never",
        evidence={"days": days.height, "end_v": end_v},
    )
