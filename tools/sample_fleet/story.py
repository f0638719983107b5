"""What happened to a set, event by event: demands, attempts, runs, outages, visits, and what they leave."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from tools.sample_fleet import battery, engine
from tools.sample_fleet.specs import Outage, Spec, Visit
from tools.sample_fleet.weather import HOUR, Floats, Weather, make_weather

PAUSE_S = 10.0
TRIES = 3
LONGEST_CRANK_S = 12.0
COOL_DOWN_S = 150.0
RETRANSFER_S = 60.0
STOP_COOLANT_C = 107.5

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Attempt:
    """One crank. Instants in seconds since 1970 UTC; `volts` per 12 V, half a second after engagement."""

    preheat_at: float
    crank_at: float
    crank_end: float
    fired: bool
    volts: float
    rpm: float


@dataclass(slots=True)
class Demand:
    """One demand with its attempts, and the run that it led to (`trace` is None where it led to none)."""

    cause: str
    asked_at: float
    attempts: list[Attempt]
    trace: engine.Trace | None = None
    stop_at: float = 0.0
    ended_by: str = ""

    @property
    def fired_at(self) -> float:
        """End of the last crank."""
        return self.attempts[-1].crank_end

    @property
    def quiet_at(self) -> float:
        """When the engine was stopped, or the last attempt given up."""
        return self.stop_at if self.trace is not None else self.fired_at


@dataclass(slots=True)
class Story:
    """Everything that happened to one set. Knots are (instant, value), to be read by straight lines."""

    spec: Spec
    weather: Weather
    first_s: float
    last_s: float
    demands: list[Demand] = field(default_factory=list)
    mains_off: list[Span] = field(default_factory=list)
    modes: list[tuple[float, float, str]] = field(default_factory=list)
    alarms: list[tuple[float, float, str]] = field(default_factory=list)
    charge: list[tuple[float, float]] = field(default_factory=list)
    burnt: list[tuple[float, float]] = field(default_factory=list)
    filled: list[tuple[float, float]] = field(default_factory=list)
    hours: list[tuple[float, float]] = field(default_factory=list)

    def charger_on(self, t: float) -> bool:
        """Whether the charger works and has mains at that instant."""
        alive = self.spec.charger_dies is None or t < instant(self.spec.charger_dies, self.spec.zone)
        return alive and not any(began <= t < ended for began, ended in self.mains_off)

    def leaked(self, t: Floats | float) -> Floats:
        """Litres lost through the leak up to `t`."""
        if self.spec.leak_from is None:
            return np.zeros_like(np.asarray(t, dtype=np.float64))
        days = (np.asarray(t) - instant(self.spec.leak_from, self.spec.zone)) / (24 * HOUR)
        return np.asarray(self.spec.leak_l_day * np.clip(days, 0.0, None))

    def litres(self, t: Floats | float) -> Floats:
        """Litres in the tank at 15 C."""
        start = self.spec.fuel_first * self.spec.tank_l
        return np.asarray(start + _along(self.filled, t) - _along(self.burnt, t) - self.leaked(t))

    def resting_coolant(self, t: Floats | float) -> Floats:
        """Coolant at rest at `t`, after the last run before the first of them."""
        t = np.asarray(t, dtype=np.float64)
        room = self.weather.room(t)
        before = [d for d in self.demands if d.trace is not None and d.stop_at <= t.min()]
        if not before:
            return room
        last = before[-1]
        assert last.trace is not None
        return engine.coolant_resting(self.spec.engine, t - last.stop_at, float(last.trace.coolant_c[-1]), room)


def _along(knots: list[tuple[float, float]], t: Floats | float) -> Floats:
    if not knots:
        return np.zeros_like(np.asarray(t, dtype=np.float64))
    at, values = zip(*knots, strict=True)
    return np.asarray(np.interp(t, at, values))


def instant(local: str, zone: str) -> float:
    """Seconds since 1970 UTC of a local `YYYY-MM-DD HH:MM`."""
    return datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(zone)).timestamp()


def tell(spec: Spec, rng: np.random.Generator) -> Story:
    """Walk through a set's events in order of time."""
    first_s, last_s = instant(spec.first, spec.zone), instant(spec.last, spec.zone)
    story = Story(spec, make_weather(spec.climate, first_s, last_s, rng), first_s, last_s)
    story.charge.append((first_s, 1.0))
    story.burnt.append((first_s, 0.0))
    story.filled.append((first_s, 0.0))
    story.hours.append((first_s, spec.hours_first))
    for outage in spec.outages:
        began = instant(outage.at, spec.zone)
        story.mains_off.append((began, began + 60 * outage.minutes))
    locked_until = 0.0
    for at, what in _agenda(spec):
        if isinstance(what, Visit):
            _visit(story, at, what, rng)
            continue
        if what == "refuel":
            _refuel(story, at)
            continue
        busy = bool(story.demands) and at < story.demands[-1].quiet_at + 60
        out = at < locked_until or any(began <= at < ended for began, ended, _ in story.modes)
        away = what == "exercise" and any(began - 60 <= at < ended + 600 for began, ended in story.mains_off)
        if busy or out or away:
            continue
        demand = _answer(story, at, what, rng) if isinstance(what, Outage) else _exercise(story, at, rng)
        if demand.trace is None or demand.ended_by == "coolant":
            locked_until = instant(spec.reset, spec.zone) if spec.reset else last_s
            text = "start failed" if demand.trace is None else "coolant too hot, stopped"
            story.alarms.append((demand.quiet_at, locked_until, text))
    return story


