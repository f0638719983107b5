"""One simulated set through the checks, and what became of it: the record that the accuracy table adds up."""

from __future__ import annotations

import tempfile
import time
import warnings
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl

import startworthy as sw
from startworthy.check.frame import CATALOGUE
from startworthy.results import Checked, SetResult
from tests.support.logs import as_readings
from tests.support.simulator import Truth, simulate
from tests.support.simulator.csvfile import LAYOUTS, write_csv
from tests.support.simulator.visible import can_show

GROUP_QUESTION = {
    "start": "start", "battery": "start", "output": "carry", "fuel": "keep_running", "cooling": "keep_running",
    "oil": "keep_running", "exercise": "care", "care": "care", "log": "log",
}  # fmt: skip
CSV_ONLY = frozenset({"clock_reset", "bad_values"})


@dataclass
class Record:
    """What one set showed. exact: name of a count to (said, true), or None where the log cannot tell it."""

    kind: str
    seed: int
    cadence: str
    days: float
    route: str
    expected: dict[str, str]
    found: dict[str, str]
    not_assessed: dict[str, str]
    allowed: frozenset[str]
    blind_yes: list[str] = field(default_factory=list)
    missed_yes: list[str] = field(default_factory=list)
    exact: dict[str, tuple[Any, Any] | None] = field(default_factory=dict)
    error: str = ""
    seconds: float = 0.0


