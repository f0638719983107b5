"""Cranks told by the battery alone: a crank pulls it down further than the preheat before it, whatever its charge.

Levels are taken from the window itself, never as fixed volts: a flat battery preheats below the volts at which a good
one cranks. The first row of a crank may lie far below the rest of it (inrush): the step is taken to where it settles.
"""

from __future__ import annotations

import polars as pl

# Common practice for 12 V systems, no source; `k` scales them to the system's nominal.
STEP_V = 0.5
DIP_V = 0.2
LONE_DROP_V, FLAT_RAN_V, FLAT_FAILED_V = 1.0, 1.5, 2.0
LONE_V, LONE_FAILED_V = 11.9, 11.2
FULL_V, GOOD_REST_V, SURELY_V = 12.8, 12.2, 10.8
HALF, QUARTER = 0.5, 0.25
OVER_PREHEAT = 1.6


def cranks_by_battery(near: pl.DataFrame, k: float) -> pl.DataFrame:
    """Adds `dip` (battery pulled down at rest) and `sag` (pulled down as by a starter), row by row.

    near: rows of windows with `set_id`, `win`, `at`, `dt_s`, `running`, `battery_v`, `level_v` (undisturbed volts);
    k: nominal over 12 V.
    A step down out of a step down is the crank after its preheat. A step with none before or after it is one if it is
    as deep as the others of its window, or for want of others deep enough in itself.
    """
    columns = near.columns
    if (near["dt_s"] == 0).any():
        # rows of one instant, repeated or of a clock too coarse for them, are one look at the battery: its lowest
        looks = near.group_by("win", "at", maintain_order=True).agg(
            pl.col("set_id", "level_v").first(), pl.col("running").all(), pl.col("battery_v").min()
        )
        looks = cranks_by_battery(looks.with_columns(pl.lit(None, pl.Float64).alias("dt_s")), k)
        return near.join(looks.select("win", "at", "dip", "sag"), on=["win", "at"], how="left", maintain_order="left")
    rest = ~pl.col("running")
    dip = (rest & (pl.col("battery_v") < pl.col("level_v") - DIP_V * k)).fill_null(False)
    near = near.with_columns(dip.alias("dip"), pl.when(rest).then("battery_v").alias("v"))
    base = pl.max_horizontal(pl.col("v").shift(1), pl.col("v").shift(2)).over("win")
    after = pl.col("v").shift(-1).over("win")
    # before the first look of a window lies the level that it stands for
    near = near.with_columns(base.fill_null(pl.col("level_v")).alias("base"))
    settled = pl.when(after < pl.col("base") - STEP_V * k).then(pl.max_horizontal("v", after)).otherwise("v")
    near = near.with_columns((pl.col("base") - settled).alias("step"))
    onset = (pl.col("dip") & (pl.col("step") >= STEP_V * k)).fill_null(False)
    # a step spread over two rows is one, as deep as both
    spread = (pl.col("v").shift(2) - pl.col("v").shift(1) >= STEP_V * k).over("win")
    again = (onset & onset.shift(1).over("win") & spread).fill_null(False)
    near = near.with_columns(onset.alias("onset"), again.alias("again"))
    both = pl.when(pl.col("again").shift(-1).over("win")).then(pl.col("step").shift(-1).over("win"))
    near = near.with_columns(pl.col("onset") & ~pl.col("again"), pl.max_horizontal("step", both).alias("step"))
    # half way back ends it; a battery that came from float goes half way to its own rest only
    own, low = pl.min_horizontal("base", pl.lit(FULL_V * k)), pl.col("base") - pl.col("step")
    half_way = pl.max_horizontal(own - HALF * (own - low), low + QUARTER * pl.col("step"))
    leaves_at = pl.when("onset").then(half_way).forward_fill().over("win")
    near = near.with_columns(
        (pl.col("v") < leaves_at).fill_null(False).cast(pl.Int8).alias("below"),
        pl.col("onset").cum_sum().over("win").alias("group"),
    )
    near = near.with_columns(pl.col("below").cum_min().over("win", "group").cast(pl.Boolean).alias("inside"))
    near = near.with_columns((pl.col("onset") & ~pl.col("inside").shift(1).over("win").fill_null(False)).alias("first"))
    near = near.with_columns(
        pl.col("first").cum_sum().over("win").alias("seg"),
        pl.when("first").then("base").forward_fill().over("win").alias("from_v"),
    )
    preheat = pl.col("from_v") - pl.col("base")
    turn = pl.col("onset") & ~pl.col("first")
    turn = turn & (pl.col("step") >= pl.max_horizontal(pl.lit(STEP_V * k), HALF * preheat))
    near = near.with_columns(turn.alias("turn"), preheat.alias("preheat"))
    turned = pl.col("turn").cum_sum().over("win", "seg") > 0
    lone = ~pl.col("turn").any().over("win", "seg") & (pl.col("seg") > 0)
    near = near.with_columns(
        turned.alias("turned"),
        lone.alias("lone"),
        pl.col("v").filter("inside").median().over("win", "seg").alias("low_v"),
        pl.col("step").filter("first").first().over("win", "seg").alias("drop"),
    )
    return near.with_columns(
        (pl.col("inside") & (pl.col("turned") | (pl.col("lone") & _deep_enough(k)))).fill_null(False).alias("sag")
    ).select(*columns, "dip", "sag")


def _deep_enough(k: float) -> pl.Expr:
    """Whether a step with no other before or after it is a crank: as deep as its window's others, or deep in itself."""
    low, drop = pl.col("low_v"), pl.col("drop")
    others = (pl.col("base") - HALF * pl.col("step")).filter("turn").median().over("win")
    usual_preheat = pl.col("preheat").filter("turn").median().over("set_id")
    ran = pl.col("running").any().over("win")
    fell = pl.col("level_v") - low
    # the flatter the battery, the deeper its preheat: such a step alone has to be deeper to be a crank
    flat = pl.col("level_v") < GOOD_REST_V * k
    least = pl.when(~flat).then(LONE_DROP_V).when(ran).then(FLAT_RAN_V).otherwise(FLAT_FAILED_V) * k
    by_itself = (fell >= least) & (low <= LONE_V * k) & (ran | (low <= LONE_FAILED_V * k))
    over = usual_preheat.is_null() | (drop >= OVER_PREHEAT * usual_preheat)
    surely = (low <= SURELY_V * k) & (pl.col("level_v") >= GOOD_REST_V * k)
    return pl.when(others.is_not_null()).then(low <= others).otherwise((by_itself & over) | surely)
