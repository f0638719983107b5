"""Load, warmth and time of exercises. Invented figures: they show behaviour, they prove no value."""

from dataclasses import replace
from datetime import timedelta

from startworthy.findings import Reason
from startworthy.results import Sampling
from tests.support.books import at, book, day, known, mark, run, start
from tests.support.cases import cannot, raises, silent

PLAN = known({"exercise": {"every_days": 7, "minutes": 20}})
ASKS = known({"exercise": {"every_days": 7, "minutes": 20, "min_load_fraction": 0.5}})
LONG = known({"exercise": {"every_days": 28, "minutes": 60}})
AT_8 = replace(PLAN, exercise_minute_of_day=480)
LONG_AT_8 = replace(LONG, exercise_minute_of_day=480)
ASKS_60 = known({"exercise": {"every_days": 7, "minutes": 20}, "limits": {"exercise_hot_c": 60.0}})
VIENNA = known({"exercise": {"every_days": 7, "minutes": 20}, "time_zone": "Europe/Vienna"}, time_zone="Europe/Vienna")


def loads(*fractions, of=PLAN, **own):
    return book(
        runs=[run(7 * n, load_fraction_mean=f, **own) for n, f in enumerate(fractions)], of=of, span=(at(0), at(200))
    )


def warmed(*degrees, of=LONG, minutes=60.0, **own):
    runs = [run(14 * n, minutes, coolant_max_c=c, **({"coolant_before_c": 10.0} | own)) for n, c in enumerate(degrees)]
    return book(runs=runs, of=of, span=(at(0), at(200)))


def at_times(*times, of=PLAN, more=(), **rest):
    """Exercises at (day, hour), with other runs between."""
    runs = [run(d, began_at=at(d, h)) for d, h in times] + list(more)
    return book(runs=sorted(runs, key=lambda r: r["began_at"]), days=[day(n) for n in range(200)], of=of, **rest)


early = [(7 * n, 9) for n in range(12)]
long_outage = run(80, 300.0, cause="outage", began_at=at(80, 2))

