"""A cell of the starting battery that died: its volts at rest fall by one cell, and stay."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.battery.rest import nominal_v, sealed_v
from startworthy.check.battery.standing import standing_days
from startworthy.check.found import by_nominal, day_begins, day_ends, found, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_HOURS_A_DAY = 24


@check(
    "battery.dead_cell",
    question=Question.START,
    signals=["battery_v"],
    needs=["days.rest_battery_v"],
    limits=[
        "battery_cell_least_v",
        "battery_cell_most_v",
        "battery_cell_spread_v",
        "battery_cell_fell_h",
        "battery_cell_least_days",
        "battery_rest_flat_12_v",
        "battery_rest_flat_24_v",
        "battery_sealed_higher_12_v",
        "battery_sealed_higher_24_v",
        "battery_float_low_12_v",
        "battery_float_low_24_v",
        "battery_rest_days",
        "battery_rest_least_h",
    ],
    since="0.1",
)
def dead_cell(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Rest volts off charge that fall by about one cell within two days and stay there."""
    if known.battery_nominal_v is None:
        yield not_assessed("battery.dead_cell", Reason.NOT_IN_REGISTER, key="battery_nominal_v")
        return
    days = _with_falls(standing_days(book, known, limit), known, limit)
    off = int(days["off"].sum())
    wanted = limit["battery_cell_least_days"]
    if wanted.broken_by(off):
        yield not_assessed(
            "battery.dead_cell", Reason.TOO_FEW, why="few_off_days", days=off, of=days.height, wanted=int(wanted.value)
        )
        return
    hits = days.filter("cell")
    if hits.is_empty():
        yield Clear(
            "battery.dead_cell",
            {"days": off, "fall_v": most(days["fall_v"]), "limit_v": limit.value("battery_cell_least_v")},
        )
        return
    # the days around one fall are one fall: its first day
    fall = hits.row(0, named=True)
    ends = middle(days["rest_battery_v"].tail(int(limit.value("battery_rest_days")))) or 0.0
    replaced = fall["before_v"] - ends < limit.value("battery_cell_least_v")
    yield found(
        "battery.dead_cell",
        Severity.NOTE if replaced else Severity.URGENT,
        limit["battery_cell_least_v"],
        fall["fall_v"] / fall["cells"],
        (day_begins(fall["day"], known.time_zone), day_ends(days["day"][-1], known.time_zone)),
        variant="replaced" if replaced else "dead",
        evidence={
            "fall_v": fall["fall_v"],
            "cells": fall["cells"],
            "before_v": fall["before_v"],
            "after_v": fall["stays_v"],
            "end_v": ends,
            "fell_date": day_begins(fall["day"], known.time_zone),
        },
    )


def _with_falls(days: pl.DataFrame, known: Known, limit: Limits) -> pl.DataFrame:
    """Added: before_v (three days that end the day before last), stays_v (this day and the next), fall_v, cell.

    The day between may be half one and half the other. A battery that runs flat falls on, so the days after must agree;
    and it was no longer charged before.
    """
    volts, nominal = pl.col("rest_battery_v"), nominal_v(known)
    span = int(limit.value("battery_rest_days"))
    before = volts.rolling_median(span, min_samples=2).shift(2)
    were_off = pl.col("off").cast(pl.Int8).rolling_min(span, min_samples=2).shift(2) == 1
    after = pl.concat_list([volts.shift(-n) for n in range(span)]).list.drop_nulls()
    fell_h = (pl.col("t") - pl.col("t").shift(2) - 1) * _HOURS_A_DAY
    flat_v = by_nominal(limit, "battery_rest_flat", nominal).value + sealed_v(known, limit)
    fall = pl.col("before_v") - pl.col("stays_v")
    least, most_v = limit.value("battery_cell_least_v"), limit.value("battery_cell_most_v")
    # what kills a cell of one battery of a 24 V set can kill one of the other
    cells = pl.coalesce(
        pl.when(fall.is_between(n * least, n * most_v)).then(n) for n in ((1, 2) if nominal >= 24 else (1,))
    )
    return (
        days.with_columns(before.alias("before_v"), after.list.median().alias("stays_v"), after.alias("after"))
        .with_columns(fall.alias("fall_v"), cells.alias("cells"))
        .with_columns(
            (
                pl.col("cells").is_not_null()
                & (pl.col("after").list.len() > 1)
                & (pl.col("after").list.max() - pl.col("after").list.min() <= limit.value("battery_cell_spread_v"))
                & ((volts.shift(2) - pl.col("before_v")).abs() <= limit.value("battery_cell_spread_v"))
                & (fell_h <= limit.value("battery_cell_fell_h"))
                & (pl.col("before_v") >= flat_v)
                & were_off
            )
            .fill_null(False)
            .alias("cell")
        )
        .drop("after")
    )
