"""Under which conditions a run was made, its air and its load; late runs held against early ones as hard."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import polars as pl

from startworthy.check.found import DAY_S, HOUR_S, middle, most
from startworthy.findings import Evidence
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.statistics.driven import Meeting, days_of

LIMITS = (
    "warm_run_s",
    "warm_run_coarse_s",
    "warm_rows_s",
    "air_enclosed_c",
    "air_rest_h",
    "heater_least_c",
    "recent_runs",
    "alike_load_fraction",
    "alike_length_times",
)
"""What a check declares that calls `warm_runs` and `against_early`."""


@dataclass(frozen=True, slots=True)
class WarmRuns:
    """Runs long enough to be warm, in order, and the column by which their air was told; None where nothing tells it.

    runs: the columns of the table, with day (days since 1970), air_c (before the run, so that the engine's own heat is
    not in it) and load (null where it is not known). rated: load is a share of the rating, else of the highest load
    that was seen.
    """

    runs: pl.DataFrame
    air_from: str | None
    rated: bool


def warm_runs(book: Logbook, known: Known, limit: Limits) -> WarmRuns:
    """The warm runs of a set with their air and load.

    The air is that before the run: a sensor in the enclosure warms by tens of degrees while it runs. Where none is
    logged the coolant after a long rest stands in, unless a heater holds it up.
    """
    runs = book.runs.sort("began_at")
    rest_h = (pl.col("began_at") - pl.col("ended_at").shift(1)).dt.total_seconds() / HOUR_S
    rested = (rest_h >= limit.value("air_rest_h")).fill_null(True)
    warmed = middle(runs.select(pl.col("ambient_c") - pl.col("ambient_before_c")).to_series())
    enclosed = warmed is not None and limit["air_enclosed_c"].broken_by(warmed)
    before = pl.when(rested).then("ambient_before_c") if enclosed else pl.col("ambient_before_c")
    cold = pl.when(rested).then("coolant_before_c")
    heated = known.entry.coolant_heater is True or not limit["heater_least_c"].broken_by(
        middle(runs.select(cold).to_series()) or 0.0
    )
    sources = [("ambient_before_c", before), ("ambient_c", pl.col("ambient_c"))]
    sources += [] if heated else [("coolant_before_c", cold)]
    loads = ("load_late_fraction", "load_fraction_mean")
    of_rated = next((name for name in loads if runs[name].null_count() < runs.height), None)
    load = pl.col("load_kw_mean") / (most(runs["load_kw_max"]) or 1.0) if of_rated is None else pl.col(of_rated)
    longest = (
        pl.when((pl.col("resolution_s") > limit.value("warm_rows_s")).fill_null(False))
        .then(limit.value("warm_run_coarse_s"))
        .otherwise(limit.value("warm_run_s"))
    )
    runs = runs.with_columns(
        *(expr.alias(f"air_{name}") for name, expr in sources),
        days_of(runs["began_at"]).alias("day"),
        load.alias("load"),
    ).filter(pl.col("running_high_s") >= longest)
    told = {name: runs[f"air_{name}"].drop_nulls().len() for name, _ in sources}
    best = max(told, key=lambda name: told[name])
    if not told[best]:
        return WarmRuns(runs.with_columns(pl.lit(None, pl.Float64).alias("air_c")), None, of_rated is not None)
    return WarmRuns(runs.with_columns(pl.col(f"air_{best}").alias("air_c")), best, of_rated is not None)


def against_early(runs: pl.DataFrame, excess: pl.Expr, limit: Limits) -> float | None:
    """The median of `excess` of the latest runs over each early one with as much load and about as long; None: no such.

    runs: of `warm_runs`, in order. excess: an expression over the columns of a late run and those of an early one,
    which end in `_early`. A second sign beside a trend, that needs no straight line and foretells nothing.
    """
    late, early = runs.tail(int(limit.value("recent_runs"))), runs.head(runs.height // 2)
    pairs = late.join(early, how="cross", suffix="_early")
    harder = pl.col("load") - pl.col("load_early") > limit.value("alike_load_fraction")
    longer = pl.col("running_s") > limit.value("alike_length_times") * pl.col("running_s_early")
    pairs = pairs.filter(~harder.fill_null(False), ~longer.fill_null(False))
    by_run = pairs.group_by("began_at").agg(excess.median().alias("excess")).drop_nulls("excess")
    # one late run with a like says too little
    return middle(by_run["excess"]) if by_run.height > late.height // 2 else None


def drivers_of(runs: pl.DataFrame, *names: str) -> pl.DataFrame:
    """Those columns that have a value in every row: what a trend can be corrected for."""
    return runs.select(name for name in names if runs[name].null_count() == 0)


def dates_of(meeting: Meeting, within_days: float, now_day: float) -> dict[str, Evidence]:
    """Dates of a forecast for the evidence; None for one that lies further ahead than anybody can foretell."""

    def date(day: float | None) -> datetime | None:
        return None if day is None or day - now_day > within_days else datetime.fromtimestamp(day * DAY_S, UTC)

    return {
        "meets_date": date(meeting.day),
        "earliest_date": date(meeting.earliest),
        "latest_date": date(meeting.latest),
    }
