"""From the story to signals: what a logger would have measured at its instants."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tools.sample_fleet import battery, engine, tank
from tools.sample_fleet.story import PAUSE_S, Demand, Story, instant
from tools.sample_fleet.weather import Floats

BEFORE_S = 30.0
AFTER_S = 75.0
INRUSH_S = 0.2
AFTER_FAILURE_V = 11.0
NO_VALUE_KEY = "oil_kpa"


@dataclass(frozen=True, slots=True)
class Readings:
    """n rows: `at` in seconds since 1970 UTC, ascending; numbers and words by key.

    `no_value` marks the cells of NO_VALUE_KEY that were lost.
    """

    at: NDArray[np.int64]
    numbers: dict[str, Floats]
    words: dict[str, NDArray[np.str_]]
    no_value: NDArray[np.bool_]


def take(story: Story, rng: np.random.Generator) -> Readings:
    """Measure everything at the logger's instants."""
    spec = story.spec
    at = _instants(story)
    t = at.astype(np.float64)
    n = t.size
    room = story.weather.room(t)
    numbers = {
        "ambient_c": story.weather.ambient(t) + 0.15 * rng.standard_normal(n),
        "coolant_c": room.copy(),
        "battery_v": _resting_v(story, t),
        "speed_rpm": np.zeros(n),
        "oil_kpa": np.zeros(n),
        "power_kw": np.zeros(n),
        "frequency_hz": np.zeros(n),
    }
    phases = [f"voltage_l{i}_v" for i in range(1, spec.phases + 1)]
    numbers |= {phase: np.zeros(n) for phase in phases}
    running = np.zeros(n, dtype=bool)
    for i, demand in enumerate(story.demands):
        until = story.demands[i + 1].asked_at if i + 1 < len(story.demands) else np.inf
        rows = slice(*np.searchsorted(t, [demand.asked_at, until]))
        _crank(story, demand, t[rows], {k: v[rows] for k, v in numbers.items()}, rng)
        if demand.trace is not None:
            _run(story, demand, t[rows], {k: v[rows] for k, v in numbers.items()}, rng)
            running[rows] = (t[rows] >= demand.fired_at) & (t[rows] < demand.stop_at)
    numbers["battery_v"] = (numbers["battery_v"] + 0.012 * rng.standard_normal(n)) * (spec.battery_v / 12)
    numbers["coolant_c"] += 0.15 * rng.standard_normal(n)
    numbers["oil_kpa"] = np.clip(numbers["oil_kpa"], 0.0, None)
    numbers["power_kw"] = np.clip(numbers["power_kw"], 0.0, None)
    slosh = np.where(running, 0.006, 0.0)
    numbers["fuel_fraction"] = tank.sender(story.litres(t), story.weather.tank(t), spec.tank_l, slosh, rng)
    numbers["fuel_l"] = numbers["fuel_fraction"] * spec.tank_l
    hours_at, hours = zip(*story.hours, strict=True)
    numbers["hour_meter_h"] = np.floor(np.interp(t, hours_at, hours) * 10 + 1e-6) / 10
    fired = np.array([d.fired_at for d in story.demands if d.trace is not None])
    numbers["starts_counter"] = spec.starts_first + np.searchsorted(fired, t, side="right").astype(np.float64)
    off = _within(t, story.mains_off)
    numbers["mains_v"] = np.where(off, 0.0, 230.0 + 1.6 * np.sin(t / 9000.0) + 0.8 * rng.standard_normal(n))
    words = {
        "mode": _words(t, story.modes, "Auto"),
        "alarm": _words(t, story.alarms, ""),
        "mains": np.where(off, "no", "yes"),
    }
    return Readings(at, numbers, words, rng.uniform(size=n) < spec.no_value_share)


