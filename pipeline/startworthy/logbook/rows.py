"""The one pass over the readings: which rows run, where the log breaks off, how long each row counts.

Running is told by a vote, so that one dead or spiking sensor does not invent or hide a run: speed weighs most,
volts and frequency together outweigh a dead speed sensor, oil pressure only tips the balance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl

from startworthy.logbook.known import Profile, Tellers, output_voltage
from startworthy.signals import LINE_VOLTAGES, PHASE_VOLTAGES

GAP_INTERVALS = 3.5
"""A break longer than this many usual intervals is a gap: a lost row or two is not. Common practice, no source."""
GAP_LEAST_S = 10.0
_SAMPLE_ROWS = 200_000

RESTART_HIDES_S, RESTART_AFTER_S = 10.0, 30.0
"""Rows closer than the first show a stop themselves; a counter may step this long after the start that it counts."""

SPEED_VOTE, BOTH_VOTE, ONE_VOTE, OIL_VOTE = 1.5, 2.0, 1.0, 0.4


@dataclass(frozen=True, slots=True)
class Rows:
    """Labelled readings of sets with one profile, sorted by set_id, at.

    frame adds to the readings: `new` first row of its set, `dt_s` seconds since the row before (null if new), `gap`
    a gap lies before this row, `running`, `weight_s` seconds for which the row counts.
    heads: the first row of each stretch of equal state without a gap: `idx` (row number), set_id, at, new, gap,
    running, `restart` (the starts counter tells of a stop and start between this row and the one before).
    intervals: set_id, rest_s, running_s: usual interval in each state, weighted by time.
    """

    frame: pl.DataFrame
    heads: pl.DataFrame
    intervals: pl.DataFrame
    profile: Profile

    def has(self, name: str) -> bool:
        """Whether the readings have that signal."""
        return name in self.frame.columns

    def has_output_voltage(self) -> bool:
        """Whether the readings have any output voltage: lone, of a phase, or between lines."""
        return any(self.has(name) for name in ("voltage_v", *PHASE_VOLTAGES, *LINE_VOLTAGES))


def label(readings: pl.DataFrame, profile: Profile) -> Rows:
    """Label the readings (sorted by set_id, at; all sets of one profile).

    Whole columns are worked on as arrays: with millions of rows each further pass over a frame tells.
    """
    code = readings["set_id"].to_physical().to_numpy()
    new = np.ones(readings.height, dtype=bool)
    new[1:] = code[1:] != code[:-1]
    at = readings["at"].to_physical().to_numpy()
    dt = np.full(readings.height, np.nan)
    dt[1:] = np.diff(at) / 1e6
    dt[new] = 0.0
    first = pl.Series(np.flatnonzero(new))
    frame = readings.with_columns(pl.Series("new", new), pl.Series("dt_s", dt).scatter(first, None))
    run = _running(frame, profile.tellers)
    frame = frame.with_columns(pl.Series("running", run))
    intervals = _usual_intervals(frame, dt, run)
    gap = _gaps(frame, dt, intervals)
    cut = new | gap
    change = cut.copy()
    change[1:] |= run[1:] != run[:-1]
    idx = pl.Series("idx", np.flatnonzero(change).astype(np.uint32))
    frame = frame.with_columns(pl.Series("gap", gap), _weight(frame, dt, cut, intervals))
    heads = frame.select("set_id", "at", "new", "gap", "running")[idx].insert_column(0, idx)
    heads = _with_restarts(frame, heads.with_columns(pl.lit(False).alias("restart")))
    return Rows(frame, heads, intervals, profile)


def _with_restarts(frame: pl.DataFrame, heads: pl.DataFrame) -> pl.DataFrame:
    """Adds a head where only the starts counter shows that a set stopped and started again between two slow rows.

    The counter has to have counted this run's own start already: some count late.
    """
    if "starts_counter" not in frame.columns:
        return heads
    counter, run = pl.col("starts_counter"), pl.col("running")
    counted = (
        run
        & run.shift(1)
        & ~pl.col("new")
        & ~pl.col("gap")
        & (counter.diff() >= 1)
        & (pl.col("dt_s") >= RESTART_HIDES_S)
    )
    idx = frame.select(counted.fill_null(False).arg_true().cast(pl.UInt32).alias("idx")).to_series()
    if not idx.len():
        return heads
    own = (
        heads["idx"]
        .to_numpy()[np.searchsorted(heads["idx"].to_numpy(), idx.to_numpy(), side="right") - 1]
        .astype(np.int64)
    )
    before = frame["starts_counter"].gather(np.maximum(own - 1, 0))
    at = frame["at"]
    told = ((frame["starts_counter"].gather(idx) - before) >= 2) & (
        (at.gather(idx) - at.gather(own)).dt.total_seconds() >= RESTART_AFTER_S
    )
    more = (
        frame.select("set_id", "at", "new", "gap", "running")[idx]
        .insert_column(0, idx)
        .with_columns(restart=pl.lit(True))
    )
    return pl.concat([heads, more.filter(told.fill_null(False))]).sort("idx")


def _running(frame: pl.DataFrame, tellers: Tellers) -> np.ndarray:
    """Whether each row runs. The vote is only held where any signal is not plainly that of a set at rest."""
    names = _voters(frame.columns, tellers)
    if not names and not tellers.state:
        return np.zeros(frame.height, dtype=bool)
    # a null is not active by itself; only where no voter says anything at all does the vote have to be asked
    active = pl.any_horizontal([pl.col(name) >= off for name, off in names.items()]) if names else pl.lit(False)
    if tellers.state:
        active = active | pl.col("state").is_not_null()
    if all(frame[name].null_count() for name in names):
        active = active | pl.all_horizontal([pl.col(name).is_null() for name in names] or [pl.col("state").is_null()])
    idx = frame.select(active.arg_true().alias("idx")).to_series()
    running = np.zeros(frame.height, dtype=bool)
    if not idx.len():
        return running
    told = frame[idx].select(_vote(frame.columns, tellers).alias("vote"), pl.col("new"))
    rows, vote = idx.to_numpy(), told["vote"].to_numpy()
    running[rows] = vote > 0
    open_rows = rows[(vote == 0) & ~told["new"].to_numpy()]
    if not len(open_rows):
        return running
    # a row that tells nothing goes on as the last one that did, but not for longer than a gap would be bridged
    last_told = np.arange(frame.height)
    last_told[open_rows] = 0
    last_told = np.maximum.accumulate(last_told)
    at = frame["at"].to_physical().to_numpy()
    usual_s = frame["dt_s"].median() or 0.0
    recent = at - at[last_told] <= max(GAP_LEAST_S, GAP_INTERVALS * float(usual_s)) * 1e6  # type: ignore[arg-type]
    running[open_rows] = (running[last_told] & recent)[open_rows]
    return running


def _voters(columns: list[str], tellers: Tellers) -> dict[str, float]:
    """The number signals that vote, each with the value below which it is plainly that of a set at rest."""
    names: dict[str, float] = {}
    if tellers.speed:
        names["speed_rpm"] = tellers.speed[1]
    if tellers.frequency:
        names["frequency_hz"] = tellers.frequency[1]
    if tellers.voltage:
        volts = [name for name in ("voltage_v", *PHASE_VOLTAGES, *LINE_VOLTAGES) if name in columns]
        names |= dict.fromkeys(volts, tellers.voltage[1])
    if not names and tellers.power:
        names["power_kw"] = 0.2
    if tellers.oil:
        names["oil_kpa"] = 50.0
    return names


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


def _usual_intervals(frame: pl.DataFrame, dt: np.ndarray, run: np.ndarray) -> pl.DataFrame:
    """Per set: the interval under which half of the time at rest (and running) lies, breaks left out.

    By time and not by rows, so that a minute at 1 s after each start does not hide that the log rests at 300 s.
    """
    first = np.flatnonzero(frame["new"].to_numpy())
    stride = max(1, frame.height // (_SAMPLE_ROWS * max(1, len(first))))
    some = np.arange(1, frame.height, stride)

    def pairs(idx: np.ndarray) -> pl.LazyFrame:
        return pl.DataFrame({"set_id": frame["set_id"].gather(idx), "dt_s": dt[idx]}).lazy()

    every = frame.select("set_id")[first].lazy()
    rest = pairs(some[~run[some]])
    ran = pairs(np.flatnonzero(run[1:] & run[:-1]) + 1)

    def usual(pairs: pl.LazyFrame, name: str) -> pl.LazyFrame:
        middle = pl.col("dt_s").median().over("set_id")
        dt = pl.col("dt_s")
        return (
            pairs.filter(dt > 0)
            .filter(dt <= pl.max_horizontal(middle * 10, pl.lit(7200.0)))
            .sort("dt_s")
            .group_by("set_id")
            .agg(dt.filter(dt.cum_sum() >= dt.sum() / 2).first().alias(name))
        )

    told = every.join(usual(rest, "rest_s"), on="set_id", how="left").join(
        usual(ran, "running_s"), on="set_id", how="left"
    )
    return told.sort("set_id").collect()


def _in_force(intervals: pl.DataFrame) -> pl.DataFrame:
    """The usual interval of each state; where one was never seen the other stands in, and a minute for want of both."""
    return intervals.select(
        "set_id",
        pl.coalesce("rest_s", "running_s").fill_null(60.0).alias("rest_s"),
        pl.coalesce("running_s", "rest_s").fill_null(60.0).alias("running_s"),
    )


def _gaps(frame: pl.DataFrame, dt: np.ndarray, intervals: pl.DataFrame) -> np.ndarray:
    """Whether a gap lies before each row. Only breaks longer than the shortest that may be one are looked at."""
    usual = _in_force(intervals)
    shortest = float(usual.select(pl.min_horizontal("rest_s", "running_s").min()).item())
    idx = pl.Series("idx", np.flatnonzero(dt > max(GAP_LEAST_S, GAP_INTERVALS * shortest)))
    gap = np.zeros(frame.height, dtype=bool)
    if idx.len():
        ran_on = frame["running"].gather(idx) & frame["running"].gather(idx - 1)
        breaks = frame.select("set_id", "dt_s")[idx].with_columns(ran_on.alias("ran_on"))
        breaks = breaks.join(usual, on="set_id", how="left", maintain_order="left")
        rest, running = pl.col("rest_s"), pl.col("running_s")
        longest = pl.when("ran_on").then(running).otherwise(pl.max_horizontal(rest, running)) * GAP_INTERVALS
        told = breaks.select(pl.col("dt_s") > pl.max_horizontal(longest, pl.lit(GAP_LEAST_S)))
        gap[idx.to_numpy()] = told.to_series().to_numpy()
    return gap


def _weight(frame: pl.DataFrame, dt: np.ndarray, cut: np.ndarray, intervals: pl.DataFrame) -> pl.Series:
    """Seconds for which each row counts: until the next row, or the usual interval where a gap or the end follows."""
    weight = np.empty(frame.height)
    weight[:-1] = dt[1:]
    broken = np.flatnonzero(np.append(cut[1:], True))
    last = frame.select("set_id", "running")[broken]
    last = last.join(_in_force(intervals), on="set_id", how="left", maintain_order="left")
    weight[broken] = last.select(pl.when("running").then("running_s").otherwise("rest_s")).to_series().to_numpy()
    return pl.Series("weight_s", weight)
