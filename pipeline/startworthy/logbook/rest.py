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
SURFACE_CHARGE_H = 4.0
"""A rest voltage says nothing of the charge until about 4 h after charging ended (battery texts)."""


def quarters(rows: Rows) -> pl.DataFrame:
    """One row per set and quarter hour with any reading, in order.

    Columns: set_id, quarter_at, rows, covered_s, running_s, rest means battery_v, fuel_fraction, coolant_c, ambient_c
    (null if not seen at rest; ambient in any state), battery_s, fuel_s, seconds per mode, mains_lost_s, hour_meter_h,
    starts_counter, since_run_h.
    """
    weight, rest = pl.col("weight_s"), ~pl.col("running")
    aggregates = [
        pl.len().cast(pl.Int32).alias("rows"),
        weight.sum().alias("covered_s"),
        weight.filter("running").sum().alias("running_s"),
    ]
    for name in ("battery_v", "fuel_fraction", "fuel_l", "coolant_c"):
        if rows.has(name):
            aggregates += _mean(name, rest)
    if rows.has("ambient_c"):
        aggregates += _mean("ambient_c", pl.lit(True))
    if rows.has("mode"):
        aggregates += [weight.filter(pl.col("mode") == mode.value).sum().alias(f"{mode.value}_s") for mode in Mode]
    lost = mains_lost(rows)
    if lost is not None:
        aggregates.append(weight.filter(lost).sum().alias("mains_lost_s"))
    aggregates += [pl.col(name).drop_nulls().last() for name in ("hour_meter_h", "starts_counter") if rows.has(name)]
    quarter = (pl.col("at").dt.epoch("s") // QUARTER_S).alias("quarter")
    found = (
        rows.frame.lazy()
        .with_columns(quarter)
        .group_by("set_id", "quarter")
        .agg(aggregates)
        .with_columns((pl.col("quarter") * QUARTER_S * 1_000_000).cast(pl.Datetime("us", "UTC")).alias("quarter_at"))
        .drop("quarter")
        .with_columns(pl.col("set_id").cast(pl.String))
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


def days_table(
    found: pl.DataFrame, rows: Rows, float_low_v: float | None, tank_litres: dict[str, float]
) -> pl.DataFrame:
    """The days table of sets with one profile. float_low_v: rest volts from which a battery is taken to be on float."""
    zone = rows.profile.time_zone
    found = _with_fuel_fraction(found, tank_litres)
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


def _with_fuel_fraction(found: pl.DataFrame, tank_litres: dict[str, float]) -> pl.DataFrame:
    """Litres over the tank stand in where the log gives litres and no level."""
    if not tank_litres or found["fuel_l"].null_count() == found.height:
        return found
    tank = pl.col("set_id").replace_strict(tank_litres, default=None, return_dtype=pl.Float64)
    return found.with_columns(pl.coalesce("fuel_fraction", pl.col("fuel_l") / tank).alias("fuel_fraction"))


def _mean(name: str, where: pl.Expr) -> list[pl.Expr]:
    weight = pl.col("weight_s").filter(where & pl.col(name).is_not_null())
    mean = (pl.col(name) * pl.col("weight_s")).filter(where).sum() / weight.sum()
    seconds = weight.sum()
    short = name.split("_", maxsplit=1)[0]
    return [pl.when(seconds > 0).then(mean).alias(name)] + (
        [seconds.alias(f"{short}_s")] if name in {"battery_v", "fuel_fraction"} else []
    )


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
