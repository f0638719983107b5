"""Crank attempts, from short windows around every sign of one: speed at cranking level, or a deep battery dip.

A preheat dip is not a crank: it is shallower, comes before it, and the engine does not turn. Where the speed signal
does not show cranking (it is often taken from the generator's frequency), `sags` tells the two apart.
Where rows are far apart, the state may say it.
"""

from __future__ import annotations

import numpy as np
import polars as pl

from startworthy.logbook.known import output_voltage
from startworthy.logbook.rows import Rows
from startworthy.logbook.sags import HALF, STEP_V, cranks_by_battery

# The figures of this file are common practice for 12 V systems, no source; `k` scales them to the system's nominal.
CRANK_RPM = (50.0, 450.0)
LEAD_S, TAIL_S = 120.0, 90.0
UNDISTURBED_S = 40.0
CRANK_DROP_V, LOW_V = 0.9, 11.9
DEEP_V, DEEP_DROP_V = 10.5, 1.5
FIRES_WITHIN_S, LONGEST_S = 5.0, 60.0
CLOSE_S = 1.0
LOOKBACK_ROWS = 20
COUNTED_AT_S = 2.0
"""Attempts are only counted where rows come this often: a third of the shortest crank that a starter gives up after."""
CRANKING_WORDS = r"\bcrank"
NOT_CRANKING_WORDS = r"fail|over|lock|fault|pause|rest|wait|end|off|ready|before|after|no\b|not\b"


def windows(rows: Rows, runs: pl.DataFrame) -> pl.DataFrame:
    """The readings around every sign of a start: from 120 s before to 90 s after it, with the row before.

    Adds `idx` (row number), `win` (number of the window), `moving` (speed at cranking level), `stated` (the state says
    cranking), `sign` (a sign of cranking in this row), `volts`, `level_v` (undisturbed battery of it), `clock_s`
    (step of a clock that shows several rows at one instant, else 0).
    """
    frame = rows.frame
    moving = _moving(rows)
    stated = _stated(rows)
    shown = np.union1d(np.union1d(moving, _deep_dips(rows)), stated)
    signs = np.union1d(shown, runs["first_idx"].to_numpy())
    idx = _around(frame, signs)
    near_rows = frame[idx].with_columns(
        pl.Series("idx", idx),
        pl.Series("moving", np.isin(idx, moving)),
        pl.Series("stated", np.isin(idx, stated)),
        pl.Series("sign", np.isin(idx, signs)),
        output_voltage(frame.columns).alias("volts"),
    )
    jump = pl.col("idx").cast(pl.Int64).diff().ne(1).fill_null(True) | pl.col("new")
    near_rows = near_rows.with_columns(jump.cum_sum().cast(pl.UInt32).alias("win"))
    # a clock that shows whole seconds only, with several rows in each, cannot tell more closely than that
    dt = pl.col("dt_s")
    step = pl.when((dt == 0).any()).then(dt.filter(dt > 0).min().fill_null(1.0)).otherwise(0.0).over("win")
    near_rows = near_rows.with_columns(step.fill_null(0.0).alias("clock_s"))
    if not rows.has("battery_v"):
        return near_rows.with_columns(
            pl.lit(None, pl.Float64).alias("level_v"), pl.lit(None, pl.Float64).alias("battery_v")
        )
    first_sign = pl.col("at").filter("sign").min().over("win")
    lead = ~pl.col("running") & (_s(first_sign - pl.col("at")) >= UNDISTURBED_S)
    calm = pl.col("battery_v").filter(lead & (_s(first_sign - pl.col("at")) <= UNDISTURBED_S + 60)).median().over("win")
    any_lead = pl.col("battery_v").filter(lead).last().over("win")
    first = pl.col("battery_v").filter(~pl.col("running") & ~pl.col("sign")).first().over("win")
    return near_rows.with_columns(pl.coalesce(calm, any_lead, first).alias("level_v"))


