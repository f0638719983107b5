"""The running set second by second: warming up, thermostat, radiator, oil, governor, voltage, fuel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tools.sample_fleet.weather import Floats

DIESEL_KWH_L = 9.89
TO_COOLANT = 0.28
SOAK_S = 600.0
RUNDOWN_S = 2.5


@dataclass(frozen=True, slots=True)
class Engine:
    """Figures of one set. Heat capacity in kJ/K, heat transfer in kW/K, fuel in L/h = idle + slope * kW."""

    rated_kw: float
    rated_rpm: float
    rated_hz: float
    rated_v: float
    droop: float = 0.035
    idle_lph: float = 0.9
    lph_per_kw: float = 0.26
    heat_kj_k: float = 95.0
    shut_kw_k: float = 0.022
    radiator_kw_k: float = 0.21
    cooling_h: float = 3.2
    oil_warm_kpa: float = 300.0
    oil_cold_kpa: float = 430.0


@dataclass(frozen=True, slots=True)
class Trace:
    """One run, n values each, one a second from firing: load in kW, coolant in C, fuel burnt so far in L."""

    load_kw: Floats
    coolant_c: Floats
    burnt_l: Floats


def fuel_lph(engine: Engine, load_kw: Floats) -> Floats:
    """Litres an hour at that load."""
    return np.asarray(engine.idle_lph + engine.lph_per_kw * load_kw)


def run(engine: Engine, load_kw: Floats, ambient_c: float, start_c: float, radiator: float, stop_at_c: float) -> Trace:
    """Integrate a run, one step a second. `radiator`: share of its heat transfer that is left (1 = clean).

    The thermostat opens from 82 to 90 C. The run is cut off where the coolant reaches `stop_at_c`.
    """
    rate = fuel_lph(engine, load_kw)
    heat_kw = rate * DIESEL_KWH_L * TO_COOLANT
    coolant = np.empty(load_kw.size)
    now, end = start_c, load_kw.size
    for i, heat in enumerate(heat_kw):
        opening = min(max((now - 82.0) / 8.0, 0.0), 1.0)
        transfer = engine.shut_kw_k + opening * (engine.radiator_kw_k * radiator - engine.shut_kw_k)
        now += (heat - transfer * (now - ambient_c)) / engine.heat_kj_k
        coolant[i] = now
        if now >= stop_at_c:
            end = i + 1
            break
    return Trace(load_kw[:end], coolant[:end], np.cumsum(rate[:end]) / 3600.0)


def speed_running(
    engine: Engine, seconds: Floats, load_kw: Floats, crank_rpm: float, rng: np.random.Generator
) -> Floats:
    """Speed from firing on: run-up within some 5 s, then the mechanical governor's droop line and wander."""
    line = engine.rated_rpm * (1 + engine.droop * (1 - load_kw / engine.rated_kw))
    rise = 1 - np.exp(-seconds / 1.2)
    swing = 0.015 * engine.rated_rpm * np.exp(-(((seconds - 5.0) / 1.5) ** 2))
    wander = engine.rated_rpm * 0.0012 * rng.standard_normal(seconds.size)
    return np.asarray(crank_rpm + (line - crank_rpm) * rise + swing + wander)


def speed_stopping(from_rpm: float, seconds: Floats) -> Floats:
    """Speed after the stop command: the set runs down in some 8 s."""
    speed = from_rpm * np.exp(-seconds / RUNDOWN_S)
    return np.where(speed < 60.0, 0.0, speed)


def output(engine: Engine, rpm: Floats, load_kw: Floats, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Voltage and frequency. Voltage builds up from 55 % of rated speed; without it frequency reads 0."""
    share = rpm / engine.rated_rpm
    built = np.clip((share - 0.55) / 0.3, 0.0, 1.0)
    regulated = 1.004 - 0.006 * load_kw / engine.rated_kw + 0.0012 * rng.standard_normal(rpm.size)
    volts = engine.rated_v * built * regulated
    return volts, np.where(volts > 0.1 * engine.rated_v, engine.rated_hz * share, 0.0)


def oil_kpa(engine: Engine, rpm: Floats, seconds: Floats, coolant_c: Floats, rng: np.random.Generator) -> Floats:
    """Oil pressure from firing on: built within some 3 s, high with cold oil, falling as it warms."""
    cold = np.clip((75.0 - coolant_c) / 75.0, 0.0, 1.15)
    full = engine.oil_warm_kpa + (engine.oil_cold_kpa - engine.oil_warm_kpa) * cold
    built = 1 - np.exp(-np.clip(seconds - 0.6, 0.0, None) / 0.9)
    turning = np.clip(rpm / engine.rated_rpm, 0.0, 1.1)
    return np.asarray(full * built * turning + 3.0 * rng.standard_normal(rpm.size))


def coolant_resting(engine: Engine, seconds: Floats, end_c: float, room_c: Floats) -> Floats:
    """Coolant after a stop: up for ten minutes while the block gives off its heat, then down over hours."""
    excess = end_c - room_c
    soak = 11.0 * np.clip(excess / 65.0, 0.0, 1.2) * (seconds / SOAK_S) * np.exp(1 - seconds / SOAK_S)
    return np.asarray(room_c + excess * np.exp(-seconds / (engine.cooling_h * 3600.0)) + soak)
