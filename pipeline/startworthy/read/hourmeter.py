"""An hour meter that goes faster or slower than hours: held against the running time that other columns show."""

from __future__ import annotations

from collections.abc import Callable

import polars as pl

from startworthy.read.columns import Wanted
from startworthy.read.contradictions import Doubt
from startworthy.read.looks import running
from startworthy.signals import UNITS

LEAST_RUN_H = 1.0
LONGEST_STEP_H = 1.0
APART = 0.25
SUSPECT, LEAST_GROWTH_H = 10.0, 2.0
_UNITS = ("h", "min", "s")


def hours_doubt(
    column: Wanted, span: tuple[float, float], rows: Callable[[], tuple[pl.DataFrame, pl.DataFrame]]
) -> Doubt | None:
    """Whether a meter's growth is 60 or 3600 times (or a part of) the running time; None where it is not to be told.

    Only for a file of one set. Looked at where the meter outran the running time by far, or is not in hours.
    """
    unit = column.unit
    grown_h = span[1] - span[0]
    if unit is None or grown_h <= 0 or (unit.factor == 1.0 and grown_h <= LEAST_GROWTH_H):
        return None
    frame, some = rows()
    if "at" not in frame.columns or ("set_id" in some.columns and some["set_id"].n_unique() > 1) or some.height < 2:
        return None
    if unit.factor == 1.0:
        # Rows tell the share of running time well enough to see that a meter is not 60 times as fast
        at = some["at"]
        elapsed_h = (at.max() - at.min()).total_seconds() / 3600.0  # type: ignore[operator,union-attr]
        ran = running(some, "hour_meter_h")
        if ran is None or grown_h <= SUSPECT * float(ran.mean() or 0.0) * elapsed_h + LEAST_GROWTH_H:  # type: ignore[arg-type]
            return None
    on = running(frame, "hour_meter_h")
    if on is None:
        return None
    at = frame["at"]
    steps = pl.DataFrame({"at": at, "on": on, "meter": frame["hour_meter_h"]}).sort("at")
    step_h = pl.col("at").diff().dt.total_seconds() / 3600.0
    grown = pl.col("meter").forward_fill().diff()
    run_h, growth, largest = steps.select(
        step_h.filter(pl.col("on") & (step_h <= LONGEST_STEP_H)).sum(),
        grown.filter(grown > 0).sum().alias("growth"),
        grown.filter(grown > 0).max().alias("largest"),
    ).row(0)
    # One large step is a meter that was replaced or set
    growth = (growth or 0.0) - ((largest or 0.0) if (largest or 0.0) > 0.5 * (growth or 0.0) else 0.0)
    if not run_h or run_h < LEAST_RUN_H or growth <= 0:
        return None
    for name in _UNITS:
        other = UNITS[name]
        if other != unit and abs(growth / unit.factor * other.factor / run_h - 1) <= APART:
            seen = f"it grew by {growth / unit.factor:.4g} {column.spelling} while the set ran for {run_h:.3g} h"
            return Doubt(True, name, seen)
    return None
