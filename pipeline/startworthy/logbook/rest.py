"""Quarter-hour means, and the days table made of them.

Means over quarter hours are weighted by time and cheap; the day's quantiles are taken over at most a hundred of
them and not over its rows. Every zone's days begin on a quarter hour.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import polars as pl

from startworthy.logbook.rows import Rows
from startworthy.logbook.tables import in_form
from startworthy.physics.tank import levels_over
from startworthy.register import SetEntry
from startworthy.signals import Mode

QUARTER_S = 900
SURFACE_CHARGE_H, AFTER_H = 4.0, 12.0
"""A rest voltage says nothing of the charge until about 4 h after charging ended (battery texts)."""


def quarter_heads(frame: pl.DataFrame) -> np.ndarray:
    """Numbers of the first row of each quarter hour of each set. frame: sorted by set and `at`, with `new`."""
    quarter = _quarter_of(frame)
    heads: np.ndarray = np.flatnonzero(np.append(True, quarter[1:] != quarter[:-1]) | frame["new"].to_numpy())
    return heads


def _quarter_of(frame: pl.DataFrame) -> np.ndarray:
    number: np.ndarray = frame["at"].to_physical().to_numpy() // (QUARTER_S * 1_000_000)
    return number


def quarters(rows: Rows) -> pl.DataFrame:
    """One row per set and quarter hour with any reading, in order.

    Columns: set_id, quarter_at, rows, covered_s, running_s, rest means battery_v, fuel_fraction, coolant_c, ambient_c
    (null if not seen at rest; ambient in any state), battery_s, fuel_s, seconds per mode, mains_lost_s, mains_s (told
    at all; not there if mains are not logged), hour_meter_h, starts_counter, since_run_h.
    """
    frame = rows.frame
    weight, running = frame["weight_s"].to_numpy(), frame["running"].to_numpy()
    quarter, starts = _quarter_of(frame), quarter_heads(frame)

    def total(values: np.ndarray) -> np.ndarray:
        """Sum over each quarter hour; the rows of one lie together."""
        return np.add.reduceat(values, starts)

    rest = np.where(running, 0.0, weight)
    rest_s = total(rest)
    columns: dict[str, Any] = {
        "set_id": frame["set_id"].gather(starts).cast(pl.String),
        "quarter_at": pl.Series(quarter[starts] * (QUARTER_S * 1_000_000)).cast(pl.Datetime("us", "UTC")),
        "rows": np.diff(np.append(starts, frame.height)).astype(np.int32),
        "covered_s": total(weight),
        "running_s": total(np.where(running, weight, 0.0)),
    }
    for name in ("battery_v", "fuel_fraction", "fuel_l", "coolant_c", "ambient_c"):
        if not rows.has(name):
            continue
        values, own, own_s = frame[name], (weight if name == "ambient_c" else rest), rest_s
        if values.null_count():
            own = np.where(values.is_null().to_numpy(), 0.0, own)
            own_s = total(own)
        elif name == "ambient_c":
            own_s = columns["covered_s"]
        with np.errstate(invalid="ignore"):
            columns[name] = pl.Series(total(values.fill_null(0.0).to_numpy() * own) / own_s).fill_nan(None)
        if name in {"battery_v", "fuel_fraction"}:
            columns[f"{name.split('_')[0]}_s"] = own_s
    for mode in _modes(rows):
        there = frame.select((pl.col("mode") == mode.value).fill_null(False)).to_series().to_numpy()
        columns[f"{mode.value}_s"] = columns["covered_s"] if there.all() else total(np.where(there, weight, 0.0))
    lost = mains_lost(rows)
    if lost is not None:
        away = frame.select(lost.alias("away")).to_series()
        columns["mains_lost_s"] = total(np.where(away.fill_null(False).to_numpy(), weight, 0.0))
        columns["mains_s"] = total(np.where(away.is_not_null().to_numpy(), weight, 0.0))
    ends = np.append(starts[1:], frame.height) - 1
    columns |= {name: frame[name].gather(ends) for name in ("hour_meter_h", "starts_counter") if rows.has(name)}
    found = pl.DataFrame(columns)
    absent = (
        "battery_v",
        "fuel_fraction",
        "fuel_l",
        "coolant_c",
        "ambient_c",
        "mains_lost_s",
        "hour_meter_h",
        "starts_counter",
    )
    found = found.with_columns(pl.lit(None, pl.Float64).alias(name) for name in absent if name not in found.columns)
    ran_at = pl.when(pl.col("running_s") > 0).then("quarter_at").otherwise(None).forward_fill().over("set_id")
    since_h = (pl.col("quarter_at") - ran_at).dt.total_seconds() / 3600.0
    return found.with_columns(since_h.alias("since_run_h"))


def mains_lost(rows: Rows) -> pl.Expr | None:
    """Mask: mains are away, null where nothing tells. None if they are not logged.

    From the flag, else from mains volts below half their usual level.
    """
    told = []
    if rows.has("mains_present"):
        told.append(pl.col("mains_present") < 0.5)
    if rows.has("mains_v"):
        volts = pl.col("mains_v")
        usual = pl.when(volts > 50.0).then(volts).median()
        # what is usual at one set is no measure for the next
        told.append(
            volts < 0.5 * (usual.over("set_id") if rows.frame["set_id"][0] != rows.frame["set_id"][-1] else usual)
        )
    return pl.coalesce(told) if told else None


def days_table(found: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    """The days table of sets with one profile. found: quarter-hour means (see quarters)."""
    zone, float_low_v = rows.profile.time_zone, rows.profile.float_low_v
    local = found.with_columns(pl.col("quarter_at").dt.convert_time_zone(zone).dt.date().alias("day"))
    calm = pl.col("since_run_h").is_null() | (pl.col("since_run_h") >= SURFACE_CHARGE_H)
    battery, fuel = pl.col("battery_v").filter(calm), pl.col("fuel_fraction")
    over_v = pl.lit(rows.profile.overcharge_v, pl.Float64)
    modes = [
        pl.col(f"{m.value}_s").sum() if f"{m.value}_s" in local.columns else pl.lit(0.0).alias(f"{m.value}_s")
        for m in Mode
    ]
    days = (
        local.group_by("set_id", "day")
        .agg(
            pl.col("rows").sum(),
            pl.col("covered_s").sum(),
            pl.col("running_s").sum(),
            battery.median().alias("rest_battery_v"),
            battery.quantile(0.05).alias("rest_battery_low_v"),
            battery.quantile(0.95).alias("rest_battery_high_v"),
            pl.col("battery_v").median().alias("rest_battery_all_v"),
            (pl.col("battery_s") if "battery_s" in local.columns else pl.lit(0.0))
            .filter(calm)
            .sum()
            .alias("rest_battery_s"),
            pl.col("battery_s").filter(calm & (pl.col("battery_v") > over_v)).sum().alias("rest_battery_over_s")
            if "battery_s" in local.columns
            else pl.lit(None, pl.Float64).alias("rest_battery_over_s"),
            fuel.median().alias("rest_fuel_fraction"),
            fuel.drop_nulls().first().alias("rest_fuel_first_fraction"),
            fuel.drop_nulls().last().alias("rest_fuel_last_fraction"),
            ((fuel - fuel.median()).abs().median() * 1.4826).alias("rest_fuel_noise_fraction"),
            pl.col("coolant_c").filter(calm).median().alias("rest_coolant_c"),
            pl.col("ambient_c").median(),
            pl.when(pl.col("mains_s").sum() > 0).then(pl.col("mains_lost_s").sum())
            if "mains_s" in local.columns
            else pl.lit(None, pl.Float64).alias("mains_lost_s"),
            pl.col("hour_meter_h").drop_nulls().last(),
            pl.col("starts_counter").drop_nulls().last(),
            *modes,
        )
        .sort("set_id", "day")
    )
    days = days.with_columns(_day_length_s(zone).alias("day_s"))
    known_s = pl.sum_horizontal([pl.col(f"{m.value}_s") for m in Mode])
    on_charge = (pl.col("rest_battery_v") >= float_low_v) if float_low_v else pl.lit(None, pl.Boolean)
    days = days.with_columns(
        pl.min_horizontal(pl.col("covered_s"), pl.col("day_s")).alias("covered_s"),
        (pl.col("covered_s") - pl.col("running_s")).clip(0).alias("rest_s"),
        (pl.col("covered_s") - known_s).clip(0).alias("mode_unknown_s"),
        on_charge.alias("on_charge"),
    ).with_columns((pl.col("covered_s") / pl.col("day_s")).alias("coverage"))
    return in_form("days", days)


def with_fuel_fraction(found: pl.DataFrame, tanks: Mapping[str, SetEntry]) -> pl.DataFrame:
    """The level at which the tank holds them stands in where the log gives litres and no level. tanks: by set_id."""
    if not tanks or found["fuel_l"].null_count() == found.height:
        return found
    level = levels_over(tanks, pl.col("fuel_l"))
    return found.with_columns(pl.coalesce("fuel_fraction", level).alias("fuel_fraction"))


def _modes(rows: Rows) -> list[Mode]:
    """The modes that the log has, so that no pass is made for the others."""
    if not rows.has("mode"):
        return []
    there = set(rows.frame["mode"].unique().drop_nulls().cast(pl.String))
    return [mode for mode in Mode if mode.value in there]


def _day_length_s(zone: str) -> pl.Expr:
    def midnight(day: pl.Expr) -> pl.Expr:
        # where a zone springs forward at midnight, that midnight does not exist: the day begins an hour later
        naive = day.cast(pl.Datetime("us"))
        there = naive.dt.replace_time_zone(zone, ambiguous="earliest", non_existent="null")
        return there.fill_null(
            naive.dt.offset_by("1h").dt.replace_time_zone(zone, ambiguous="earliest", non_existent="null")
        )

    length = midnight(pl.col("day").dt.offset_by("1d")) - midnight(pl.col("day"))
    return length.dt.total_microseconds() / 1e6


def with_battery_at_rest(runs: pl.DataFrame, found: pl.DataFrame) -> pl.DataFrame:
    """Adds battery_rest_before_v (the day before) and battery_rest_after_v (4 to 12 h after) of each run.

    runs: set_id as text, run, began_at, ended_at. found: quarter-hour means (see quarters).
    """
    calm = pl.col("since_run_h").is_null() | (pl.col("since_run_h") >= SURFACE_CHARGE_H)
    rest = found.filter(pl.col("battery_v").is_not_null() & calm)
    rest = rest.select("set_id", "quarter_at", "battery_v", "since_run_h").sort("quarter_at")
    if rest.is_empty() or runs.is_empty():
        return runs.with_columns(pl.lit(None, pl.Float64).alias(name) for name in _AROUND)
    begins = runs.select("set_id", "run", "began_at").sort("began_at")
    before = (
        rest.join_asof(
            begins,
            left_on="quarter_at",
            right_on="began_at",
            by="set_id",
            strategy="forward",
            tolerance="1d",
            check_sortedness=False,
        )
        # a quarter hour in which it starts is none at rest
        .filter(pl.col("run").is_not_null() & (pl.col("quarter_at").dt.offset_by("15m") <= pl.col("began_at")))
        .group_by("set_id", "run")
        .agg(pl.col("battery_v").median().alias("battery_rest_before_v"))
    )
    ends = runs.select("set_id", "run", "ended_at").sort("ended_at")
    after = (
        rest.join_asof(
            ends, left_on="quarter_at", right_on="ended_at", by="set_id", strategy="backward", check_sortedness=False
        )
        .filter(pl.col("run").is_not_null() & (pl.col("since_run_h") <= AFTER_H))
        .group_by("set_id", "run")
        .agg(pl.col("battery_v").median().alias("battery_rest_after_v"))
    )
    for part in (before, after):
        runs = runs.join(part, on=["set_id", "run"], how="left", maintain_order="left")
    return runs


_AROUND = ("battery_rest_before_v", "battery_rest_after_v")
