"""Will it carry the load: how far frequency and voltage go at a load step, and how soon they are back."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import found, middle, not_assessed
from startworthy.check.frame import check
from startworthy.check.output.shared import POWER, governor
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_CODE = "output.load_step"
_KINDS = (
    ("frequency_slow", "step_frequency_recovery", "s"),
    ("frequency_dip", "step_frequency_dip", "fraction"),
    ("frequency_rise", "step_frequency_rise", "fraction"),
    ("voltage_slow", "step_voltage_recovery", "s"),
    ("voltage_dip", "step_voltage_dip", "fraction"),
    ("voltage_rise", "step_voltage_rise", "fraction"),
)
"""What can be out of class (a variant), the stem of its limit, and the limit's ending; the most telling first."""
_CLASS = {"G1": "", "G2": "_g2", "G3": "_g3"}
_MOMENTS = ("voltage_dip", "voltage_rise")
"""Voltage pulled down or let go for a moment: a motor's start does that to a sound set, and its kW do not show it."""


@check(
    _CODE,
    question=Question.CARRY,
    signals=["frequency_hz", POWER],
    needs=["runs"],
    limits=[
        *(f"{stem}{of}_{unit}" for _, stem, unit in _KINDS for of in _CLASS.values()),
        "step_rows_s",
        "step_least_fraction",
        "step_most_load_fraction",
        "recent_runs",
        "recent_repeats",
    ],
    since="0.1",
)
def load_step(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """The furthest transient of each run, over rated values, against the governor's class; rows a second apart.

    A row a second misses the bottom of a dip, so depth is a lower bound; recovery is told to a row.
    """
    runs = book.runs.sort("began_at")
    if runs["load_fraction_mean"].null_count() == runs.height:
        yield not_assessed(_CODE, Reason.NOT_IN_REGISTER, key="rated_kw")
        return
    close = runs.filter(pl.col("resolution_s") <= limit.value("step_rows_s"))
    if close.is_empty():
        yield not_assessed(
            _CODE,
            Reason.TOO_COARSE,
            interval_s=middle(runs["resolution_s"]),
            wanted_s=limit.value("step_rows_s"),
        )
        return
    stepped = _stepped(close, limit, _CLASS[governor(known)])
    if stepped.is_empty():
        seen = close["steps"].sum()
        yield not_assessed(
            _CODE,
            Reason.TOO_FEW,
            why="small_steps",
            seen=int(seen or 0),
            wanted_fraction=limit.value("step_least_fraction"),
        )
        return
    latest = stepped.tail(int(limit.value("recent_runs")))
    out = [kind for kind in _KINDS if stepped[kind[0]].any()]
    if not out:
        yield Clear(
            _CODE,
            {
                "runs": stepped.height,
                "steps": int(stepped["steps"].sum() or 0),
                "biggest_fraction": _furthest(stepped, "step_fraction"),
                "frequency_fraction": _furthest(stepped, "step_frequency_fraction"),
                "voltage_fraction": _furthest(stepped, "step_voltage_fraction"),
            },
        )
        return
    repeats = limit["recent_repeats"]
    often = [kind for kind in out if repeats.broken_by(int(latest[kind[0]].sum()))]
    name, stem, unit = (often or out)[0]
    hits = (latest if often else stepped).filter(pl.col(name))
    last = hits.row(-1, named=True)
    edge = limit[f"{stem}{_CLASS[governor(known)]}_{unit}"]
    yield found(
        _CODE,
        Severity.SOON if often and name not in _MOMENTS else Severity.NOTE,
        edge,
        last[f"{name}_value"],
        (hits["began_at"][0], last["ended_at"]),
        variant=name if often else "once",
        evidence={
            "out": hits.height,
            "runs": stepped.height,
            "step_fraction": last["step_fraction"],
            "frequency_fraction": last["step_frequency_fraction"],
            "frequency_s": last["step_frequency_s"],
            "voltage_fraction": last["step_voltage_fraction"],
            "voltage_s": last["step_voltage_s"],
            "governor_class": governor(known),
            "last_at": last["began_at"],
        },
    )


def _stepped(close: pl.DataFrame, limit: Limits, of: str) -> pl.DataFrame:
    """Runs with a step that tells, within the rating; each kind as a mask, and its `_value` in its limit's unit."""
    values = {
        # leaving and entering the band are each told to a row
        "frequency_slow": pl.col("step_frequency_s") - pl.col("resolution_s"),
        "frequency_dip": -pl.col("step_frequency_fraction"),
        "frequency_rise": pl.col("step_frequency_fraction"),
        "voltage_slow": pl.col("step_voltage_s") - pl.col("resolution_s"),
        "voltage_dip": -pl.col("step_voltage_fraction"),
        "voltage_rise": pl.col("step_voltage_fraction"),
    }
    big = pl.col("step_fraction").abs() >= limit.value("step_least_fraction")
    # a class is about steps within the rating: what an overload does is another fault
    within = pl.col("load_fraction_max").fill_null(0.0) <= limit.value("step_most_load_fraction")
    return close.filter((pl.col("steps") > 0) & big & within).with_columns(
        *(values[name].alias(f"{name}_value") for name, _, _ in _KINDS),
        *(
            (values[name] > limit.value(f"{stem}{of}_{unit}")).fill_null(False).alias(name)
            for name, stem, unit in _KINDS
        ),
    )


def _furthest(runs: pl.DataFrame, column: str) -> float | None:
    """The value furthest from 0, with its sign."""
    known = runs.filter(pl.col(column).is_not_null()).sort(pl.col(column).abs(), maintain_order=True)
    return float(known[column][-1]) if known.height else None
