"""Invented figures: they show behaviour, they prove no value."""

import math

from startworthy.findings import Reason
from tests.support.books import at, attempt, book, known, start
from tests.support.cases import cannot, raises, silent

GROWING, JOINT = "battery.crank_sag_growing", "battery.bad_joint"
NOT_KNOWN = known(battery_nominal_v=None)
TWENTY_FOUR = known(battery_nominal_v=24.0)


def season(n, middle=8.0, half=12.0):
    """Summer to winter over half a year of weeks, with weather on top."""
    return middle + half * math.cos(math.pi * n / 26.0) + 3.0 * math.sin(2.7 * n)


def cold_part(celsius):
    """What cold takes off the volts while cranking: a little more the colder it is."""
    return -0.02 * (20.0 - celsius) - 0.0003 * max(0.0, 10.0 - celsius) ** 2


def noise(n, size=0.05):
    return size * math.sin(5.3 * n * n + 0.7 * n)


def cranks(volts, n=26, every_days=7, of=None, **own):
    """A start every so many days; `volts` and callables among `own` are given its number and the temperature."""
    rows = []
    for i in range(n):
        celsius = season(26.0 * i / n)
        mine = {key: value(i, celsius) if callable(value) else value for key, value in own.items()}
        base = {"coolant_before_c": celsius, "ambient_c": celsius, "battery_before_v": 13.6, "preheat_v": 12.8}
        rows.append(attempt(every_days * i, battery_mean_v=volts(i, celsius), **(base | mine)))
    return book(
        attempts=rows, starts=[start(every_days * i) for i in range(n)], of=of, span=(at(0), at(every_days * n))
    )


def sound(i, celsius):
    return 10.4 + cold_part(celsius) + noise(i)


def worn(i, celsius):
    return sound(i, celsius) - 1.6 * i / 26.0


def wearing(i, celsius):
    return 10.9 + cold_part(celsius) + noise(i) - 0.8 * i / 26.0


def inrush(i, celsius):
    """One row a crank: mostly under way, sometimes the inrush, sometimes the engine firing."""
    return (7.2, 12.2)[i % 2] if i % 7 in (2, 5) else sound(i, celsius)


def joint(i, celsius):
    return sound(i, celsius) - (1.3 if i >= 14 else 0.0)


def lost(i, celsius):
    """Charger gone from the fifteenth start on: the volts before fall at once, those while cranking with the charge."""
    return 13.6 if i < 15 else 12.7 - 0.03 * (i - 15)


def cranks_with_charger_lost(i, celsius):
    return sound(i, celsius) - (0.25 + 0.03 * (i - 15) if i >= 15 else 0.0)


def tenths(volts):
    return lambda i, celsius: round(volts(i, celsius), 1)


WARM = {"ambient_c": lambda i, c: 26.0 + 3.0 * math.sin(2.7 * i), "coolant_before_c": None}

