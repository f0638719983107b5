"""One demand from the first preheat to the stop: a trace of every signal, at a tenth of a second while it cranks."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.support.simulator import battery as bat
from tests.support.simulator import engine as eng
from tests.support.simulator.climate import HOUR, Floats
from tests.support.simulator.plan import Ask
from tests.support.simulator.traits import Condition, Rng, Traits

SIGNALS = ("speed", "volts", "load", "oil", "battery", "lph", "block", "water")
OIL_STOP_KPA, COOLANT_STOP_C, OVERSPEED = 103.0, 106.5, 1.15


@dataclass
class Before:
    """What a demand starts from: volts and charge of a block, temperatures in C, litres in the tank, hours at rest."""

    volts: float
    charge: float
    battery_c: float
    block_c: float
    water_c: float
    air_c: float
    litres: float
    rest_h: float
    charger_v: float | None


@dataclass
class Episode:
    """One demand: attempts as (crank from, to, fired); trace `t` with SIGNALS (volts as share of rated, battery per block).

    ran: instants at which speed passed half of rated, up and down. states: (from, to, word).
    """

    ask: Ask
    attempts: list[tuple[float, float, bool]] = field(default_factory=list)
    t: Floats = field(default_factory=lambda: np.zeros(0))
    trace: dict[str, Floats] = field(default_factory=dict)
    states: list[tuple[float, float, str]] = field(default_factory=list)
    fired_at: float | None = None
    stop_at: float = 0.0
    ended_by: str = ""
    ran: tuple[float, float] | None = None
    fuel_l: float = 0.0
    charge: float = 1.0
    preheat: tuple[float, float] | None = None

    @property
    def ends(self) -> float:
        return float(self.t[-1])


class _Trace:
    def __init__(self) -> None:
        self.t: list[Floats] = []
        self.parts: dict[str, list[Floats]] = {name: [] for name in SIGNALS}

    def add(self, t: Floats, **given: Floats | float) -> None:
        self.t.append(t)
        for name in SIGNALS:
            self.parts[name].append(np.broadcast_to(np.asarray(given.get(name, 0.0), dtype=float), t.shape))

    def into(self, episode: Episode) -> None:
        episode.t = np.concatenate(self.t)
        episode.trace = {name: np.concatenate(parts) for name, parts in self.parts.items()}


def play(traits: Traits, ask: Ask, before: Before, condition: Condition, rng: Rng) -> Episode:
    """Play a demand. Times are seconds from the log's beginning."""

    def c(name: str, default: float = 0.0) -> float:
        return condition.at(name, ask.at, default)

    episode, trace = Episode(ask), _Trace()
    charge, t = before.charge, ask.at + c("late_s")
    block = traits.block
    inside = bat.resistance(block, before.battery_c, charge, c("worn", 1.0))
    plugs = c("plugs", 1.0)
    quiet = float(bat.open_circuit_v(charge, block.sealed)) - 2.1 * c("dead_cells")
    joint = max(0.0, c("joint_ohm") * float(np.exp(c("joint_scatter") * rng.standard_normal())))
    surface, taken = max(before.volts - quiet, 0.0), 0.0
    dry = int(c("dry_tries")) if rng.random() < c("dry_share", 1.0) else 0
    empty = before.litres < 0.021 * traits.tank.litres
    never = rng.random() < c("no_fire") or empty
    allowed = int(c("attempts_allowed", traits.attempts_allowed))
    limit_s = traits.crank_limit_s
    for attempt in range(allowed):
        heat_s = c("preheat_s", traits.preheat_s) * (_cold_share(before.water_c) if traits.preheat_follows else 1.0)
        if heat_s > 0.5 and traits.glow_a > 0:
            x = np.arange(0.0, heat_s, 0.1)
            amps = traits.glow_a * plugs * (1 + 0.2 * np.exp(-x / 2.0)) + 1.0
            drawn = taken + np.cumsum(amps) * 0.1
            volts = quiet + surface * np.exp(-drawn / 260.0) - amps * (inside + 0.0075 + joint)
            trace.add(t + x, battery=volts, block=before.block_c, water=before.water_c)
            taken = float(drawn[-1])
            if episode.preheat is None:
                episode.preheat = (t, t + heat_s)
            episode.states.append((t, t + heat_s, "preheat"))
            t += heat_s
        surface_now = surface * np.exp(-taken / 260.0)
        viscosity = float(eng.walther(traits.engine.v40_cst, traits.engine.v100_cst, before.block_c))
        turned = bat.crank(
            block, charge, before.battery_c, viscosity, worn=c("worn", 1.0), joint_ohm=joint,
            starter=c("starter", 1.0), dead_cells=int(c("dead_cells")),
        )  # fmt: skip
        need = bat.firing_s(before.water_c, turned.rpm, plugs, traits.direct, rng) * c("fire_factor", 1.0)
        need += c("rest_more_s") if before.rest_h > 168.0 else 0.0
        # a warm cylinder fires sooner on the next try
        fires = not never and attempt >= dry and turned.rpm > 85.0 and need * (1 if attempt == 0 else 0.8) <= limit_s
        length = min(max(need * (1 if attempt == 0 else 0.8), 0.7), limit_s) if fires else limit_s
        x = np.arange(0.0, length, 0.1)
        rising = 1 - np.exp(-x / 0.12)
        ripple = 0.05 * (turned.amps / 265) * np.sin(2 * np.pi * turned.rpm / 30 * x) + 0.06 * rng.standard_normal(
            x.size
        )
        volts = turned.inrush_v + (turned.volts - turned.inrush_v) * rising + ripple
        volts = volts + 0.4 * surface_now * np.exp(-x * turned.amps / 260.0) - turned.sink_v_s * x
        volts = np.maximum(volts, 0.3 * turned.volts)
        rpm = turned.rpm * rising * (1 + 0.03 * rng.standard_normal(x.size))
        rpm = rpm * np.clip(1 - 0.015 * x * (turned.sink_v_s > 0.06), 0.3, 1.0)
        trace.add(
            t + x,
            battery=volts,
            speed=np.maximum(rpm, 0),
            oil=18 * np.minimum(x / 3, 2.0),
            block=before.block_c,
            water=before.water_c,
        )
        episode.attempts.append((t, t + length, fires))
        episode.states.append((t, t + length, "cranking"))
        taken += turned.amps * length
        charge = max(-0.12, charge - (taken / 3600) / (block.ah * c("capacity", 1.0)))
        taken, surface = 0.0, 0.0
        t += length
        if fires:
            break
        x = np.arange(0.0, traits.pause_s if attempt + 1 < allowed else 2.0, 0.25)
        trace.add(t + x, battery=quiet - (quiet - turned.volts) * 0.3 * np.exp(-x / 4.0), block=before.block_c, water=before.water_c,
                  speed=np.maximum(turned.rpm * (1 - x / 0.8), 0))  # fmt: skip
        episode.states.append((t, t + float(x[-1]), "pause"))
        t += float(x[-1]) + 0.25
    else:
        episode.stop_at, episode.ended_by, episode.charge = t, "failed", charge
        trace.into(episode)
        return episode
    _run(traits, ask, before, condition, rng, episode, trace, t, turned.rpm, charge)
    trace.into(episode)
    return episode


