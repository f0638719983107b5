"""The last fuel level that was seen at rest."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import polars as pl

from startworthy.check.found import day_begins, day_ends, log_ends
from startworthy.results import Known, Logbook


@dataclass(frozen=True, slots=True)
class LastLevel:
    """A level as a share of the tank; the local day on which it was seen (its beginning), and until when it held."""

    level: float
    on: datetime
    at: datetime


def last_level(book: Logbook, known: Known) -> LastLevel | None:
    """The last level at rest: of the days, else of the end of a run. None where none was seen."""
    levels = (
        book.days.sort("day")
        .select("day", pl.coalesce("rest_fuel_last_fraction", "rest_fuel_fraction").alias("level"))
        .drop_nulls("level")
    )
    if levels.height:
        day = levels["day"][-1]
        at = min(day_ends(day, known.time_zone), log_ends(book, known.set_id))
        return LastLevel(float(levels["level"][-1]), min(day_begins(day, known.time_zone), at), at)
    after_runs = book.runs.sort("ended_at").drop_nulls("fuel_after_fraction")
    if after_runs.is_empty():
        return None
    at = after_runs["ended_at"][-1]
    return LastLevel(float(after_runs["fuel_after_fraction"][-1]), at, at)
