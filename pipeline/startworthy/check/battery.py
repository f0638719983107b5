"""The starting battery: its volts while cranking, at rest, and whether its charger is on."""

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
    middle,
    not_assessed,
    spells,
)
from startworthy.check.frame import check
from startworthy.check.start import slow_cranks
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.battery import load_test, open_circuit
from startworthy.results import Known, Logbook

_SEALED = ("agm", "gel")


def rest_low_v(known: Known, limit: Limits) -> float:
    """Volts at rest below which the battery needs charge; AGM and gel rest higher than flooded ones."""
    return by_nominal(limit, "battery_rest_low", _nominal(known)).value + _sealed_v(known, limit)


def _nominal(known: Known) -> float:
    assert known.battery_nominal_v is not None
    return known.battery_nominal_v


def _sealed_v(known: Known, limit: Limits) -> float:
    sealed = known.entry.battery_type in _SEALED
    return by_nominal(limit, "battery_sealed_higher", _nominal(known)).value if sealed else 0.0


@check(
    "battery.crank_sag",
    question=Question.START,
    signals=["battery_v"],
    needs=["attempts"],
    limits=[
        "battery_crank_low_12_v",
        "battery_crank_low_24_v",
        "battery_crank_rows",
        "battery_crank_few_starts",
        "battery_crank_seen_within_s",
        "battery_coolant_c",
        "battery_rest_low_12_v",
        "battery_rest_low_24_v",
        "battery_sealed_higher_12_v",
        "battery_sealed_higher_24_v",
        "recent_starts",
        "recent_repeats",
        "start_attempts",
        "start_slow_warm_s",
        "start_slow_cold_s",
        "start_cold_c",
        "start_slow_ordinary_cold_s",
        "start_slow_ratio",
        "start_slow_more_s",
        "start_slow_record_c",
        "start_slow_warmer_c",
        "start_slow_record_least",
    ],
    since="0.1",
)
def crank_sag(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Median volts while cranking, start by start, against the load-test table at its temperature."""
    if known.battery_nominal_v is None:
        yield not_assessed("battery.crank_sag", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    starts = _cranked(book, known, limit)
    rows = limit["battery_crank_rows"]
    low = by_nominal(limit, "battery_crank_low", known.battery_nominal_v)
    well_seen = starts.filter(pl.col("rows") >= rows.value)
    if well_seen.is_empty():
        yield from _few_rows(book, known, limit, starts)
        return
    latest = well_seen.tail(int(limit.value("recent_starts")))
    hits = latest.filter(pl.col("volts") < pl.col("edge_v"))
    if hits.is_empty():
        worst = well_seen.sort(pl.col("volts") - pl.col("edge_v")).row(0, named=True)
        yield Clear(
            "battery.crank_sag",
            {
                "starts": well_seen.height,
                "lowest_v": worst["volts"],
                "lowest_limit_v": worst["edge_v"],
                "lowest_c": worst["battery_c"],
            },
        )
        return
    repeats = limit["recent_repeats"]
    often = repeats.broken_by(hits.height)
    # one start alone can be one sample of the inrush, held over several rows: whatever comes with it, it is a note
    second = often and hits.filter("second_sign").height > 0
    severity = Severity.URGENT if second else Severity.SOON if often else Severity.NOTE
    worst = hits.row(-1, named=True)
    yield found(
        "battery.crank_sag",
        severity,
        low,
        worst["volts"],
        (hits["began_at"][0], worst["ended_at"] or worst["began_at"]),
        variant="second_sign" if second else "often" if often else "once",
        edge=worst["edge_v"],
        evidence={
            "weak": hits.height,
            "rows": worst["rows"],
            "resolution_s": worst["resolution_s"],
            "latest": latest.height,
            "volts_v": worst["volts"],
            "temperature_c": worst["battery_c"],
            "before_v": worst["before_v"],
            "last_at": worst["began_at"],
            "crank_s": worst["crank_low_s"],
            "attempts": worst["tries"],
            "started": worst["started"],
        },
    )


def _cranked(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """One row per demand: lowest median volts while cranking, the limit at its temperature, second signs."""
    nominal = _nominal(known)
    table, low = load_test(nominal), by_nominal(limit, "battery_crank_low", nominal).value
    coolant = pl.col("coolant_before_c")
    # coolant stands in for the battery only while the engine is cold and no heater warms it
    cold_engine = pl.when(coolant <= limit.value("battery_coolant_c")).then(coolant)
    engine_c = pl.lit(None, pl.Float64) if known.entry.coolant_heater else cold_engine
    attempts = slow_cranks(book.attempts.sort("began_at"), limit)
    one = limit.value("start_attempts")
    per_demand = attempts.group_by("demand", maintain_order=True).agg(
        pl.col("began_at").first(),
        pl.col("ended_at").last(),
        pl.coalesce("battery_mean_v", "battery_min_v").min().alias("volts"),
        pl.col("rows").max(),
        pl.min_horizontal(engine_c, "ambient_c").first().alias("battery_c"),
        pl.col("battery_before_v").first().alias("before_v"),
        pl.col("crank_low_s").max(),
        pl.col("slow").any(),
        pl.col("fired").any().alias("started"),
        pl.len().alias("tries"),
        pl.col("resolution_s").median(),
    )
    # at a temperature that is not known the coldest of the table is allowed
    edge = (
        per_demand["battery_c"]
        .fill_null(table.x[0])
        .map_elements(lambda c: low + table.at(c) - table.y[-1], return_dtype=pl.Float64)
    )
    rest_low = (pl.col("before_v") < rest_low_v(known, limit)).fill_null(False)
    return per_demand.with_columns(
        edge.alias("edge_v"),
        ((pl.col("tries") > one) | ~pl.col("started") | pl.col("slow") | rest_low).alias("second_sign"),
    ).drop_nulls("volts")


def _few_rows(book: Logbook, known: Known, limit: Limits, starts: pl.DataFrame) -> Iterator[Outcome]:
    """Starts with one or two rows of cranking each: only their median says anything, and never urgently."""
    few, within = limit["battery_crank_few_starts"], limit["battery_crank_seen_within_s"]
    close = starts.filter(pl.col("resolution_s") <= within.value)
    if few.broken_by(close.height):
        interval_s = middle(starts["resolution_s"]) if starts.height else book.sampling[known.set_id].start_s
        yield not_assessed(
            "battery.crank_sag",
            Reason.TOO_COARSE,
            why="few_rows",
            interval_s=interval_s,
            starts=starts.height,
            rows=int(limit.value("battery_crank_rows")),
            wanted=int(few.value),
        )
        return
    latest = close.tail(int(few.value))
    volts, edge = middle(latest["volts"]) or 0.0, middle(latest["edge_v"]) or 0.0
    low = by_nominal(limit, "battery_crank_low", _nominal(known))
    if volts >= edge:
        yield Clear(
            "battery.crank_sag",
            {
                "starts": latest.height,
                "lowest_v": volts,
                "lowest_limit_v": edge,
                "lowest_c": middle(latest["battery_c"]),
            },
        )
        return
    yield found(
        "battery.crank_sag",
        # a row or two may be the inrush of a sound battery: worth knowing, and no more
        Severity.NOTE,
        low,
        volts,
        (latest["began_at"][0], latest["ended_at"][-1] or latest["began_at"][-1]),
        variant="few_rows",
        edge=edge,
        evidence={
            "starts": latest.height,
            "volts_v": volts,
            "temperature_c": middle(latest["battery_c"]),
            "last_at": latest["began_at"][-1],
        },
    )


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
    higher_v = _sealed_v(known, limit)
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
    )
    lost = spells(days, pl.col("off"), *facts).filter(
        pl.col("float_before") >= wanted.value, pl.col("whole_days") >= limit.value("charger_lost_days")
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


def _charger_days(book: Logbook, limit: Limits, float_low_v: float) -> pl.DataFrame:
    """Rest days on which a charger should show: not those with mains away, nor those the set ran through.

    Added: off (volts below the float band), whole (even the day's highest volts were), float_before (days on
    float up to the day before).
    """
    mains_away = pl.col("mains_lost_s").fill_null(0.0) > limit.value("charger_mains_lost_h") * HOUR_S
    ran = pl.col("running_s").fill_null(0.0) > limit.value("charger_run_h") * HOUR_S
    days = rest_days(book, limit).filter(~mains_away & ~ran)
    below = pl.col("rest_battery_v") < float_low_v
    return days.with_columns(
        (below & ~pl.col("float")).alias("off"),
        (pl.coalesce("rest_battery_high_v", "rest_battery_v") < float_low_v).alias("whole"),
        pl.col("float").cum_sum().shift(1, fill_value=0).alias("float_before"),
    )


def _never_on_float(known: Known, limit: Limits, days: pl.DataFrame, on_float: int) -> Iterator[Outcome]:
    """A charger of which the register speaks was never seen to charge; else nobody knows of one.

    A charger that pulses by design shows in the day's highest volts and not in its median.
    """
    wanted = limit["battery_rest_days"]
    off = int((days["off"] & days["whole"]).sum()) if days.height else 0
    pulsed = int((~days["whole"]).sum()) if days.height else 0
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
        by_nominal(limit, "battery_float_low", _nominal(known)),
        end_v,
        (day_begins(days["day"][0], known.time_zone), day_ends(days["day"][-1], known.time_zone)),
        variant="never",
        evidence={"days": days.height, "end_v": end_v},
    )
