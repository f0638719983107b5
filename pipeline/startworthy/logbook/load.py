"""What each run showed of its load: when it was taken, how much of it was too much, and what each step did."""

from __future__ import annotations

import polars as pl

from startworthy.logbook.rows import Rows
from startworthy.logbook.spells import KEY, longest, seconds
from startworthy.physics.electric import DIESEL

# Common practice, no source.
LOADED = 0.03
OVER, FAR_OVER = 1.0, 1.1
LEAST_RANGE = 0.10
STEP_ROWS_S, STEP_WINDOW_S, STEP_SETTLED_S, STEP_LEAST_S = 1.05, 20.0, 5.0, 10.0
BEFORE_ROWS, STEP_MEETS_S = 5, 3.0
VOLTAGE_BAND = 0.05


def load_figures(ran: pl.DataFrame, runs: pl.DataFrame, rows: Rows, band_fraction: float) -> pl.DataFrame:
    """One row per set and run with the load columns of the runs table.

    ran: running rows (details.running_rows). runs: for ambient_before_c. band_fraction: steady
    band of the frequency, peak to peak over rated. Columns that the log cannot show are left out.
    """
    found = ran.select(KEY).unique(maintain_order=True)
    if ran["load"].null_count() == ran.height and ran["kw"].null_count() == ran.height:
        return found
    late = pl.col("age_s") >= 2 / 3 * pl.col("age_s").max()
    loaded = pl.col("share") >= LOADED
    figures = ran.group_by(KEY, maintain_order=True).agg(
        _mean("load", late).alias("load_late_fraction"),
        pl.col("age_s").filter(loaded).first().alias("load_taken_s"),
        pl.col("left_s").filter(loaded).last().alias("unloaded_end_s"),
    )
    found = found.join(figures, on=KEY, how="left", maintain_order="left")
    if ran["load"].null_count() < ran.height:
        found = found.join(_overload(ran, runs, rows), on=KEY, how="left", maintain_order="left")
        found = found.join(_light_and_heavy(ran, rows), on=KEY, how="left", maintain_order="left")
        found = found.join(_steps(ran, rows, band_fraction), on=KEY, how="left", maintain_order="left")
    return found


def _mean(name: str, where: pl.Expr) -> pl.Expr:
    held = pl.col("weight_s").filter(where & pl.col(name).is_not_null()).sum()
    return pl.when(held > 0).then((pl.col(name) * pl.col("weight_s")).filter(where).sum() / held)


