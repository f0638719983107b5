"""Fuel in the tank: litres at 15 C, how they swell with temperature, and what a level sender shows."""

from __future__ import annotations

import numpy as np

from tools.sample_fleet.weather import Floats

_DENSITY = 840.0
_A = 186.9696 / _DENSITY**2 + 0.4862 / _DENSITY  # ASTM D1250-80, table 54B, diesel of 838.5 kg/m3 and more


def swelling(fuel_c: Floats) -> Floats:
    """Volume at `fuel_c` over volume at 15 C."""
    warmer = fuel_c - 15.0
    return np.exp(_A * warmer * (1 + 0.8 * _A * warmer))


def sender(litres_at_15: Floats, fuel_c: Floats, tank_l: float, slosh: Floats, rng: np.random.Generator) -> Floats:
    """Level as a fraction, in steps of 1 %: noise of a third of a step at rest, and `slosh` while running."""
    level = litres_at_15 * swelling(fuel_c) / tank_l
    noisy = level + rng.standard_normal(level.size) * (0.0033 + slosh)
    steps: Floats = np.round(noisy.clip(0.0, 1.0), 2)
    return steps