def _cold_share(water_c: float) -> float:
    return float(np.clip((35 - water_c) / 35, 0.25, 1.5))


def _run(
    traits: Traits, ask: Ask, before: Before, condition: Condition, rng: Rng, episode: Episode, trace: _Trace,
    fired: float, crank_rpm: float, charge: float,
) -> None:  # fmt: skip
    def c(name: str, default: float = 0.0) -> float:
        return condition.at(name, ask.at, default)

    e, rpm = traits.engine, float(traits.rpm)
    asked_stop = fired + ask.minutes * 60 if ask.cause != "outage" else max(ask.at + ask.minutes * 60, fired + 30.0)
    cool = c("cool_down_s", traits.cool_down_s) if ask.transfers else 0.0
    if ask.cause == "outage" and cool < traits.cool_down_s:
        asked_stop -= traits.cool_down_s - cool
    n = int(asked_stop - fired) + 1
    x = np.arange(n, dtype=float)
    load = _load(traits, ask, condition, rng, x, asked_stop - fired - cool)
    share = load / traits.rated_kw
    # heat
    rate = eng.lph(e, load, c("fuel_factor", 1.0))
    cold_more = 1 + 0.10 * np.exp(-x / 400.0)
    heat = eng.warm(
        e, (rate * cold_more)[:: int(eng.STEP_S)], before.air_c, before.block_c, before.water_c,
        radiator=c("radiator", 1.0), thermostat="open" if c("thermostat_open") else "works",
    )  # fmt: skip
    block = np.interp(x, heat.at, heat.block_c, left=before.block_c)
    water = np.interp(x, np.concatenate([[0.0], heat.at]), np.concatenate([[before.water_c], heat.water_c]))
    # speed
    droop = 0.0 if traits.isochronous else e.droop
    droop += c("droop_more")
    line = 1 + droop * (1 - share)
    dips = -e.swing * c("swing_factor", 1.0) * eng.decay(share, 1.2 * c("slow_factor", 1.0), 1.0)
    wander = e.wobble * eng.noise(n, 2.0, 1.0, rng)
    hunt = c("hunt")
    swing = (
        0.5 * hunt * np.sin(2 * np.pi * x / 2.37 + 0.6 * np.sin(x / 17.0)) * (1 + 0.1 * eng.noise(n, 30.0, 1.0, rng))
    )
    run_up = 1 - (1 - crank_rpm / rpm) * np.exp(-x / rng.uniform(0.8, 1.2))
    over = 0.02 * np.exp(-(((x - 3.5) / 1.2) ** 2))
    speed = rpm * (line + dips + wander + swing + over) * run_up * c("speed_factor", 1.0)
    speed = speed * (1 + (c("overspeed", 1.0) - 1) * np.clip((x - 20) / 10, 0, 1))
    # oil
    oil_c = 0.5 * block + 0.5 * np.minimum(water, 110.0) + 4
    built = 1 - np.exp(-np.maximum(x - rng.uniform(0.5, 1.2) - c("oil_slow_s"), 0) / (1.0 + 1.2 * (before.block_c < 0)))
    oil = eng.oil_kpa(e, oil_c, speed / rpm, c("oil_worn", 1.0)) * built + 2.5 * rng.standard_normal(n)
    # output
    volts = c("volts_factor", 1.0) * (1.003 - 0.006 * share) + 0.1 * eng.decay(-share, 0.6, 1.0) * c(
        "swing_factor", 1.0
    )
    volts = (volts + 0.0012 * rng.standard_normal(n)) * np.clip((speed / rpm - 0.6) / 0.3, 0, 1)
    if not c("excited", 1.0):
        volts = np.full(n, 0.025) * (speed / rpm)
    # when does it end
    end, why = n - 1, "stop"
    burnt = np.cumsum(rate * cold_more) / 3600.0
    silent = bool(c("silent"))
    for reason, beyond, hold in (
        ("oil", (oil < OIL_STOP_KPA) & (x > 15), 3), ("coolant", water > COOLANT_STOP_C, 3), ("overspeed", speed > OVERSPEED * rpm, 2),
    ):  # fmt: skip
        held = np.convolve(beyond, np.ones(hold), "full")[:n] >= hold
        if not silent and held.any() and int(held.argmax()) < end:
            end, why = int(held.argmax()), reason
    empty = burnt > before.litres - 0.02 * traits.tank.litres
    if empty.any() and int(empty.argmax()) < end:
        end, why = int(empty.argmax()), "fuel"
        sag = np.clip((x - (end - 25)) / 25, 0, 1)
        speed = speed * (1 - 0.22 * sag * (0.7 + 0.3 * np.sin(x / 1.1)))
    if rng.random() < c("stall"):
        end, why = int(rng.uniform(6, 35)), "stall"
        speed = speed * np.clip(1 - np.clip((x - end + 4) / 8, 0, 0.5), 0.4, 1)
    if ask.unplanned == "power_cut":
        why = "power_cut"
    # battery: the alternator charges; a mains charger may hold it meanwhile
    lack = 1 - charge
    regulator = bat.alternator_v(before.battery_c, traits.regulator_v) + c("regulator_shift")
    if c("alternator_dead"):
        charge_x = np.clip(charge - 4.0 * x / 3600 / traits.block.ah, 0, 1)
        cells = (
            bat.open_circuit_v(charge_x, traits.block.sealed) - 0.08 + 0.3 * np.exp(-x / 600.0) * (before.volts > 13.2)
        )
        cells = np.maximum(cells, before.charger_v - 0.03) if before.charger_v is not None else cells
        charge_after = charge if before.charger_v is not None else float(charge_x[end])
    else:
        cells = regulator - (regulator - 12.3 + 2.1 * c("dead_cells")) * np.exp(
            -np.maximum(x - 1.0, 0) / (2.5 + 500 * lack * lack)
        )
        gained = min(1 - np.exp(-x[end] / (1.3 * HOUR)), 25.0 * x[end] / HOUR / traits.block.ah / max(lack, 1e-3))
        charge_after = charge + lack * float(gained)
    cells = cells + 0.015 * rng.standard_normal(n)
    # the first seconds in quarters, the rest by the second
    head = np.arange(0.0, min(12.0, end), 0.25)
    keep = slice(int(head[-1]) + 1 if head.size else 0, end + 1)
    whole = {
        "speed": speed,
        "volts": volts,
        "load": load,
        "oil": np.maximum(oil, 0),
        "battery": cells,
        "lph": rate * cold_more,
        "block": block,
        "water": water,
    }
    if head.size:
        fine = {name: np.interp(head, x, values) for name, values in whole.items()}
        fine["speed"] = rpm * (1 - (1 - crank_rpm / rpm) * np.exp(-head / 1.0)) * np.interp(head, x, line + over)
        trace.add(fired + head, **fine)
    trace.add(fired + x[keep], **{name: values[keep] for name, values in whole.items()})
    stop = fired + float(x[end])
    if why != "power_cut":
        last = {name: float(values[end]) for name, values in whole.items()}
        y = np.arange(0.25, 12.0, 0.25)
        fall = np.clip(1 - y / rng.uniform(5.5, 9.0), 0, None) ** 1.15
        trace.add(
            stop + y, speed=last["speed"] * fall, volts=last["volts"] * np.clip((fall - 0.35) / 0.4, 0, 1), oil=last["oil"] * fall**1.1,
            battery=last["battery"] - 0.5 * (1 - np.exp(-y / 4.0)) * (not c("alternator_dead")), block=last["block"], water=last["water"],
        )  # fmt: skip
    all_t = np.concatenate(trace.t)
    all_speed = np.concatenate(trace.parts["speed"])
    half = all_t[(all_speed > 0.5 * rpm) & (all_t >= fired)]
    episode.ran = (float(half[0]), float(half[-1]) + (0.25 if why != "power_cut" else 0.0)) if half.size else None
    episode.fired_at, episode.stop_at, episode.ended_by = fired, stop, why
    episode.fuel_l, episode.charge = float(burnt[end]), min(charge_after, 1.0)
    loaded = fired + float(x[min(int((load > 0.02 * traits.rated_kw).argmax()), end)]) if (load > 0).any() else stop
    unloaded = fired + max(asked_stop - fired - cool, 0.0)
    episode.states += [(fired, min(loaded, stop), "running"), (min(loaded, stop), min(unloaded, stop), "running on load" if load.any() else "running"),
                       (min(unloaded, stop), stop, "cooling down")]  # fmt: skip


def _load(traits: Traits, ask: Ask, condition: Condition, rng: Rng, x: Floats, off_s: float) -> Floats:
    """Load in kW by the second: the building's, with appliances that come and go, or none."""
    share = ask.load * (
        condition.at("exercise_load", ask.at, 1.0)
        if ask.cause == "exercise"
        else condition.at("outage_load", ask.at, 1.0)
    )
    if share <= 0 or not ask.transfers:
        return np.zeros(x.size)
    slow = eng.noise(x.size, 900.0, 1.0, rng)
    switched = np.repeat(rng.standard_normal(x.size // 90 + 1), 90)[: x.size]
    level = share * np.clip(1 + 0.10 * slow + 0.07 * switched, 0.5, 1.5)
    level = np.clip(level, 0.03, max(0.95, share * 1.03)) + 0.002 * rng.standard_normal(x.size)
    on_s = 6.0 + condition.at("warm_up_s", ask.at, traits.warm_up_s)
    return np.where((x >= on_s) & (x < off_s), level * traits.rated_kw, 0.0)
