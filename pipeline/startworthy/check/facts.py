"""The plain counts of a set's logbook: what happened, before any judgement."""

from __future__ import annotations

from typing import Any

import polars as pl

from startworthy.results import Logbook


def facts_of(book: Logbook) -> dict[str, Any]:
    """Counts and sums over the logbook of one set; None where the log cannot show them.

    `attempts` is None where any start's attempts are unknown; `attempts_at_least` is what was seen.
    """
    starts, runs, days = book.starts, book.runs, book.days
    whole_s = float(days["day_s"].sum()) if days.height else 0.0
    fuel = runs["fuel_used_l"].drop_nulls()
    return {
        "demands": starts.height,
        "failed_demands": starts.filter(~pl.col("started")).height,
        "attempts": None if starts["attempts"].null_count() else int(starts["attempts"].sum()),
        "attempts_at_least": int(starts["attempts_at_least"].sum()),
        "runs": runs.height,
        "running_h": round(float(runs["running_s"].sum()) / 3600.0, 4),
        "fuel_used_l": round(float(fuel.sum()), 2) if fuel.len() else None,
        "coverage": round(float(days["covered_s"].sum()) / whole_s, 6) if whole_s else 0.0,
        "days": days.height,
        "rows": int(days["rows"].sum()) if days.height else 0,
    }
