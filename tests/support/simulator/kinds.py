"""The kinds of sets: `healthy`, and one fault each with what it changes, the codes that must be found and those that may follow."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

import numpy as np

from tests.support.simulator.climate import DAY, HOUR
from tests.support.simulator.plan import Ask, Plan
from tests.support.simulator.traits import Condition, Rng, Traits

Changes = dict[str, tuple[float, float, float]]


@dataclass(frozen=True)
class Kind:
    """One fault. `onset`: share of the log at which it begins (low, high). `fit`: what the set must be to show it.

    columns: signals that the log must carry; register: entries that the check stands on; climate: where it can be seen.
    log: a fault of the log itself, worked by logfaults.py.
    """

    name: str
    expected: frozenset[str] = frozenset()
    allowed: frozenset[str] = frozenset()
    changes: Changes = field(default_factory=dict)
    onset: tuple[float, float] = (0.35, 0.6)
    columns: tuple[str, ...] = ()
    register: tuple[str, ...] = ()
    climate: tuple[str, ...] = ()
    fit: Callable[[Traits, Rng], None] | None = None
    plan: Callable[[Traits, Plan, Condition, Rng], None] | None = None
    log: str = ""
    charge: float | None = None
    fill: float | None = None


KINDS: dict[str, Kind] = {}


def kind(name: str, expected: str = "", allowed: str = "", **more: Any) -> None:
    KINDS[name] = Kind(name, frozenset(expected.split()), frozenset(allowed.split()), **more)


TRIPS = "exercise.short exercise.missed care.left_locked_out care.outage_missed"
STARTS = "exercise.short start.failed start.retried start.slow start.late start.reliability start.slow_cranking care.left_locked_out exercise.missed care.outage_missed"
BATTERY = "battery.low_at_rest battery.crank_sag battery.crank_sag_growing battery.flat_forecast battery.charger_lost battery.not_recharged battery.not_charged_by_engine battery.standing_drain"


# --- what a set must be to show a fault --------------------------------------------------------------------


def with_charger(traits: Traits, rng: Rng) -> None:
    if traits.block.charger in {"none", "pulse"}:
        traits.block.charger = "compensated"
    traits.block.drain_a = float(rng.uniform(0.035, 0.055))


def no_charger(traits: Traits, rng: Rng) -> None:
    traits.block.charger, traits.heater_c = "none", None
    traits.block.drain_a = float(rng.uniform(0.006, 0.012))
    traits.exercise_days, traits.exercise_min = 7.0, max(traits.exercise_min, 20.0)


def glows(traits: Traits, rng: Rng) -> None:
    traits.direct, traits.glow_a, traits.preheat_s, traits.preheat_follows = False, 42.0, 10.0, False
    traits.heater_c, traits.exercise_days = None, 7.0


def pickup(traits: Traits, rng: Rng) -> None:
    traits.crank_speed_seen, traits.exercise_days = True, 7.0


def weekly(traits: Traits, rng: Rng) -> None:
    traits.exercise_days = 7.0


def weekly_charged(traits: Traits, rng: Rng) -> None:
    with_charger(traits, rng)
    weekly(traits, rng)


def loaded(traits: Traits, rng: Rng) -> None:
    traits.exercise_days, traits.exercise_min, traits.exercise_load = (
        7.0,
        max(traits.exercise_min, 20.0),
        float(rng.uniform(0.4, 0.6)),
    )


def loaded_long(traits: Traits, rng: Rng) -> None:
    loaded(traits, rng)
    traits.exercise_min, traits.cool_down_s, traits.heater_c = 45.0, 60.0, None
    traits.engine.opens_c = 82.0


def water_cooled(traits: Traits, rng: Rng) -> None:
    loaded(traits, rng)
    traits.air_cooled = False
    traits.exercise_min, traits.exercise_load, traits.outages_month = 60.0, float(rng.uniform(0.6, 0.75)), 2.5


def outages(traits: Traits, rng: Rng) -> None:
    traits.outages_month = 2.5


def gusty(traits: Traits, rng: Rng) -> None:
    loaded(traits, rng)
    traits.isochronous = False


def small_tank(traits: Traits, rng: Rng) -> None:
    loaded(traits, rng)
    traits.outages_month, traits.tank.shape = 2.5, "rectangular"
    traits.tank.litres = max(40.0, 0.5 * traits.tank.litres)


def used_much(traits: Traits, rng: Rng) -> None:
    loaded(traits, rng)
    traits.exercise_min, traits.exercise_load = 60.0, 0.6
    traits.tank.shape = "rectangular"
    traits.tank.step = min(traits.tank.step, 0.01)
    traits.tank.litres = max(40.0, 0.5 * traits.tank.litres)


def calm_tank(traits: Traits, rng: Rng) -> None:
    traits.tank.shape, traits.tank.noise = "rectangular", min(traits.tank.noise, 0.002)
    traits.refuel_below = 0.5
    traits.outages_month = 0.0


# --- what a fault does to the plan -------------------------------------------------------------------------


def _exercises_after(plan: Plan, condition: Condition) -> list[Ask]:
    return [ask for ask in plan.asks if ask.cause == "exercise" and ask.at >= condition.onset_s]


def stop_exercises(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    gone = {id(ask) for ask in _exercises_after(plan, condition)}
    plan.asks = [
        ask for ask in plan.asks if id(ask) not in gone and not (ask.cause == "manual" and ask.at > condition.onset_s)
    ]
    plan.modes = [m for m in plan.modes if m[0] < condition.onset_s]


def move_exercises(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    by = float(rng.choice([-1, 1])) * float(rng.uniform(3.5, 6)) * HOUR + float(rng.integers(1, 3)) * DAY
    spans = list(plan.mains_off)
    for ask in _exercises_after(plan, condition):
        ask.at += by
    plan.asks = [a for a in plan.asks if a.cause != "exercise" or not any(x - 4000 < a.at < y + 900 for x, y in spans)]
    plan.modes = [m for m in plan.modes if m[0] < condition.onset_s]
    plan.asks = [a for a in plan.asks if a.cause != "manual" or a.at < condition.onset_s]


def shorten_exercises(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    for ask in _exercises_after(plan, condition):
        ask.minutes = max(3.0, 0.3 * ask.minutes)


def leave_off(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    until = traits.days * DAY if rng.random() < 0.6 else condition.onset_s + float(rng.uniform(5, 15)) * DAY
    began = condition.onset_s
    for x, y in plan.mains_off:
        if x - HOUR < began < y + 2 * HOUR:
            began = y + 2 * HOUR
    plan.modes = [m for m in plan.modes if m[1] < began] + [(began, until, str(rng.choice(["off", "manual"])))]
    plan.asks = [a for a in plan.asks if not began - 600 <= a.at < until]


def miss_outages(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    for _ in range(2):
        at = float(rng.uniform(condition.onset_s, traits.days * DAY - 2 * DAY))
        if any(x - 3 * HOUR < at < y + 3 * HOUR for x, y in plan.mains_off):
            continue
        plan.mains_off.append((at, at + float(rng.uniform(1.5, 5)) * HOUR))
    plan.mains_off.sort()
    late = [s for s in plan.mains_off if s[0] >= condition.onset_s and s[1] - s[0] > 60]
    plan.asks = [a for a in plan.asks if not any(x - 60 <= a.at <= y + 600 for x, y in late)]


def lasting_outage(traits: Traits, plan: Plan, condition: Condition, rng: Rng, hours: float = 6.0) -> None:
    """An outage some days after the onset, so that the fault meets load."""
    at = condition.onset_s + float(rng.uniform(2, 6)) * DAY
    plan.mains_off = [s for s in plan.mains_off if s[1] < at - 5 * HOUR or s[0] > at + (hours + 5) * HOUR]
    plan.asks = [a for a in plan.asks if not at - 5 * HOUR < a.at < at + (hours + 5) * HOUR]
    plan.modes = [m for m in plan.modes if not at - 6 * HOUR < m[0] < at + (hours + 6) * HOUR]
    plan.mains_off = sorted([*plan.mains_off, (at, at + hours * HOUR)])
    more = (traits.retransfer_s + traits.cool_down_s - traits.start_delay_s) / 60
    plan.asks.append(Ask(at + traits.start_delay_s, "outage", hours * 60 + more, max(traits.base_load, 0.35)))
    plan.asks.sort(key=lambda a: a.at)


def dry_outage(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    lasting_outage(traits, plan, condition, rng, 40.0)


def scale_losses(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    """A leak of half a per cent of the tank a day, or a third of the tank taken at once."""
    for name, share in (
        ("leak_l_day", float(rng.uniform(0.004, 0.007))),
        ("theft_l", float(rng.uniform(0.25, 0.35))),
    ):
        if name in condition.changes:
            condition.changes[name] = (0.0, share * traits.tank.litres, 0.0)


def cut_stops(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    """Whoever exercises the set pulls the controller's supply instead of stopping it."""
    for ask in _exercises_after(plan, condition):
        ask.unplanned = "power_cut"


