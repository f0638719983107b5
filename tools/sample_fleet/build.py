"""Puts the sample fleet's files on disk, and the truth about it that the tests are held to."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from tools.sample_fleet import layouts, readings
from tools.sample_fleet.specs import FLEET, Spec
from tools.sample_fleet.story import Demand, Story, tell


def simulate(spec: Spec) -> tuple[Story, readings.Readings]:
    """One set's story and readings, from its own seed."""
    rng = np.random.default_rng(spec.seed)
    story = tell(spec, rng)
    return story, readings.take(story, rng)


def build(out: Path, truth: Path | None = None) -> list[Path]:
    """Write all files to `out` and, where asked, the truth as JSON. Returns the logs written."""
    out.mkdir(parents=True, exist_ok=True)
    written, told = [], {}
    for spec in FLEET:
        story, taken = simulate(spec)
        layout = layouts.LAYOUTS[spec.set_id]
        path = out / layout.file
        path.write_bytes(layouts.write(layout, spec, taken))
        written.append(path)
        told[spec.set_id] = {"file": layout.file} | truth_of(story, taken)
    if truth is not None:
        truth.write_text(json.dumps(told, indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
    return written


def truth_of(story: Story, taken: readings.Readings) -> dict[str, Any]:
    """What really happened within the log. Attempts only where the rows are dense enough to count them."""
    spec = story.spec
    runs = [d for d in story.demands if d.trace is not None]
    return {
        "site": spec.site,
        "healthy": spec.healthy,
        "expected": [{"code": code, "from": began, "to": ended} for code, began, ended in spec.expected],
        "allowed_with_it": list(spec.allowed),
        "rows": int(taken.at.size),
        "from": _utc(float(taken.at[0])),
        "to": _utc(float(taken.at[-1])),
        "demands": len(story.demands),
        "failed_demands": sum(d.trace is None for d in story.demands),
        "attempts": sum(len(d.attempts) for d in story.demands) if spec.fast_s == 1 else None,
        "runs": len(runs),
        "running_h": round(sum(d.stop_at - d.fired_at for d in runs) / 3600, 3),
        "fuel_used_l": round(story.burnt[-1][1], 2),
        "fuel_leaked_l": round(float(story.leaked(story.last_s)), 2),
        "refuels": len(spec.refuels),
        "mains_outages": len(story.mains_off),
        "no_value_cells": int(taken.no_value.sum()),
        "demand_list": [_demand(d, dense=spec.fast_s == 1) for d in story.demands],
    }


def _demand(demand: Demand, *, dense: bool) -> dict[str, Any]:
    ran = demand.trace is not None
    return {
        "cause": demand.cause,
        "asked_at": _utc(demand.asked_at),
        "attempts": len(demand.attempts) if dense else None,
        "crank_s": round(sum(a.crank_end - a.crank_at for a in demand.attempts), 2),
        "running_from": _utc(demand.fired_at) if ran else None,
        "running_to": _utc(demand.stop_at) if ran else None,
        "ended_by": demand.ended_by or None,
        "coolant_max_c": round(float(demand.trace.coolant_c.max()), 1) if demand.trace is not None else None,
        "fuel_used_l": round(float(demand.trace.burnt_l[-1]), 3) if demand.trace is not None else 0.0,
    }


def _utc(t: float) -> str:
    return datetime.fromtimestamp(round(t, 1), UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
