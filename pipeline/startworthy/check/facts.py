"""The plain counts of a set's logbook: what happened, before any judgement."""

from __future__ import annotations

from typing import Any

import polars as pl

from startworthy.logbook.fuel_used import fuel_used
from startworthy.results import Known, Logbook


def facts_of(book: Logbook, known: Known) -> dict[str, Any]:
    """Counts and sums over the logbook of one set; None where the log cannot show them.

    `attempts` is None where any start's attempts are unknown; `attempts_at_least` is what was seen.
    """
    starts, runs, days = book.starts, book.runs, book.days
    whole_s = float(days["day_s"].sum()) if days.height else 0.0
    # a flow that was measured goes before levels: a sender moves in steps, sticks, and may leak
    tank = None if "fuel_flow_lph" in book.signals[known.set_id] else known.entry
    used = fuel_used(runs, book.marks, days, tank)
    return {
        "demands": starts.height,
        "failed_demands": starts.filter(~pl.col("started")).height,
        "attempts": None if starts["attempts"].null_count() else int(starts["attempts"].sum()),
        "attempts_at_least": int(starts["attempts_at_least"].sum()),
        "runs": runs.height,
        "running_h": round(float(runs["running_s"].sum()) / 3600.0, 4),
        "fuel_used_l": None if used is None else round(used.litres, 2),
        "fuel_used_error_l": None if used is None or used.error_l is None else round(used.error_l, 2),
        "coverage": round(float(days["covered_s"].sum()) / whole_s, 6) if whole_s else 0.0,
        "days": days.height,
        "rows": int(days["rows"].sum()) if days.height else 0,
    }
