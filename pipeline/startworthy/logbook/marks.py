"""The marks table: gaps, the clock, mode changes, alarms, lost mains, refuels, lost fuel, hour-meter jumps."""

from __future__ import annotations

import polars as pl

from startworthy.logbook.rest import mains_lost
from startworthy.logbook.rows import Rows
from startworthy.logbook.tables import empty, in_form

# Common practice, no source: a step smaller than this is lost in a sender's own steps and in sloshing.
FUEL_STEP_FRACTION = 0.04
STEP_QUARTERS = 3
HOURS_SLACK_H, WHOLE_HOURS_SLACK_H = 0.25, 1.05


def marks_table(rows: Rows, found: pl.DataFrame, jumps: pl.DataFrame) -> pl.DataFrame:
    """All marks of sets with one profile. found: quarter-hour means (see rest); jumps: clock steps in file order."""
    parts = [
        _gaps(rows),
        _mode_changes(rows),
        _alarms(rows),
        _mains(rows),
        _hours(rows),
        _fuel_steps(found),
        _jumps(rows, jumps),
    ]
    return pl.concat([in_form("marks", p) for p in parts if p.height] or [empty("marks")]).sort(
        "set_id", "began_at", "kind"
    )


def conflicts(frame: pl.DataFrame) -> pl.DataFrame:
    """One mark per set with different rows for one instant from two files: `value` how many, `before` their share.

    frame: clean readings with `file`, sorted by set_id, at. Rows of one file within a second are no conflict.
    """
    code = pl.col("set_id").to_physical()
    two = code.eq(code.shift(1)) & (pl.col("at") == pl.col("at").shift(1)) & (pl.col("file") != pl.col("file").shift(1))
    twice = frame.filter(two.fill_null(False)).select("set_id", "at", "file")
    if twice.is_empty():
        return empty("marks")
    rows = frame.group_by("set_id").agg(pl.len().alias("rows"))
    found = (
        twice.group_by("set_id")
        .agg(pl.col("at").min().alias("began_at"), pl.col("at").max().alias("ended_at"), pl.len().alias("value"))
        .join(rows, on="set_id")
    )
    return in_form(
        "marks",
        found.select(
            pl.col("set_id").cast(pl.String),
            pl.lit("conflict").alias("kind"),
            "began_at",
            "ended_at",
            pl.col("value").cast(pl.Float64),
            (pl.col("value") / pl.col("rows")).alias("before"),
        ),
    )


def _gaps(rows: Rows) -> pl.DataFrame:
    at = pl.col("at")
    return (
        rows.frame.lazy()
        .with_columns(at.shift(1).alias("began_at"))
        .filter("gap")
        .select(
            pl.col("set_id").cast(pl.String),
            pl.lit("gap").alias("kind"),
            "began_at",
            at.alias("ended_at"),
            pl.col("dt_s").alias("value"),
        )
        .collect()
    )


def _changes(rows: Rows, name: str, of: pl.Expr, seen: pl.Expr | None = None) -> pl.DataFrame:
    """First row of each stretch of equal value, with the instant at which the next begins (null at the set's end).

    seen: rows that say anything at all; the others are passed over, the last word stands.
    """
    code = pl.col("set_id").to_physical()
    lazy = rows.frame.lazy().select("set_id", "at", of.alias("now"))
    lazy = lazy.filter(seen) if seen is not None else lazy
    head = lazy.filter(
        code.ne(code.shift(1)).fill_null(True) | pl.col("now").ne_missing(pl.col("now").shift(1))
    ).collect()
    same = pl.col("set_id").eq(pl.col("set_id").shift(-1)).fill_null(False)
    first = pl.col("set_id").ne(pl.col("set_id").shift(1)).fill_null(True)
    now = pl.col("now").cast(pl.String) if head["now"].dtype == pl.Categorical else pl.col("now")
    return head.with_columns(pl.col("set_id").cast(pl.String), now).with_columns(
        pl.when(same).then(pl.col("at").shift(-1)).alias("until"),
        pl.when(~first).then(pl.col("now").shift(1)).alias("was"),
        pl.lit(name).alias("signal"),
    )


def _mode_changes(rows: Rows) -> pl.DataFrame:
    if not rows.has("mode"):
        return empty("marks")
    found = _changes(rows, "mode", pl.col("mode"), pl.col("now").is_not_null())
    return found.filter(pl.col("was").is_not_null()).select(
        "set_id",
        pl.lit("mode_change").alias("kind"),
        pl.col("at").alias("began_at"),
        pl.col("until").alias("ended_at"),
        "signal",
        (pl.col("was") + ">" + pl.col("now")).alias("text"),
    )


def _alarms(rows: Rows) -> pl.DataFrame:
    if not rows.has("alarm") or rows.frame["alarm"].null_count() == rows.frame.height:
        return empty("marks")
    return (
        _changes(rows, "alarm", pl.col("alarm"))
        .filter(pl.col("now").is_not_null())
        .select(
            "set_id",
            pl.lit("alarm").alias("kind"),
            pl.col("at").alias("began_at"),
            pl.col("until").alias("ended_at"),
            "signal",
            pl.col("now").alias("text"),
        )
    )


def _mains(rows: Rows) -> pl.DataFrame:
    lost = mains_lost(rows)
    if lost is None:
        return empty("marks")
    name = "mains_present" if rows.has("mains_present") else "mains_v"
    return (
        _changes(rows, name, lost, pl.col("now").is_not_null())
        .filter(pl.col("now"))
        .select(
            "set_id",
            pl.lit("mains_lost").alias("kind"),
            pl.col("at").alias("began_at"),
            pl.col("until").alias("ended_at"),
            "signal",
            ((pl.col("until") - pl.col("at")).dt.total_microseconds() / 1e6).alias("value"),
        )
    )