def route_of(kind: str, seed: int) -> str:
    """direct, or the layout of the CSV through which the set goes: one in four, and where the fault needs it."""
    if kind in CSV_ONLY or seed % 4 == 3:
        return LAYOUTS[(seed // 4 + len(kind)) % len(LAYOUTS)]
    return "direct"


def checked(kind: str, seed: int, cadence: str, *, route: str | None = None) -> tuple[Checked, Truth, pl.DataFrame]:
    """Simulate and check one set, straight from clean readings or through a written CSV."""
    frame, truth = simulate(kind, seed, cadence=cadence)
    route = route or route_of(kind, seed)
    if route == "direct":
        return sw.check(as_readings(frame), register=truth.register, strict=True), truth, frame
    with tempfile.TemporaryDirectory() as folder:
        shown = _clock_back(frame, truth) if kind == "clock_reset" else frame
        written = write_csv(
            shown,
            Path(folder),
            route,
            truth.figures["zone"],
            no_value="5000.0" if kind == "bad_values" else "",
        )
        result = sw.check(written.path, register=truth.register, time_zone=written.time_zone, strict=True)
    return result, truth, frame


def _clock_back(frame: pl.DataFrame, truth: Truth) -> pl.DataFrame:
    """The clock falls back to 2000-01-01 at the onset and is set right three days later; rows stay in order of writing."""
    assert truth.onset is not None
    late = (pl.col("at") >= truth.onset) & (pl.col("at") < truth.onset + pl.duration(days=3))
    early = pl.datetime(2000, 1, 1, time_unit="us", time_zone="UTC") + (pl.col("at") - truth.onset)
    return frame.with_columns(pl.when(late).then(early).otherwise(pl.col("at")).alias("at"))


def record(kind: str, seed: int, cadence: str) -> Record:
    """The record of one set. An error is kept as text: one set never costs the table."""
    route = route_of(kind, seed)
    blank = Record(kind, seed, cadence, 0.0, route, {}, {}, {}, frozenset())
    began = time.perf_counter()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            result, truth, frame = checked(kind, seed, cadence)
    except Exception as error:
        blank.error = f"{type(error).__name__}: {error}"[:300]
        return blank
    if len(result.sets) != 1:
        blank.error = f"{len(result.sets)} sets in the result"
        return blank
    one = result.sets[0]
    span = (frame["at"].max() - frame["at"].min()).total_seconds() / 86400.0  # type: ignore[operator,union-attr]
    found: dict[str, str] = {}
    for finding in reversed(one.findings):
        found[finding.code] = str(finding.severity)
    made = Record(
        kind, seed, cadence, span, route, {code: can_show(code, truth) for code in truth.expected}, found,
        {o.code: str(o.reason) for o in one.not_assessed}, truth.allowed, seconds=time.perf_counter() - began,
    )  # fmt: skip
    made.blind_yes = _blind_yes(one, truth)
    made.missed_yes = [
        code for code in truth.expected
        if code in made.not_assessed and str(one.answers[CATALOGUE[code].question]) == "yes"
    ]  # fmt: skip
    made.exact = exactness(one.facts, truth, frame)
    return made


def _blind_yes(one: SetResult, truth: Truth) -> list[str]:
    """Questions answered `yes` although the log lacks what they stand on."""
    there, blind = truth.columns, []
    output = bool(there & {"voltage_v", "voltage_l1_v"})
    could = {
        "start": "battery_v" in there and (truth.cadence in {"dense", "10"} or bool(there & {"alarm", "state"})),
        "carry": output and "frequency_hz" in there and truth.runs > 0,
        "keep_running": {"oil_kpa", "coolant_c"} <= there and bool(there & {"fuel_fraction"}) and truth.runs > 0
        and (truth.cadence in {"dense", "10", "60"}),
        "care": truth.runs > 0,
    }  # fmt: skip
    for question, answer in one.answers.items():
        if str(answer) == "yes" and not could.get(str(question), True):
            blind.append(str(question))
    return blind


def told_demands(truth: Truth, frame: pl.DataFrame) -> bool:
    """Whether the rows can tell every demand: a row within each run and at rest between runs, a sign of each failure."""
    begins = truth.begins
    t = (frame["at"] - begins).dt.total_microseconds().to_numpy() / 1e6
    last_end = -1e12
    if truth.cadence == "dense":
        # a demand that lies wholly in a gap left no row
        return all(np.ptp(np.searchsorted(t, [d.asked_at, d.asked_at + 40.0])) > 0 for d in truth.demand_list)
    for d in truth.demand_list:
        if d.ran is None:
            if not truth.columns & {"alarm", "state"}:
                return False
            continue
        a, b = np.searchsorted(t, [d.ran[0] + 3, d.ran[1] - 1])
        rest = np.searchsorted(t, d.ran[0] - 2) - np.searchsorted(t, last_end + 10)
        if b - a < 2 or rest < 1:
            return False
        last_end = d.ran[1]
    return True


def exactness(facts: dict[str, Any], truth: Truth, frame: pl.DataFrame) -> dict[str, tuple[Any, Any] | None]:
    """Said and true counts, where this log can tell them."""
    told = told_demands(truth, frame)
    pairs: dict[str, tuple[Any, Any] | None] = {
        "demands": (facts["demands"], truth.demands) if told else None,
        "failed_demands": (facts["failed_demands"], truth.failed_demands) if told else None,
        "attempts": (facts["attempts"], truth.attempts) if truth.cadence == "dense" and told else None,
        "runs": (facts["runs"], truth.runs) if told else None,
        "running_h": (facts["running_h"], round(truth.running_h, 4)) if told else None,
        "fuel_used_l": None,
    }
    entry = truth.register.of(truth.set_id)
    tank, shape = entry.tank_litres, entry.tank_shape
    enough = 0.2 if truth.figures["fuel_step"] <= 0.01 else 0.4
    level = "fuel_fraction" in truth.columns and tank is not None and truth.fuel_used_l >= enough * tank
    level = level and truth.kind != "fuel_stuck" and not truth.figures["cut"]
    if (level and shape == "rectangular") or "fuel_flow_lph" in truth.columns:
        pairs["fuel_used_l"] = (facts["fuel_used_l"], round(truth.fuel_used_l, 2))
    return pairs


def is_exact(name: str, pair: tuple[Any, Any]) -> bool:
    """Equal counts; hours within 0.5 %, fuel within 5 %."""
    said, true = pair
    if said is None:
        return False
    share = {"running_h": 0.005, "fuel_used_l": 0.05}.get(name, 0.0)
    return bool(abs(said - true) <= share * max(true, 1e-9) + 1e-9)
