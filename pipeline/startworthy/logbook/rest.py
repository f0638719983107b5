"""Quarter-hour means, and the days table made of them.

Means over quarter hours are weighted by time and cheap; the day's quantiles are taken over at most a hundred of
them and not over its rows. Every zone's days begin on a quarter hour.
"""

from __future__ import annotations

import polars as pl

from startworthy.logbook.rows import Rows
from startworthy.logbook.tables import in_form
from startworthy.signals import Mode

QUARTER_S = 900
_SET_STRIDE = 10_000_000_000  # more quarter hours than any instant has, so that sets never share a key
SURFACE_CHARGE_H = 4.0
"""A rest voltage says nothing of the charge until about 4 h after charging ended (battery texts)."""


def quarters(rows: Rows) -> pl.DataFrame:
    """One row per set and quarter hour with any reading, in order.

    Columns: set_id, quarter_at, rows, covered_s, running_s, rest means battery_v, fuel_fraction, coolant_c, ambient_c
    (null if not seen at rest; ambient in any state), battery_s, fuel_s, seconds per mode, mains_lost_s, hour_meter_h,
    starts_counter, since_run_h.
    """
    weight, rest = pl.col("weight_s"), ~pl.col("running")
    parts: dict[str, pl.Expr] = {"covered_s": weight, "running_s": pl.when("running").then(weight).otherwise(0.0)}
    for name in ("battery_v", "fuel_fraction", "fuel_l", "coolant_c", "ambient_c"):
        if rows.has(name):
            where = pl.col(name).is_not_null() if name == "ambient_c" else rest & pl.col(name).is_not_null()
            # masked before the grouping: a filter inside of every group costs many times more
            parts[f"{name}_held"] = pl.when(where).then(weight).otherwise(0.0)
            parts[f"{name}_sum"] = pl.when(where).then(pl.col(name) * weight).otherwise(0.0)
    if rows.has("mode"):
        parts |= {
            f"{mode.value}_s": pl.when(pl.col("mode") == mode.value).then(weight).otherwise(0.0)
            for mode in _modes(rows)
        }
    lost = mains_lost(rows)
    if lost is not None:
        parts["mains_lost_s"] = pl.when(lost).then(weight).otherwise(0.0)
    last = [name for name in ("hour_meter_h", "starts_counter") if rows.has(name)]
    key = pl.col("new").cum_sum().cast(pl.Int64) * _SET_STRIDE + pl.col("at").dt.epoch("s") // QUARTER_S
    keyed = rows.frame.select(key.alias("key").set_sorted(), "set_id", *[e.alias(n) for n, e in parts.items()], *last)
    found = (
        keyed.lazy()
        .group_by("key", maintain_order=True)
        .agg(
            pl.col("set_id").first(),
            pl.len().cast(pl.Int32).alias("rows"),
            *[pl.col(name).sum() for name in parts],
            *[pl.col(name).last() for name in last],
        )
        .with_columns(
            pl.col("set_id").cast(pl.String),
            ((pl.col("key") % _SET_STRIDE) * QUARTER_S * 1_000_000).cast(pl.Datetime("us", "UTC")).alias("quarter_at"),
            *[
                pl.when(pl.col(f"{name}_held") > 0).then(pl.col(f"{name}_sum") / pl.col(f"{name}_held")).alias(name)
                for name in ("battery_v", "fuel_fraction", "fuel_l", "coolant_c", "ambient_c")
                if rows.has(name)
            ],
        )
        .rename(
            {f"{name}_held": f"{name.split('_')[0]}_s" for name in ("battery_v", "fuel_fraction") if rows.has(name)}
        )
        .drop("key", pl.selectors.ends_with("_sum", "_held"))
        .sort("set_id", "quarter_at")
        .collect()
    )
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
    """Mask: mains are away. From the flag, else from mains volts below half their usual level. None if neither."""
    if rows.has("mains_present"):
        return (pl.col("mains_present") < 0.5).fill_null(False)
    if rows.has("mains_v"):
        usual = rows.frame.select(pl.col("mains_v").filter(pl.col("mains_v") > 50.0).median()).item()
        return (pl.col("mains_v") < 0.5 * usual).fill_null(False) if usual else None
    return None


def days_table(found: pl.DataFrame, rows: Rows, float_low_v: float | None) -> pl.DataFrame:
    """The days table of sets with one profile. float_low_v: rest volts from which a battery is taken to be on float."""
    zone = rows.profile.time_zone
    local = found.with_columns(pl.col("quarter_at").dt.convert_time_zone(zone).dt.date().alias("day"))
    calm = pl.col("since_run_h").is_null() | (pl.col("since_run_h") >= SURFACE_CHARGE_H)
    battery, fuel = pl.col("battery_v").filter(calm), pl.col("fuel_fraction")
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
            fuel.median().alias("rest_fuel_fraction"),
            fuel.drop_nulls().first().alias("rest_fuel_first_fraction"),
            fuel.drop_nulls().last().alias("rest_fuel_last_fraction"),
            ((fuel - fuel.median()).abs().median() * 1.4826).alias("rest_fuel_noise_fraction"),
            pl.col("coolant_c").filter(calm).median().alias("rest_coolant_c"),
            pl.col("ambient_c").median(),
            pl.col("mains_lost_s").sum()
            if rows.has("mains_present") or rows.has("mains_v")
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


def with_fuel_fraction(found: pl.DataFrame, tank_litres: dict[str, float]) -> pl.DataFrame:
    """Litres over the tank stand in where the log gives litres and no level."""
    if not tank_litres or found["fuel_l"].null_count() == found.height:
        return found
    tank = pl.col("set_id").replace_strict(tank_litres, default=None, return_dtype=pl.Float64)
    return found.with_columns(pl.coalesce("fuel_fraction", pl.col("fuel_l") / tank).alias("fuel_fraction"))


def _modes(rows: Rows) -> list[Mode]:
    """The modes that the log has, so that no pass is made for the others."""
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
