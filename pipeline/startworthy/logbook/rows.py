"""The one pass over the readings: which rows run, where the log breaks off, how long each row counts.

Running is told by a vote, so that one dead or spiking sensor does not invent or hide a run: speed weighs most,
volts and frequency together outweigh a dead speed sensor, oil pressure only tips the balance.
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from startworthy.logbook.known import Profile, Tellers, output_voltage

GAP_INTERVALS = 3.5
"""A break longer than this many usual intervals is a gap: a lost row or two is not. Common practice, no source."""
GAP_LEAST_S = 10.0
_SAMPLE_ROWS = 200_000

SPEED_VOTE, BOTH_VOTE, ONE_VOTE, OIL_VOTE = 1.5, 2.0, 1.0, 0.4


@dataclass(frozen=True, slots=True)
class Rows:
    """Labelled readings of sets with one profile, sorted by set_id, at.

    frame adds to the readings: `idx` row number, `new` first row of its set, `dt_s` seconds since the row
    before (null if new), `gap` a gap lies before this row, `running`, `seg` number of the stretch of equal state
    without a gap, `weight_s` seconds for which the row counts.
    intervals: set_id, rest_s, running_s: usual interval in each state, weighted by time.
    """

    frame: pl.DataFrame
    intervals: pl.DataFrame
    profile: Profile

    def has(self, name: str) -> bool:
        """Whether the readings have that signal."""
        return name in self.frame.columns


def label(readings: pl.DataFrame, profile: Profile) -> Rows:
    """Label the readings (sorted by set_id, at; all sets of one profile)."""
    new = pl.col("set_id").to_physical().ne(pl.col("set_id").to_physical().shift(1)).fill_null(True)
    frame = readings.with_row_index("idx").with_columns(
        new.alias("new"),
        _vote(readings.columns, profile.tellers).alias("vote"),
        (pl.col("at").diff().dt.total_microseconds() / 1e6).alias("dt_s"),
    )
    # a row that tells nothing goes on as the row before; the first of a set that tells nothing is at rest
    running = (
        pl.when(pl.col("vote") > 0).then(True).when((pl.col("vote") < 0) | pl.col("new")).then(False).otherwise(None)
    )
    frame = frame.with_columns(
        running.forward_fill().alias("running"),
        pl.when("new").then(None).otherwise("dt_s").alias("dt_s"),
    ).drop("vote")
    intervals = _usual_intervals(frame)
    return Rows(_segmented(frame, intervals), intervals, profile)


def electric_vote(columns: list[str], tellers: Tellers) -> pl.Expr:
    """+2 where volts and frequency both stand, +1 where the only one that is logged does, -1 where neither does."""
    on: list[pl.Expr] = []
    off: list[pl.Expr] = []
    if tellers.frequency:
        on.append(pl.col("frequency_hz") >= tellers.frequency[0])
        off.append(pl.col("frequency_hz") < tellers.frequency[1])
    if tellers.voltage:
        volts = output_voltage(columns)
        on.append(volts >= tellers.voltage[0])
        off.append(volts < tellers.voltage[1])
    if not on:
        return pl.lit(0.0)
    one_on, none_off = pl.any_horizontal(on).fill_null(False), ~pl.any_horizontal(off).fill_null(False)
    both = pl.all_horizontal([o.fill_null(False) for o in on]) if len(on) == 2 else pl.lit(False)
    any_off = pl.any_horizontal(off).fill_null(False)
    return (
        pl.when(both)
        .then(BOTH_VOTE)
        .when(one_on & none_off)
        .then(ONE_VOTE)
        .when(any_off & ~one_on)
        .then(-ONE_VOTE)
        .when(any_off)
        .then(-0.5 * ONE_VOTE)
        .otherwise(0.0)
    )


def _vote(columns: list[str], tellers: Tellers) -> pl.Expr:
    votes = [electric_vote(columns, tellers)] if tellers.frequency or tellers.voltage else []
    if tellers.speed:
        on, off = tellers.speed
        speed = pl.col("speed_rpm")
        votes.append(pl.when(speed >= on).then(SPEED_VOTE).when(speed < off).then(-SPEED_VOTE).otherwise(0.0))
    if not votes and tellers.state:
        state = pl.col("state").cast(pl.String)
        votes.append(
            pl.when(state.str.contains(r"\brun|\bload"))
            .then(ONE_VOTE)
            .when(state.is_not_null())
            .then(-ONE_VOTE)
            .otherwise(0.0)
        )
    if not votes and tellers.power:
        votes.append(
            pl.when(pl.col("power_kw") > 0.2)
            .then(ONE_VOTE)
            .when(pl.col("power_kw").is_not_null())
            .then(-ONE_VOTE)
            .otherwise(0.0)
        )
    if tellers.oil:
        oil = pl.col("oil_kpa")
        votes.append(pl.when(oil >= 100.0).then(OIL_VOTE).when(oil < 50.0).then(-OIL_VOTE).otherwise(0.0))
    return pl.sum_horizontal(votes) if votes else pl.lit(-1.0)


def _usual_intervals(frame: pl.DataFrame) -> pl.DataFrame:
    """Per set: the interval under which half of the time at rest (and running) lies, breaks left out.

    By time and not by rows, so that a minute at 1 s after each start does not hide that the log rests at 300 s.
    """
    sets = frame["set_id"].n_unique()
    stride = max(1, frame.height // (_SAMPLE_ROWS * max(1, sets)))
    pairs = frame.lazy().select(
        "set_id",
        "dt_s",
        "running",
        (~pl.col("running") & ~pl.col("running").shift(1)).alias("rest"),
        (pl.col("running") & pl.col("running").shift(1)).alias("ran"),
    )
    positive = pl.col("dt_s") > 0

    def usual(lazy: pl.LazyFrame, name: str) -> pl.LazyFrame:
        middle = pl.col("dt_s").median().over("set_id")
        return (
            lazy.filter(pl.col("dt_s") <= pl.max_horizontal(middle * 10, pl.lit(7200.0)))
            .sort("dt_s")
            .group_by("set_id")
            .agg(pl.col("dt_s").filter(pl.col("dt_s").cum_sum() >= pl.col("dt_s").sum() / 2).first().alias(name))
        )

    rest = usual(pairs.filter("rest").gather_every(stride).filter(positive), "rest_s")
    ran = pairs.filter("ran").filter(positive)
    running = usual(ran, "running_s")
    every = frame.lazy().select("set_id").unique()
    return every.join(rest, on="set_id", how="left").join(running, on="set_id", how="left").sort("set_id").collect()


def _segmented(frame: pl.DataFrame, intervals: pl.DataFrame) -> pl.DataFrame:
    usual = intervals.select(
        "set_id",
        pl.coalesce("rest_s", "running_s").fill_null(60.0).alias("rest_s"),
        pl.coalesce("running_s", "rest_s").fill_null(60.0).alias("running_s"),
    )
    if usual.height == 1:
        rest, running = (pl.lit(v) for v in usual.row(0)[1:])
    else:
        frame = frame.join(usual, on="set_id", how="left", maintain_order="left")
        rest, running = pl.col("rest_s"), pl.col("running_s")
    run, before = pl.col("running"), pl.col("running").shift(1)
    longest = pl.when(run & before).then(running).otherwise(pl.max_horizontal(rest, running)) * GAP_INTERVALS
    gap = ~pl.col("new") & (pl.col("dt_s") > pl.max_horizontal(longest, pl.lit(GAP_LEAST_S)))
    frame = frame.with_columns(gap.fill_null(False).alias("gap"))
    change = pl.col("new") | pl.col("gap") | run.ne(before).fill_null(True)
    next_dt = pl.col("dt_s").shift(-1)
    broken = pl.col("new").shift(-1).fill_null(True) | pl.col("gap").shift(-1).fill_null(True)
    frame = frame.with_columns(
        change.cum_sum().cast(pl.UInt32).alias("seg"),
        pl.when(broken).then(pl.when(run).then(running).otherwise(rest)).otherwise(next_dt).alias("weight_s"),
    )
    return frame.drop("rest_s", "running_s", strict=False)
