"""Stretches of running rows become runs; where a gap lies between, only evidence joins them."""

from __future__ import annotations

import polars as pl

from startworthy.logbook.hours import meter_shift
from startworthy.logbook.rows import Rows, electric_vote

BRIDGE_S = 600.0
"""Two running stretches on both sides of a shorter gap are one run, unless the hour meter says otherwise. Practice."""
HOUR_METER_SLACK_S = 540.0
"""0.15 h: the meter counts in tenths, and both ends may be cut."""
PHANTOM_S = 20.0
"""A lone running row between rows at rest that lie no further apart than this is a spike, not a run."""


def stretches(rows: Rows) -> pl.DataFrame:
    """One row per stretch of running rows, then joined over short gaps: the skeleton of the runs table.

    Columns: set_id, run (from 1 in each set), spans (first and last row of each stretch), began_at, ended_at,
    last_at, before_at, after_at, start_seen, end_seen, in_gap (it began within a gap after rest), running_low_s,
    running_high_s, missing_s, rows, first_idx, last_idx, shift_s (moves the middle of the bounds, see `hours`).
    """
    frame = rows.frame
    heads = rows.heads.rename({"idx": "first_idx", "at": "first_at"})
    if heads.is_empty():
        return _empty()
    last_idx = pl.col("first_idx").cast(pl.Int64).shift(-1, fill_value=frame.height) - 1
    heads = heads.with_columns(last_idx.cast(pl.UInt32).alias("last_idx")).with_row_index("seg")
    at = frame["at"]
    heads = heads.with_columns(
        at.gather(heads["last_idx"]).alias("last_at"),
        pl.when(~pl.col("new"))
        .then(at.gather(pl.Series((heads["first_idx"].cast(pl.Int64) - 1).clip(0))))
        .alias("before_at"),
        pl.when(~pl.col("new").shift(-1).fill_null(True)).then(pl.col("first_at").shift(-1)).alias("after_at"),
        (pl.col("gap") | pl.col("new")).shift(-1).fill_null(True).alias("cut_after"),
        (pl.col("gap") | pl.col("new")).alias("cut_before"),
        pl.col("running").shift(1).fill_null(False).alias("ran_before"),
    )
    ran = heads.filter("running")
    ran = ran.filter(~_phantom(rows, ran))
    if ran.is_empty():
        return _empty()
    ran = _with_hours(rows, ran)
    gap_s = (pl.col("first_at") - pl.col("last_at").shift(1)).dt.total_microseconds() / 1e6
    meter_s = (pl.col("hours_first") - pl.col("hours_last").shift(1)) * 3600.0
    same = (pl.col("set_id") == pl.col("set_id").shift(1)) & (pl.col("seg") == pl.col("seg").shift(1) + 1)
    agrees = (meter_s - gap_s).abs() <= HOUR_METER_SLACK_S
    joins = same & ~pl.col("restart") & pl.coalesce(agrees, gap_s <= BRIDGE_S)
    ran = ran.with_columns(
        joins.fill_null(False).alias("joins"),
        # running on both sides of a gap that is not one run: the meter proves a stop between, else nobody knows
        (same & agrees.not_()).fill_null(False).alias("restarted"),
        gap_s.alias("gap_s"),
    )
    ran = ran.with_columns((~pl.col("joins")).cum_sum().alias("group"))
    usual = rows.intervals.select("set_id", pl.col("running_s").alias("usual_s"))
    ran = ran.join(usual, on="set_id", how="left", maintain_order="left")
    low = (pl.col("last_at") - pl.col("first_at")).dt.total_microseconds() / 1e6
    lead = (
        pl.when(~pl.col("cut_before"))
        .then((pl.col("first_at") - pl.col("before_at")).dt.total_microseconds() / 1e6)
        .otherwise(0.0)
    )
    gap_after_s = (pl.col("after_at") - pl.col("last_at")).dt.total_microseconds() / 1e6
    # where rows break off while it runs it ran on for up to one interval, or the next row would have shown it
    ran_on_s = pl.min_horizontal(gap_after_s, pl.col("usual_s").fill_null(0.0))
    broke_off_s = pl.when(gap_after_s > 0).then(ran_on_s).otherwise(0.0)
    joined_after = (pl.col("joins").shift(-1) & (pl.col("group") == pl.col("group").shift(-1))).fill_null(False)
    tail = pl.when(~pl.col("cut_after")).then(gap_after_s).when(joined_after).then(0.0).otherwise(broke_off_s)
    runs = (
        ran.with_columns(low.alias("low"), lead.alias("lead"), tail.alias("tail"))
        .group_by("group", maintain_order=True)
        .agg(
            pl.col("set_id").first(),
            pl.concat_list("first_idx", "last_idx").alias("spans"),
            pl.col("first_at").first().alias("began_at"),
            pl.col("last_at").last(),
            pl.col("before_at").first(),
            pl.col("after_at").last(),
            (~pl.col("cut_before")).first().alias("start_seen"),
            (~pl.col("cut_after")).last().alias("end_seen"),
            (
                pl.col("cut_before").first()
                & ~pl.col("new").first()
                & (~pl.col("ran_before").first() | pl.col("restarted").first())
            ).alias("in_gap"),
            pl.col("low").sum().alias("running_low_s"),
            (pl.col("low") + pl.col("lead") + pl.col("tail")).sum().alias("running_high_s"),
            pl.when(pl.col("joins")).then("gap_s").otherwise(0.0).sum().alias("missing_s"),
            (pl.col("last_idx") - pl.col("first_idx") + 1).sum().alias("rows"),
            pl.col("first_idx").first(),
            pl.col("last_idx").last(),
        )
        .drop("group")
    )
    return runs.with_columns(
        pl.when("end_seen").then("after_at").otherwise("last_at").alias("ended_at"),
        pl.int_range(1, pl.len() + 1, dtype=pl.Int32).over("set_id").alias("run"),
        meter_shift(rows, runs),
    )


