"""The six sets of the Ostrel valley: who they are and what befalls each. All of it is invented."""

from __future__ import annotations

from dataclasses import dataclass

from tools.sample_fleet.engine import Engine
from tools.sample_fleet.weather import Climate, Spell

VALLEY_ZONE = "Europe/Vienna"
TWIN_ZONE = "America/Denver"


@dataclass(frozen=True, slots=True)
class Exercise:
    """Weekly, on a weekday (0 = Monday), local time; every `loaded_every`-th carries the building, 0 none."""

    weekday: int
    at: str
    minutes: float
    loaded_every: int
    mode: str = "Auto"
    moved: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Outage:
    """Mains lost at a local time, for that many minutes."""

    at: str
    minutes: float


@dataclass(frozen=True, slots=True)
class Visit:
    """A technician's visit, with or without hand starts. With `left_off_until` the selector stays off."""

    at: str
    minutes: float
    hand_runs: bool = True
    left_off_until: str | None = None


@dataclass(frozen=True, slots=True)
class Spec:
    """One set. Local times are `YYYY-MM-DD HH:MM`.

    Rows come every `rest_s` seconds, `run_s` while running, `fast_s` around starts and stops.
    """

    set_id: str
    site: str
    seed: int
    zone: str
    first: str
    last: str
    engine: Engine
    phases: int
    battery_v: int
    battery_ah: float
    tank_l: float
    fuel_first: float
    climate: Climate
    exercise: Exercise
    rest_s: int
    run_s: int
    fast_s: int
    preheat_s: float = 8.0
    battery_age: float = 1.0
    standing_a: float = 0.05
    hours_first: float = 120.0
    starts_first: int = 100
    load_base: float = 0.3
    load_cycle: float = 0.25
    cycle_s: float = 1500.0
    cycle_on: float = 0.4
    outages: tuple[Outage, ...] = ()
    visits: tuple[Visit, ...] = ()
    refuels: tuple[str, ...] = ()
    logger_off: tuple[tuple[str, str], ...] = ()
    no_value_share: float = 0.0
    low_volts_alarm_v: float = 0.0
    reset: str | None = None
    charger_dies: str | None = None
    leak_from: str | None = None
    leak_l_day: float = 0.0
    fouls_from: str | None = None
    fouled_at_end: float = 0.0
    expected: tuple[tuple[str, str, str], ...] = ()
    allowed: tuple[str, ...] = ()

    @property
    def healthy(self) -> bool:
        """Whether nothing is wrong with it."""
        return not self.expected


PUMP = Spec(
    set_id="PUMP-01",
    site="Lower Ostrel pump station",
    seed=101,
    zone=VALLEY_ZONE,
    first="2025-09-01 00:00",
    last="2026-03-01 00:00",
    engine=Engine(16.0, 1500.0, 50.0, 230.0, idle_lph=1.0, lph_per_kw=0.255, heat_kj_k=110.0, radiator_kw_k=0.28),
    phases=3,
    battery_v=12,
    battery_ah=88.0,
    tank_l=180.0,
    fuel_first=0.72,
    climate=Climate(8.5, 9.5, 3.5),
    exercise=Exercise(2, "10:00", 20.0, 2, moved=(("2025-11-26", "2025-11-27"),)),
    rest_s=300,
    run_s=10,
    fast_s=1,
    hours_first=214.6,
    starts_first=188,
    outages=(
        Outage("2025-10-21 03:12", 47.0),
        Outage("2025-12-17 04:40", 560.0),
        Outage("2026-01-24 06:05", 6.0),
    ),
    visits=(Visit("2025-10-06 13:00", 65.0),),
    refuels=("2025-11-12 11:20", "2026-01-08 14:00"),
    logger_off=(("2026-01-13 08:21", "2026-01-13 09:04"),),
)

HUT = Spec(
    set_id="HUT-02",
    site="Three Cairns rescue hut",
    seed=202,
    zone=VALLEY_ZONE,
    first="2025-10-15 00:00",
    last="2026-04-01 00:00",
    engine=Engine(8.0, 1500.0, 50.0, 230.0, idle_lph=0.6, heat_kj_k=62.0, shut_kw_k=0.016, radiator_kw_k=0.16),
    phases=1,
    battery_v=12,
    battery_ah=75.0,
    tank_l=120.0,
    fuel_first=0.84,
    climate=Climate(-1.5, 8.0, 2.5, 2.2, 2.5, spells=(Spell("2026-01-12", -9.0, 4.0), Spell("2026-02-03", -6.0, 3.0))),
    exercise=Exercise(5, "11:00", 20.0, 4, mode="Test"),
    rest_s=300,
    run_s=5,
    fast_s=1,
    hours_first=77.3,
    starts_first=140,
    load_base=0.35,
    load_cycle=0.2,
    cycle_s=2400.0,
    outages=(
        Outage("2025-11-23 17:31", 170.0),
        Outage("2026-01-12 05:52", 145.0),
        Outage("2026-02-14 08:30", 280.0),
    ),
    visits=(Visit("2026-03-10 09:00", 60.0),),
    refuels=("2025-12-05 12:00",),
    no_value_share=0.0004,
    low_volts_alarm_v=9.9,
)

