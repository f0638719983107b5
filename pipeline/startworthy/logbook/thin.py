"""A set logged every second all year, brought to what a logger that saves on rows would have written.

Many loggers write a row a second while a set runs and a row a minute while it rests, and all of the logbook is built
for that. Of a set with more rows than can be held, rows at rest are left out in the same way: every row near a run, a
crank, a change of mode, state, alarm or mains stays, and every row that stands apart from its neighbours.
"""

from __future__ import annotations

import polars as pl

from startworthy.logbook.rows import Rows
from startworthy.logbook.sensors import SPIKE_AT_REST
from startworthy.signals import TEXT_SIGNALS

# Common practice, no source.
EVERY_S = (60, 120, 180, 300)
"""A row at rest in so many seconds: the first at which a share holds the set."""
NEAR_S = 300.0
"""Rows so near to anything that happened all stay: preheat, cranks and the rest of a sequence lie within."""
ROOM = 0.7
CRANK_DROP_V = 0.8
"""A fall of the battery from one row to the next that may be a crank, for 12 V; a charger's pulses stay below."""
TURNS = {"frequency_hz": 5.0, "speed_rpm": 50.0}
FLAGS = ("mains_present", "on_load")


def every_s(span_s: float, most: int) -> int:
    """Seconds between rows at rest with which a set of this time stays well under `most` rows."""
    return next((s for s in EVERY_S if span_s / s <= ROOM * most), EVERY_S[-1])


def thinned(rows: Rows, every_s: int) -> pl.DataFrame:
    """The rows of one set, without most of those at rest. Columns as before they were labelled."""
    k = (rows.profile.battery_nominal_v or 12.0) / 12.0
    happens = [pl.col("running"), pl.col("gap"), pl.col("gap").shift(-1).fill_null(False)]
    happens += [pl.col(name) >= least for name, least in TURNS.items() if rows.has(name)]
    if rows.has("battery_v"):
        happens.append(pl.col("battery_v").diff().abs() >= CRANK_DROP_V * k)
    if rows.has("mains_v"):
        happens.append(pl.col("mains_v").diff().abs() >= 50.0)
    if rows.has("starts_counter"):
        happens.append(pl.col("starts_counter").diff() != 0)
    changes = [name for name in (*TEXT_SIGNALS, *FLAGS) if rows.has(name)]
    happens += [pl.col(name).ne_missing(pl.col(name).shift(1)) for name in changes]
    apart = [
        pl.col(name).diff().abs() >= step * (k if name == "battery_v" else 1.0)
        for name, step in SPIKE_AT_REST.items()
        if rows.has(name)
    ]
    odd = pl.any_horizontal(apart).fill_null(False) if apart else pl.lit(False)
    at = pl.col("at")
    told = rows.frame.lazy().with_columns(
        pl.any_horizontal([one.fill_null(False) for one in happens]).alias("happens"), odd.alias("odd")
    )
    told = told.with_columns(
        pl.when("happens").then(at).otherwise(None).forward_fill().alias("happened_at"),
        pl.when("happens").then(at).otherwise(None).backward_fill().alias("happens_at"),
        (at.dt.epoch("us") // (every_s * 1_000_000)).alias("minute"),
    )
    near = (at - pl.col("happened_at") <= pl.duration(seconds=NEAR_S)) | (
        pl.col("happens_at") - at <= pl.duration(seconds=NEAR_S)
    )
    # an odd row needs the one before, from which it steps, and the one after, which ends its time
    beside = pl.col("odd") | pl.col("odd").shift(1).fill_null(False) | pl.col("odd").shift(-1).fill_null(False)
    keep = near.fill_null(False) | beside | (pl.col("minute") != pl.col("minute").shift(1)).fill_null(True)
    return told.filter(keep).select(_read(rows)).collect()


def _read(rows: Rows) -> list[str]:
    return [name for name in rows.frame.columns if name not in ("new", "dt_s", "gap", "running", "weight_s")]