def _hours(rows: Rows) -> pl.DataFrame:
    """The hour meter goes back, or forward by more than the time that has passed."""
    if not rows.has("hour_meter_h"):
        return empty("marks")
    meter = pl.col("hour_meter_h")
    seen = rows.frame.lazy().select("set_id", "at", meter).filter(meter.is_not_null())
    same = pl.col("set_id").eq(pl.col("set_id").shift(1))
    moved, passed_h = meter.diff(), (pl.col("at") - pl.col("at").shift(1)).dt.total_microseconds() / 3.6e9
    found = (
        seen.with_columns(
            pl.col("at").shift(1).alias("began_at"),
            meter.shift(1).alias("before"),
            moved.alias("value"),
            passed_h.alias("passed_h"),
        )
        .filter(same & ((pl.col("value") < -1e-6) | (pl.col("value") > pl.col("passed_h") + HOURS_SLACK_H)))
        .select(
            pl.col("set_id").cast(pl.String),
            pl.lit("hours_jump").alias("kind"),
            "began_at",
            pl.col("at").alias("ended_at"),
            pl.lit("hour_meter_h").alias("signal"),
            "value",
            "before",
            "passed_h",
            meter.alias("after"),
        )
        .collect()
    )
    if found.is_empty():
        return found
    # a meter that counts whole hours steps by one: only where something was found is it worth a look at all of it
    stepping = found["set_id"].unique()
    whole = seen.filter(pl.col("set_id").cast(pl.String).is_in(stepping.implode()))
    whole = whole.group_by(pl.col("set_id").cast(pl.String)).agg((meter == meter.round(0)).all().alias("whole"))
    one_step = pl.col("whole") & pl.col("value").is_between(0.0, pl.col("passed_h") + WHOLE_HOURS_SLACK_H)
    return found.join(whole.collect(), on="set_id", how="left", maintain_order="left").filter(~one_step)


def _fuel_steps(found: pl.DataFrame) -> pl.DataFrame:
    """Lasting steps of the level at rest: up is a refuel, down without a run between is a loss.

    Medians of a few quarter hours on each side, so that one odd reading or a sender's own step is no mark.
    """
    rest = found.filter(pl.col("fuel_fraction").is_not_null()).select(
        "set_id", "quarter_at", "fuel_fraction", "running_s"
    )
    if rest.height < 2 * STEP_QUARTERS:
        return empty("marks")
    fuel = pl.col("fuel_fraction")
    before = fuel.rolling_median(STEP_QUARTERS, min_samples=1).shift(1).over("set_id")
    after = fuel.reverse().rolling_median(STEP_QUARTERS, min_samples=STEP_QUARTERS).reverse().over("set_id")
    rest = rest.with_columns(
        before.alias("before"),
        after.alias("after"),
        pl.col("quarter_at").shift(1).over("set_id").alias("was_at"),
    )
    rest = rest.with_columns((pl.col("after") - pl.col("before")).alias("step"))
    big = (pl.col("step").abs() >= FUEL_STEP_FRACTION).fill_null(False)
    spell = (
        big.ne(big.shift(1))
        | pl.col("set_id").ne(pl.col("set_id").shift(1))
        | (pl.col("step").sign() != pl.col("step").shift(1).sign())
    ).fill_null(True)
    steps = (
        rest.with_columns(spell.cum_sum().alias("spell"))
        .filter(big)
        .group_by("spell", maintain_order=True)
        .agg(
            pl.col("set_id").first(),
            pl.col("was_at").first().alias("began_at"),
            # the step itself lies where the difference is largest; the window smears it over its neighbours
            pl.col("quarter_at").gather(pl.col("step").abs().arg_max()).first().alias("ended_at"),
            pl.col("before").first(),
            pl.col("after").last(),
        )
        .with_columns((pl.col("after") - pl.col("before")).alias("value"))
        .filter(pl.col("value").abs() >= FUEL_STEP_FRACTION)
    )
    ran = found.filter(pl.col("running_s") > 0).select("set_id", pl.col("quarter_at").alias("ran_at"))
    if ran.height and steps.height:
        steps = steps.sort("ended_at").join_asof(
            ran.sort("ran_at"),
            left_on="ended_at",
            right_on="ran_at",
            by="set_id",
            strategy="backward",
            check_sortedness=False,
        )
        during_run = (pl.col("ran_at") >= pl.col("began_at") - pl.duration(minutes=15)).fill_null(False)
    else:
        during_run = pl.lit(False)
    return steps.filter((pl.col("value") > 0) | ~during_run).select(
        "set_id",
        pl.when(pl.col("value") > 0).then(pl.lit("refuel")).otherwise(pl.lit("fuel_loss")).alias("kind"),
        "began_at",
        "ended_at",
        pl.lit("fuel_fraction").alias("signal"),
        "value",
        "before",
        "after",
    )


def _jumps(rows: Rows, jumps: pl.DataFrame) -> pl.DataFrame:
    """What was told of the clock: steps, and stretches that were under a wrong time (see validate.clock.JUMPS)."""
    own = rows.frame["set_id"].unique().cast(pl.String)
    return jumps.filter(pl.col("set_id").cast(pl.String).is_in(own.implode())).select(
        pl.col("set_id").cast(pl.String),
        "kind",
        pl.col("before_at").alias("began_at"),
        pl.col("at").alias("ended_at"),
        pl.lit("at").alias("signal"),
        pl.col("step_s").alias("value"),
        pl.col("shift_s").alias("before"),
        pl.col("rows").alias("after"),
        "text",
    )
