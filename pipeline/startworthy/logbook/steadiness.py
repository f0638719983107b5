"""How steady the frequency is at steady load, and whether it swings with a period."""

from __future__ import annotations

from typing import Any

import polars as pl

from startworthy.logbook.details import OVERSPEED_SLACK
from startworthy.logbook.rows import Rows
from startworthy.logbook.spells import KEY, seconds
from startworthy.statistics.periodic import lomb_scargle

# Common practice, no source.
STRETCH_S, STRETCH_ROWS, LEAST_ROWS = 60.0, 10, 5
CLOSE_ROWS_S, PERIOD_ROWS_S = 10.0, 1.05
STEADY_LOAD = 0.05
STOPS_S = 10.0
"""A set that slows down to its stop, or runs away, does not hunt."""
PERIOD_STRETCHES = 5
"""Stretches of a set in which a period is looked for: the widest of its runs."""
LONGEST_PERIOD_S, PERIOD_ROWS = 20.0, 4.0
"""A period needs four rows (sampling: rows within a quarter of it)."""


def steadiness(ran: pl.DataFrame, rows: Rows, band_fraction: float) -> pl.DataFrame:
    """One row per set and run with frequency_band_hz, frequency_windows, hunting_period_s and hunting_chance.

    ran: running rows with `steady`, `load`. band_fraction: steady band of the class over rated, peak to peak; a
    period is only looked for where the band is wider than that. Runs without a steady stretch have no row.
    """
    rated = rows.profile.rated_frequency_hz
    if not rows.has("frequency_hz"):
        return ran.select(KEY).clear()
    steady = ran.filter(pl.col("steady") & (pl.col("left_s") >= STOPS_S) & pl.col("frequency_hz").is_not_null())
    runs_away = pl.col("speed_share") > 1.0 + rows.profile.droop_fraction + OVERSPEED_SLACK
    usual_s = seconds(pl.col("at").diff()).median().over(KEY)
    by_rows = pl.int_range(pl.len()).over(KEY) // STRETCH_ROWS
    by_time = (pl.col("age_s") / STRETCH_S).floor().cast(pl.Int64)
    steady = steady.with_columns(usual_s.alias("usual_s")).with_columns(
        pl.when(pl.col("usual_s") <= CLOSE_ROWS_S).then(by_time).otherwise(by_rows).alias("stretch")
    )
    stretches = (
        steady.group_by(*KEY, "stretch", maintain_order=True)
        .agg(
            (pl.col("frequency_hz").max() - pl.col("frequency_hz").min()).alias("band_hz"),
            (pl.col("load").max() - pl.col("load").min()).fill_null(0.0).alias("load_range"),
            pl.len().alias("n"),
            pl.col("usual_s").first(),
            runs_away.any().alias("runs_away"),
        )
        .filter(
            ~pl.col("runs_away"),
            pl.col("load_range") <= STEADY_LOAD,
            pl.col("n") >= pl.when(pl.col("usual_s") <= CLOSE_ROWS_S).then(LEAST_ROWS).otherwise(STRETCH_ROWS),
        )
    )
    found = stretches.group_by(KEY, maintain_order=True).agg(
        pl.col("band_hz").median().alias("frequency_band_hz"), pl.len().cast(pl.Int32).alias("frequency_windows")
    )
    wide = (
        stretches.filter(pl.col("usual_s") <= PERIOD_ROWS_S, pl.col("band_hz") > band_fraction * (rated or 50.0))
        .sort("band_hz", descending=True, maintain_order=True)
        .group_by("set_id", maintain_order=True)
        .head(PERIOD_STRETCHES)
        .unique(KEY, keep="first", maintain_order=True)
    )
    return found.join(_periods(steady, wide), on=KEY, how="left", maintain_order="left")


def _periods(steady: pl.DataFrame, wide: pl.DataFrame) -> pl.DataFrame:
    """The strongest period of each of a few wide stretches."""
    schema = {"set_id": steady["set_id"].dtype, "run": steady["run"].dtype}
    told = []
    for set_id, run, stretch, usual_s in wide.select(*KEY, "stretch", "usual_s").iter_rows():
        own = steady.filter(
            pl.col("set_id").cast(pl.String) == set_id, pl.col("run") == run, pl.col("stretch") == stretch
        )
        highest = 1.0 / (PERIOD_ROWS * max(usual_s, 0.1))
        period = lomb_scargle(own["age_s"], own["frequency_hz"], lowest=1.0 / LONGEST_PERIOD_S, highest=highest)
        told.append((set_id, run, period.period, period.false_alarm))
    named: dict[str, Any] = {
        "set_id": pl.String,
        "run": schema["run"],
        "hunting_period_s": pl.Float64,
        "hunting_chance": pl.Float64,
    }
    return pl.DataFrame(told, schema=named, orient="row").with_columns(pl.col("set_id").cast(schema["set_id"]))
