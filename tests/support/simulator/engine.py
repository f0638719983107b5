"""Engine, alternator and tank of a set: a thermal network, oil by viscosity, a governor, fuel by load, level by geometry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from tests.support.simulator.climate import Floats

STEP_S = 5.0
KWH_PER_L = 9.89


@dataclass
class Engine:
    """One engine. Heat in kJ/K and kW/K; oil viscosity at 40 and 100 C in cSt; fuel in L/h = idle + slope x kW."""

    rated_kw: float
    idle_lph: float
    slope_lph_kw: float
    block_kj_k: float
    water_kj_k: float
    between_kw_k: float
    block_loss_kw_k: float
    water_loss_kw_k: float
    radiator_kw_k: float
    opens_c: float
    share_to_cooling: float
    oil_hot_kpa: float
    oil_relief_kpa: float
    v40_cst: float
    v100_cst: float
    droop: float
    swing: float
    wobble: float
    canopy_k: float


def walther(v40: float, v100: float, oil_c: Floats | float) -> Floats:
    """Kinematic viscosity in cSt by the Walther line through 40 and 100 C."""

    def w(v: float) -> float:
        return float(np.log10(np.log10(v + 0.7)))

    b = (w(v40) - w(v100)) / (np.log10(373.15) - np.log10(313.15))
    a = w(v40) + b * np.log10(313.15)
    lines = a - b * np.log10(np.asarray(oil_c) + 273.15)
    return np.asarray(np.minimum(10 ** (10**lines), 60000.0) - 0.7)


def lph(engine: Engine, load_kw: Floats, extra: float = 1.0) -> Floats:
    """Litres an hour."""
    return (engine.idle_lph + engine.slope_lph_kw * np.maximum(load_kw, 0.0)) * extra


@dataclass
class Heat:
    """Block and coolant over a run, every STEP_S seconds from firing."""

    at: Floats
    block_c: Floats
    water_c: Floats


def warm(
    engine: Engine,
    rate_lph: Floats,
    air_c: float,
    block_c: float,
    water_c: float,
    *,
    radiator: float,
    thermostat: str,
) -> Heat:
    """Integrate a run. rate_lph: fuel every STEP_S. radiator: share of its transfer left. thermostat: works or open."""
    n = rate_lph.size
    heat = rate_lph * KWH_PER_L * engine.share_to_cooling
    blocks, waters = np.empty(n), np.empty(n)
    valve, target = 0.0, 0.0
    air = air_c
    between, own, water_loss, rad = (
        engine.between_kw_k,
        engine.block_loss_kw_k,
        engine.water_loss_kw_k,
        engine.radiator_kw_k * radiator,
    )
    kb, kw = STEP_S / engine.block_kj_k, STEP_S / engine.water_kj_k
    air_up = engine.canopy_k
    for i in range(n):
        q = float(heat[i])
        air += (air_c + air_up - air) * STEP_S / 240.0
        if thermostat == "open":
            target = 0.6
        else:
            opening = (water_c - engine.opens_c) / 9.0
            # a wax element sticks a little: it follows upwards at once and downwards 1.5 K late
            if opening > target:
                target = min(opening, 1.0)
            elif opening + 0.17 < target:
                target = max(opening + 0.17, 0.0)
        valve += (target - valve) * STEP_S / 25.0
        flow = between * (block_c - water_c)
        block_c += kb * (q - flow - own * (block_c - air))
        water_c += kw * (flow - (water_loss + valve * rad) * (water_c - air))
        blocks[i], waters[i] = block_c, water_c
    return Heat(np.arange(1, n + 1) * STEP_S, blocks, waters)


def cooling(engine: Engine, block_k: float, water_k: float, since_s: Floats) -> tuple[Floats, Floats]:
    """Block and coolant over their surroundings after a stop, in closed form: the coolant first takes the block's heat."""
    b, own, out = engine.between_kw_k * 0.25, engine.block_loss_kw_k, engine.water_loss_kw_k
    m = np.array(
        [
            [-(b + own) / engine.block_kj_k, b / engine.block_kj_k],
            [b / engine.water_kj_k, -(b + out) / engine.water_kj_k],
        ]
    )
    values, vectors = np.linalg.eig(m)
    weights = np.linalg.solve(vectors, np.array([block_k, water_k]))
    modes = np.exp(np.multiply.outer(np.maximum(since_s, 0.0), values)) * weights
    both = modes @ vectors.T
    return both[..., 0].real, both[..., 1].real


def oil_kpa(engine: Engine, oil_c: Floats, speed: Floats, worn: float) -> Floats:
    """Oil pressure once built up: pump against bearing clearance, cut by the relief valve. speed: share of rated."""
    v = walther(engine.v40_cst, engine.v100_cst, oil_c)
    plain = engine.oil_hot_kpa * worn * (v / engine.v100_cst) ** 0.32 * np.maximum(speed, 0.0) ** 0.9
    r = engine.oil_relief_kpa
    return np.asarray(r * np.tanh(plain / r))


def decay(steps: Floats, seconds: float, dt: float) -> Floats:
    """What is left of each change after a governor has answered: a high pass with that time constant."""
    a = np.exp(-dt / seconds)
    return np.asarray(lfilter([a], [1, -a], np.diff(steps, prepend=steps[0])))


def noise(n: int, seconds: float, dt: float, rng: np.random.Generator) -> Floats:
    """Red noise of unit variance."""
    a = np.exp(-dt / seconds)
    return np.asarray(lfilter([np.sqrt(1 - a * a)], [1, -a], rng.standard_normal(n)))


@dataclass
class Tank:
    """A tank and its sender: `step` and `noise` as shares of the height, shape rectangular or horizontal_cylinder."""

    litres: float
    shape: str
    step: float
    noise: float
    slosh: float
    swells: bool = True

    def depth(self, litres_15: Floats, fuel_c: Floats) -> Floats:
        """Level as share of the height, from litres at 15 C; a pressure sender does not see the fuel swell."""
        grow = 1 + (0.00084 * (np.asarray(fuel_c) - 15) if self.swells else 0.0)
        share = np.clip(np.asarray(litres_15) * grow / self.litres, 0.0, 1.0)
        if self.shape != "horizontal_cylinder":
            return share
        h = np.linspace(0.0, 1.0, 401)
        r = 0.5
        v = (r * r * np.arccos((r - h) / r) - (r - h) * np.sqrt(np.maximum(2 * r * h - h * h, 0))) / (np.pi * r * r)
        return np.asarray(np.interp(share, v, h))
