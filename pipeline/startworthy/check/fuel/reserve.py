"""Will it keep running: how long the fuel would last, and a tank that stands half empty."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import day_begins, day_ends, found, least, most, not_assessed, spells
from startworthy.check.frame import check
from startworthy.check.fuel.burn import LIMITS as OF_BURN
from startworthy.check.fuel.burn import burnt, load_of, shape, tank_of
from startworthy.check.fuel.last import last_level
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.logbook.fuel_used import HEATED_C
from startworthy.physics.fuel import fuel_curve
from startworthy.physics.tank import litres_at
from startworthy.results import Known, Logbook
from startworthy.statistics.robust import deviation

Rate = tuple[float, float, str]
"""Lowest and highest fuel an hour at the usual load, in the unit of the contents, and what it stands on."""


@check(
    "fuel.autonomy",
    question=Question.KEEP_RUNNING,
    signals=["fuel_fraction|fuel_l"],
    needs=["days.rest_fuel_fraction|days.rest_fuel_last_fraction|runs.fuel_after_fraction"],
    limits=[
        *OF_BURN,
        "fuel_autonomy_h",
        "fuel_autonomy_share",
        "fuel_full_fraction",
        "fuel_stop_fraction",
        "fuel_loaded_fraction",
        "fuel_least_per_kwh",
        "fuel_most_per_kwh",
        "fuel_curve_error_share",
    ],
    since="0.1",
)
def autonomy(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Hours from the last level at rest to the low-fuel stop, at the load that an outage usually brings."""
    last = last_level(book, known)
    if last is None:
        yield not_assessed("fuel.autonomy", Reason.NOTHING_SEEN)
        return
    load = _usual_load(book, limit)
    if load is None:
        yield not_assessed("fuel.autonomy", Reason.SIGNAL_MISSING, why="no_load")
        return
    rate = _rate(book, known, load, limit)
    if rate is None:
        yield not_assessed("fuel.autonomy", Reason.NOT_IN_REGISTER, why="no_rate")
        return
    slow, fast, by = rate
    entry, full, litres = tank_of(known.entry)
    stop = litres_at(entry, limit.value("fuel_stop_fraction")) or 0.0
    held = max((litres_at(entry, last.level) or 0.0) - stop, 0.0)
    whole = max((litres_at(entry, limit.value("fuel_full_fraction")) or full) - stop, 0.0)
    # by the lowest use that can be: less than this it surely is not; and half of what a full tank gives is no lack
    most_h, full_h = held / slow, whole / slow
    edge = min(limit.value("fuel_autonomy_h"), limit.value("fuel_autonomy_share") * full_h)
    evidence = {
        "left_h": 2 * held / (slow + fast),
        "least_h": held / fast,
        "most_h": most_h,
        "full_h": 2 * whole / (slow + fast),
        "load_fraction": load,
        "level_fraction": last.level,
        "litres_l": held if litres else None,
        "stop_fraction": limit.value("fuel_stop_fraction"),
        "last_date": last.on,
    }
    if most_h >= edge:
        yield Clear("fuel.autonomy", evidence)
        return
    yield found(
        "fuel.autonomy",
        Severity.SOON,
        limit["fuel_autonomy_h"],
        most_h,
        (last.at, last.at),
        variant=by,
        edge=edge,
        evidence=evidence,
    )


def _usual_load(book: Logbook, limit: Limits) -> float | None:
    """Mean load of the outages, weighted by time; without any of all loaded runs. None where no load was seen."""
    runs = book.runs.with_columns(load_of(book.runs)).filter(pl.col("load") >= limit.value("fuel_loaded_fraction"))
    outages = runs.filter(pl.col("cause") == "outage")
    for some in (outages, runs):
        hours = float(some["running_s"].sum())
        if hours > 0.0:
            return float((some["load"] * some["running_s"]).sum()) / hours
    return None


