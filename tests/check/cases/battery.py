"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, attempt, battery_day, book, day, known, start
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
NOT_KNOWN = known(battery_nominal_v=None)
AGM = known({"battery_type": "agm"})
TWENTY_FOUR = known(battery_nominal_v=24.0)


def cranked(*volts, **own):
    """A start a week at these volts; `own` goes to every attempt, a dict among the volts to its own."""
    rows = []
    for n, v in enumerate(volts):
        mine = v if isinstance(v, dict) else {"battery_mean_v": v}
        rows.append(attempt(7 * n, **(own | mine)))
    return rows


def sag(attempts, of=None):
    return book(attempts=attempts, starts=[start(7 * n) for n in range(len(attempts))], of=of, span=YEAR)


def rests(*volts, on_charge=False, of=None):
    return book(days=[battery_day(n, v, on_charge) for n, v in enumerate(volts)], of=of)


def charge(*days, of=None, **more):
    """Days as (volts, on float); a third entry changes the day further."""
    return book(
        days=[battery_day(n, v, f, **(rest[0] if rest else {})) for n, (v, f, *rest) in enumerate(days)], of=of, **more
    )


ON, OFF, LOW = (13.6, True), (12.7, False), (12.3, False)
PULSE = (13.05, False, {"rest_battery_high_v": 14.1})

