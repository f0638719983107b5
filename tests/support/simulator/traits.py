"""What one simulated set is: place, nameplate, battery, engine, habits, logger, register, all drawn from the seed."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from tests.support.simulator.battery import Block
from tests.support.simulator.climate import CLIMATES, Climate
from tests.support.simulator.engine import Engine, Tank

Rng = np.random.Generator


@dataclass
class Condition:
    """How a fault changes the set: name to (before, after, days over which it grows), from `onset_s` on."""

    onset_s: float = np.inf
    changes: dict[str, tuple[float, float, float]] = field(default_factory=dict)

    def at(self, name: str, t: float, default: float = 0.0) -> float:
        if name not in self.changes:
            return default
        before, after, days = self.changes[name]
        if t < self.onset_s:
            return before
        share = 1.0 if days <= 0 else min((t - self.onset_s) / 86400.0 / days, 1.0)
        return before + (after - before) * share


@dataclass
class Traits:
    """One set. Times of day are local minutes; fractions are of rated load."""

    set_id: str
    climate: Climate
    zone: str
    begins: datetime
    days: float
    shelter_c: float
    battery_v: int
    block: Block
    self_month: float
    regulator_v: float
    hz: int
    rpm: int
    phases: int
    volts: float
    rated_kw: float
    isochronous: bool
    air_cooled: bool
    direct: bool
    glow_a: float
    preheat_s: float
    preheat_follows: bool
    attempts_allowed: int
    crank_limit_s: float
    pause_s: float
    start_delay_s: float
    warm_up_s: float
    retransfer_s: float
    cool_down_s: float
    engine: Engine
    heater_c: float | None
    tank: Tank
    refuel_below: float
    exercise_days: float
    exercise_minute: int
    exercise_weekday: int
    exercise_min: float
    exercise_load: float
    exercise_mode: str
    follows_dst: bool
    base_load: float
    outages_month: float
    service_h: float
    hours_first: float
    starts_first: int
    rest_row_s: float
    run_row_s: float
    columns: set[str] = field(default_factory=set)
    steps: dict[str, float] = field(default_factory=dict)
    oil_offset_kpa: float = 0.0
    crank_speed_seen: bool = True
    register_style: str = "full"
    register_more: dict[str, Any] = field(default_factory=dict)

    def local(self, day: date, minute: float) -> float:
        """Seconds from the log's beginning of a local time of day; a controller without daylight saving keeps winter time."""
        zone = ZoneInfo(self.zone)
        naive = datetime.combine(day, time()) + timedelta(minutes=minute)
        if not self.follows_dst:
            winter = min(
                (datetime(2025, m, 1, tzinfo=zone).utcoffset() or timedelta() for m in (1, 7)),
                key=lambda o: o,
            )
            return (naive - winter - self.begins.replace(tzinfo=None)).total_seconds()
        return (naive.replace(tzinfo=zone) - self.begins).total_seconds()

    @property
    def first_day(self) -> date:
        return self.begins.astimezone(ZoneInfo(self.zone)).date()


def _pick(rng: Rng, *choices: Any) -> Any:
    return choices[int(rng.integers(len(choices)))]


