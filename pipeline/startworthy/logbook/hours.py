"""What the hour meter tells of running time that rows far apart cannot: the sum over many runs, not the length of one.

A log on a fixed clock meets every exercise at the same second, so that what it misses of one run it misses of all. The
meter's steps are seen to within one row, whatever its resolution, and between the first and the last of them it has
counted every run.
"""

from __future__ import annotations

import polars as pl

from startworthy.logbook.rows import GAP_INTERVALS, Rows

# Common practice, no source.
ROWS_TELL_S = 10.0
"""Rows closer than this tell running time themselves."""
LEAST_RUNS = 5
KEY_ON_S = 8.0
"""A meter that counts from the demand leads by preheat and crank, this long and more a run: that moves nothing."""
AT_REST_SHARE = 0.05
PACE_SIGMAS = 2.0
"""A meter that gains or loses on the clock within runs by more than rows this far apart explain is not believed."""


def meter_shift(rows: Rows, runs: pl.DataFrame) -> pl.Series:
    """Seconds by which the middle of each run's bounds is moved, so that the runs of its set add up to its hour meter.

    runs: the skeleton, sorted, with set_id, began_at, last_at, before_at, start_seen, running_low_s, running_high_s,
    missing_s. 0 where rows are close, and where the meter is not logged, steps at rest or in a gap, goes wrong, leads
    as one that counts from the demand does, or lies outside of what the rows allow.
    """
    none = pl.Series("shift_s", [0.0] * runs.height)
    coarse = rows.intervals.filter(pl.col("running_s") >= ROWS_TELL_S).select("set_id", pl.col("running_s").alias("dt"))
    if not rows.has("hour_meter_h") or runs.is_empty() or coarse.is_empty():
        return none
    steps = _steps(rows, runs, coarse)
    sets = steps.group_by("set_id").agg(
        pl.col("lead_s").filter(pl.col("nth") == pl.col("nth").min()).mean().alias("first_s"),
        pl.col("lead_s").filter(pl.col("nth") == pl.col("nth").max()).mean().alias("last_s"),
        (pl.col("nth").max() - pl.col("nth").min()).alias("between"),
        (pl.col("ran_s") <= 0).mean().alias("at_rest"),
        pl.col("broken").any().alias("broken"),
        pl.col("dt").first(),
    )
    sets = sets.join(_pace(steps), on="set_id", how="left")
    each = (pl.col("last_s") - pl.col("first_s")) / pl.col("between")
    # both ends of each such stretch are seen to within one row
    scatter = pl.col("dt") * (pl.col("stretches") / 6).sqrt()
    in_pace = pl.col("gained_s").abs() <= PACE_SIGMAS * scatter
    lowest = pl.when(pl.col("stretches") >= LEAST_RUNS).then(-pl.col("dt")).otherwise(-KEY_ON_S)
    allowed = each.is_between(lowest, pl.lit(KEY_ON_S)) & in_pace.fill_null(True)
    fit = (pl.col("between") >= LEAST_RUNS) & (pl.col("at_rest") <= AT_REST_SHARE) & ~pl.col("broken")
    sets = sets.select("set_id", pl.when(fit & allowed).then(each).alias("shift_s"))
    whole = runs.group_by("set_id").agg(pl.col("missing_s").sum().alias("missing_s"))
    sets = sets.join(whole, on="set_id").select(
        "set_id", pl.when(pl.col("missing_s") == 0).then("shift_s").alias("shift_s")
    )
    found = runs.select("set_id").join(sets, on="set_id", how="left", maintain_order="left")
    return found["shift_s"].fill_null(0.0)


def _pace(steps: pl.DataFrame) -> pl.DataFrame:
    """set_id; stretches between two steps within one run; gained_s, what the meter gained over the clock in them."""
    within = (
        steps.filter("running")
        .group_by("set_id", "nth")
        .agg(pl.len().alias("n"), (pl.col("lead_s").last() - pl.col("lead_s").first()).alias("gained_s"))
    )
    return within.filter(pl.col("n") >= 2).group_by("set_id").agg(pl.len().alias("stretches"), pl.col("gained_s").sum())


