"""What the set burns, from stretches of running that are long enough for the level at their ends to tell.

One run of a small set takes less off the tank than a step of its sender. So runs are pooled, between two refuels,
until a tenth of the tank is gone by the levels at rest before the first and after the last of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from startworthy.check.found import HOUR_S, most
from startworthy.limits import Limits
from startworthy.logbook.fuel_used import HEATED_C, level_follows_temperature
from startworthy.physics.fuel import volume_correction_over
from startworthy.physics.tank import full_litres, litres_over
from startworthy.register import SetEntry
from startworthy.results import Known, Logbook
from startworthy.statistics.robust import deviation

LIMITS = (
    "fuel_span_share",
    "fuel_span_rest_share",
    "fuel_run_s",
    "fuel_idle_low_share",
    "fuel_idle_high_share",
    "fuel_level_noise_fraction",
)
"""What a check declares that calls `burnt`."""

_SCHEMA: dict[str, pl.DataType | type[pl.DataType]] = {
    "began_at": pl.Datetime("us", "UTC"),
    "ended_at": pl.Datetime("us", "UTC"),
    "runs": pl.Int64,
    "hours": pl.Float64,
    "used": pl.Float64,
    "load": pl.Float64,
    "full_low_h": pl.Float64,
    "full_high_h": pl.Float64,
    "error": pl.Float64,
}


@dataclass(frozen=True, slots=True)
class Burnt:
    """Stretches of running in order, and their unit.

    spans: began_at, ended_at, runs, hours, used, load (mean, weighted by time), full_low_h and full_high_h (the hours
    at full load that would burn as much, by the lowest and the highest idle share), error (of used, as a share).
    litres: `used` is in litres, else in shares of the tank. loads: any run has a load.
    """

    spans: pl.DataFrame
    litres: bool
    loads: bool


def shape(load: float, idle: float) -> float:
    """Fuel at that load over fuel at full load, where idling takes the share `idle` of the latter."""
    return idle + (1.0 - idle) * load


def shape_over(load: pl.Expr, idle: float) -> pl.Expr:
    """`shape` over a column of loads; null stays null."""
    return load * (1.0 - idle) + idle


def tank_of(entry: SetEntry) -> tuple[SetEntry, float, bool]:
    """The entry to read levels by, what the full tank holds, and whether that is litres; else shares of the tank."""
    full = full_litres(entry)
    return (entry, full, True) if full else (entry.model_copy(update={"tank_litres": 1.0}), 1.0, False)


def burnt(book: Logbook, known: Known, limit: Limits) -> Burnt:
    """Stretches of running whose fuel is known: each run by a flow signal, else pooled by levels at rest."""
    runs = book.runs.sort("began_at").with_columns(load_of(book.runs), (pl.col("running_s") / HOUR_S).alias("hours"))
    idle_low, idle_high = limit.value("fuel_idle_low_share"), limit.value("fuel_idle_high_share")
    runs = runs.with_columns(
        (pl.col("hours") * shape_over(pl.col("load"), idle_low)).alias("full_low_h"),
        (pl.col("hours") * shape_over(pl.col("load"), idle_high)).alias("full_high_h"),
    )
    loads = runs["load"].null_count() < runs.height
    if "fuel_flow_lph" in book.signals[known.set_id]:
        long = runs.drop_nulls(["fuel_used_l", "load"]).filter(
            pl.col("running_s") >= limit.value("fuel_run_s"), pl.col("fuel_used_l") > 0.0
        )
        spans = long.select(
            "began_at",
            "ended_at",
            pl.lit(1, pl.Int64).alias("runs"),
            "hours",
            pl.col("fuel_used_l").alias("used"),
            "load",
            "full_low_h",
            "full_high_h",
            pl.lit(0.0).alias("error"),
        )
        return Burnt(spans, True, loads)
    entry, full, litres = tank_of(known.entry)
    held = _with_contents(runs, book, known, entry)
    cuts = _cut_at_refuels(held, book)
    need = limit.value("fuel_span_share") * full
    parts = [span for stretch in cuts for span in _spans(stretch, need)]
    if not parts:
        return Burnt(pl.DataFrame(schema=_SCHEMA), litres, loads)
    spans = _pooled(parts, _noise(book, entry, full, limit), limit)
    return Burnt(spans.drop_nulls(["load", "full_low_h"]), litres, loads)


def load_of(runs: pl.DataFrame) -> pl.Expr:
    """Load over rated; where no rating is known over the highest load that was seen."""
    peak = most(runs["load_kw_max"])
    over_peak = pl.col("load_kw_mean") / peak if peak else pl.lit(None, pl.Float64)
    return pl.coalesce("load_fraction_mean", over_peak).alias("load")


def _with_contents(runs: pl.DataFrame, book: Logbook, known: Known, entry: SetEntry) -> pl.DataFrame:
    """The runs with before, after: contents by the levels, at 15 C where the level follows the temperature."""
    tanks = {known.set_id: entry}
    held = runs.with_columns(
        litres_over(tanks, pl.col("fuel_before_fraction")).alias("before"),
        litres_over(tanks, pl.col("fuel_after_fraction")).alias("after"),
        pl.col("began_at").dt.convert_time_zone(known.time_zone).dt.date().alias("day"),
    )
    cold = pl.when(pl.col("rest_coolant_c") < HEATED_C).then("rest_coolant_c")
    air_c, one = pl.coalesce("ambient_c", cold), pl.col("day").diff().dt.total_days() == 1
    still = pl.col("running_s").eq(0.0) & pl.col("running_s").shift(1).eq(0.0)
    rest = book.days.sort("day").select(
        "day",
        litres_over(tanks, pl.col("rest_fuel_fraction")).alias("rest_l"),
        (still & one).fill_null(False).alias("calm"),
        # the fuel follows the air with a lag of about a day
        pl.when(one).then(pl.mean_horizontal(air_c, air_c.shift(1))).otherwise(air_c).alias("fuel_c"),
    )
    held = held.join(rest.select("day", "fuel_c"), on="day", how="left", maintain_order="left")
    if rest["fuel_c"].null_count() < rest.height and level_follows_temperature(rest):
        at_15 = volume_correction_over(pl.col("fuel_c")).fill_null(1.0)
        held = held.with_columns(pl.col("before") * at_15, pl.col("after") * at_15)
    return held


def _cut_at_refuels(held: pl.DataFrame, book: Logbook) -> list[pl.DataFrame]:
    """Stretches with no refuel and no sudden loss within."""
    steps = book.marks.filter(pl.col("kind").is_in(["refuel", "fuel_loss"])).select(pl.col("began_at").alias("step_at"))
    numbered = steps.sort("step_at").with_row_index("stretch", offset=1)
    held = held.sort("ended_at").join_asof(numbered, left_on="ended_at", right_on="step_at", strategy="backward")
    return held.with_columns(pl.col("stretch").fill_null(0)).partition_by("stretch", maintain_order=True)


def _noise(book: Logbook, entry: SetEntry, full: float, limit: Limits) -> float:
    """Standard deviation of one level at rest, as contents: from one still day to the next."""
    calm = pl.col("running_s").eq(0.0) & pl.col("running_s").shift(1).eq(0.0)
    level = litres_over(dict.fromkeys(book.days["set_id"].unique(), entry), pl.col("rest_fuel_fraction"))
    steps = book.days.sort("day").select(level.diff().filter(calm)).to_series().drop_nulls()
    # a lone refuel or loss is no scatter
    usual = steps.filter(steps.abs() < limit.value("fuel_span_share") * full / 2)
    return max(limit.value("fuel_level_noise_fraction") * full, deviation(usual))


def _spans(stretch: pl.DataFrame, need: float) -> list[pl.DataFrame]:
    """The runs of each span of one stretch: from its first run on, each as short as takes `need` off the tank."""
    before, after = stretch["before"], stretch["after"]
    begins, first, spans = before.is_not_null(), 0, []
    while begins[first:].any():  # once for each span, not for each run
        first += int(begins[first:].arg_max() or 0)
        gone = (before[first] - after[first:] >= need).fill_null(False)
        if not gone.any():
            break
        length = int(gone.arg_max() or 0) + 1
        spans.append(stretch.slice(first, length))
        first += length
    return spans


def _pooled(spans: list[pl.DataFrame], noise: float, limit: Limits) -> pl.DataFrame:
    """One row for each span, but for those in which much of it went, or came, while the set stood."""
    pooled = pl.concat([span.with_columns(pl.lit(n).alias("span")) for n, span in enumerate(spans)])
    at_rest = (pl.col("after").shift(1) - pl.col("before")).sum()
    known_loads = pl.col("load").null_count() == 0
    whole = (pl.col("before").null_count() == 0) & (pl.col("after").null_count() == 0)
    return (
        pooled.group_by("span", maintain_order=True)
        .agg(
            pl.col("began_at").first(),
            pl.col("ended_at").last(),
            pl.len().cast(pl.Int64).alias("runs"),
            pl.col("hours").sum(),
            (pl.col("before").first() - pl.col("after").last()).alias("used"),
            pl.when(known_loads).then((pl.col("load") * pl.col("hours")).sum() / pl.col("hours").sum()).alias("load"),
            pl.when(known_loads).then(pl.col("full_low_h").sum()).alias("full_low_h"),
            pl.when(known_loads).then(pl.col("full_high_h").sum()).alias("full_high_h"),
            at_rest.alias("at_rest"),
            whole.alias("whole"),
        )
        .with_columns((2**0.5 * noise / pl.col("used")).alias("error"))
        # what went while it stood was not burnt, and belongs to another check
        .filter("whole", pl.col("at_rest").abs() <= limit.value("fuel_span_rest_share") * pl.col("used"))
        .select(*_SCHEMA)
    )
