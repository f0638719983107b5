"""A lead battery with its charger and starter, per 12 V block: charge counted in ampere hours, volts from acid density.

Open circuit: six cells of (density + 0.845) V. Under load: resistance, and polarisation with two time constants. The
starter is a series machine: current = (open circuit - back EMF) / resistance, torque from compression and cold oil.
All figures are invented within what small sets show; they prove no value.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.support.simulator.climate import HOUR, Floats, Weather

FAST_S, SLOW_S = 150.0, 2.4 * HOUR
MOTOR_OHM, CABLE_OHM = 0.0068, 0.0008
CRANK_A, OIL_A, CRANK_RPM = 165.0, 95.0, 250.0
VISCOSITY_20_CST = 240.0


@dataclass
class Block:
    """One 12 V block as fitted. `size` scales starter currents and divides resistances: bigger engine, bigger battery."""

    ah: float
    resistance_ohm: float
    sealed: bool
    drain_a: float
    charger: str  # none, compensated, plain, pulse
    float_v: float
    pulse_h: float = 18.0
    size: float = 1.0


def open_circuit_v(charge: Floats | float, sealed: bool) -> Floats:
    """Volts after a long rest. Sealed types hold stronger acid."""
    full = 1.305 if sealed else 1.277
    left = np.asarray(charge, dtype=float)
    spent = np.minimum(left, 0.0)  # past empty the plates give out: volts fall away
    return np.asarray(6 * (0.845 + 1.125 + (full - 1.125) * np.clip(left, 0.0, 1.0)) + 25.0 * spent)


def resistance(block: Block, battery_c: float, charge: float, worn: float) -> float:
    """Ohms inside; cold, low charge and wear raise it."""
    cold = 1 + 0.011 * (25 - battery_c) + 0.00012 * max(0.0, 10 - battery_c) ** 2
    return block.resistance_ohm * worn * cold * (1 + 0.9 * (1 - charge) ** 1.5 + 20.0 * max(0.0, 0.2 - charge))


def alternator_v(battery_c: float, regulator_v: float) -> float:
    """The engine's own alternator, with a light temperature compensation."""
    return regulator_v - 0.005 * (battery_c - 25)


def charger_v(block: Block, battery_c: Floats, t: Floats, shift_v: float = 0.0) -> Floats:
    """What the mains charger holds. A pulse charger lifts to 14.3 V for an hour or two, then lets go until the next pulse."""
    if block.charger == "compensated":
        return np.asarray(np.clip(block.float_v - 0.018 * (battery_c - 25), 13.2, 14.5) + shift_v)
    if block.charger == "plain":
        return np.full_like(np.asarray(battery_c, dtype=float), block.float_v + shift_v)
    period = block.pulse_h * HOUR
    phase = np.mod(np.asarray(t, dtype=float), period)
    up_s = 0.09 * period
    rest = float(open_circuit_v(1.0, block.sealed))
    lifting = rest + 0.15 + (14.3 - rest - 0.15) * (1 - np.exp(-phase / (0.35 * up_s)))
    since = np.maximum(phase - up_s, 0.0)
    falling = rest + 0.12 + (14.3 - rest - 0.12) * (0.6 * np.exp(-since / 700.0) + 0.4 * np.exp(-since / (3.2 * HOUR)))
    return np.asarray(np.where(phase < up_s, lifting, falling) + shift_v)


@dataclass
class Rest:
    """A stretch at rest: from t0 with volts v0 and charge c0, with or without charger. Segment-wise constant conditions."""

    t0: float
    v0: float
    c0: float
    charging: bool
    drain_a: float
    shift_v: float
    capacity: float
    dead_cells: int


