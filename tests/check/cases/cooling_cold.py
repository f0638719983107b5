"""Invented figures: they show behaviour, they prove no value."""

import math

from startworthy.findings import Reason
from tests.check.cases.cooling_trend import air, load, weekly
from tests.support.books import at, book, day, known, run
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
AIR = known({"air_cooled": True})
FITTED = known({"coolant_heater": True})
NONE = known({"coolant_heater": False})
WARM, COLD = {"coolant_warm_c": 80.0, "coolant_max_c": 81.0}, {"coolant_warm_c": 52.0, "coolant_max_c": 53.0}
UNDER = {"coolant_warm_c": 66.0, "coolant_max_c": 67.0}


def loaded(*figures, minutes=45.0, of=None, **more):
    """A run a week at half load and 15 C; a figure each."""
    base = {"ambient_before_c": 15.0, "load_late_fraction": 0.5}
    return book(runs=[run(7 * n, minutes, **(base | own | more)) for n, own in enumerate(figures)], of=of, span=YEAR)


def heated(values, of=None, air=lambda n: 2.0 + 4.0 * math.sin(n / 5.0), **own):
    """A day each: coolant over the air where None is given, else the coolant itself."""
    days = []
    for n, value in enumerate(values):
        coolant_c = air(n) + 2.0 if value is None else value
        days.append(day(n, **({"ambient_c": air(n), "rest_coolant_c": coolant_c} | own)))
    return book(days=days, of=of)


CASES = [
    raises("cooling.running_cold", "settles at 52 C, again and again", loaded(WARM, WARM, COLD, COLD, COLD), "soon", "cold"),
    raises("cooling.running_cold", "cold from the first run on", loaded(COLD, COLD, COLD), "soon", "cold"),
    raises("cooling.running_cold", "14 C below its own", loaded(WARM, WARM, WARM, WARM, UNDER, UNDER), "soon", "own"),
    raises("cooling.running_cold", "once", loaded(WARM, WARM, WARM, WARM, COLD), "note", "once"),
    silent("cooling.running_cold", "80 C", loaded(WARM, WARM, WARM)),
    silent("cooling.running_cold", "exactly 60 C", loaded(*[{"coolant_warm_c": 60.0, "coolant_max_c": 61.0}] * 3)),
    silent("cooling.running_cold", "10.3: a thermostat that opens at 71 C", loaded(*[{"coolant_warm_c": 69.0, "coolant_max_c": 72.0}] * 5)),
    silent("cooling.running_cold", "mended since", loaded(COLD, COLD, WARM, WARM, WARM, WARM, WARM)),
    silent("cooling.running_cold", "still warming at the end", loaded(WARM, WARM, *[{"coolant_warm_c": 55.0, "coolant_max_c": 66.0}] * 3)),
    silent("cooling.running_cold", "hot summer first, then winter at its plateau", weekly(lambda i: 0.5, air=lambda i: 40.0 - 1.4 * i, load=load, opens_c=71.0)),
    silent("cooling.running_cold", "a healthy half year", weekly(air=air)),
    cannot("cooling.running_cold", "10.3: unloaded exercise", loaded(COLD, COLD, COLD, load_late_fraction=0.05), Reason.TOO_FEW, "no_run"),
    cannot("cooling.running_cold", "10.3: frost", loaded(COLD, COLD, COLD, ambient_before_c=-8.0), Reason.TOO_FEW, "no_run"),
    cannot("cooling.running_cold", "runs of twenty minutes", loaded(COLD, COLD, minutes=20.0), Reason.TOO_FEW, "no_run"),
    cannot("cooling.running_cold", "load not logged", loaded(COLD, COLD, load_late_fraction=None, load_fraction_mean=None), Reason.SIGNAL_MISSING, "no_load"),
    cannot("cooling.running_cold", "load in kW of a set whose rating nobody knows", loaded(COLD, COLD, load_late_fraction=None, load_fraction_mean=None, load_kw_mean=6.0, load_kw_max=9.0), Reason.SIGNAL_MISSING, "no_load"),
    cannot("cooling.running_cold", "10.3: air cooled", loaded(COLD, COLD, of=AIR), Reason.NOTHING_SEEN, "air_cooled"),
    cannot("cooling.running_cold", "never warm", book(runs=[run(1)], span=YEAR), Reason.NOTHING_SEEN),
    cannot("cooling.running_cold", "no coolant logged", book(runs=[run(1)], signals={"speed_rpm"}, span=YEAR), Reason.SIGNAL_MISSING),
    raises("cooling.heater_off", "known by the log, off for ten days", heated([40.0] * 60 + [None] * 10), "soon", "off"),
    raises("cooling.heater_off", "told by the register, never warm", heated([None] * 30, FITTED), "soon", "never"),
    raises("cooling.heater_off", "told by the register, air not logged", heated([None] * 30, FITTED, ambient_c=None), "soon", "never"),
    raises("cooling.heater_off", "off when the weather turned mild", heated([40.0] * 60 + [None] * 10, air=lambda n: 2.0 if n < 60 else 19.0), "note", "mild"),
    silent("cooling.heater_off", "holds 40 C", heated([40.0] * 70, FITTED)),
    silent("cooling.heater_off", "off for two days", heated([40.0] * 60 + [None] * 2)),
    silent("cooling.heater_off", "off for a week, on again", heated([40.0] * 40 + [None] * 7 + [40.0] * 7)),
    silent("cooling.heater_off", "a hot summer week, the heater has nothing to do", heated([38.0] * 60 + [None] * 7, air=lambda n: 5.0 if n < 60 else 36.0)),
    silent("cooling.heater_off", "exactly 32 C", heated([32.0] * 30, FITTED)),
    silent("cooling.heater_off", "a weak one in hard frost, still well over the air", heated([12.0] * 30, FITTED, air=lambda n: -20.0)),
    cannot("cooling.heater_off", "a long outage takes its supply", heated([None] * 30, FITTED, mains_lost_s=80000.0), Reason.TOO_FEW, "few_days"),
    cannot("cooling.heater_off", "follows the air, no heater known of", heated([None] * 60), Reason.NOT_IN_REGISTER, "no_heater"),
    cannot("cooling.heater_off", "the register says that there is none", heated([None] * 60, NONE), Reason.NOT_IN_REGISTER, "no_heater"),
    cannot("cooling.heater_off", "heated for ten days only", heated([40.0] * 10 + [None] * 30), Reason.NOT_IN_REGISTER, "no_heater"),
    cannot("cooling.heater_off", "two days", heated([None] * 2, FITTED), Reason.TOO_FEW, "few_days"),
    cannot("cooling.heater_off", "air cooled", heated([None] * 30, AIR), Reason.NOTHING_SEEN, "air_cooled"),
    cannot("cooling.heater_off", "no coolant at rest", book(days=[day(0, rest_coolant_c=None)]), Reason.NOTHING_SEEN),
    cannot("cooling.heater_off", "no coolant logged", book(days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
]  # fmt: skip