CASES = [
    raises(GROWING, "fell by 1.6 V over the log, too low by now when it is cold", cranks(worn), "soon", "reached"),
    raises(GROWING, "falls, and meets the limit within the year", cranks(wearing), "soon", "dated"),
    raises(GROWING, "falls from so high that nothing is near", cranks(lambda i, c: wearing(i, c) + 1.2), "note", "growing"),
    raises(GROWING, "24 V against its own limit", cranks(lambda i, c: 2.0 * worn(i, c), battery_before_v=27.2, of=TWENTY_FOUR), "soon", "reached"),
    raises(GROWING, "one row a crank, the inrush and the firing among them", cranks(lambda i, c: inrush(i, c) - 2.4 * i / 26.0, rows=1), "soon", "reached"),
    raises(GROWING, "one row a crank, hardly more than the limit: a lower bound", cranks(lambda i, c: sound(i, c) - 0.8 * i / 26.0 + noise(i, 0.3), rows=1), "note", "dated"),
    raises(GROWING, "tenths of a volt and whole degrees", cranks(tenths(worn), coolant_before_c=lambda i, c: round(c), ambient_c=None), "soon", "reached"),
    raises(GROWING, "10.9: worn, and the charger lost besides", cranks(lambda i, c: cranks_with_charger_lost(i, c) - 1.6 * i / 26.0, battery_before_v=lost), "soon", "reached"),
    raises(GROWING, "a step, where it is warm all year: bad_joint's to tell, no more than a note here", cranks(joint, **WARM), "note", "reached"),
    silent(GROWING, "two of the last cranks in the inrush, the others as ever", cranks(lambda i, c: 20.6 + 0.08 * i - (4.0 if i in (18, 20) else 0.0), n=21, of=TWENTY_FOUR, battery_before_v=26.3, rows=2)),
    silent(GROWING, "a step while winter comes", cranks(joint)),
    silent(GROWING, "winter alone", cranks(sound)),
    silent(GROWING, "10.9: losing the charger, the sag by the volts before would shrink", cranks(cranks_with_charger_lost, battery_before_v=lost)),
    silent(GROWING, "10.9: the charger comes back", cranks(sound, battery_before_v=lambda i, c: 12.6 if i < 12 else 13.6)),
    silent(GROWING, "10.1: one row a crank, sometimes the inrush", cranks(inrush, rows=1)),
    silent(GROWING, "a new battery: a step up", cranks(lambda i, c: sound(i, c) + (0.9 if i >= 12 else 0.0))),
    silent(GROWING, "wears, by less than half a volt", cranks(lambda i, c: sound(i, c) - 0.4 * i / 26.0)),
    silent(GROWING, "preheat dips deeper, cranks are as they were", cranks(sound, preheat_v=lambda i, c: 12.9 - 0.05 * i)),
    silent(GROWING, "winter in tenths of a volt and whole degrees", cranks(tenths(sound), coolant_before_c=lambda i, c: round(c), ambient_c=None)),
    silent(GROWING, "a charger that pulses", cranks(sound, battery_before_v=lambda i, c: (12.95, 13.0, 13.4, 14.1)[i % 4])),
    cannot(GROWING, "winter, and no temperature logged", cranks(worn, coolant_before_c=None, ambient_c=None), Reason.NOTHING_SEEN, "no_temperature"),
    cannot(GROWING, "coolant that a heater holds, no ambient", cranks(worn, coolant_before_c=41.0, ambient_c=None), Reason.NOTHING_SEEN, "no_temperature"),
    cannot(GROWING, "the register says heater, no ambient", cranks(worn, ambient_c=None, of=known({"coolant_heater": True})), Reason.NOTHING_SEEN, "no_temperature"),
    cannot(GROWING, "seven starts", cranks(worn, n=7), Reason.TOO_FEW, "few_starts"),
    cannot(GROWING, "fifteen of one row each", cranks(worn, n=15, rows=1), Reason.TOO_FEW, "few_starts"),
    cannot(GROWING, "it got colder day by day: cold or wear", cranks(worn, ambient_c=lambda i, c: 25.0 - i, coolant_before_c=None), Reason.TOO_FEW, "entangled"),
    cannot(GROWING, "rows every ten seconds", cranks(worn, resolution_s=10.0, rows=1), Reason.TOO_COARSE),
    cannot(GROWING, "nominal voltage not known", cranks(worn, of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
    cannot(GROWING, "no crank seen", book(starts=[start(1)], span=(at(0), at(30))), Reason.NOTHING_SEEN),
    # battery.bad_joint
    raises(JOINT, "a step of 1.3 V, at rest as before", cranks(joint), "soon", "suspect"),
    raises(JOINT, "preheat dips deeper too, the float volts follow the cold", cranks(joint, battery_before_v=lambda i, c: 13.75 - 0.018 * (c - 25.0), preheat_v=lambda i, c: 12.6 if i < 14 else 12.1), "soon", "suspect"),
    raises(JOINT, "cranks differ more than before", cranks(lambda i, c: joint(i, c) + (noise(i, 0.4) if i >= 14 else 0.0), battery_before_v=lambda i, c: 13.4 if i < 14 else 13.8, preheat_v=None), "soon", "suspect"),
    raises(JOINT, "24 V against its own limit", cranks(lambda i, c: 2.0 * joint(i, c), battery_before_v=27.2, of=TWENTY_FOUR), "soon", "suspect"),
    raises(JOINT, "nothing else points to it", cranks(joint, battery_before_v=lambda i, c: 13.4 if i < 14 else 13.8, preheat_v=None), "note", "step"),
    silent(JOINT, "sound", cranks(sound)),
    silent(JOINT, "a battery that wears drifts", cranks(worn)),
    silent(JOINT, "a step of 0.6 V", cranks(lambda i, c: sound(i, c) - (0.6 if i >= 14 else 0.0))),
    silent(JOINT, "a new battery, or a joint made good: a step up", cranks(lambda i, c: sound(i, c) + (1.3 if i >= 14 else 0.0))),
    silent(JOINT, "the charger was lost: it rests lower", cranks(joint, battery_before_v=lambda i, c: 13.6 if i < 14 else 12.5)),
    silent(JOINT, "off charge and weak: it rests lower", cranks(joint, battery_before_v=lambda i, c: 12.7 if i < 14 else 12.4)),
    silent(JOINT, "10.1: one row a crank, sometimes the inrush", cranks(inrush, rows=1)),
    silent(JOINT, "a cold snap", cranks(sound, n=12)),
    cannot(JOINT, "no temperature logged", cranks(joint, coolant_before_c=None, ambient_c=None), Reason.NOTHING_SEEN, "no_temperature"),
    cannot(JOINT, "five starts", cranks(joint, n=5), Reason.TOO_FEW, "few_starts"),
    cannot(JOINT, "all at the same volts", cranks(lambda i, c: 10.0, ambient_c=20.0, coolant_before_c=20.0), Reason.TOO_FEW, "entangled"),
    cannot(JOINT, "rows every ten seconds", cranks(joint, resolution_s=10.0, rows=1), Reason.TOO_COARSE),
    cannot(JOINT, "nominal voltage not known", cranks(joint, of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
    cannot(JOINT, "no crank seen", book(starts=[start(1)], span=(at(0), at(30))), Reason.NOTHING_SEEN),
]  # fmt: skip
