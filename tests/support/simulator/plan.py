"""What is asked of a set over half a year: exercises, outages, visits by a technician, runs by hand; all by its seed."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np

from tests.support.simulator.climate import DAY, HOUR
from tests.support.simulator.traits import Rng, Traits


@dataclass
class Ask:
    """One demand. `at`: when the set is asked. `minutes`: until the stop is asked for. `load`: share of rated, 0 = none."""

    at: float
    cause: str  # exercise, outage, manual
    minutes: float
    load: float
    mode: str = "automatic"
    transfers: bool = True
    unplanned: str = ""


@dataclass
class Plan:
    """Asks in order, spans without mains, spans of the mode selector (else automatic), refuels by a technician."""

    asks: list[Ask] = field(default_factory=list)
    mains_off: list[tuple[float, float]] = field(default_factory=list)
    modes: list[tuple[float, float, str]] = field(default_factory=list)
    visits: list[float] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def make_plan(traits: Traits, rng: Rng) -> Plan:
    """A healthy half year, with the innocent events that look like faults."""
    plan = Plan()
    end = traits.days * DAY
    _outages(traits, plan, rng, end)
    _visits(traits, plan, rng, end)
    _exercises(traits, plan, rng, end)
    plan.asks.sort(key=lambda ask: ask.at)
    return plan


def _busy(plan: Plan, a: float, b: float, margin: float = HOUR) -> bool:
    spans = list(plan.mains_off) + [(m[0], m[1]) for m in plan.modes]
    spans += [(ask.at, ask.at + ask.minutes * 60 + 900) for ask in plan.asks]
    return any(a < y + margin and b > x - margin for x, y in spans)


def _outages(traits: Traits, plan: Plan, rng: Rng, end: float) -> None:
    count = int(rng.poisson(traits.outages_month * traits.days / 30.0))
    for _ in range(count):
        at = float(rng.uniform(DAY, end - 14 * HOUR))
        minutes = float(np.clip(rng.lognormal(np.log(45), 1.2), 4, 720))
        if _busy(plan, at, at + minutes * 60, 5 * HOUR):
            continue
        plan.mains_off.append((at, at + minutes * 60))
        load = traits.base_load * float(rng.uniform(0.8, 1.2))
        total = minutes + (traits.retransfer_s + traits.cool_down_s - traits.start_delay_s) / 60
        plan.asks.append(Ask(at + traits.start_delay_s, "outage", total, load))
    # brown-outs too short for the set to be asked
    for _ in range(int(rng.poisson(2))):
        at = float(rng.uniform(DAY, end - DAY))
        if not _busy(plan, at, at + 5):
            plan.mains_off.append((at, at + float(rng.uniform(0.3, 0.9)) * min(traits.start_delay_s, 3.0)))
    plan.mains_off.sort()


def _visits(traits: Traits, plan: Plan, rng: Rng, end: float) -> None:
    """A technician's hour: off for a while, one or two runs by hand, sometimes stopped and restarted within seconds."""
    for _ in range(int(rng.integers(1, 4))):
        day = traits.first_day + timedelta(days=int(rng.integers(5, max(6, int(traits.days) - 4))))
        began = traits.local(day, float(rng.uniform(8.5, 15) * 60))
        ended = began + float(rng.uniform(0.6, 1.6)) * HOUR
        if _busy(plan, began, ended, 4 * HOUR) or ended > end - DAY:
            continue
        plan.visits.append(ended)
        off = began + float(rng.uniform(0.1, 0.4)) * (ended - began)
        if rng.random() < 0.6:
            plan.modes.append((began, off, "off"))
        plan.modes.append((off if rng.random() < 0.6 else began, ended, "manual"))
        if plan.modes[-1][0] == began and len(plan.modes) > 1 and plan.modes[-2][0] == began:
            plan.modes[-1] = (off, ended, "manual")
        at = max(off, plan.modes[-1][0]) + 60
        minutes = float(rng.uniform(3, 12))
        plan.asks.append(Ask(at, "manual", minutes, 0.0, "manual", transfers=False))
        if rng.random() < 0.4:
            again = at + minutes * 60 + float(rng.uniform(25, 90))
            if again + 300 < ended:
                plan.asks.append(Ask(again, "manual", 3.0, 0.0, "manual", transfers=False))
                plan.notes.append("restarted by hand")


def _exercises(traits: Traits, plan: Plan, rng: Rng, end: float) -> None:
    first = traits.first_day
    day = first + timedelta(
        days=(traits.exercise_weekday - first.weekday()) % 7
        + (7 if traits.exercise_days > 7 and rng.random() < 0.5 else 0)
    )
    moved = int(rng.integers(2, 40)) if rng.random() < 0.25 else -1
    n = 0
    while True:
        at = traits.local(day, traits.exercise_minute) + float(rng.uniform(0, 1.5))
        if n == moved:
            at += float(rng.choice([-1, 1])) * DAY
            plan.notes.append("one exercise moved by a day")
        if at + traits.exercise_min * 60 + 600 > end:
            break
        day += timedelta(days=traits.exercise_days)
        n += 1
        if at < 2 * HOUR:
            continue
        length = traits.exercise_min * 60 + 60
        if _busy(plan, at, at + length, 60.0) and any(a - 900 < at < b + 900 for a, b in plan.mains_off if b - a > 60):
            plan.notes.append("an outage stood for an exercise")
            continue
        blocked = [m[1] for m in plan.modes if m[0] - length - 600 < at < m[1] + 60]
        if blocked:
            at = max(blocked) + 1800.0  # the technician lets it run after the visit
        plan.asks.append(
            Ask(
                at,
                "exercise",
                traits.exercise_min,
                traits.exercise_load,
                traits.exercise_mode,
                transfers=traits.exercise_load > 0,
            )
        )