def draw(set_id: str, rng: Rng, days: float, climate: str | None = None) -> Traits:
    """A healthy set of that seed."""
    place = next((c for c in CLIMATES if c.name == climate), None) or _pick(rng, *CLIMATES)
    zone = _pick(rng, *place.zones)
    first = date(2024, 1, 1) + timedelta(days=int(rng.integers(365)))
    begins = datetime.combine(first, time(), tzinfo=ZoneInfo(zone)).astimezone(ZoneInfo("UTC"))
    battery_v = _pick(rng, 12, 12, 24)
    kw = float(_pick(rng, 4, 5, 6, 7.5, 8, 10, 12, 14, 16, 20))
    fast = kw <= 8 and rng.random() < 0.45
    hz = _pick(rng, 50, 60)
    rpm = {50: (1500, 3000), 60: (1800, 3600)}[hz][int(fast)]
    phases = 3 if kw >= 8 and rng.random() < 0.6 else 1
    volts = {
        (50, 1): _pick(rng, 220.0, 230.0, 240.0), (50, 3): _pick(rng, 380.0, 400.0, 415.0),
        (60, 1): _pick(rng, 120.0, 240.0), (60, 3): _pick(rng, 208.0, 480.0),
    }[hz, phases]  # fmt: skip
    size = 0.8 + kw / 30.0
    hot = place.name in {"desert", "tropical"}
    exercise_days = float(_pick(rng, 7, 7, 7, 14, 28))
    exercise_min = float(_pick(rng, 10, 12, 15, 20, 20, 30))
    chargers = ["compensated", "compensated", "plain", "pulse"]
    if exercise_days == 7 and exercise_min >= 20:
        chargers.append("none")
    charger = _pick(rng, *chargers)
    sealed = bool(rng.random() < 0.35) or (charger == "none" and hot)
    block = Block(
        ah=float(round(rng.uniform(55, 80) * size / 5) * 5),
        resistance_ohm=0.0050 * rng.uniform(0.85, 1.15),
        sealed=sealed,
        drain_a=float(rng.uniform(0.006, 0.012)) if charger == "none" else float(rng.uniform(0.025, 0.055)),
        charger=charger,
        float_v={"compensated": rng.uniform(13.5, 13.75), "plain": rng.uniform(13.6, 13.8)}.get(charger, 13.6),
        pulse_h=float(rng.uniform(9, 30)),
        size=size,
    )
    direct = bool(rng.random() < 0.3)
    air_cooled = bool(fast and kw <= 6 and rng.random() < 0.5)
    idle = kw * rng.uniform(0.075, 0.095) if kw > 6 else kw * rng.uniform(0.09, 0.115)
    slope = rng.uniform(0.225, 0.255)
    share = rng.uniform(0.26, 0.30)
    full_heat = (idle + slope * kw) * 9.89 * share
    arctic = place.name == "continental"
    v40, v100 = (
        _pick(rng, (88.0, 14.4), (70.0, 11.6)) if arctic else _pick(rng, (105.0, 14.5), (72.0, 11.2), (110.0, 14.8))
    )
    engine = Engine(
        rated_kw=kw, idle_lph=float(idle), slope_lph_kw=float(slope), block_kj_k=28 + 2.6 * kw, water_kj_k=14 + 1.5 * kw,
        between_kw_k=0.09 + 0.028 * kw, block_loss_kw_k=0.006 + 0.0006 * kw, water_loss_kw_k=0.003 + 0.0003 * kw,
        radiator_kw_k=full_heat / float(rng.uniform(36.0, 43.0)), opens_c=float(_pick(rng, 71.0, 76.0, 79.0, 82.0)),
        share_to_cooling=float(share), oil_hot_kpa=float(rng.uniform(270, 370)), oil_relief_kpa=float(rng.uniform(430, 520)),
        v40_cst=v40, v100_cst=v100, droop=float(rng.uniform(0.025, 0.055)), swing=float(rng.uniform(0.05, 0.10)),
        wobble=float(rng.uniform(0.0006, 0.002)), canopy_k=float(rng.uniform(2, 7)),
    )  # fmt: skip
    glow = 0.0 if direct else float(rng.uniform(28, 50))
    preheat = 0.0 if direct else float(_pick(rng, 5, 8, 8, 10, 12))
    style = str(_pick(rng, "full", "full", "partial", "none"))
    traits = Traits(
        set_id=set_id, climate=place, zone=zone, begins=begins, days=days, shelter_c=float(rng.uniform(0, 4)),
        battery_v=battery_v, block=block, self_month=0.015 if sealed else 0.03, regulator_v=float(rng.uniform(13.9, 14.4)),
        hz=hz, rpm=rpm, phases=phases, volts=float(volts), rated_kw=kw, isochronous=bool(rng.random() < 0.3),
        air_cooled=air_cooled, direct=direct, glow_a=glow, preheat_s=preheat,
        preheat_follows=bool(not direct and rng.random() < 0.2), attempts_allowed=3, crank_limit_s=float(_pick(rng, 8, 10, 15)),
        pause_s=float(_pick(rng, 8, 10, 15)), start_delay_s=float(_pick(rng, 1, 3, 5, 10)), warm_up_s=float(_pick(rng, 5, 10, 15)),
        retransfer_s=float(_pick(rng, 30, 60, 180, 300)), cool_down_s=float(_pick(rng, 60, 120, 180, 300)), engine=engine,
        heater_c=float(rng.uniform(36, 45)) if not air_cooled and (arctic or rng.random() < 0.2) and charger != "none" else None,
        tank=Tank(
            litres=float(round(lph_full(engine) * rng.uniform(22, 45) / 5) * 5),
            shape=str(_pick(rng, "rectangular", "rectangular", "rectangular", "horizontal_cylinder")),
            step=float(_pick(rng, 0.001, 0.005, 0.01, 0.01, 0.02)), noise=float(rng.uniform(0.0005, 0.004)),
            slosh=float(rng.uniform(0.002, 0.012)), swells=bool(rng.random() < 0.7),
        ),
        refuel_below=float(rng.uniform(0.55, 0.75)), exercise_days=exercise_days,
        exercise_minute=int(rng.integers(7, 18)) * 60 + int(_pick(rng, 0, 0, 15, 30)), exercise_weekday=int(rng.integers(7)),
        exercise_min=exercise_min, exercise_load=float(_pick(rng, 0.0, 0.35, 0.45, 0.6)),
        exercise_mode=str(_pick(rng, "automatic", "automatic", "test")), follows_dst=bool(rng.random() < 0.8),
        base_load=float(rng.uniform(0.25, 0.6)), outages_month=float(_pick(rng, 0.0, 0.5, 1.0, 2.5)),
        service_h=250.0, hours_first=float(rng.uniform(5, 900)), starts_first=int(rng.integers(20, 900)),
        rest_row_s=float(_pick(rng, 20, 30, 60, 60, 60, 120, 300)), run_row_s=float(_pick(rng, 1, 1, 1, 5)),
        register_style=style,
    )  # fmt: skip
    if place.name == "continental" and charger == "none":
        traits.block.charger = "compensated"
    _logger(traits, rng)
    return traits