def _agenda(spec: Spec) -> list[tuple[float, str | Outage | Visit]]:
    """All that is planned or befalls the set, by time."""
    agenda: list[tuple[float, str | Outage | Visit]] = []
    day, end = date.fromisoformat(spec.first[:10]), date.fromisoformat(spec.last[:10])
    moved = dict(spec.exercise.moved)
    while day < end:
        if day.weekday() == spec.exercise.weekday:
            on = moved.get(day.isoformat(), day.isoformat())
            agenda.append((instant(f"{on} {spec.exercise.at}", spec.zone), "exercise"))
        day += timedelta(days=1)
    agenda += [(instant(o.at, spec.zone), o) for o in spec.outages]
    agenda += [(instant(v.at, spec.zone), v) for v in spec.visits]
    agenda += [(instant(at, spec.zone), "refuel") for at in spec.refuels]
    return sorted(agenda, key=lambda entry: entry[0])


def _refuel(story: Story, at: float) -> None:
    have = float(story.litres(at))
    total = story.filled[-1][1]
    story.filled += [(at, total), (at + 600.0, total + 0.95 * story.spec.tank_l - have)]


def _exercise(story: Story, at: float, rng: np.random.Generator) -> Demand:
    plan = story.spec.exercise
    count = sum(d.cause == "exercise" for d in story.demands)
    loaded = plan.loaded_every > 0 and count % plan.loaded_every == 0
    demand = _start(story, "exercise", at + float(rng.uniform(0.0, 1.0)), rng)
    if demand.attempts[-1].fired:
        run_s = 60 * plan.minutes + float(rng.uniform(2.0, 6.0))
        _run(story, demand, run_s, (30.0, run_s - COOL_DOWN_S) if loaded else (0.0, 0.0), rng)
    if plan.mode != "Auto":
        story.modes.append((at, demand.quiet_at + 5.0, plan.mode))
    return demand


def _answer(story: Story, at: float, outage: Outage, rng: np.random.Generator) -> Demand:
    demand = _start(story, "outage", at + 1.0 + float(rng.uniform(0.0, 0.5)), rng)
    if demand.attempts[-1].fired:
        back = at + 60 * outage.minutes + RETRANSFER_S - demand.fired_at
        _run(story, demand, back + COOL_DOWN_S, (5.5, back), rng)
    return demand


def _visit(story: Story, at: float, visit: Visit, rng: np.random.Generator) -> None:
    """A technician: selector by hand, a start, a stop, a start seconds later; then left as the visit says."""
    over = at + 60 * visit.minutes
    if visit.hand_runs:
        for asked, minutes in ((at + 720.0, 6.0), (0.0, 4.0)):
            demand = _start(story, "manual", (asked or story.demands[-1].stop_at + 14.0) + float(rng.uniform()), rng)
            _run(story, demand, 60 * minutes, (0.0, 0.0), rng)
        over = max(over, story.demands[-1].stop_at + 300.0)
    story.modes.append((at, over, "Manual"))
    if visit.left_off_until:
        until = instant(visit.left_off_until, story.spec.zone)
        story.modes.append((over, until, "Off"))
        story.alarms.append((over + 60.0, until, "not in automatic"))


