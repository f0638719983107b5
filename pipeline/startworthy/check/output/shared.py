"""What the checks of the output share: the governor's class, runs that were steady, steps in which values come."""

from __future__ import annotations

import polars as pl

from startworthy.limits import Limits
from startworthy.results import Known, Logbook

DROOP = {"G1": "droop_fraction", "G2": "droop_g2_fraction", "G3": "droop_g3_fraction"}
BAND = {
    "G1": "frequency_band_fraction",
    "G2": "frequency_band_g2_fraction",
    "G3": "frequency_band_g3_fraction",
}

POWER = "power_kw|load_fraction"
"""Either tells the load."""


def governor(known: Known) -> str:
    """The class of the set's governor (ISO 8528-5): the register's, else G1."""
    return known.entry.governor_class or "G1"


def steady_runs(book: Logbook, limit: Limits, column: str) -> pl.DataFrame:
    """Runs whose steady state is long enough, and seen often enough, for its `mean` (of column) to count."""
    close = pl.col("resolution_s").fill_null(0.0) <= limit.value("output_coarse_s")
    enough_rows = pl.col("rows") >= limit.value("output_coarse_rows")
    return (
        book.runs.sort("began_at")
        .filter(
            pl.col(column).is_not_null(),
            pl.col("steady_s") >= limit.value("output_steady_s"),
            close | enough_rows,
        )
        .with_columns(pl.col(column).alias("mean"))
    )


def alive(limit: Limits, rated_hz: float) -> pl.Expr:
    """An alternator without excitation shows no frequency: that is another fault, and no governor's."""
    return pl.col("frequency_mean_hz") >= limit.value("output_dead_fraction") * rated_hz


def frequency_step_hz(runs: pl.DataFrame) -> float:
    """The step in which frequency comes, as far as runs show it: the least difference between their extremes.

    Never below the true step but where that is under 0.01 Hz, and larger where few runs are there: on the safe side
    for a band. 0 where there are no two values.
    """
    columns = ("frequency_min_hz", "frequency_max_hz", "frequency_low_hz", "frequency_high_hz")
    seen = pl.concat([runs[name].rename("hz") for name in columns]).drop_nulls().round(2).unique().sort()
    least = seen.diff().drop_nulls().min()
    return float(least) if isinstance(least, float) else 0.0


def pole_pairs(limit: Limits) -> tuple[pl.Expr, pl.Expr]:
    """Pairs of poles that a run's mean frequency and speed make (f = p n / 120), and how far off a whole number.

    The second is a share of the nearest number that a generating set has; both are null where either mean is.
    """
    pairs = 60 * pl.col("frequency_mean_hz") / pl.col("speed_mean_rpm")
    return pairs, pairs / pairs.round().clip(1, limit.value("speed_most_poles") / 2) - 1.0
