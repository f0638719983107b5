"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Question, Reason, Severity
from tests.support.books import book, day, known, run
from tests.support.cases import Case, cannot, raises, silent

CODE = "care.protection_silent"
GOOD = {
    "oil_before_kpa": 0.0,
    "coolant_before_c": 20.0,
    "coolant_stop_s": 0.0,
    "overspeed_s": 0.0,
    "speed_max_fraction": 1.04,
}
LOW = {"oil_low_s": 300.0, "oil_min_kpa": 40.0, "oil_warm_kpa": 45.0}
HOT = {"coolant_stop_s": 300.0, "coolant_max_c": 115.0}
FAST = {"overspeed_s": 60.0, "speed_max_fraction": 1.2}
DEAD = {"oil_before_kpa": 350.0, "oil_min_kpa": 349.0, "oil_warm_kpa": 351.0}
ZERO = {"oil_before_kpa": 0.0, "oil_min_kpa": 0.0, "oil_warm_kpa": 0.0, "oil_low_s": 1185.0}


def log(*runs, weeks=None, of=None, **own):
    rows = [run(7 * n, **(GOOD | own | more)) for n, more in enumerate(runs)]
    return book(days=[day(n) for n in range(7 * (weeks or len(rows)))], runs=rows, of=of)


CASES = [
    raises(CODE, "five minutes with hardly any oil pressure in the last run", log({}, {}, {}, LOW), "urgent", "oil", Question.KEEP_RUNNING),
    raises(CODE, "rows a minute apart", log({}, {}, LOW, LOW, resolution_s=60.0), "urgent", "oil"),
    raises(CODE, "far too hot, and it ran on", log({}, {}, {}, HOT), "urgent", "coolant"),
    raises(CODE, "a fifth too fast, and it ran on", log({}, {}, {}, FAST | {"frequency_max_hz": 59.8}), "urgent", "speed"),
    raises(CODE, "it ended with low oil after half an hour of it", log({}, LOW | {"oil_low_s": 2000.0, "ended_by": "oil"}), "urgent", "oil"),
    raises(CODE, "once, and good since", log(LOW, {}, {}, {}), "note", "oil"),
    raises(CODE, "twice, and good since", log(LOW, LOW, {}, {}, {}), "soon", "oil"),
    raises(CODE, "twice, half a year ago", log(LOW, LOW, *[{}] * 24), "note", "oil"),
    raises(CODE, "the same pressure at rest and running in every run", log(DEAD, DEAD, DEAD, DEAD), "soon", "still_oil"),
    raises(CODE, "no pressure at rest nor running, in every run", log(ZERO, ZERO, ZERO), "urgent", "still_oil"),
    raises(CODE, "coolant that stays at the air's temperature", log(*[{"coolant_max_c": 20.5}] * 4), "soon", "still_coolant"),
    Case(CODE, "no oil pressure and too hot", log({}, LOW | HOT), ((Severity.URGENT, "oil"), (Severity.URGENT, "coolant"))),
    silent(CODE, "all in order", log({}, {}, {})),
    silent(CODE, "low oil stopped it", log({}, {}, LOW | {"oil_low_s": 40.0, "ended_by": "oil"})),
    silent(CODE, "stopped by its protection, which one is not told", log({}, {}, HOT | {"coolant_stop_s": 90.0, "ended_by": "shutdown"})),
    silent(CODE, "a spell of ten seconds", log({}, {}, LOW | {"oil_low_s": 10.0})),
    silent(CODE, "two rows a minute apart", log({}, {}, LOW | {"oil_low_s": 120.0}, resolution_s=60.0)),
    silent(CODE, "load thrown off: fast for seconds", log({}, {}, {"overspeed_s": 5.0, "speed_max_fraction": 1.18})),
    silent(CODE, "a governor with wide droop, unloaded", log(*[{"overspeed_s": 1100.0, "speed_max_fraction": 1.11}] * 4)),
    silent(CODE, "speed misread by a third, frequency as it should be", log(*[FAST | {"frequency_max_hz": 51.8}] * 4)),
    silent(CODE, "an air-cooled set", log(*[{"coolant_max_c": 20.0}] * 4, of=known({"air_cooled": True}))),
    silent(CODE, "runs too short to warm it", log(*[{"coolant_max_c": 20.5, "running_low_s": 300.0}] * 4)),
    silent(CODE, "restarted while hot", log(*[{"coolant_before_c": 82.0, "coolant_max_c": 82.5}] * 4)),
    cannot(CODE, "rows five minutes apart", log(LOW, LOW, resolution_s=300.0), Reason.TOO_COARSE),
    cannot(CODE, "two runs with nothing but the values before them", book(
        days=[day(n) for n in range(9)], runs=[run(n, oil_before_kpa=0.0, oil_low_s=None, coolant_stop_s=None, overspeed_s=None) for n in (1, 8)]), Reason.TOO_FEW),
    cannot(CODE, "no such signal", book(days=[day(0)], signals={"voltage_v"}), Reason.SIGNAL_MISSING),
    cannot(CODE, "no run", book(days=[day(n) for n in range(9)]), Reason.NOTHING_SEEN),
]  # fmt: skip