def _phantom(rows: Rows, ran: pl.DataFrame) -> pl.Series:
    """Lone running rows that cannot be a run: too short for it, or with neither volts nor frequency to show."""
    span_s = (pl.col("after_at") - pl.col("before_at")).dt.total_microseconds() / 1e6
    lone = (pl.col("first_idx") == pl.col("last_idx")) & ~pl.col("cut_before") & ~pl.col("cut_after")
    vote = rows.frame[ran["first_idx"]].with_columns(
        electric_vote(rows.frame.columns, rows.profile.tellers).alias("electric")
    )
    short = (span_s <= PHANTOM_S) | (pl.col("electric") < 0)
    return ran.with_columns(vote["electric"]).select((lone & short).fill_null(False)).to_series()


def _with_hours(rows: Rows, ran: pl.DataFrame) -> pl.DataFrame:
    if not rows.has("hour_meter_h"):
        return ran.with_columns(
            pl.lit(None, pl.Float64).alias("hours_first"), pl.lit(None, pl.Float64).alias("hours_last")
        )
    meter = rows.frame["hour_meter_h"]
    return ran.with_columns(
        meter.gather(ran["first_idx"]).alias("hours_first"), meter.gather(ran["last_idx"]).alias("hours_last")
    )


def _empty() -> pl.DataFrame:
    time = pl.Datetime("us", "UTC")
    return pl.DataFrame(
        schema={
            "set_id": pl.Categorical,
            "spans": pl.List(pl.List(pl.UInt32)),
            "began_at": time,
            "last_at": time,
            "before_at": time,
            "after_at": time,
            "start_seen": pl.Boolean,
            "end_seen": pl.Boolean,
            "in_gap": pl.Boolean,
            "running_low_s": pl.Float64,
            "running_high_s": pl.Float64,
            "missing_s": pl.Float64,
            "rows": pl.UInt32,
            "first_idx": pl.UInt32,
            "last_idx": pl.UInt32,
            "ended_at": time,
            "run": pl.Int32,
            "shift_s": pl.Float64,
        }
    )