def _start(story: Story, cause: str, asked: float, rng: np.random.Generator) -> Demand:
    """Preheat and crank until it fires or the tries are used up. Uses charge."""
    spec = story.spec
    charge = _stand(story, asked)
    engine_c, battery_c = float(story.resting_coolant(asked)), float(story.weather.room(asked))
    demand = Demand(cause, asked, [])
    at = asked
    for attempt in range(TRIES):
        warm = engine_c > 35.0
        crank_at = at + (0.0 if warm or not spec.preheat_s else spec.preheat_s)
        volts = battery.crank_v(battery_c, charge, spec.battery_age) - 0.12 * attempt
        rpm = battery.crank_rpm(volts, engine_c)
        healthy = battery.crank_rpm(battery.crank_v(battery_c, 1.0, spec.battery_age), engine_c)
        fires = rpm >= battery.LEAST_FIRING_RPM
        takes = battery.crank_s(engine_c, rpm, healthy) * float(np.exp(0.09 * rng.standard_normal()))
        ended = crank_at + (min(takes, LONGEST_CRANK_S) if fires else LONGEST_CRANK_S)
        demand.attempts.append(Attempt(at, crank_at, ended, fires, volts, rpm))
        charge -= (42.0 * (crank_at - at) + 230.0 * (ended - crank_at)) / 3600.0 / spec.battery_ah
        if volts < spec.low_volts_alarm_v:
            story.alarms.append((crank_at + 0.5, ended, "battery low"))
        if fires:
            break
        at = ended + PAUSE_S
    story.charge.append((demand.fired_at, max(0.0, charge)))
    story.demands.append(demand)
    return demand


def _stand(story: Story, until: float) -> float:
    """Let the battery stand until `until`: held full by the charger, or drained. Returns the charge then."""
    spec = story.spec
    since, charge = story.charge[-1]
    if spec.charger_dies is None or until < instant(spec.charger_dies, spec.zone):
        story.charge += [(since + 1.0, 1.0), (until, 1.0)]
        return 1.0
    dies = instant(spec.charger_dies, spec.zone)
    if since < dies:
        story.charge += [(since + 1.0, 1.0), (dies, 1.0)]
        since, charge = dies, 1.0
    charge = battery.drained(charge, until - since, spec.battery_ah, spec.standing_a)
    story.charge.append((until, charge))
    return charge


def _run(story: Story, demand: Demand, run_s: float, loaded: Span, rng: np.random.Generator) -> None:
    """Run for `run_s` seconds, with the building between the two instants of `loaded` (from firing)."""
    spec = story.spec
    seconds = np.arange(int(run_s) + 1, dtype=np.float64)
    load = np.where(
        (seconds >= loaded[0]) & (seconds < loaded[1]),
        _building_kw(spec, demand.fired_at + seconds, rng),
        0.0,
    )
    fired = demand.fired_at
    ambient, start_c = float(story.weather.ambient(fired + run_s / 2)), float(story.resting_coolant(fired))
    demand.trace = engine.run(
        spec.engine, load, ambient + 3.0, start_c, _radiator_left(spec, story, fired), STOP_COOLANT_C
    )
    cut = demand.trace.load_kw.size < load.size
    lasted = float(demand.trace.load_kw.size) if cut else run_s
    demand.stop_at, demand.ended_by = fired + lasted, "coolant" if cut else "stop"
    knots = np.unique(np.r_[0 : demand.trace.burnt_l.size : 60, demand.trace.burnt_l.size - 1])
    before = story.burnt[-1][1]
    story.burnt += [(fired + float(k), before + float(demand.trace.burnt_l[k])) for k in knots]
    hours = story.hours[-1][1]
    story.hours += [(fired, hours), (demand.stop_at, hours + lasted / HOUR)]
    story.charge.append((demand.stop_at, battery.recharged(story.charge[-1][1], lasted)))


def _radiator_left(spec: Spec, story: Story, t: float) -> float:
    """Share of the radiator's heat transfer that is left: 1 where nothing fouls it."""
    if spec.fouls_from is None:
        return 1.0
    began = instant(spec.fouls_from, spec.zone)
    return 1.0 - spec.fouled_at_end * float(np.clip((t - began) / (story.last_s - began), 0.0, 1.0))


def _building_kw(spec: Spec, t: Floats, rng: np.random.Generator) -> Floats:
    """The building's load: a base that follows the day, something that switches, and slow scatter."""
    base = spec.load_base * (1 + 0.15 * np.sin(2 * np.pi * (t / (24 * HOUR) - 0.3)))
    phase = (t / spec.cycle_s + float(rng.uniform())) % 1.0
    switched = np.where(phase < spec.cycle_on, spec.load_cycle, 0.0)
    knots = np.arange(t[0] - 60, t[-1] + 121, 60.0)
    scatter = np.interp(t, knots, 0.015 * rng.standard_normal(knots.size))
    return spec.engine.rated_kw * np.clip(base + switched + scatter, 0.02, 1.0)
