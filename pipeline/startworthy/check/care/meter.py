"""What is known of the set's hour meter: its step, and where it stands."""

from __future__ import annotations

import polars as pl

from startworthy.check.found import HOUR_S
from startworthy.limits import Limits
from startworthy.results import Logbook


def meter_step_h(book: Logbook, limit: Limits) -> float:
    """Smallest step that the meter is sure to show, in hours: 1 where all its values are whole, else a tenth."""
    seen = pl.concat([book.days["hour_meter_h"], book.runs["hours_before_h"], book.runs["hours_after_h"]]).drop_nulls()
    return 1.0 if seen.len() and (seen == seen.round()).all() else limit.value("hours_rounding_h")


def readings(book: Logbook) -> pl.DataFrame:
    """Days with the hour meter at their ends, in order."""
    return book.days.filter(pl.col("hour_meter_h").is_not_null()).sort("day")


def jumps(book: Logbook, limit: Limits) -> pl.DataFrame:
    """Marks of the meter going back, or forward by more than its own step and the time that passed; in order.

    A meter of whole hours goes forward by one within a second: that is no jump.
    """
    step_h = meter_step_h(book, limit)
    passed_h = (pl.col("ended_at") - pl.col("began_at")).dt.total_milliseconds() / (1000.0 * HOUR_S)
    more_h = pl.col("value") - passed_h.fill_null(0.0) - limit.value("hours_rounding_h")
    return book.marks.filter(pl.col("kind") == "hours_jump", (more_h > step_h) | (pl.col("value") <= -step_h)).sort(
        "began_at"
    )
