"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from startworthy.results import Sampling
from tests.support.books import at, book, day, mark, run, sensor
from tests.support.cases import cannot, raises, silent

WEEKLY = range(3, 120, 7)
RUNS = [run(n) for n in WEEKLY]


def of(signal, days=120, *, runs=RUNS, rest=None, marks=(), change=None, running=None, others=("voltage_v",), **more):
    """A signal over these days: rest and running by day number, and other signals that are alive."""
    rows = []
    for n in range(days):
        low, high = (1.0, 1.1) if rest is None else rest(n)
        own = {"rest_low": low, "rest_high": high}
        if n in WEEKLY:
            ran_low, ran_high = (0.0, 50.0) if running is None else running(n)
            own |= {"running_low": ran_low, "running_high": ran_high}
        own |= change(n) if change else {}
        rows.append(sensor(n, signal, **own))
    for other in others:
        rows += [sensor(n, other) for n in range(days)]
    return book(sensors=rows, runs=runs, days=more.pop("of_days", [day(n) for n in range(days)]), marks=marks, **more)


GONE = {"filled": 0.0, "rest_low": None, "rest_high": None, "running_low": None, "running_high": None}
ONLY_RUNNING = {"filled": 0.0, "rest_low": None, "rest_high": None}


def gone_from(day_number):
    return lambda n: GONE if n >= day_number else {}


def several(n):
    return [
        sensor(d, name, **(GONE if d >= 60 else {}))
        for name in ("oil_kpa", "coolant_c", "fuel_fraction")
        for d in range(n)
    ]


def heated(n):
    return (40.0, 40.0)


def fuel(per_run, stop_at=None, step=0.01):
    """Level by day number: each weekly run takes that much; from a day on it stands still."""

    def level(n):
        seen = n if stop_at is None else min(n, stop_at)
        value = round((0.9 - per_run * sum(1 for d in WEEKLY if d < seen)) / step) * step
        return (value, value)

    return level


LONG_RUNS = [run(n, minutes=120.0) for n in WEEKLY]
RUN_DAYS = [day(n, running_s=7200.0 if n in WEEKLY else 0.0) for n in range(120)]
SHORT_DAYS = [day(n, running_s=1200.0 if n in WEEKLY else 0.0) for n in range(120)]
WEATHER = [day(n, rest_coolant_c=10.0 + (n % 10)) for n in range(120)]

