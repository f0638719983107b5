"""The starting battery and what charges it, as a 12 V flooded battery of 75 Ah; a 24 V set has two in series.

A larger battery goes with a larger starter, so volts under load stay alike: resistance and current scale
against each other and are left at the 75 Ah figures.
"""

from __future__ import annotations

import numpy as np

from tools.sample_fleet.weather import Floats

_OPEN_CIRCUIT_V = ((0.0, 11.89), (0.25, 12.06), (0.5, 12.24), (0.75, 12.45), (1.0, 12.65))
SURFACE_S = 1.2 * 3600.0
_CABLE_OHM = 0.0018
_INNER_OHM = 0.0055
_PREHEAT_A = 42.0
_BREAKAWAY_V = 5.0
_NOMINAL_CRANK_V = 10.9
_NOMINAL_CRANK_RPM = 230.0
LEAST_FIRING_RPM = 104.0


def open_circuit_v(charge: Floats | float) -> Floats:
    """Volts at rest, surface charge gone, for a state of charge of 0 to 1."""
    shares, volts = zip(*_OPEN_CIRCUIT_V, strict=True)
    return np.asarray(np.interp(charge, shares, volts))


def float_v(battery_c: Floats | float) -> Floats:
    """Volts on the float charger: 13.65 V at 25 C, -18 mV a degree, held at 14.1 V in hard frost."""
    return np.clip(13.65 - 0.018 * (np.asarray(battery_c) - 25.0), 13.3, 14.1)


def alternator_v(battery_c: Floats | float) -> Floats:
    """Volts at the terminals while the engine's alternator charges."""
    return np.clip(14.2 - 0.006 * (np.asarray(battery_c) - 20.0), 14.0, 14.4)


def resistance_ohm(battery_c: float, charge: float, age: float) -> float:
    """Battery and cables. `age` 1 is new; cold and a low charge raise it."""
    return _INNER_OHM * age * (1 + 0.013 * (25.0 - battery_c)) * (1 + 1.2 * (1 - charge) ** 2) + _CABLE_OHM


def preheat_v(battery_c: float, charge: float, age: float, seconds: Floats, before_v: float) -> Floats:
    """Volts while the glow plugs draw current: what was above open circuit fades within seconds."""
    rest = float(open_circuit_v(charge))
    above = max(0.0, before_v - rest) * 0.45 * np.exp(-seconds / 8.0)
    plugs = 1.0 + 0.25 * np.exp(-seconds / 2.0)  # cold plugs draw more at first
    return rest + above - _PREHEAT_A * plugs * (resistance_ohm(battery_c, charge, age) + 0.004)


def crank_v(battery_c: float, charge: float, age: float) -> float:
    """Volts while the starter turns the engine, from half a second after engagement."""
    amperes = 230.0 * (1 + 0.008 * np.clip(20.0 - battery_c, -10.0, 50.0))
    return float(open_circuit_v(charge)) - float(amperes) * resistance_ohm(battery_c, charge, age)


def crank_rpm(volts: float, engine_c: float) -> float:
    """Cranking speed: less with weak volts, and with thick oil."""
    stiff = 1 + 0.012 * float(np.clip(20.0 - engine_c, 0.0, 50.0))
    return _NOMINAL_CRANK_RPM * max(0.0, volts - _BREAKAWAY_V) / (_NOMINAL_CRANK_V - _BREAKAWAY_V) / stiff


def crank_s(engine_c: float, rpm: float, healthy_rpm: float) -> float:
    """Seconds to firing: about 1.6 warm, 4 to 5 in hard frost, longer when the starter turns too slowly."""
    weak = max(1.0, healthy_rpm / rpm)
    return (1.6 + 0.085 * float(np.clip(20.0 - engine_c, -4.0, 50.0))) * weak * float(np.sqrt(weak))


def drained(charge: float, seconds: float, battery_ah: float, drain_a: float) -> float:
    """Charge after standing without charger: the controller's own draw and 4 % self-discharge a month."""
    hours = seconds / 3600.0
    return max(0.0, charge - drain_a * hours / battery_ah - 0.04 * hours / 720.0)


def recharged(charge: float, seconds: float) -> float:
    """Charge after a run: an old lead battery takes a quarter of what it lacks in an hour, no more."""
    return 1.0 - (1.0 - charge) * float(np.exp(-0.25 * seconds / 3600.0))