@dataclass
class History:
    """The battery over the whole log: rests in order. Episodes (cranks, runs) lie between them and keep their own traces."""

    block: Block
    weather: Weather
    self_month: float
    rests: list[Rest] = field(default_factory=list)

    def __post_init__(self) -> None:
        rate = self.self_month / 30.0 / 24.0 * 2 ** ((self.weather.site - 25) / 10)
        self._lost = np.concatenate([[0.0], np.cumsum(rate[:-1])])

    def charge(self, rest: Rest, t: Floats) -> Floats:
        """State of charge within a rest."""
        if rest.charging:
            lack = 1 - rest.c0
            amps_h = 0.05  # 5 % of capacity an hour at first, acceptance fades
            return np.asarray(1 - lack * np.exp(-(t - rest.t0) / HOUR * amps_h / max(lack, 0.12)))
        lost = np.interp(t, self.weather.at, self._lost) - np.interp(rest.t0, self.weather.at, self._lost)
        drawn = rest.drain_a * (t - rest.t0) / HOUR / (self.block.ah * rest.capacity)
        return np.asarray(np.clip(rest.c0 - drawn - lost, -0.12, 1.0))

    def volts(self, rest: Rest, t: Floats) -> Floats:
        """Terminal volts within a rest: surface charge fades with two time constants; a charger holds its own level."""
        t = np.asarray(t, dtype=float)
        since = t - rest.t0
        battery_c = self.weather.site_c(t)
        quiet = open_circuit_v(self.charge(rest, t), self.block.sealed) + 0.0012 * (battery_c - 25)
        quiet = quiet - 2.1 * rest.dead_cells
        first = float(quiet[0]) if quiet.ndim else float(quiet)
        first = float(open_circuit_v(rest.c0, self.block.sealed)) - 2.1 * rest.dead_cells if since.size else first
        above = rest.v0 - first
        slow = float(np.clip(above, 0.0, 0.75)) if above > 0 else 0.35 * above
        fade = (above - slow) * np.exp(-since / (FAST_S if above > 0 else 25.0)) + slow * np.exp(
            -since / (SLOW_S if above > 0 else 400.0)
        )
        free = quiet + fade
        if not rest.charging:
            return free
        held = charger_v(self.block, battery_c, t, rest.shift_v)
        if self.block.charger == "pulse":
            # after a run it starts its pattern anew once the surface charge is gone
            return np.maximum(free, held)
        lack = 1 - rest.c0
        rise_s = 240.0 + 5 * HOUR * min(lack, 0.6)
        gap = float(held.flat[0]) - rest.v0 if held.size else 0.0
        climbing = held - max(gap, 0.0) * np.exp(-since / rise_s)
        return np.maximum(free, climbing) if above > 0 else climbing

    def begin(self, rest: Rest) -> None:
        self.rests.append(rest)

    def now(self, t: float) -> tuple[float, float]:
        """Volts and charge at an instant of the latest rest."""
        rest = self.rests[-1]
        at = np.array([t])
        return float(self.volts(rest, at)[0]), float(self.charge(rest, at)[0])


@dataclass(frozen=True)
class Crank:
    """A crank as the starter settles: volts and rpm once under way, volts at the instant of engagement, amperes."""

    volts: float
    rpm: float
    inrush_v: float
    amps: float
    sink_v_s: float  # how fast volts sink during a long crank


def crank(
    block: Block,
    charge: float,
    battery_c: float,
    viscosity_cst: float,
    *,
    worn: float,
    joint_ohm: float,
    starter: float,
    dead_cells: int,
    drag: float = 1.0,
) -> Crank:
    """Balance of starter and engine. `joint_ohm`: a bad joint between battery and starter; `starter` below 1: worn brushes."""
    rest = float(open_circuit_v(charge, block.sealed)) - 2.1 * dead_cells
    inside = resistance(block, battery_c, charge, worn) * 1.18  # polarisation within a second
    motor = MOTOR_OHM / starter
    emf = (12.62 - 265 * (0.0052 + CABLE_OHM + MOTOR_OHM)) / CRANK_RPM * (0.35 + 0.65 / starter)
    total = inside + CABLE_OHM + joint_ohm + motor
    thick = OIL_A * min((viscosity_cst / VISCOSITY_20_CST) ** 0.38, 7.0)
    rpm = (rest / total - CRANK_A * drag) / (emf / total + thick * drag / CRANK_RPM)
    rpm = max(0.0, rpm)
    amps = (rest - emf * rpm) / total
    # the logger's tap sits between joint and starter, as the controller's supply usually does
    loss = inside + CABLE_OHM + joint_ohm
    volts, inrush = rest - amps * loss, rest - rest / total * loss
    if volts < 0.42 * rest:
        # the solenoid cannot hold: it chatters, and the volts with it
        rpm, volts, inrush = 0.0, 0.5 * rest, 0.42 * rest
    return Crank(volts, rpm, inrush, amps, 0.02 + 0.05 * (worn - 1) + 0.25 * (1 - charge) ** 2)


def firing_s(engine_c: float, rpm: float, plugs: float, direct: bool, rng: np.random.Generator) -> float:
    """Seconds of cranking until it runs. `plugs`: share of the glow plugs that heat; direct injection needs none."""
    cold = float(np.clip(20 - engine_c, -5.0, 50.0))
    need = 1.1 + (0.045 if direct else 0.05) * cold
    if not direct:
        need *= 1 + (1 - plugs) * 1.9 * float(np.clip((25 - engine_c) / 25, 0.0, 1.3))
    return float(need * (CRANK_RPM / max(rpm, 40.0)) ** 1.15 * np.exp(0.1 * rng.standard_normal()))