CASES = [
    raises("battery.crank_sag", "two of five too low, cranking on quickly", sag(cranked(10.2, 10.2, 10.1, 9.5, 9.4)), "soon", "often"),
    raises(
        "battery.crank_sag", "two too low, one needed a second attempt",
        sag([*cranked(10.2, 10.2, 10.1, 9.5), attempt(40, demand=9, attempt=1, battery_mean_v=9.0, fired=False), attempt(40, demand=9, attempt=2, battery_mean_v=9.2)]),
        "urgent", "second_sign",
    ),
    raises("battery.crank_sag", "two too low, with low volts before the latest", sag(cranked(10.2, 9.4, {"battery_mean_v": 9.4, "battery_before_v": 12.2})), "urgent", "second_sign"),
    raises("battery.crank_sag", "an AGM battery that rests at 12.5 V is low", sag(cranked(9.4, {"battery_mean_v": 9.4, "battery_before_v": 12.5}), of=AGM), "urgent", "second_sign"),
    raises("battery.crank_sag", "one alone, good ones after it", sag(cranked(10.2, {"battery_mean_v": 9.4, "battery_before_v": 12.2}, 10.1, 10.1)), "note", "once"),
    raises("battery.crank_sag", "one alone, one sample held over four rows, low volts before", sag(cranked(7.558, rows=4, battery_min_v=7.558, battery_before_v=12.187)), "note", "once"),
    raises("battery.crank_sag", "one alone, the latest", sag(cranked(10.2, 10.2, 9.4)), "note", "once"),
    raises("battery.crank_sag", "24 V against its own table", sag(cranked(20.4, 18.9, 18.8, battery_before_v=25.6), of=TWENTY_FOUR), "soon", "often"),
    raises("battery.crank_sag", "ten starts of one row each, low in the middle", sag(cranked(*[8.9] * 10, rows=1)), "note", "few_rows"),
    silent("battery.crank_sag", "sound", sag(cranked(10.2, 10.1, 10.2, 10.0, 10.1))),
    silent("battery.crank_sag", "exactly the table's value", sag(cranked(9.6, 9.6, 9.6))),
    silent("battery.crank_sag", "the lowest row is far down, the median is not", sag(cranked(10.1, 10.0, 10.2, battery_min_v=6.8))),
    silent("battery.crank_sag", "colder, and no lower than cold allows", sag(cranked(8.9, 8.9, 8.9, coolant_before_c=-7.0))),
    silent("battery.crank_sag", "warm engine, cold air: the air is the battery's", sag(cranked(9.2, 9.2, 9.2, coolant_before_c=80.0, ambient_c=0.0))),
    silent("battery.crank_sag", "heated coolant, temperature not known: the coldest is allowed", sag(cranked(8.6, 8.6, 8.6, coolant_before_c=40.0), of=known({"coolant_heater": True}))),
    silent("battery.crank_sag", "ten starts of one row each, sound in the middle", sag(cranked(7.5, *[9.9] * 9, rows=1))),
    cannot("battery.crank_sag", "one lone row, far down", sag(cranked(7.558, rows=1)), Reason.TOO_COARSE, "few_rows"),
    cannot("battery.crank_sag", "rows every ten seconds", sag(cranked(*[9.0] * 12, rows=1, resolution_s=10.0)), Reason.TOO_COARSE, "few_rows"),
    cannot("battery.crank_sag", "nominal voltage not known", sag(cranked(9.0, 9.0), of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
    cannot("battery.crank_sag", "no crank seen", book(starts=[start(1)], span=YEAR), Reason.NOTHING_SEEN),
    # battery.low_at_rest
    raises("battery.low_at_rest", "three days just below", rests(12.5, 12.39, 12.39, 12.39), "soon", "low"),
    raises("battery.low_at_rest", "where charge cannot be told", rests(12.3, 12.3, 12.3, on_charge=None), "soon", "low"),
    raises("battery.low_at_rest", "sinking to a quarter charged", rests(12.5, 12.3, 12.2, 12.1, 12.05, 12.0), "urgent", "flat"),
    raises("battery.low_at_rest", "low for a week, then charged", rests(12.3, 12.3, 12.3, 12.3, 12.3, 12.3, 12.7, 12.7), "note", "recovered"),
    raises("battery.low_at_rest", "an AGM battery rests higher", rests(12.5, 12.5, 12.5, of=AGM), "soon", "low"),
    raises("battery.low_at_rest", "24 V", rests(24.5, 24.5, 24.5, of=TWENTY_FOUR), "soon", "low"),
    silent("battery.low_at_rest", "equal to the limit", rests(12.4, 12.4, 12.4)),
    silent("battery.low_at_rest", "two low days", rests(12.6, 12.3, 12.3, 12.6)),
    silent("battery.low_at_rest", "on float", rests(13.6, 13.6, 13.6, on_charge=True)),
    silent("battery.low_at_rest", "flooded at volts that are low for AGM only", rests(12.5, 12.5, 12.5)),
    silent("battery.low_at_rest", "three low days, never in a row", rests(12.3, 12.5, 12.3, 12.5, 12.3)),
    silent(
        "battery.low_at_rest", "days with hardly any rest say nothing",
        book(days=[battery_day(n, 12.2 if n in (3, 4, 5) else 12.6, rest_battery_s=3600.0 if n in (3, 4, 5) else 86400.0) for n in range(9)]),
    ),
    cannot("battery.low_at_rest", "two days", rests(12.2, 12.2), Reason.TOO_FEW, "few_days"),
    cannot("battery.low_at_rest", "nominal voltage not known", rests(12.2, 12.2, 12.2, of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
    cannot("battery.low_at_rest", "no battery logged", book(days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
    cannot("battery.low_at_rest", "never at rest for long enough", book(days=[day(n, rest_battery_v=None) for n in range(9)]), Reason.NOTHING_SEEN),
    # battery.charger_lost
    raises("battery.charger_lost", "float, then open circuit to the end", charge(ON, ON, ON, ON, OFF, OFF), "soon", "lost"),
    raises("battery.charger_lost", "and it has run down", charge(ON, ON, ON, OFF, OFF, LOW, LOW), "urgent", "low"),
    raises("battery.charger_lost", "run down for an AGM battery", charge(ON, ON, ON, OFF, (12.5, False), of=AGM), "urgent", "low"),
    raises("battery.charger_lost", "it came back", charge(ON, ON, ON, OFF, OFF, ON, ON), "note", "came_back"),
    raises(
        "battery.charger_lost", "it goes on and off by itself",
        charge(ON, ON, ON, OFF, OFF, OFF, ON, ON, OFF, OFF, OFF, ON, ON, OFF, OFF), "note", "pulses",
    ),
    raises("battery.charger_lost", "the register has a charger, the log never saw one", charge(OFF, OFF, OFF, OFF, of=known({"charger": True})), "soon", "never"),
    raises("battery.charger_lost", "the same, run down", charge(LOW, LOW, LOW, LOW, of=known({"charger": True})), "urgent", "never"),
    silent("battery.charger_lost", "on float all along", charge(ON, ON, ON, ON, ON)),
    silent("battery.charger_lost", "hot: the float voltage is lower, not gone", charge(ON, ON, ON, (13.2, True), (13.15, True))),
    silent("battery.charger_lost", "exactly at the edge of the float band", charge(ON, ON, ON, (13.1, False), (13.1, False))),
    silent("battery.charger_lost", "mains were away", charge(ON, ON, ON, (12.7, False, {"mains_lost_s": 80000.0}), (12.7, False, {"mains_lost_s": 80000.0}))),
    silent("battery.charger_lost", "the set ran for most of the day", charge(ON, ON, ON, (12.9, False, {"running_s": 50000.0}), ON)),
    silent("battery.charger_lost", "off for part of a day only", charge(ON, ON, ON, (13.0, False, {"rest_battery_high_v": 13.6}))),
    silent("battery.charger_lost", "it pulses, and the log ends between two pulses", charge(ON, ON, ON, *[PULSE] * 6, OFF)),
    raises("battery.charger_lost", "it pulsed, and does so no more", charge(ON, ON, ON, *[PULSE] * 6, OFF, OFF, OFF), "soon", "lost"),
    silent("battery.charger_lost", "the last day has hardly begun", charge(ON, ON, ON, ON, (12.9, False, {"rest_battery_s": 25000.0}))),
    raises("battery.charger_lost", "a run now and then does not hide it", charge(ON, ON, ON, OFF, (12.9, False, {"rest_battery_high_v": 13.3, "running_s": 1200.0}), OFF), "soon", "lost"),
    cannot("battery.charger_lost", "a charger that pulses: the day's highest volts show it", charge(*[(12.9, False, {"rest_battery_high_v": 14.0})] * 9, of=known({"charger": True})), Reason.NOTHING_SEEN, "never_on_float"),
    cannot("battery.charger_lost", "never on float, and the register is silent", charge(OFF, OFF, OFF, OFF), Reason.NOTHING_SEEN, "never_on_float"),
    cannot("battery.charger_lost", "the register says there is none", charge(ON, ON, ON, OFF, OFF, of=known({"charger": False})), Reason.NOTHING_SEEN, "no_charger"),
    cannot("battery.charger_lost", "never at rest for long enough", book(days=[day(n, rest_battery_v=None) for n in range(9)]), Reason.NOTHING_SEEN),
    cannot("battery.charger_lost", "nominal voltage not known", charge(ON, ON, ON, OFF, of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
]  # fmt: skip