def long_rests(traits: Traits, plan: Plan, condition: Condition, rng: Rng) -> None:
    """Exercise every 14 days, with a run by hand a day or two after each second one: rests of both lengths."""
    for ask in [a for a in plan.asks if a.cause == "exercise"]:
        at = ask.at + float(rng.uniform(20, 44)) * HOUR
        if not any(x - 2 * HOUR < at < y + 2 * HOUR for x, y in plan.mains_off) and at < traits.days * DAY - HOUR:
            plan.modes.append((at - 300, at + 1500, "manual"))
            plan.asks.append(Ask(at, "manual", 12.0, 0.0, "manual", transfers=False))
    plan.asks = [
        a for a in plan.asks if a.cause in {"exercise", "outage"} or any(abs(m[0] + 300 - a.at) < 1 for m in plan.modes)
    ]
    plan.asks.sort(key=lambda a: a.at)


def onset_day(traits: Traits, share: float) -> float:
    """The instant of the onset: an early afternoon."""
    day = traits.first_day + timedelta(days=int(share * traits.days))
    return traits.local(day, 13.2 * 60)


def onset_of(kind: Kind, traits: Traits, rng: Rng) -> float:
    if not kind.changes and kind.plan is None and not kind.log:
        return float(np.inf)
    return onset_day(traits, float(rng.uniform(*kind.onset)))
