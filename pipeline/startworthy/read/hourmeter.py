"""An hour meter that goes faster or slower than hours: held against the running time that other columns show."""

from __future__ import annotations

import polars as pl

from startworthy.read.columns import Wanted
from startworthy.read.contradictions import Doubt
from startworthy.read.looks import running, thinned
from startworthy.signals import UNITS

LEAST_RUN_H = 1.0
LONGEST_STEP_H = 1.0
APART = 0.25
SUSPECT, LEAST_GROWTH_H = 10.0, 2.0
_UNITS = ("h", "min", "s")


def hours_doubt(column: Wanted, frame: pl.DataFrame, span: tuple[float, float]) -> Doubt | None:
    """Whether a meter's growth is 60 or 3600 times (or a part of) the running time; None where it is not to be told.

    Only for a file of one set. Looked at where the meter outran the running time by far, or is not in hours.
    """
    unit = column.unit
    if unit is None or "at" not in frame.columns or frame.height < 2:
        return None
    if "set_id" in frame.columns and frame["set_id"].n_unique() > 1:
        return None
    at = frame["at"]
    first, last = at.min(), at.max()
    assert first is not None
    assert last is not None
    elapsed_h = (last - first).total_seconds() / 3600.0  # type: ignore[operator,union-attr]
    if unit.factor == 1.0:
        # Rows tell the share of running time well enough to see that a meter is not 60 times as fast
        grown_h = span[1] - span[0]
        some = thinned(frame) if grown_h > LEAST_GROWTH_H else None
        ran = None if some is None else running(some, "hour_meter_h")
        if ran is None or grown_h <= SUSPECT * float(ran.mean() or 0.0) * elapsed_h + LEAST_GROWTH_H:  # type: ignore[arg-type]
            return None
    on = running(frame, "hour_meter_h")
    if on is None:
        return None
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
