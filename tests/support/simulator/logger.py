"""What a logger writes of a story: rows at its own pace, values in its own steps, lost rows, and faults of the log itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.support.simulator import engine as eng
from tests.support.simulator.climate import DAY, Floats
from tests.support.simulator.story import Story
from tests.support.simulator.traits import Rng

Words = NDArray[np.object_]
LEAD_S, TAIL_S = 25.0, 75.0


@dataclass
class Rows:
    """n rows: `t` in seconds from the log's beginning, ascending; numbers by signal (NaN: no value), words by signal."""

    t: Floats
    numbers: dict[str, Floats]
    words: dict[str, Words]


def instants(story: Story, cadence: str, rng: Rng) -> Floats:
    """When rows come. dense: the set's own pace at rest, quick from just before each demand to after its end."""
    traits, end = story.traits, story.traits.days * DAY
    if cadence != "dense":
        step = float(cadence)
        t = np.arange(float(rng.integers(0, int(step))), end, step)
    else:
        parts = [np.arange(0.0, end, traits.rest_row_s)]
        for episode in story.episodes:
            first, last = np.floor(episode.ask.at - LEAD_S), np.ceil(episode.ends + TAIL_S)
            fired = episode.fired_at if episode.fired_at is not None else last
            parts.append(np.arange(first, min(fired + 40, last), 1.0))
            if episode.fired_at is not None:
                parts.append(np.arange(np.floor(fired + 40), episode.stop_at - 15, traits.run_row_s))
                parts.append(np.arange(np.floor(max(episode.stop_at - 15, fired + 40)), last, 1.0))
        t = np.unique(np.concatenate(parts))
    t = t[t < min(end, story.log_ends)]
    keep = rng.random(t.size) > float(rng.choice([0.0, 0.0, 0.0005, 0.002]))
    gaps = list(story.logger_off)
    for _ in range(int(rng.poisson(1.2))):
        a = float(rng.uniform(DAY, end - DAY))
        b = a + float(rng.uniform(600, 7200))
        if not any(e.ask.at - 7200 < b and a < e.ends + 7200 for e in story.episodes):
            gaps.append((a, b))
    for a, b in gaps:
        keep &= ~((t >= a) & (t < b))
    return np.asarray(t[keep])


def write(story: Story, t: Floats, rng: Rng) -> Rows:
    """The signals at instants t, before steps and faults of the log."""
    traits, n = story.traits, t.size
    site = story.weather.site_c(t)
    ambient = story.weather.ambient_c(t)
    block_v, water = np.empty(n), site.copy()
    speed, volts, load, oil, lph = (np.zeros(n) for _ in range(5))
    rests = story.history.rests
    starts = np.searchsorted(t, [rest.t0 for rest in rests])
    for i, rest in enumerate(rests):
        rows = slice(starts[i], starts[i + 1] if i + 1 < len(rests) else n)
        if rows.stop > rows.start:
            block_v[rows] = story.history.volts(rest, t[rows])
    heater = np.full(n, -99.0)
    if traits.heater_c is not None:
        saw = 1.6 * (2 * np.abs(np.mod(t / 2700.0, 1.0) - 0.5) - 0.5)
        heater = np.where(t < _onset(story, "heater_dead"), traits.heater_c + saw, -99.0)
        water = np.maximum(water, heater)
        off = _onset(story, "heater_dead")
        if np.isfinite(off):
            since = np.maximum(t - off, 0)
            water = np.where(
                t >= off, site + (traits.heater_c - np.interp(off, t, site)) * np.exp(-since / 9000.0), water
            )
    for i, episode in enumerate(story.episodes):
        nxt = story.episodes[i + 1].t[0] if i + 1 < len(story.episodes) else np.inf
        a, b, z = np.searchsorted(t, [episode.t[0], episode.ends + 0.01, nxt])
        if b > a:
            pick = np.searchsorted(episode.t, t[a:b], side="right") - 1
            tr = episode.trace
            speed[a:b], volts[a:b], load[a:b], oil[a:b] = (
                tr["speed"][pick],
                tr["volts"][pick],
                tr["load"][pick],
                tr["oil"][pick],
            )
            block_v[a:b], water[a:b], lph[a:b] = tr["battery"][pick], tr["water"][pick], tr["lph"][pick]
        if z > b:
            base = float(story.weather.site_c(episode.ends))
            _, w = eng.cooling(
                traits.engine,
                float(episode.trace["block"][-1]) - base,
                float(episode.trace["water"][-1]) - base,
                t[b:z] - episode.ends,
            )
            water[b:z] = np.maximum(
                np.maximum(site[b:z] + w, heater[b:z]),
                water[b:z] if np.isfinite(_onset(story, "heater_dead")) else -99,
            )
    scale = traits.battery_v / 12
    numbers: dict[str, Floats] = {
        "ambient_c": ambient + 0.1 * rng.standard_normal(n),
        "coolant_c": water + 0.12 * rng.standard_normal(n),
        "battery_v": (block_v + 0.008 * rng.standard_normal(n)) * scale,
        "oil_kpa": oil + traits.oil_offset_kpa,
        "power_kw": np.maximum(load, 0.0),
        "fuel_flow_lph": np.where(speed > 0.5 * traits.rpm, lph, 0.0),
    }
    own = speed.copy()
    if not traits.crank_speed_seen:
        own[own < 400.0] = 0.0
    numbers["speed_rpm"] = own
    numbers["frequency_hz"] = np.where(volts > 0.1, traits.hz * speed / traits.rpm, 0.0)
    _output(numbers, story, volts, load, rng)
    running = speed > 0.5 * traits.rpm
    depth = traits.tank.depth(story.litres(t), story.weather.tank_c(t))
    slosh = np.where(running, traits.tank.slosh, traits.tank.noise)
    numbers["fuel_fraction"] = np.clip(depth + slosh * rng.standard_normal(n), 0, 1)
    at, hours = zip(*story.hours, strict=True)
    numbers["hour_meter_h"] = np.interp(t, at, hours)
    fired = np.array([e.fired_at for e in story.episodes if e.fired_at is not None])
    numbers["starts_counter"] = traits.starts_first + np.searchsorted(fired, t, side="right").astype(float)
    numbers["mains_present"] = np.where(_inside(t, story.plan.mains_off), 0.0, 1.0)
    on_load = np.zeros(n, dtype=bool)
    for e in story.episodes:
        for a_, b_, word in e.states:
            if word == "running on load":
                on_load |= (t >= a_) & (t < b_)
    numbers["on_load"] = on_load.astype(float)
    return Rows(t, numbers, _words(story, t))


