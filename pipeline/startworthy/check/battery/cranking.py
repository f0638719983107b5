"""The starting battery while it cranks: its volts against the load-test table."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.battery.rest import nominal_v, rest_low_v
from startworthy.check.found import (
    by_nominal,
    found,
    middle,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.check.start.cranking import SLOW_LIMITS, slow_cranks
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.battery import load_test
from startworthy.results import Known, Logbook


@check(
    "battery.crank_sag",
    question=Question.START,
    carries="crank",
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
        *SLOW_LIMITS,
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
    close = pl.col("resolution_s") <= limit.value("battery_crank_seen_within_s")
    well_seen = starts.filter((pl.col("rows") >= rows.value) & close.fill_null(False))
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
    nominal = nominal_v(known)
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
    low = by_nominal(limit, "battery_crank_low", nominal_v(known))
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
