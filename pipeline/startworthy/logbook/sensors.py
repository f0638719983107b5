"""The sensors table: each signal's day, so that one that falls silent, freezes or throws wild values shows."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl

from startworthy.logbook.rest import quarter_heads
from startworthy.logbook.rows import Rows
from startworthy.logbook.tables import empty, in_form
from startworthy.signals import BY_NAME, LINE_VOLTAGES, PHASE_VOLTAGES

SPIKE_AT_REST = {"battery_v": 1.5, "coolant_c": 15.0, "ambient_c": 10.0, "fuel_fraction": 0.1, "oil_kpa": 60.0}
SPIKE_RUNNING = {
    "coolant_c": 15.0, "oil_kpa": 150.0, "frequency_hz": 5.0, "battery_v": 3.0, "fuel_fraction": 0.1,
    **dict.fromkeys(("voltage_v", *PHASE_VOLTAGES, *LINE_VOLTAGES), 60.0),
}  # fmt: skip
"""A lone row this far from both neighbours is a spike, for a 12 V battery. Common practice, no source."""
EDGE_S, BEFORE_A_START_S = 30.0, 180.0
"""At both ends of a run, and before it, values do move."""


def sensors_table(rows: Rows, runs: pl.DataFrame, ran: pl.DataFrame) -> pl.DataFrame:
    """One row per set, local day and number signal. runs: with first_idx; ran: their rows (details.running_rows)."""
    frame = rows.frame
    names = [name for name in frame.columns if name in BY_NAME and frame[name].dtype == pl.Float64]
    if not names:
        return empty("sensors")
    # one row of each quarter hour is enough: a value that never moves in a hundred rows does not move
    heads = quarter_heads(frame)
    rest = _of_day(frame[heads[~frame["running"].to_numpy()[heads]]], rows)
    running = _of_day(ran, rows)
    spikes = _spikes(rows, runs, ran)
    key = ["set_id", "day"]
    at_rest = rest.group_by(key).agg(
        *(pl.col(name).count().alias(f"{name} n") for name in names),
        *(pl.col(name).min().alias(f"{name} low") for name in names),
        *(pl.col(name).max().alias(f"{name} high") for name in names),
        pl.len().alias("rows"),
    )
    in_runs = running.group_by(key).agg(
        *(pl.col(name).count().alias(f"{name} run n") for name in names),
        *(pl.col(name).min().alias(f"{name} run low") for name in names),
        *(pl.col(name).max().alias(f"{name} run high") for name in names),
        pl.len().alias("run rows"),
    )
    days = at_rest.join(in_runs, on=key, how="full", coalesce=True)
    # a day on which it always ran has no row at rest to judge by
    looked = pl.coalesce("rows", "run rows")
    parts = [
        days.select(
            *key,
            pl.lit(name).alias("signal"),
            (pl.when(pl.col("rows").is_null()).then(f"{name} run n").otherwise(f"{name} n") / looked).alias("filled"),
            pl.col(f"{name} low").alias("rest_low"),
            pl.col(f"{name} high").alias("rest_high"),
            pl.col(f"{name} run low").alias("running_low"),
            pl.col(f"{name} run high").alias("running_high"),
        )
        for name in names
    ]
    # a column that only other sets of the log fill is no signal of this one
    alive = (pl.col("filled") > 0) | pl.col("rest_low").is_not_null() | pl.col("running_low").is_not_null()
    found = pl.concat(parts).filter(alive.fill_null(False).any().over("set_id", "signal"))
    found = found.with_columns(pl.col("set_id").cast(pl.String))
    found = found.join(spikes, on=["set_id", "day", "signal"], how="left").with_columns(pl.col("spikes").fill_null(0))
    return in_form("sensors", found)


def _of_day(frame: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    local = pl.col("at").dt.convert_time_zone(rows.profile.time_zone).dt.date()
    return frame.with_columns(local.alias("day"))


def _spikes(rows: Rows, runs: pl.DataFrame, ran: pl.DataFrame) -> pl.DataFrame:
    """Lone rows far from both neighbours, which agree: counts by set, day and signal."""
    frame = rows.frame
    k = (rows.profile.battery_nominal_v or 12.0) / 12.0
    running, new = frame["running"].to_numpy(), frame["new"].to_numpy()
    far: list[pl.DataFrame] = []

    def tell(name: str, picked: pl.DataFrame) -> None:
        if picked.height:
            far.append(
                _of_day(picked, rows).select(pl.col("set_id").cast(pl.String), "day", pl.lit(name).alias("signal"))
            )

    for name, least in SPIKE_AT_REST.items():
        if rows.has(name):
            idx = _lone(frame[name].to_numpy(), least * (k if name == "battery_v" else 1.0))
            calm = ~running[idx] & ~running[idx - 1] & ~running[idx + 1] & ~new[idx] & ~new[idx + 1]
            calm &= ~_before_a_start(frame, runs, idx)
            tell(name, frame.select("set_id", "at")[idx[calm]])
    age, left = (ran[name].to_numpy() if ran.height else np.zeros(0) for name in ("age_s", "left_s"))
    for name, least in SPIKE_RUNNING.items():
        if rows.has(name) and ran.height:
            idx = _lone(ran[name].to_numpy(), least * (k if name == "battery_v" else 1.0))
            # both neighbours are of the same run, and no end of it is near
            calm = (
                (age[idx - 1] >= EDGE_S)
                & (left[idx + 1] >= EDGE_S)
                & (age[idx - 1] < age[idx])
                & (age[idx] < age[idx + 1])
            )
            tell(name, ran.select("set_id", "at")[idx[calm]])
    if not far:
        return pl.DataFrame(schema={"set_id": pl.String, "day": pl.Date, "signal": pl.String, "spikes": pl.Int32})
    return pl.concat(far).group_by("set_id", "day", "signal").agg(pl.len().cast(pl.Int32).alias("spikes"))


def _before_a_start(frame: pl.DataFrame, runs: pl.DataFrame, idx: np.ndarray) -> np.ndarray:
    """Whether a run begins soon after these rows: preheat and crank do pull the battery down for a row."""
    first = runs["first_idx"].to_numpy().astype(np.int64)
    if not len(first):
        return np.zeros(len(idx), dtype=bool)
    at = frame["at"].to_physical().to_numpy()
    coming = first[np.minimum(np.searchsorted(first, idx), len(first) - 1)]
    wait_s = (at[coming] - at[idx]) / 1e6
    soon: np.ndarray = (wait_s >= 0) & (wait_s <= BEFORE_A_START_S)
    return soon


def _lone(values: np.ndarray[Any, np.dtype[np.float64]], least: float) -> np.ndarray:
    """Numbers of the values more than `least` from both neighbours, to one side, where these are near each other."""
    if len(values) < 3:
        return np.zeros(0, dtype=np.int64)
    step = np.diff(values)
    with np.errstate(invalid="ignore"):
        idx = np.flatnonzero(np.abs(step) > least)
    idx = idx[idx < len(step) - 1]
    back = step[idx + 1]
    turned = (np.abs(back) > least) & (np.sign(back) != np.sign(step[idx]))
    lone: np.ndarray = idx[turned & (np.abs(back + step[idx]) < least / 2)] + 1
    return lone