def _steps(rows: Rows, runs: pl.DataFrame, coarse: pl.DataFrame) -> pl.DataFrame:
    """Every step of the meter, of the sets with slow rows.

    Columns: set_id, dt; nth (runs begun by then); running (within that run); ran_s (running time since the row before,
    by the rows); lead_s (meter over rows, each in seconds from its own zero); broken (it fell, or stepped in a gap).
    """
    seen = rows.frame.select("set_id", "at", "hour_meter_h")
    seen = seen.drop_nulls() if seen["hour_meter_h"].null_count() else seen
    steps = pl.col("hour_meter_h").diff() != 0
    seen = seen.select(
        "set_id", "at", "hour_meter_h",
        pl.col("at").shift(1).alias("before_at"),
        pl.col("hour_meter_h").diff().alias("step_h"),
        pl.col("set_id").shift(1).alias("set_before"),
    ).filter(steps & (pl.col("set_id") == pl.col("set_before")))  # fmt: skip
    seen = seen.drop("set_before").join(coarse, on="set_id", how="inner", maintain_order="left")
    past = runs.with_columns(
        ((pl.col("running_low_s") + pl.col("running_high_s")) / 2).alias("middle_s"),
        pl.when("start_seen").then(_s(pl.col("began_at") - pl.col("before_at"))).otherwise(0.0).alias("lead_in_s"),
        pl.int_range(1, pl.len() + 1).over("set_id").alias("nth"),
    ).select(
        "set_id", "began_at", "last_at", "lead_in_s", "middle_s", "nth",
        (pl.col("middle_s").cum_sum().over("set_id") - pl.col("middle_s")).alias("earlier_s"),
    ).sort("began_at")  # fmt: skip
    now, then = _ran_until(seen, past, "at"), _ran_until(seen, past, "before_at")
    ran = (now["ran_s"] - then["ran_s"]).clip(0)
    # at the row of a step the meter stands within that step, and no further than the set ran since the row before
    resolution_s = pl.col("step_h").filter(pl.col("step_h") > 0).min().over("set_id") * 3600.0
    stands = pl.col("hour_meter_h") * 3600.0 + pl.min_horizontal(resolution_s, "ran_s") / 2
    gap = _s(pl.col("at") - pl.col("before_at")) > GAP_INTERVALS * pl.col("dt")
    # where a log breaks off while running and the meter made one step at most, no run lies hidden in the gap
    hidden = gap & ~(pl.col("was_running") & (pl.col("step_h") * 3600.0 <= 1.5 * resolution_s))
    told = (ran.alias("ran_s"), now["nth"], now["running"], now["ran_s"].alias("rows_s"))
    return seen.with_columns(*told, then["running"].alias("was_running")).select(
        "set_id", "dt", "nth", "running", "ran_s",
        (stands - pl.col("rows_s")).alias("lead_s"),
        (hidden | (pl.col("step_h") < 0)).fill_null(True).alias("broken"),
    )  # fmt: skip


def _ran_until(seen: pl.DataFrame, past: pl.DataFrame, when: str) -> pl.DataFrame:
    """For each instant nth (runs begun), running, and ran_s (running time by the middle of the bounds until then)."""
    asked = seen.select("set_id", pl.col(when).alias("asked_at")).with_row_index("n").sort("asked_at")
    met = asked.join_asof(
        past, left_on="asked_at", right_on="began_at", by="set_id", strategy="backward", check_sortedness=False
    ).sort("n")
    within = pl.when(pl.col("asked_at") <= pl.col("last_at")).then(
        pl.col("lead_in_s") / 2 + _s(pl.col("asked_at") - pl.col("began_at"))
    )
    return met.select(
        pl.col("nth").fill_null(0),
        (pl.col("asked_at") <= pl.col("last_at")).fill_null(False).alias("running"),
        (pl.col("earlier_s") + pl.min_horizontal(within.otherwise(pl.col("middle_s")), "middle_s")).fill_null(0.0)
        .alias("ran_s"),
    )  # fmt: skip


def _s(duration: pl.Expr) -> pl.Expr:
    return duration.dt.total_microseconds() / 1e6