def attempts_in(near: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    """The attempts seen in the windows, with the columns of the attempts table but for demand and attempt numbers.

    Adds `fired_at` (first running row after it, null if none), `before_at`, `strong` (speed or state, and the battery
    where it is logged, say crank), `mode`.
    """
    k = _k(rows)
    near = _told(near, rows, k)
    crank = pl.col("crank")
    begins = crank & (~crank.shift(1).fill_null(False) | pl.col("win").ne(pl.col("win").shift(1)))
    # rows closer than a second apart may miss the mark once in a crank: that is no second attempt
    since = _s(pl.col("at") - pl.when(crank).then("at").otherwise(None).forward_fill().shift(1))
    begins = begins & ~((since < CLOSE_S) & pl.col("win").eq(pl.col("win").shift(1))).fill_null(False)
    lone_block = (
        ~pl.col("dip") | crank.shift(1).fill_null(False) | pl.col("win").ne(pl.col("win").shift(1)).fill_null(True)
    ).cum_sum()
    first_run = pl.col("running") & ~pl.col("running").shift(1).fill_null(False)
    near = near.with_columns(
        begins.cum_sum().alias("att"),
        lone_block.alias("block"),
        pl.when(first_run).then("at").otherwise(None).backward_fill().over("win").alias("fired_at"),
        pl.col("at").shift(1).over("win").alias("before_at"),
        pl.col("at").shift(-1).over("win").alias("after_at"),
        pl.col("coolant_c").forward_fill().shift(1).over("win")
        if rows.has("coolant_c")
        else pl.lit(None, pl.Float64).alias("coolant_c"),
        pl.col("ambient_c").forward_fill().shift(1).over("win")
        if rows.has("ambient_c")
        else pl.lit(None, pl.Float64).alias("ambient_c"),
        pl.col("mode").cast(pl.String) if rows.has("mode") else pl.lit(None, pl.String).alias("mode"),
        pl.col("speed_rpm") if rows.has("speed_rpm") else pl.lit(None, pl.Float64).alias("speed_rpm"),
    )
    near = near.with_columns(
        pl.col("at").filter("dip").first().over("block").alias("dip_at"),
        pl.col("battery_v").filter(pl.col("dip") & ~crank).median().over("block").alias("preheat_v"),
    )
    settled = _s(pl.col("at") - pl.col("at").first()) >= 0.5
    volts = pl.col("battery_v")
    found = (
        near.filter("crank")
        .group_by("att", maintain_order=True)
        .agg(
            pl.col("set_id").first(),
            pl.col("at").first().alias("began_at"),
            pl.col("at").last().alias("last_at"),
            pl.col("before_at").first(),
            pl.col("after_at").last().alias("ended_at"),
            pl.len().cast(pl.Int32).alias("rows"),
            pl.col("level_v").first().alias("battery_before_v"),
            volts.min().alias("battery_min_v"),
            pl.when(volts.filter(settled).count() >= 3)
            .then(volts.filter(settled).median())
            .otherwise(volts.median())
            .alias("battery_mean_v"),
            pl.col("speed_rpm").filter(pl.col("speed_rpm").is_between(*CRANK_RPM)).median().alias("crank_rpm"),
            pl.col("coolant_c").first().alias("coolant_before_c"),
            pl.col("ambient_c").first(),
            pl.col("fired_at").last(),
            pl.col("dip_at").first(),
            pl.col("preheat_v").first(),
            pl.col("mode").first(),
            (
                (pl.col("moving") | pl.col("stated")).any()
                & ((pl.col("level_v") - volts >= STEP_V * k).any() | volts.is_null().all())
            ).alias("strong"),
            pl.col("win").first(),
            pl.col("clock_s").first(),
        )
        .drop("att")
    )
    same = pl.col("set_id").eq(pl.col("set_id").shift(-1)).fill_null(False)
    later = pl.col("began_at").shift(-1)
    ended = pl.coalesce("ended_at", "last_at")
    low = _s(pl.col("last_at") - pl.col("began_at"))
    high = _s(ended - pl.coalesce("before_at", "began_at")) + pl.col("clock_s")
    within = pl.max_horizontal(pl.lit(FIRES_WITHIN_S), 1.5 * high / (pl.col("rows") + 1))
    fires = (_s(pl.col("fired_at") - ended) <= within) & ~(same & (later < pl.col("fired_at"))).fill_null(False)
    drop = pl.col("battery_before_v") - pl.col("battery_min_v")
    found = found.with_columns(
        fires.fill_null(False).alias("fired"),
        low.alias("crank_low_s"),
        high.alias("crank_high_s"),
        ((low + high) / 2).alias("crank_s"),
        pl.max_horizontal(high / (pl.col("rows") + 1), "clock_s").alias("resolution_s"),
        _s(pl.col("began_at") - pl.col("dip_at")).alias("preheat_s"),
    ).with_columns(
        pl.when(pl.col("fired")).then("fired_at").alias("fired_at"),
        pl.when(pl.col("resolution_s") <= COUNTED_AT_S).then(pl.col("preheat_s").fill_null(0.0)).alias("preheat_s"),
    )
    # one odd speed reading at rest is no attempt: the battery has to show it, or the engine to run after it
    # one low row among close ones is a spike: no starter lets go of a crank that did not fire within a second
    lasts = (pl.col("rows") >= 2) | (pl.col("resolution_s") > COUNTED_AT_S)
    # volts that stay down over slow rows are a battery that sinks
    brief = pl.col("crank_low_s") <= LONGEST_S
    by_battery = brief & lasts & (drop >= 0.5 * k).fill_null(True)
    shown = pl.col("fired") | pl.col("strong").fill_null(False) | by_battery
    return found.filter(shown).drop("dip_at")


def _told(near: pl.DataFrame, rows: Rows, k: float) -> pl.DataFrame:
    """Adds `dip` (battery pulled down) and `crank`, row by row.

    Where speed shows cranking in most windows, the battery only tells of cranks that did not turn the engine.
    """
    near = cranks_by_battery(near, k)
    volts, level, rest = pl.col("battery_v"), pl.col("level_v"), ~pl.col("running")
    deep = ((volts <= DEEP_V * k) & (volts <= level - DEEP_DROP_V * k)).fill_null(False)
    by_window = near.group_by("set_id", "win").agg(pl.col("moving").any(), pl.col("running").any())
    shown = by_window.filter("running").group_by("set_id").agg((pl.col("moving").mean() > HALF).alias("speed_shows"))
    near = near.join(shown, on="set_id", how="left", maintain_order="left")
    speed_shows = pl.col("speed_shows").fill_null(True)
    # speed that is seen on its way up only is no sign of cranking once the battery has recovered
    held = (volts <= level - STEP_V * k).fill_null(True)
    turning = pl.col("moving") & rest & (speed_shows | held)
    crank = turning | pl.col("stated") | (rest & pl.col("sag") & (~speed_shows | deep))
    return near.with_columns(crank.fill_null(False).alias("crank")).drop("sag", "speed_shows")


def _around(frame: pl.DataFrame, signs: np.ndarray) -> np.ndarray:
    """Numbers of the rows within LEAD_S before and TAIL_S after any of the rows `signs`, and of one row before."""
    if not len(signs):
        return np.zeros(0, dtype=np.uint32)
    starts = np.flatnonzero(frame["new"].to_numpy())
    ends = np.append(starts[1:], frame.height)
    instant = frame["at"].to_physical().to_numpy()
    begin, end = np.empty(len(signs), dtype=np.int64), np.empty(len(signs), dtype=np.int64)
    own = np.searchsorted(starts, signs, side="right") - 1
    sets, at_sign = np.unique(own, return_index=True)
    for one, of in zip(sets, map(slice, at_sign, np.append(at_sign[1:], len(signs))), strict=True):
        # one set's instants ascend, so a binary search within its rows finds both ends of every window
        low, high = starts[one], ends[one]
        at, when = instant[low:high], instant[signs[of]]
        begin[of] = np.maximum(low + np.searchsorted(at, when - int(LEAD_S * 1e6), side="left") - 1, low)
        end[of] = low + np.searchsorted(at, when + int(TAIL_S * 1e6), side="right")
    # the windows ascend with their signs: those that touch are one
    apart = np.append(True, begin[1:] > np.maximum.accumulate(end)[:-1])
    firsts, lasts = begin[apart], np.maximum.reduceat(end, np.flatnonzero(apart))
    return np.concatenate([np.arange(a, b) for a, b in zip(firsts, lasts, strict=True)]).astype(np.uint32)


def _moving(rows: Rows) -> np.ndarray:
    """Numbers of the rows with speed at cranking level, but for those of a run that is slowing down."""
    if not rows.has("speed_rpm"):
        return np.zeros(0, dtype=np.int64)
    frame = rows.frame
    # without an upper end here: what lies between cranking and running is part of a set that slows down
    turns = (~pl.col("running") & (pl.col("speed_rpm") >= CRANK_RPM[0])).fill_null(False)
    idx = frame.select(turns.arg_true().cast(pl.Int64)).to_series()
    if not idx.len():
        return np.zeros(0, dtype=np.int64)
    before = (idx - 1).clip(0)
    found = pl.DataFrame(
        {
            "idx": idx,
            "cut": frame["new"].gather(idx) | frame["gap"].gather(idx),
            "ran": frame["running"].gather(before),
            "speed": frame["speed_rpm"].gather(idx),
        }
    )
    # a stretch that begins right after a running row is the set slowing down; it ends where speed rises again
    begins = pl.col("idx").diff().ne(1).fill_null(True) | pl.col("cut") | (pl.col("speed").diff() > 0).fill_null(False)
    found = found.with_columns(begins.cum_sum().alias("stretch"))
    stops = (pl.col("ran") & ~pl.col("cut")).first().over("stretch")
    return found.filter(~stops & (pl.col("speed") <= CRANK_RPM[1]))["idx"].to_numpy()


def _stated(rows: Rows) -> np.ndarray:
    """Numbers of the rows at rest whose state says cranking, where they are too far apart for the signals to tell.

    Among close rows a state that is read late would only blur what these show.
    """
    if not rows.has("state"):
        return np.zeros(0, dtype=np.int64)
    frame = rows.frame
    words = frame["state"].unique().drop_nulls().cast(pl.String)
    lower = words.str.to_lowercase()
    words = words.filter(lower.str.contains(CRANKING_WORDS) & ~lower.str.contains(NOT_CRANKING_WORDS))
    if not words.len():
        return np.zeros(0, dtype=np.int64)
    unseen = pl.col("dt_s") > COUNTED_AT_S if rows.has("battery_v") or rows.has("speed_rpm") else pl.lit(True)
    told = pl.col("state").cast(pl.String).is_in(words.to_list()) & ~pl.col("running") & unseen
    return frame.select(told.fill_null(False).arg_true().cast(pl.Int64)).to_series().to_numpy()


def _deep_dips(rows: Rows) -> np.ndarray:
    """Numbers of the rows at rest with the battery far below what it was within the last rows, and low in itself."""
    if not rows.has("battery_v"):
        return np.zeros(0, dtype=np.int64)
    frame, k = rows.frame, _k(rows)
    low = (~pl.col("running") & (pl.col("battery_v") <= LOW_V * k)).fill_null(False)
    idx = frame.select(low.arg_true().cast(pl.Int64)).to_series().to_numpy()
    if not len(idx):
        return idx
    # only low rows are looked back from: a healthy battery is hardly ever that low
    rest = frame.select(
        pl.when(pl.col("running")).then(None).otherwise(pl.col("battery_v")).alias("v"), "running", "new"
    )
    code = frame["new"].cum_sum().to_numpy()
    highest, ran = np.full(len(idx), -np.inf), np.zeros(len(idx), dtype=bool)
    volts, running = rest["v"].fill_null(-np.inf).to_numpy(), rest["running"].to_numpy()
    for back in range(1, LOOKBACK_ROWS):
        earlier = np.maximum(idx - back, 0)
        same = code[earlier] == code[idx]
        highest = np.where(same, np.maximum(highest, volts[earlier]), highest)
        ran |= same & running[earlier]
    dips: np.ndarray = idx[~ran & (highest - volts[idx] >= CRANK_DROP_V * k)]
    return dips


def _k(rows: Rows) -> float:
    return (rows.profile.battery_nominal_v or 12.0) / 12.0


def _s(duration: pl.Expr) -> pl.Expr:
    return duration.dt.total_microseconds() / 1e6