def lph_full(engine: Engine) -> float:
    return engine.idle_lph + engine.slope_lph_kw * engine.rated_kw


def _logger(traits: Traits, rng: Rng) -> None:
    """Which columns there are, and in what steps they come."""
    columns = {
        "voltage",
        "frequency_hz",
        "battery_v",
        "hour_meter_h",
        "fuel_fraction",
        "oil_kpa",
        "coolant_c",
    }
    for name, share in (
        ("speed_rpm", 0.85), ("power_kw", 0.7), ("ambient_c", 0.6), ("mode", 0.75), ("mains_present", 0.7), ("alarm", 0.5),
        ("state", 0.35), ("starts_counter", 0.45), ("on_load", 0.3), ("fuel_flow_lph", 0.1), ("current", 0.3),
    ):  # fmt: skip
        if rng.random() < share:
            columns.add(name)
    for name, share in (("fuel_fraction", 0.12), ("oil_kpa", 0.12), ("hour_meter_h", 0.15)):
        if rng.random() < share:
            columns.discard(name)
    if traits.air_cooled:
        columns.discard("coolant_c")
    if traits.phases == 3 and rng.random() < 0.6:
        columns.add("three")
    traits.columns = columns
    traits.crank_speed_seen = bool(rng.random() < 0.65)
    traits.oil_offset_kpa = float(_pick(rng, 0.0, 0.0, rng.uniform(3, 25)))
    traits.steps = {
        "battery_v": float(_pick(rng, 0.01, 0.1)), "coolant_c": float(_pick(rng, 0.1, 1.0, 1.0)), "ambient_c": float(_pick(rng, 0.1, 1.0)),
        "oil_kpa": float(_pick(rng, 1.0, 1.0, 10.0)), "frequency_hz": float(_pick(rng, 0.01, 0.1)), "voltage": float(_pick(rng, 0.1, 1.0)),
        "hour_meter_h": float(_pick(rng, 0.1, 0.1, 0.01, 1.0)), "power_kw": float(_pick(rng, 0.01, 0.1)), "speed_rpm": float(_pick(rng, 1.0, 6.0)),
    }  # fmt: skip
