"""In which mode the set stood, and when: what the checks of this group share."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import polars as pl

from startworthy.limits import Limits
from startworthy.logbook.tables import UTC_TIME
from startworthy.results import Known, Logbook
from startworthy.signals import Mode

OUT = (Mode.OFF.value, Mode.MANUAL.value)
"""Test counts as automatic: the set goes back to it, and most answer a demand from it."""
READY = (Mode.AUTOMATIC.value, Mode.TEST.value)
PROTECTIVE = ("shutdown", "fuel", "oil", "coolant", "overspeed", "overload")
"""Ends of a run after which most sets stay locked out until somebody resets them."""
MODE_COLUMNS = ("automatic_s", "manual_s", "off_s", "test_s")
_SPELLS: dict[str, Any] = {"began_at": UTC_TIME, "ended_at": UTC_TIME, "mode": pl.String}


def has_mode_marks(book: Logbook) -> bool:
    """Whether any change of mode was marked."""
    return not _changes(book).is_empty()


def mode_spells(book: Logbook, known: Known) -> pl.DataFrame:
    """The log cut at the changes of mode: began_at, ended_at, mode, in order; no row where no mode was seen.

    Without any change it is one spell in the mode of the days.
    """
    began, ended = book.span[known.set_id]
    changes = _changes(book)
    if changes.is_empty():
        told = {name.removesuffix("_s"): float(book.days[name].sum() or 0.0) for name in MODE_COLUMNS}
        mode = max(told, key=lambda name: told[name])
        rows = [(began, ended, mode)] if told[mode] > 0.0 else []
        return pl.DataFrame(rows, schema=_SPELLS, orient="row")
    first = changes.head(1).select(pl.lit(began, UTC_TIME).alias("began_at"), pl.col("was").alias("mode"))
    parts = pl.concat([first, changes.select("began_at", "mode")])
    return parts.select("began_at", pl.col("began_at").shift(-1, fill_value=ended).alias("ended_at"), "mode")


def mode_at(spells: pl.DataFrame, at: datetime) -> str | None:
    """The mode at that instant; None where it is not known."""
    then = spells.filter(pl.col("began_at") <= at)
    return str(then["mode"][-1]) if then.height and then["mode"][-1] is not None else None


def stands_by_hand(book: Logbook, limit: Limits) -> bool:
    """It is only ever started by hand: never seen ready to start by itself, though it ran again and again."""
    ready_s = sum(float(book.days[f"{name}_s"].sum() or 0.0) for name in READY)
    changes = _changes(book)
    ready = ready_s > 0.0 or any(changes[name].is_in(READY).any() for name in ("was", "mode"))
    modes = pl.concat([book.starts["mode"], book.runs["mode"]]).drop_nulls()
    out_s = sum(float(book.days[f"{name}_s"].sum() or 0.0) for name in OUT)
    if ready or modes.is_in(READY).any() or out_s <= 0.0:
        return False
    return not limit["by_hand_runs"].broken_by(book.runs.height)


def _changes(book: Logbook) -> pl.DataFrame:
    """Changes of mode in order: began_at, was, mode."""
    words = pl.col("text").str.split(">")
    return (
        book.marks.filter(pl.col("kind") == "mode_change", pl.col("text").is_not_null())
        .sort("began_at")
        .select(
            "began_at",
            words.list.first().str.strip_chars().alias("was"),
            words.list.last().str.strip_chars().alias("mode"),
        )
    )