def _instants(story: Story) -> NDArray[np.int64]:
    """The logger's instants: rows at rest, quicker while running, quickest around starts and stops."""
    spec = story.spec
    parts = [np.arange(story.first_s, story.last_s, spec.rest_s)]
    for demand in story.demands:
        if spec.fast_s == spec.rest_s:
            break
        parts.append(np.arange(np.ceil(demand.asked_at - BEFORE_S), demand.fired_at + AFTER_S, spec.fast_s))
        if demand.trace is not None:
            parts.append(np.arange(np.ceil(demand.fired_at), demand.stop_at, spec.run_s))
            parts.append(np.arange(np.ceil(demand.stop_at - 15.0), demand.stop_at + AFTER_S, spec.fast_s))
    at = np.unique(np.concatenate(parts).astype(np.int64))
    off = [(instant(began, spec.zone), instant(ended, spec.zone)) for began, ended in spec.logger_off]
    return at[(at < story.last_s) & ~_within(at.astype(np.float64), off)]


def _within(t: Floats, spans: list[tuple[float, float]]) -> NDArray[np.bool_]:
    inside = np.zeros(t.size, dtype=bool)
    for began, ended in spans:
        inside |= (t >= began) & (t < ended)
    return inside


def _words(t: Floats, spans: list[tuple[float, float, str]], else_: str) -> NDArray[np.str_]:
    words = np.full(t.size, else_, dtype="<U40")
    for began, ended, word in spans:
        words[(t >= began) & (t < ended)] = word
    return words


def _resting_v(story: Story, t: Floats) -> Floats:
    """Volts at rest of a 12 V battery, span by span: on float, or falling towards open circuit."""
    since = [(story.first_s, float(battery.float_v(story.weather.room(story.first_s))))]
    for demand in story.demands:
        after = (
            float(battery.alternator_v(story.weather.room(demand.stop_at)))
            if demand.trace is not None
            else AFTER_FAILURE_V
        )
        since.append((demand.quiet_at, after))
    switches = [edge for span in story.mains_off for edge in span]
    if story.spec.charger_dies:
        switches.append(instant(story.spec.charger_dies, story.spec.zone))
    busy = [(d.asked_at, d.quiet_at) for d in story.demands]
    edges = since + [(s, np.nan) for s in switches if not any(b <= s < q for b, q in busy)]
    edges.sort(key=lambda edge: edge[0])
    charge_at, charge = (np.array(side) for side in zip(*story.charge, strict=True))
    volts = np.empty(t.size)
    last_v = edges[0][1]
    for i, (began, start_v) in enumerate(edges):
        until = edges[i + 1][0] if i + 1 < len(edges) else np.inf
        rows = slice(*np.searchsorted(t, [began, until]))
        x = np.append(t[rows], min(until, story.last_s))  # the last one only hands its volts on to the next span
        start = last_v if np.isnan(start_v) else start_v
        room = story.weather.room(x)
        if story.charger_on(began):
            target = battery.float_v(room)
            fades = np.exp(-(x - began) / (1200.0 if start > target[0] else 600.0))
            now = target + (start - target[0]) * fades
        else:
            target = battery.open_circuit_v(np.interp(x, charge_at, charge))
            above = start - target[0]
            slow = min(max(above, 0.0), 0.6)
            now = (
                target
                + slow * np.exp(-(x - began) / battery.SURFACE_S)
                + (above - slow) * np.exp(-(x - began) / (70.0 if above > 0 else 20.0))
            )
        volts[rows], last_v = now[:-1], float(now[-1])
    return volts