def _rate(book: Logbook, known: Known, load: float, limit: Limits) -> Rate | None:
    """What it burns at that load: by its own record, else the register's curve, else what sets of its size burn."""
    idle = limit.value("fuel_idle_low_share"), limit.value("fuel_idle_high_share")
    burn = burnt(book, known, limit)
    _, _, litres = tank_of(known.entry)
    if burn.spans.height and burn.litres == litres:
        ways = [
            float(burn.spans["used"].sum()) / float(burn.spans[hours].sum()) * shape(load, share)
            for hours, share in zip(("full_low_h", "full_high_h"), idle, strict=True)
        ]
        error = 1.0 + (most(burn.spans["error"]) or 0.0) / burn.spans.height**0.5
        return min(ways) / error, max(ways) * error, "own"
    if not litres:
        return None
    if known.entry.fuel_curve and known.rated_kw:
        lph, error = fuel_curve(known.entry.fuel_curve).at(load), 1.0 + limit.value("fuel_curve_error_share")
        return lph / error, lph * error, "curve"
    kw = known.rated_kw or most(book.runs["load_kw_max"])
    if kw is None:
        return None
    per_kwh = limit.value("fuel_least_per_kwh"), limit.value("fuel_most_per_kwh")
    low, high = (each * kw * shape(load, share) for each, share in zip(per_kwh, idle, strict=True))
    return low, high, "usual"


@check(
    "fuel.part_full",
    question=Question.KEEP_RUNNING,
    signals=["fuel_fraction|fuel_l"],
    needs=["days.rest_fuel_fraction"],
    limits=["fuel_part_full_fraction", "fuel_part_full_days", "fuel_part_full_c", "fuel_held_c"],
    since="0.1",
)
def part_full(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """A tank below half, day after day up to the end of the log, and a month of that in cold air."""
    # a coolant that a heater holds says nothing of the air
    held = known.entry.coolant_heater or deviation(book.days["rest_coolant_c"]) < limit.value("fuel_held_c")
    unheated = pl.when(pl.col("rest_coolant_c") < HEATED_C).then("rest_coolant_c")
    cold = pl.lit(None, pl.Float64) if held else unheated
    days = (
        book.days.sort("day")
        .drop_nulls("rest_fuel_fraction")
        .select("day", "rest_fuel_fraction", pl.coalesce("ambient_c", cold).alias("air_c"))
    )
    half, wanted = limit["fuel_part_full_fraction"], limit.value("fuel_part_full_days")
    seen_days = (days["day"][-1] - days["day"][0]).days + 1
    if seen_days < wanted:
        yield not_assessed("fuel.part_full", Reason.TOO_SHORT, seen_days=seen_days, wanted_days=wanted)
        return
    level = pl.col("rest_fuel_fraction")
    below = spells(days, level < half.value, pl.col("day").first().alias("from"), pl.col("day").last().alias("to"))
    last = below.filter(pl.col("last_row") == days.height - 1)
    evidence = {"level_fraction": float(days["rest_fuel_fraction"][-1]), "days": days.height}
    if last.is_empty() or (last["to"][0] - last["from"][0]).days + 1 < wanted:
        yield Clear("fuel.part_full", evidence)
        return
    during = days.slice(int(last["first_row"][0]))
    air_c = least(during["air_c"].rolling_median(int(wanted), min_samples=int(wanted) // 2))
    if air_c is not None and not limit["fuel_part_full_c"].broken_by(air_c):
        yield Clear("fuel.part_full", evidence)
        return
    began_at = day_begins(last["from"][0], known.time_zone)
    yield found(
        "fuel.part_full",
        Severity.NOTE,
        half,
        most(during["rest_fuel_fraction"]) or 0.0,
        (began_at, day_ends(last["to"][0], known.time_zone)),
        variant="default" if air_c is not None else "season_unknown",
        evidence={
            "highest_fraction": most(during["rest_fuel_fraction"]),
            "level_fraction": evidence["level_fraction"],
            "spell_days": (last["to"][0] - last["from"][0]).days + 1,
            "air_c": air_c,
            "from_date": began_at,
        },
    )