def _onset(story: Story, name: str) -> float:
    return story.condition.onset_s if name in story.condition.changes else np.inf


def _inside(t: Floats, spans: list[tuple[float, float]]) -> NDArray[np.bool_]:
    inside = np.zeros(t.size, dtype=bool)
    for a, b in spans:
        i, j = np.searchsorted(t, [a, b])
        inside[i:j] = True
    return inside


def _output(numbers: dict[str, Floats], story: Story, volts: Floats, load: Floats, rng: Rng) -> None:
    traits, n = story.traits, volts.size
    noise = 1 + 0.0008 * rng.standard_normal(n)
    if traits.phases == 3 and "three" in traits.columns:
        for i, name in enumerate(("voltage_l1_v", "voltage_l2_v", "voltage_l3_v")):
            numbers[name] = traits.volts / np.sqrt(3) * volts * (1 + (0.0, 0.003, -0.002)[i]) * noise
    else:
        numbers["voltage_v"] = traits.volts * volts * noise
    if traits.phases == 1:
        numbers["current_a"] = np.where(volts > 0.1, load * 1000 / np.maximum(traits.volts * volts, 1) / 0.97, 0.0)
    else:
        amps = np.where(volts > 0.1, load * 1000 / np.maximum(np.sqrt(3) * traits.volts * volts, 1) / 0.9, 0.0)
        for i, name in enumerate(("current_l1_a", "current_l2_a", "current_l3_a")):
            numbers[name] = amps * (1.0, 0.92, 1.08)[i]


def _words(story: Story, t: Floats) -> dict[str, Words]:
    traits, n = story.traits, t.size

    def spans(text: Words, some: list[tuple[float, float, str]]) -> Words:
        for a, b, word in some:
            i, j = np.searchsorted(t, [a, b])
            text[i:j] = word
        return text

    mode = spans(np.full(n, "automatic", dtype=object), story.plan.modes)
    if traits.exercise_mode == "test":
        mode = spans(mode, [(e.ask.at, e.ends, "test") for e in story.episodes if e.ask.cause == "exercise"])
    state = np.full(n, "ready", dtype=object)
    alarm = np.full(n, None, dtype=object)
    why = {"failed": "failed to start", "oil": "low oil pressure shutdown", "coolant": "high coolant temperature shutdown",
           "overspeed": "overspeed shutdown", "fuel": "underspeed shutdown", "stall": "engine stopped unexpectedly"}  # fmt: skip
    for e in story.episodes:
        state = spans(state, e.states)
        if e.preheat is not None and float(e.trace["battery"][np.searchsorted(e.t, e.preheat[1] - 0.5)]) < 12.0:
            alarm = spans(alarm, [(e.preheat[0] + 1.0, e.preheat[1], "low battery voltage warning")])
        lock = next(((a, b) for a, b in story.locked if abs(a - e.ends) < 1), None)
        if e.ended_by in why and lock is not None:
            alarm = spans(alarm, [(e.stop_at, lock[1], why[e.ended_by])])
            state = spans(state, [(e.ends, lock[1], "locked out")])
    return {"mode": mode, "state": state, "alarm": alarm}
