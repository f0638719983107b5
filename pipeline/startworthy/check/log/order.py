"""Can the log be trusted: whether it contradicts itself or the register."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import found, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.words import unit_ending

_SHOWN_BY = {
    "rated_frequency_hz": ("runs", "frequency_mean_hz"),
    "rated_voltage_v": ("runs", "voltage_mean_v"),
    "rated_rpm": ("runs", "speed_mean_rpm"),
    "battery_nominal_v": ("days", "rest_battery_v"),
}
"""Where the log shows what the register says, by the register's key."""


@check(
    "log.conflict",
    question=Question.LOG,
    limits=["log_contradicts_fraction", "log_two_values"],
    since="0.1",
)
def conflict(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Figures of the register that the log contradicts, and instants for which two files say different things."""
    twice = book.marks.filter(pl.col("kind") == "conflict")
    compared = _compared(book, known)
    contradicts, two = limit["log_contradicts_fraction"], limit["log_two_values"]
    for one in known.conflicts:
        ending = unit_ending(one.unit)
        yield found(
            "log.conflict",
            Severity.SOON,
            contradicts,
            abs(one.log / one.register - 1),
            book.span[known.set_id],
            variant=f"register_{ending}",
            evidence={
                "key": one.key,
                f"register_{ending}": one.register,
                f"log_{ending}": one.log,
                "seen": one.evidence,
            },
        )
    instants = float(twice["value"].sum() or 0.0)
    if two.broken_by(instants):
        yield found(
            "log.conflict",
            Severity.SOON,
            two,
            instants,
            (twice.sort("began_at")["began_at"][0], twice.sort("ended_at")["ended_at"][-1]),
            variant="two_values",
            evidence={"instants": int(instants), "share": float(most(twice["before"]) or 0.0)},
        )
    if known.conflicts or two.broken_by(instants):
        return
    if not compared:
        yield not_assessed("log.conflict", Reason.NOT_IN_REGISTER, why="nothing_to_compare")
        return
    yield Clear("log.conflict", {"figures": len(compared), "instants": int(instants)})


def _compared(book: Logbook, known: Known) -> list[str]:
    """Figures of the register that the log shows too."""
    there = []
    for key, (table, column) in _SHOWN_BY.items():
        frame: pl.DataFrame = getattr(book, table)
        if getattr(known.entry, key) is not None and frame[column].null_count() < frame.height:
            there.append(key)
    return there