def _crank(story: Story, demand: Demand, t: Floats, rows: dict[str, Floats], rng: np.random.Generator) -> None:
    """Preheat, cranks and the pauses between them, written into the rows of a demand."""
    spec = story.spec
    battery_c = float(story.weather.room(demand.asked_at))
    charge_at, charge = zip(*story.charge, strict=True)
    left = float(np.interp(demand.asked_at, charge_at, charge))
    before_v = float(_resting_v(story, np.array([demand.asked_at - 0.5]))[0])
    cold = t < demand.fired_at
    rows["coolant_c"][cold] = story.resting_coolant(np.append(demand.asked_at, t[cold]))[1:]
    for attempt in demand.attempts:
        heating = (t >= attempt.preheat_at) & (t < attempt.crank_at)
        rows["battery_v"][heating] = battery.preheat_v(
            battery_c, left, spec.battery_age, t[heating] - attempt.preheat_at, before_v
        )
        turning = (t >= attempt.crank_at) & (t < attempt.crank_end)
        since = t[turning] - attempt.crank_at
        ripple = 0.16 * rng.standard_normal(since.size)
        inrush = np.where(since < INRUSH_S, -2.6, 0.0)
        rows["battery_v"][turning] = attempt.volts + ripple + inrush
        rows["speed_rpm"][turning] = (
            attempt.rpm * np.clip(since / 0.3, 0.0, 1.0) * (1 + 0.04 * rng.standard_normal(since.size))
        )
        rows["oil_kpa"][turning] = 12.0 * np.clip(since / 2.0, 0.0, 1.5)
        before_v = attempt.volts + 0.5
        if attempt is not demand.attempts[-1]:
            pause = (t >= attempt.crank_end) & (t < attempt.crank_end + PAUSE_S)
            rest = float(battery.open_circuit_v(left))
            recovers = 0.35 * np.exp(-(t[pause] - attempt.crank_end) / 3.0)
            rows["battery_v"][pause] = rest - (rest - attempt.volts) * recovers


def _run(story: Story, demand: Demand, t: Floats, rows: dict[str, Floats], rng: np.random.Generator) -> None:
    """The run, the run-down and the coolant after it, written into the rows of a demand."""
    spec, trace = story.spec, demand.trace
    assert trace is not None
    room_c = float(story.weather.room(demand.fired_at))
    on = (t >= demand.fired_at) & (t < demand.stop_at)
    x = t[on] - demand.fired_at
    seconds = np.arange(trace.load_kw.size, dtype=np.float64)
    load = trace.load_kw[np.clip(np.floor(x).astype(np.int64), 0, trace.load_kw.size - 1)]
    coolant = np.interp(x, seconds, trace.coolant_c)
    speed = engine.speed_running(spec.engine, x, load, demand.attempts[-1].rpm, rng)
    charging = float(battery.alternator_v(room_c))
    rows["battery_v"][on] = charging - (charging - 12.5) * np.exp(-x / 2.5)
    rows["coolant_c"][on] = coolant
    rows["oil_kpa"][on] = engine.oil_kpa(spec.engine, speed, x, coolant, rng)
    rows["power_kw"][on] = load * (1 + 0.004 * rng.standard_normal(x.size))
    stopping = (t >= demand.stop_at) & (t < demand.stop_at + 12.0)
    down = t[stopping] - demand.stop_at
    slowing = engine.speed_stopping(spec.engine.rated_rpm * (1 + spec.engine.droop), down)
    rows["oil_kpa"][stopping] = 0.9 * spec.engine.oil_warm_kpa * (slowing / spec.engine.rated_rpm) ** 1.2
    turns = on | stopping
    rows["speed_rpm"][turns] = np.concatenate([speed, slowing])
    kw = np.concatenate([load, np.zeros(down.size)])
    for i, phase in enumerate(key for key in rows if key.startswith("voltage_")):
        volts, hertz = engine.output(spec.engine, rows["speed_rpm"][turns], kw, rng)
        rows[phase][turns] = volts * (1 + (0.0, -0.004, 0.003)[i])
        rows["frequency_hz"][turns] = hertz
    after = t >= demand.stop_at
    rows["coolant_c"][after] = engine.coolant_resting(
        spec.engine, t[after] - demand.stop_at, float(trace.coolant_c[-1]), story.weather.room(t[after])
    )
