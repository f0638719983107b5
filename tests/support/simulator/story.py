"""A set's half year in order: rests, demands, refuels, trips and resets, each from the state the one before left behind."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tests.support.simulator import battery as bat
from tests.support.simulator import engine as eng
from tests.support.simulator.climate import DAY, HOUR, Floats, Weather
from tests.support.simulator.episode import Before, Episode, play
from tests.support.simulator.plan import Ask, Plan
from tests.support.simulator.traits import Condition, Rng, Traits

WORKDAY = (8.0, 16.0)


@dataclass
class Story:
    """All that happened. fuel: knots of (instant, litres at 15 C) without the leak; hours: knots of (instant, running h)."""

    traits: Traits
    plan: Plan
    condition: Condition
    weather: Weather
    history: bat.History
    episodes: list[Episode] = field(default_factory=list)
    fuel: list[tuple[float, float]] = field(default_factory=list)
    refuels: list[float] = field(default_factory=list)
    locked: list[tuple[float, float]] = field(default_factory=list)
    logger_off: list[tuple[float, float]] = field(default_factory=list)
    hours: list[tuple[float, float]] = field(default_factory=list)
    log_ends: float = np.inf

    def leaked(self, t: Floats | float) -> Floats:
        """Litres lost at rest by then: a leak day by day, or drained within twenty minutes."""
        c, t = self.condition, np.asarray(t, dtype=float)
        if c.onset_s == np.inf:
            return np.zeros_like(t)
        since = np.maximum(t - c.onset_s, 0.0)
        _, daily, _ = c.changes.get("leak_l_day", (0.0, 0.0, 0.0))
        _, theft, _ = c.changes.get("theft_l", (0.0, 0.0, 0.0))
        return np.asarray(daily * since / DAY + theft * np.clip(since / 1200.0, 0, 1))

    def litres(self, t: Floats) -> Floats:
        at, litres = zip(*self.fuel, strict=True)
        return np.maximum(np.interp(t, at, litres) - self.leaked(t), 0.0)

    def in_mains_gap(self, t: float) -> bool:
        return any(a <= t < b for a, b in self.plan.mains_off)

    def charging(self, t: float) -> bool:
        alive = self.traits.block.charger != "none" and not self.condition.at("charger_dead", t)
        return bool(alive and not self.in_mains_gap(t))


class _Teller:
    """Walks through the plan; keeps what the next demand starts from."""

    def __init__(self, story: Story, rng: Rng, first_fill: float, charge: float) -> None:
        self.story, self.rng = story, rng
        self.edges = self._edges()
        self.stop: tuple[float, float, float] | None = None  # when, block and water over their surroundings
        self.since = -40 * HOUR
        traits = story.traits
        story.fuel.append((0.0, traits.tank.litres * first_fill))
        story.hours.append((0.0, traits.hours_first))
        on = story.charging(0.0)
        quiet = float(bat.open_circuit_v(charge, traits.block.sealed))
        site = np.asarray([float(story.weather.site_c(0.0))])
        volts = float(bat.charger_v(traits.block, site, np.zeros(1))[0]) if on else quiet + 0.02
        self._rest(0.0, volts, charge)
        self.refuel_due: float | None = None

    def _edges(self) -> list[float]:
        edges = [edge for span in self.story.plan.mains_off for edge in span if span[1] - span[0] > 30]
        onset = self.story.condition.onset_s
        return sorted(edges + ([onset] if np.isfinite(onset) else []))

    def _rest(self, t: float, volts: float, charge: float) -> None:
        c, block = self.story.condition, self.story.traits.block
        self.story.history.begin(
            bat.Rest(
                t, volts, charge, self.story.charging(t + 0.01), block.drain_a + c.at("drain_more_a", t + 0.01),
                c.at("charger_shift", t + 0.01), c.at("capacity", t + 0.01, 1.0), int(c.at("dead_cells", t + 0.01)),
            )
        )  # fmt: skip

    def rest_until(self, t: float) -> None:
        """Split the rest wherever charging or the fault changes."""
        began = self.story.history.rests[-1].t0
        for edge in self.edges:
            if began < edge < t:
                volts, charge = self.story.history.now(edge)
                self._rest(edge, volts, charge)

    def temperatures(self, t: Floats) -> tuple[Floats, Floats]:
        """Block and coolant at rest; a heater holds the coolant up."""
        site = self.story.weather.site_c(t)
        if self.stop is None:
            return site, site
        at, block_k, water_k = self.stop
        b, w = eng.cooling(self.story.traits.engine, block_k, water_k, np.asarray(t) - at)
        return site + b, site + w

    def ask(self, ask: Ask) -> None:
        story, traits = self.story, self.story.traits
        if any(a <= ask.at < b for a, b in story.locked) or (story.episodes and ask.at < story.episodes[-1].ends + 5):
            return
        self._refuel_before(ask.at)
        self._watch_level(ask.at)
        self.rest_until(ask.at)
        volts, charge = story.history.now(ask.at)
        block_c, water_c = (float(v) for v in self.temperatures(np.asarray(ask.at)))
        site = float(story.weather.site_c(ask.at))
        if traits.heater_c is not None and not story.condition.at("heater_dead", ask.at):
            water_c, block_c = (
                max(water_c, traits.heater_c),
                max(block_c, site + 0.7 * (traits.heater_c - site)),
            )
        litres = float(story.litres(np.asarray([ask.at]))[0])
        held = None
        if story.charging(ask.at) and ask.cause != "outage":
            held = float(bat.charger_v(traits.block, np.asarray([site]), np.asarray([ask.at]))[0])
        before = Before(volts, charge, site, block_c, water_c, float(story.weather.ambient_c(ask.at)), litres,
                        (ask.at - self.since) / HOUR, held)  # fmt: skip
        episode = play(traits, ask, before, story.condition, self.rng)
        story.episodes.append(episode)
        end = episode.ends
        last = {name: float(values[-1]) for name, values in episode.trace.items()}
        site = float(story.weather.site_c(end))
        self.stop = (end, last["block"] - site, last["water"] - site)
        self._rest(end, last["battery"], episode.charge)
        if episode.fired_at is not None:
            self.since = end
            self._burn(episode)
        if episode.ended_by in {"failed", "stall", "oil", "coolant", "overspeed", "fuel"}:
            self._lock(episode)
        if ask.unplanned == "power_cut":
            story.logger_off.append((end, end + float(self.rng.uniform(900, 3000))))

    def _burn(self, episode: Episode) -> None:
        story, t = self.story, episode.t
        fired = episode.fired_at or 0.0
        running = t >= fired
        used = np.concatenate([[0.0], np.cumsum(episode.trace["lph"][running][:-1] * np.diff(t[running]) / 3600.0)])
        start = story.fuel[-1][1]
        story.fuel.append((fired, start))
        knots = np.unique(np.append(np.arange(0, used.size, 30), used.size - 1))
        story.fuel += [(float(t[running][i]) + 1e-3, start - float(used[i])) for i in knots]
        episode.fuel_l = float(used[-1])
        if episode.ran:
            hours = story.hours[-1][1]
            story.hours += [
                (episode.ran[0], hours),
                (episode.ran[1], hours + (episode.ran[1] - episode.ran[0]) / HOUR),
            ]
        self._watch_level(episode.ends)

    def _watch_level(self, t: float) -> None:
        """Whoever looks after the set orders fuel when the level is below their habit."""
        story = self.story
        level = (story.fuel[-1][1] - float(story.leaked(t))) / story.traits.tank.litres
        never = story.condition.at("never_refuelled", t)
        if self.refuel_due is None and level < story.traits.refuel_below and not never:
            self.refuel_due = self._workday(t)

    def _workday(self, t: float) -> float:
        """The next morning or two, local time."""
        days = int(t // DAY) + int(self.rng.integers(1, 3))
        return days * DAY + float(self.rng.uniform(*WORKDAY)) * HOUR

    def _refuel_before(self, t: float) -> None:
        story = self.story
        if self.refuel_due is None or self.refuel_due > t - HOUR:
            return
        at = max(self.refuel_due, (story.episodes[-1].ends if story.episodes else 0.0) + HOUR)
        if at < t - HOUR:
            full = story.traits.tank.litres * float(self.rng.uniform(0.9, 0.97)) + float(story.leaked(at))
            if full > story.fuel[-1][1]:
                story.fuel += [(at, story.fuel[-1][1]), (at + 600.0, full)]
                story.refuels.append(at)
            self.refuel_due = None

    def _lock(self, episode: Episode) -> None:
        """A protective stop locks the set out until somebody comes; somebody comes on the next working day or so."""
        story = self.story
        hours = story.condition.at("reset_h", episode.ends, float(self.rng.uniform(3, 16)))
        story.locked.append((episode.ends, episode.ends + hours * HOUR))
        if episode.ended_by == "fuel":
            self.refuel_due = episode.ends + 0.8 * hours * HOUR


def tell(story: Story, rng: Rng, *, first_fill: float, charge: float) -> Story:
    """Play all asks of the plan, in order."""
    teller = _Teller(story, rng, first_fill, charge)
    end = story.traits.days * DAY
    for ask in story.plan.asks:
        if ask.at < end:
            teller.ask(ask)
    teller._refuel_before(end)
    teller.rest_until(end)
    ran = [e for e in story.episodes if e.fired_at is not None]
    if ran and rng.random() < 0.15 and ran[-1].ended_by == "stop" and ran[-1].ends > end - 8 * DAY:
        # the log simply ends, in the middle of a run
        story.log_ends = (ran[-1].fired_at or 0.0) + float(rng.uniform(0.2, 0.7)) * ran[-1].ask.minutes * 60
    story.fuel.append((end + DAY, story.fuel[-1][1]))
    story.hours.append((end + DAY, story.hours[-1][1]))
    return story