BOOST = Spec(
    set_id="BOOST-03",
    site="Upper Ostrel pressure booster",
    seed=303,
    zone=VALLEY_ZONE,
    first="2025-09-15 00:00",
    last="2025-12-29 00:00",
    engine=Engine(10.0, 3000.0, 50.0, 230.0, droop=0.04, idle_lph=0.8, heat_kj_k=70.0, radiator_kw_k=0.18),
    phases=1,
    battery_v=12,
    battery_ah=75.0,
    battery_age=1.08,
    tank_l=100.0,
    fuel_first=0.9,
    climate=Climate(8.0, 9.0, 3.5, spells=(Spell("2025-12-27", -3.0, 2.0),)),
    exercise=Exercise(0, "09:30", 15.0, 2),
    rest_s=300,
    run_s=10,
    fast_s=1,
    hours_first=402.0,
    starts_first=391,
    outages=(Outage("2025-10-28 14:07", 34.0), Outage("2025-12-26 21:16", 118.0)),
    charger_dies="2025-11-05 02:40",
    expected=(
        ("battery.charger_lost", "2025-11-05", "2025-11-08"),
        ("battery.low_at_rest", "2025-11-10", "2025-12-29"),
        ("start.failed", "2025-12-26", "2025-12-27"),
    ),
    allowed=("battery.crank_sag", "start.slow", "start.retried", "care.left_locked_out"),
)

CLINIC = Spec(
    set_id="CLINIC-04",
    site="Clinic and ambulance garage of the twin valley",
    seed=404,
    zone=TWIN_ZONE,
    first="2026-03-01 00:00",
    last="2026-07-15 00:00",
    engine=Engine(
        20.0,
        1800.0,
        60.0,
        240.0,
        idle_lph=1.2,
        lph_per_kw=0.25,
        heat_kj_k=125.0,
        radiator_kw_k=0.34,
        cooling_h=3.6,
    ),
    phases=1,
    battery_v=12,
    battery_ah=95.0,
    tank_l=227.0,
    fuel_first=0.93,
    climate=Climate(12.0, 12.0, 7.0, 2.5, 2.0, -7.0, spells=(Spell("2026-07-10T21:00", 8.0, 1.3),)),
    exercise=Exercise(0, "09:00", 20.0, 1),
    rest_s=300,
    run_s=10,
    fast_s=1,
    hours_first=318.4,
    starts_first=260,
    load_base=0.42,
    load_cycle=0.22,
    cycle_s=1100.0,
    cycle_on=0.5,
    outages=(Outage("2026-04-16 18:22", 190.0), Outage("2026-07-10 14:47", 231.0)),
    visits=(Visit("2026-07-10 19:30", 40.0, hand_runs=False),),
    refuels=("2026-05-20 10:15",),
    reset="2026-07-10 19:40",
    fouls_from="2026-03-20 00:00",
    fouled_at_end=0.66,
    expected=(("cooling.overheat", "2026-07-10", "2026-07-11"),),
)

SPRING = Spec(
    set_id="SPRING-05",
    site="Grey Spring treatment house",
    seed=505,
    zone=VALLEY_ZONE,
    first="2026-01-05 00:00",
    last="2026-04-13 00:00",
    engine=Engine(12.0, 1500.0, 50.0, 230.0),
    phases=1,
    battery_v=12,
    battery_ah=75.0,
    tank_l=140.0,
    fuel_first=0.78,
    climate=Climate(7.5, 8.5, 3.0),
    exercise=Exercise(1, "08:30", 20.0, 1),
    rest_s=60,
    run_s=60,
    fast_s=60,
    hours_first=511.8,
    starts_first=604,
    outages=(
        Outage("2026-01-29 11:42", 76.0),
        Outage("2026-02-25 02:18", 41.0),
        Outage("2026-03-31 19:03", 22.0),
    ),
    visits=(Visit("2026-02-18 14:05", 70.0, left_off_until="2026-03-03 15:20"),),
    allowed=("care.outage_missed",),
    expected=(
        ("care.not_in_auto", "2026-02-18", "2026-03-04"),
        ("exercise.missed", "2026-02-17", "2026-03-11"),
    ),
)

MAST = Spec(
    set_id="MAST-06",
    site="Ravenfell radio mast",
    seed=606,
    zone=VALLEY_ZONE,
    first="2025-11-10 00:00",
    last="2026-03-16 00:00",
    engine=Engine(6.0, 1500.0, 50.0, 230.0, droop=0.03, idle_lph=0.5, heat_kj_k=55.0, radiator_kw_k=0.13),
    phases=1,
    battery_v=24,
    battery_ah=60.0,
    tank_l=150.0,
    fuel_first=0.92,
    climate=Climate(5.0, 8.0, 2.5),
    exercise=Exercise(3, "13:00", 15.0, 0),
    rest_s=300,
    run_s=10,
    fast_s=10,
    preheat_s=10.0,
    hours_first=95.1,
    starts_first=77,
    outages=(Outage("2025-12-21 16:20", 64.0),),
    no_value_share=0.001,
    leak_from="2025-12-10 00:00",
    leak_l_day=0.5,
    expected=(("fuel.lost_at_rest", "2025-12-08", "2026-03-16"),),
)

FLEET: tuple[Spec, ...] = (PUMP, HUT, BOOST, CLINIC, SPRING, MAST)