CASES = [
    raises("exercise.light_load", "half of what the plan asks", loads(*[0.6] * 3, *[0.3] * 4, of=ASKS), "soon", "asked"),
    raises("exercise.light_load", "one below the plan", loads(*[0.6] * 6, 0.3, 0.6, of=ASKS), "note", "once"),
    raises("exercise.light_load", "carried load, and carries none since", loads(*[0.45] * 10, *[0.02] * 5), "soon", "fell"),
    raises("exercise.light_load", "a year of weekly exercises without load: one note", loads(*[0.0] * 26), "note", "standing"),
    raises("exercise.light_load", "cause not told, but at the hour of the exercise", loads(*[0.0] * 9, of=AT_8, cause="unknown"), "note", "standing"),
    silent("exercise.light_load", "at 40 %", loads(*[0.4] * 12)),
    silent("exercise.light_load", "29 %, a little under the general figure", loads(*[0.29] * 12)),
    silent("exercise.light_load", "20 % over the whole run, most of it cool-down", loads(*[0.2] * 12, load_taken_s=20.0, unloaded_end_s=600.0)),
    silent("exercise.light_load", "now and then a light one, and no plan", loads(*[0.4, 0.1] * 6)),
    silent("exercise.light_load", "stopped short before it took load", book(runs=[*[run(7 * n) for n in range(9)], *[run(70 + n, 1.0, load_fraction_mean=0.0) for n in range(4)]], of=PLAN)),
    silent("exercise.light_load", "a run by hand without load is none", book(runs=[*[run(7 * n) for n in range(9)], run(70, load_fraction_mean=0.0, cause="manual")], of=PLAN)),
    cannot("exercise.light_load", "kilowatts, and no rating", loads(None, None, load_kw_mean=3.0), Reason.NOT_IN_REGISTER),
    cannot("exercise.light_load", "no value in any exercise", loads(None, None), Reason.NOTHING_SEEN, "no_load"),
    cannot("exercise.light_load", "three rows in an exercise", loads(*[0.1] * 6, rows=3, resolution_s=300.0), Reason.TOO_COARSE),
    cannot("exercise.light_load", "no exercise told", book(runs=[run(3, cause="outage")], of=PLAN), Reason.NOTHING_SEEN, "no_exercise"),
    cannot("exercise.light_load", "no load logged", book(runs=[run(3)], of=PLAN, signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
    # exercise.cold
    raises("exercise.cold", "an hour, and 55 C", warmed(82.0, 55.0, 54.0, 56.0), "soon", "often"),
    raises("exercise.cold", "once", warmed(82.0, 81.0, 55.0, 82.0), "note", "once"),
    raises("exercise.cold", "the register asks for 60 C", warmed(50.0, 51.0, 52.0, of=ASKS_60, minutes=31.0), "soon", "often"),
    raises("exercise.cold", "cause not told, but at the hour of the exercise", warmed(55.0, 54.0, 56.0, of=LONG_AT_8, cause="unknown"), "soon", "often"),
    silent("exercise.cold", "an hour, and 80 C", warmed(80.0, 81.0, 80.0)),
    silent("exercise.cold", "70 C, thermostat and whole degrees", warmed(70.0, 70.0, 70.0)),
    silent("exercise.cold", "64 C in the last row, and rows five minutes apart", warmed(64.0, 64.0, 64.0, resolution_s=300.0)),
    silent("exercise.cold", "one long ago", warmed(50.0, 80.0, 80.0, 80.0, 80.0)),
    cannot("exercise.cold", "a weekly exercise of 20 min", warmed(50.0, 51.0, of=PLAN, minutes=20.0), Reason.NOT_IN_REGISTER, "short_plan"),
    cannot("exercise.cold", "cooled by air", warmed(50.0, of=known({"air_cooled": True})), Reason.NOTHING_SEEN, "air_cooled"),
    cannot("exercise.cold", "a coolant that does not follow the engine", warmed(22.0, 22.0, 23.0, coolant_before_c=20.0), Reason.NOTHING_SEEN, "no_long_exercise"),
    cannot("exercise.cold", "cut short each time", warmed(50.0, 50.0, minutes=12.0), Reason.NOTHING_SEEN, "no_long_exercise"),
    # exercise.moved
    raises("exercise.moved", "five hours later, for good", at_times(*early, *[(84 + 7 * n, 14) for n in range(4)]), "soon", "hour"),
    raises("exercise.moved", "an hour before midnight to two after it", at_times(*[(7 * n, 23) for n in range(12)], *[(84 + 7 * n, 26) for n in range(4)]), "soon", "hour"),
    raises("exercise.moved", "five hours later, outages and hand runs between", at_times(
        *early, *[(85 + 7 * n, 14) for n in range(4)], more=[long_outage, run(90, 12.0, cause="manual", began_at=at(90, 11))]), "soon", "hour"),
    raises("exercise.moved", "two days later in the week", at_times(*early, *[(86 + 7 * n, 9) for n in range(4)]), "soon", "day"),
    raises("exercise.moved", "every fortnight since", at_times(*early, *[(77 + 14 * n, 9) for n in range(1, 5)]), "soon", "rarer"),
    raises("exercise.moved", "every day since", at_times(*early, *[(77 + n, 9) for n in range(1, 9)]), "soon", "oftener"),
    raises("exercise.moved", "two so far", at_times(*early, *[(84 + 7 * n, 14) for n in range(2)]), "note", "twice"),
    silent("exercise.moved", "as ever", at_times(*early)),
    silent("exercise.moved", "put off by a day once", at_times(*early[:6], (43, 9), *early[7:])),
    silent("exercise.moved", "put off by a day, the last one", at_times(*early[:-1], (78, 9))),
    silent("exercise.moved", "five hours later once", at_times(*early[:6], (42, 14), *early[7:])),
    silent("exercise.moved", "a control without daylight saving: an hour by the clock", at_times(*[(7 * n, 9) for n in range(24)], of=VIENNA)),
    silent("exercise.moved", "a control with daylight saving", at_times(*[(7 * n, 9 if 7 * n < 83 else 8) for n in range(24)], of=VIENNA)),
    silent("exercise.moved", "at midnight, a minute to and a minute past", at_times(*[(7 * n, 23.99 if n % 2 else 24.01) for n in range(16)])),
    silent("exercise.moved", "an outage took its place", at_times(*early[:6], *early[7:], more=[run(42, 90.0, cause="outage", began_at=at(42, 7))])),
    silent("exercise.moved", "a control that counts from the outage", at_times(*early, *[(87 + 7 * n, 2) for n in range(4)], more=[long_outage])),
    silent("exercise.moved", "runs by hand at another hour", at_times(*early, more=[run(84 + 7 * n, cause="manual", began_at=at(84 + 7 * n, 15)) for n in range(4)])),
    silent("exercise.moved", "outages at another hour, mains logged", at_times(*early, more=[run(84 + 7 * n, cause="unknown", run=90 + n, began_at=at(84 + 7 * n, 15)) for n in range(4)], starts=[
        start(84 + 7 * n, run=90 + n, mains_lost_at=at(84 + 7 * n, 15) - timedelta(seconds=9)) for n in range(4)])),
    silent("exercise.moved", "the log was away each second week", at_times(*early, *[(77 + 14 * n, 9) for n in range(1, 5)], marks=[
        mark("gap", at(83 + 14 * n), at(85 + 14 * n), value=2 * 86400.0) for n in range(4)])),
    cannot("exercise.moved", "three runs", at_times(*early[:3]), Reason.TOO_FEW, "no_habit"),
    cannot("exercise.moved", "no two at one hour", at_times(*[(7 * n, (5 * n) % 24) for n in range(5)]), Reason.TOO_FEW, "no_habit"),
    cannot("exercise.moved", "no run that may be one", at_times(more=[run(3, cause="manual")]), Reason.TOO_FEW, "no_habit"),
    cannot("exercise.moved", "a row every ten minutes", at_times(*early, sampling=Sampling(600.0, 600.0, 600.0)), Reason.TOO_COARSE),
]  # fmt: skip