def _overload(ran: pl.DataFrame, runs: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    """Longest spells above what altitude and heat leave of the rating; air before the run, for enclosures warm up."""
    air_c = runs.select(pl.col("set_id").cast(ran["set_id"].dtype), "run", pl.col("ambient_before_c").alias("air_c"))
    ran = ran.join(air_c, on=KEY, how="left", maintain_order="left")
    available = DIESEL.factor_over(rows.profile.altitude_m, pl.col("air_c").clip(-60.0, 80.0))
    over = pl.col("load") / available
    masks = {"overload_s": over > OVER, "overload_far_s": over > FAR_OVER}
    return longest(ran, masks).with_columns(pl.col(list(masks)).fill_null(0.0))


def _light_and_heavy(ran: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    """Frequency at the lowest and the highest third of the loads in steady state, where these lie apart."""
    if not rows.has("frequency_hz"):
        return ran.select(KEY).unique(maintain_order=True)
    steady = ran.filter(pl.col("steady") & pl.col("load").is_not_null() & pl.col("frequency_hz").is_not_null())
    low, high = pl.col("load").min().over(KEY), pl.col("load").max().over(KEY)
    third = (high - low) / 3
    steady = steady.filter(high - low >= LEAST_RANGE)
    light, heavy = pl.col("load") <= low + third, pl.col("load") >= high - third
    return (
        steady.with_columns(light.alias("light"), heavy.alias("heavy"))
        .group_by(KEY, maintain_order=True)
        .agg(
            *(
                _mean(of, pl.col(which)).alias(f"{name}_{which}_{unit}")
                for which in ("light", "heavy")
                for of, name, unit in (("frequency_hz", "frequency", "hz"), ("load", "load", "fraction"))
            )
        )
    )


def _steps(ran: pl.DataFrame, rows: Rows, band_fraction: float) -> pl.DataFrame:
    """Load steps with rows a second apart: how far frequency and voltage went from where they were, and for how long.

    A deviation is against the value before the step and over the rated one; the time runs from leaving the steady
    band about the value that is reached to entering it for good (US Army TM 9-6115-464-34, 4-14). Of each run the
    step after which frequency (else voltage) went furthest is told.
    """
    profile = rows.profile
    rated = {"frequency_hz": profile.rated_frequency_hz, "volts": profile.rated_voltage_v}
    names = [
        name for name, value in rated.items() if value and name in ran.columns and ran[name].null_count() < ran.height
    ]
    dt = seconds(pl.col("at").diff().over(KEY))
    close = ran.with_columns(dt.alias("step_dt_s"))
    near = (
        close.group_by(KEY, maintain_order=True)
        .agg(pl.col("step_dt_s").filter(pl.col("step_dt_s") > 0).median().alias("usual_s"))
        .filter(pl.col("usual_s") <= STEP_ROWS_S)
    )
    if not names or near.is_empty():
        return ran.select(KEY).unique(maintain_order=True)
    close = close.join(near.select(KEY), on=KEY, how="semi", maintain_order="left")
    before = [
        pl.col(name).rolling_mean(BEFORE_ROWS, min_samples=1).shift(1).over(KEY).alias(f"{name}_before")
        for name in names
    ]
    close = close.with_columns(*before, pl.col("load").shift(1).over(KEY).alias("load_before"))
    # a meter that takes two or three rows to show a step shows one step
    since = seconds(pl.col("at") - pl.when("stepped").then("at").shift(1).forward_fill().over(KEY))
    first = pl.col("stepped") & (since.is_null() | (since > STEP_MEETS_S))
    close = close.with_columns(
        first.cum_sum().over(KEY).alias("step"),
        pl.when(first).then("at").forward_fill().over(KEY).alias("step_at"),
        *(pl.when(first).then(f"{name}_before").forward_fill().over(KEY) for name in names),
        pl.when(first).then("load_before").forward_fill().over(KEY),
    )
    after_s = seconds(pl.col("at") - pl.col("step_at"))
    window = close.filter(
        (pl.col("step") > 0) & (after_s <= STEP_WINDOW_S) & (pl.col("speed_share").fill_null(1.0) > 0.5)
    )
    window = window.with_columns(after_s.alias("after_s"))
    settled = pl.col("after_s") >= pl.col("after_s").max() - STEP_SETTLED_S
    figures = window.group_by(*KEY, "step", maintain_order=True).agg(
        (pl.col("load").filter(settled).median() - pl.col("load_before").first()).alias("step_fraction"),
        pl.col("after_s").max().alias("seen_s"),
        *(part for name in names for part in _transient(name, rated[name] or 1.0, band_fraction, settled)),
    )
    figures = figures.filter(pl.col("step_fraction").abs() > LEAST_RANGE, pl.col("seen_s") >= STEP_LEAST_S)
    furthest = f"step_{'frequency' if 'frequency_hz' in names else 'voltage'}_fraction"
    worst = (
        figures.with_columns(pl.len().over(KEY).cast(pl.Int32).alias("steps"))
        .sort(pl.col(furthest).abs().fill_null(0.0), descending=True, maintain_order=True)
        .unique(KEY, keep="first", maintain_order=True)
        .drop("step", "seen_s")
    )
    return (
        near.select(KEY)
        .join(worst, on=KEY, how="left", maintain_order="left")
        .with_columns(pl.col("steps").fill_null(0))
    )


def _transient(name: str, rated: float, band_fraction: float, settled: pl.Expr) -> list[pl.Expr]:
    """Furthest deviation, signed, and recovery time of one signal over the rows after one step."""
    value = pl.col(name)
    start, reached = pl.col(f"{name}_before").first(), value.filter(settled).median()
    down, up = (value.min() - start) / rated, (value.max() - start) / rated
    half = (VOLTAGE_BAND if name == "volts" else band_fraction / 2) * rated
    out_at = pl.col("after_s").filter((value - reached).abs() > half)
    stem = "step_voltage" if name == "volts" else "step_frequency"
    came_back = out_at.last().fill_null(0.0) < pl.col("after_s").max() - STEP_SETTLED_S / 2
    return [
        pl.when(down.abs() > up.abs()).then(down).otherwise(up).alias(f"{stem}_fraction"),
        pl.when(came_back).then((out_at.last() - out_at.first()).fill_null(0.0)).alias(f"{stem}_s"),
    ]
