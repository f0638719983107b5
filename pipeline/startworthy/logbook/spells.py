"""How long something lasted within a run, told from its rows."""

from __future__ import annotations

import polars as pl

KEY = ["set_id", "run"]


def longest(ran: pl.DataFrame, masks: dict[str, pl.Expr]) -> pl.DataFrame:
    """Longest spell for which each mask was seen true, by set and run: last true row minus first, one odd row is 0 s.

    ran: running rows in order, with `at`. masks: name of the new column to mask; a null counts as false. Runs
    without any row of a mask have no row here, or a null in its column.
    """
    change = pl.any_horizontal(pl.col(name).ne(pl.col(name).shift(1)) for name in KEY).fill_null(True)
    found = ran.select(pl.col(KEY)).unique(maintain_order=True)
    for name, mask in masks.items():
        own = (
            ran.select(*KEY, "at", mask.fill_null(False).alias("mask"), change.alias("change"))
            .with_columns((pl.col("change") | pl.col("mask").ne(pl.col("mask").shift(1))).cum_sum().alias("spell"))
            .filter("mask")
            .group_by(*KEY, "spell")
            .agg(seconds(pl.col("at").max() - pl.col("at").min()).alias(name))
            .group_by(KEY)
            .agg(pl.col(name).max())
        )
        found = found.join(own, on=KEY, how="left", maintain_order="left")
    return found


def seconds(duration: pl.Expr) -> pl.Expr:
    """A duration in seconds."""
    return duration.dt.total_microseconds() / 1e6