CASES = [
    # log.signal_lost
    raises("log.signal_lost", "oil pressure from the sixtieth day on", of("oil_kpa", change=gone_from(60)), "urgent", "guard"),
    raises("log.signal_lost", "ambient from the sixtieth day on", of("ambient_c", change=gone_from(60)), "soon", "one"),
    raises("log.signal_lost", "three at once have one cause", book(sensors=[*several(120), *(sensor(d, "battery_v") for d in range(120))], runs=RUNS), "soon", "several"),
    raises("log.signal_lost", "one that only speaks while it runs", of("oil_kpa", change=lambda n: GONE if n >= 80 else ONLY_RUNNING), "urgent", "guard"),
    raises("log.signal_lost", "with a gap that day", of("ambient_c", change=gone_from(60), marks=[mark("gap", at(60), at(60.5), value=43200.0)]), "soon", "one"),
    silent("log.signal_lost", "all there", of("oil_kpa")),
    silent("log.signal_lost", "a log that simply ends", of("oil_kpa", days=119)),
    silent("log.signal_lost", "gone for the last day only", of("ambient_c", change=gone_from(119))),
    silent("log.signal_lost", "gone for a week, and back", of("ambient_c", change=lambda n: GONE if 60 <= n < 67 else {})),
    silent("log.signal_lost", "one that only speaks while it runs, last run a week ago", of("oil_kpa", change=lambda n: ONLY_RUNNING)),
    silent("log.signal_lost", "there for three weeks only, then never again", of("fuel_l", change=gone_from(21))),
    cannot("log.signal_lost", "three weeks of log", of("oil_kpa", days=21), Reason.TOO_FEW, "few_days"),
    cannot("log.signal_lost", "no sensors", book(), Reason.NOTHING_SEEN),
    # log.sensor_stuck
    raises("log.sensor_stuck", "coolant that runs do not move", of("coolant_c", rest=heated, running=heated), "soon", "guard"),
    raises("log.sensor_stuck", "oil from the sixtieth day on", of("oil_kpa", rest=lambda n: (0.0, 0.0), running=lambda n: (0.0, 320.0) if n < 60 else (0.0, 0.0)), "soon", "guard"),
    raises("log.sensor_stuck", "battery volts that a start does not move", of("battery_v", rest=lambda n: (13.5, 13.5), running=lambda n: (13.5, 13.5)), "soon", "one"),
    raises("log.sensor_stuck", "fuel that running does not move any more", of("fuel_fraction", rest=fuel(0.03, 60), of_days=RUN_DAYS, runs=LONG_RUNS), "soon", "fuel"),
    raises("log.sensor_stuck", "the same in litres", of("fuel_l", rest=lambda n: tuple(100.0 * v for v in fuel(0.03, 60)(n)), of_days=RUN_DAYS, runs=LONG_RUNS), "soon", "fuel"),
    raises("log.sensor_stuck", "fuel that never moved, over long running", of("fuel_fraction", rest=lambda n: (0.6, 0.6), of_days=RUN_DAYS, runs=LONG_RUNS), "soon", "fuel"),
    raises("log.sensor_stuck", "air that no weather moves", of("ambient_c", rest=lambda n: (20.0, 20.0), of_days=WEATHER, runs=[]), "note", "air"),
    silent("log.sensor_stuck", "resting zeros", of("oil_kpa", rest=lambda n: (0.0, 0.0), running=lambda n: (0.0, 300.0))),
    silent("log.sensor_stuck", "a heater that holds it at one whole degree", of("coolant_c", rest=heated, running=lambda n: (40.0, 82.0))),
    silent("log.sensor_stuck", "whole degrees, warm within a row", of("coolant_c", rest=lambda n: (20.0, 21.0), running=lambda n: (80.0, 80.0))),
    silent("log.sensor_stuck", "a sender of one per cent steps, used by short runs", of("fuel_fraction", rest=fuel(0.004), of_days=SHORT_DAYS)),
    silent("log.sensor_stuck", "one run at one value", of("oil_kpa", rest=lambda n: (0.0, 0.0), running=lambda n: (0.0, 320.0) if n < 115 else (0.0, 0.0))),
    silent("log.sensor_stuck", "a heated room", of("ambient_c", rest=lambda n: (20.0, 20.0), of_days=[day(n, rest_coolant_c=20.0) for n in range(120)], runs=[])),
    silent("log.sensor_stuck", "air in whole degrees", of("ambient_c", rest=lambda n: (10.0 + n % 9, 14.0 + n % 9), of_days=WEATHER, runs=[])),
    cannot("log.sensor_stuck", "no runs, no weather", of("oil_kpa", runs=[]), Reason.NOTHING_SEEN, "nothing_moved"),
    cannot("log.sensor_stuck", "short runs, fuel at one level", of("fuel_fraction", rest=lambda n: (0.6, 0.6), of_days=SHORT_DAYS), Reason.NOTHING_SEEN, "nothing_moved"),
    cannot("log.sensor_stuck", "no sensors", book(), Reason.NOTHING_SEEN),
    # log.sensor_spikes
    raises("log.sensor_spikes", "one a day", of("coolant_c", change=lambda n: {"spikes": 1}), "note", "some"),
    raises("log.sensor_spikes", "ten a day", of("coolant_c", change=lambda n: {"spikes": 10}), "soon", "many"),
    silent("log.sensor_spikes", "none", of("coolant_c")),
    silent("log.sensor_spikes", "exactly ten in all", of("coolant_c", change=lambda n: {"spikes": int(n < 10)})),
    cannot("log.sensor_spikes", "a row every five minutes", of("coolant_c", change=lambda n: {"spikes": 10}, sampling=Sampling(300.0, 300.0, 300.0)), Reason.TOO_COARSE),
    cannot("log.sensor_spikes", "no sensors", book(), Reason.NOTHING_SEEN),
]  # fmt: skip
