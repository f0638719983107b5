"""Invented figures: they show behaviour, they prove no value."""

import math

from startworthy.findings import Reason
from tests.support.books import battery_day, book, day, known, run
from tests.support.cases import cannot, raises, silent

NOT_KNOWN = known(battery_nominal_v=None)
TWENTY_FOUR = known(battery_nominal_v=24.0)
NO_CHARGER = known({"charger": False})


def floats(*volts, of=None, **own):
    """A day each on float; a tuple is volts and what else the day is."""
    days = [v if isinstance(v, tuple) else (v, {}) for v in volts]
    return book(days=[battery_day(n, v, True, **(own | more)) for n, (v, more) in enumerate(days)], of=of)


def over(hours):
    return {"rest_battery_over_s": hours * 3600.0, "rest_battery_high_v": 15.3}


def ran(*volts, of=None, before=12.7, **own):
    """A run a week at these volts; a tuple is its volts and those towards its end, a third entry changes it further."""
    given = [v if isinstance(v, tuple) else (v, v) for v in volts]
    rows = [
        run(
            7 * n,
            battery_running_v=v,
            battery_running_end_v=end,
            battery_rest_before_v=before,
            **(own | (rest[0] if rest else {})),
        )
        for n, (v, end, *rest) in enumerate(given)
    ]
    return book(runs=rows, days=[day(n) for n in range(7 * len(rows))], of=of)


def about(*rests, of=None, minutes=20.0):
    """A run a week, with these rest volts before and after it."""
    rows = [
        run(7 * n + 3, minutes, battery_rest_before_v=before, battery_rest_after_v=after)
        for n, (before, after) in enumerate(rests)
    ]
    return book(runs=rows, days=[battery_day(n, 12.6) for n in range(7 * len(rows))], of=of)


# hot summer week: a plain charger stays at its volts while the band sinks with the heat
SUMMER = [(13.8, {"ambient_c": 25.0 + 16.0 * math.sin(math.pi * n / 30.0), "rest_coolant_c": 42.0}) for n in range(30)]
COMPENSATED = [(13.75 - 0.018 * (c - 25.0), {"ambient_c": c, "rest_coolant_c": c}) for c in range(-25, 45)]
OUTAGE = {"cause": "outage"}

CASES = [
    raises("battery.overcharged", "above 15 V for hours, to the end", floats(*[13.6] * 9, (14.2, over(3.0)), (15.1, over(24.0))), "urgent", "far_over"),
    raises("battery.overcharged", "the day's median alone tells it", floats(13.6, 13.6, 15.2, rest_battery_over_s=None), "urgent", "far_over"),
    raises("battery.overcharged", "24 V against its own limit", floats(27.2, (28.0, over(2.0)), of=TWENTY_FOUR), "urgent", "far_over"),
    raises("battery.overcharged", "an equalising charge, then days on float", floats(13.6, (14.5, over(4.0)), *[13.6] * 9), "note", "was_far_over"),
    raises("battery.overcharged", "half a volt over the band for a week", floats(*[13.6] * 5, *[14.4] * 7), "note", "high"),
    raises("battery.overcharged", "24 V, a volt over the band", floats(*[28.6] * 8, of=TWENTY_FOUR), "note", "high"),
    raises("battery.overcharged", "and set right again", floats(*[14.4] * 9, 13.6, 13.6), "note", "was_high"),
    raises("battery.overcharged", "temperature not known, high even for frost", floats(*[14.99] * 9, ambient_c=None, rest_coolant_c=None), "note", "high"),
    silent("battery.overcharged", "10.7: a hot summer week on a plain charger", floats(*SUMMER)),
    silent("battery.overcharged", "float that follows temperature from frost to heat", floats(*COMPENSATED)),
    silent("battery.overcharged", "coolant that a heater holds up is not the battery's temperature", floats(*[14.4] * 9, ambient_c=None, rest_coolant_c=41.0)),
    silent("battery.overcharged", "the register says heater: the air alone counts", book(days=[battery_day(n, 14.4, True, ambient_c=-5.0, rest_coolant_c=28.0) for n in range(9)], of=known({"coolant_heater": True}))),
    silent("battery.overcharged", "six days over the band", floats(13.6, *[14.4] * 6, 13.6)),
    silent("battery.overcharged", "above 15 V for less than an hour", floats(*[13.6] * 8, (13.7, over(0.9)))),
    silent("battery.overcharged", "whole tenths of a volt, a degree at a time", floats(*[(round(v, 1), {"ambient_c": float(c), "rest_coolant_c": float(c)}) for c, v in zip(range(30), [14.2 - 0.018 * c for c in range(30)], strict=True)])),
    cannot("battery.overcharged", "six days", floats(*[13.6] * 6), Reason.TOO_FEW, "few_days"),
    cannot("battery.overcharged", "never at rest for long enough", book(days=[day(n, rest_battery_v=None) for n in range(9)]), Reason.NOTHING_SEEN),
    cannot("battery.overcharged", "nominal voltage not known", floats(*[15.5] * 9, of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
    # battery.not_charged_by_engine
    raises("battery.not_charged_by_engine", "no charger, falling through the run", ran(14.2, 14.2, (12.5, 12.4), (12.4, 12.2), of=NO_CHARGER), "urgent", "drains"),
    raises("battery.not_charged_by_engine", "in an outage, charger and mains gone", ran(14.2, 14.2, (12.5, 12.3, OUTAGE), before=13.6), "urgent", "drains"),
    raises("battery.not_charged_by_engine", "below 13 V, not falling", ran(14.2, 12.8, 12.8), "soon", "low"),
    raises("battery.not_charged_by_engine", "low, and how it went on is not known", ran(14.2, (12.4, None), (12.4, None)), "soon", "low"),
    raises("battery.not_charged_by_engine", "24 V against its own limit", ran(28.2, 26.2, 26.2, before=25.4, of=TWENTY_FOUR), "soon", "low"),
    raises("battery.not_charged_by_engine", "fell out of the float band while running", ran((14.2, 14.2), (12.7, 12.6), (12.7, 12.6), before=13.6), "soon", "low"),
    raises("battery.not_charged_by_engine", "whole tenths: it sinks from run to run", ran(14.2, 12.4, 12.3, 12.2), "urgent", "drains"),
    raises("battery.not_charged_by_engine", "one run, good ones since", ran(14.2, (12.5, 12.3), 14.2, 14.2), "note", "once"),
    silent("battery.not_charged_by_engine", "charged in every run", ran(14.2, 14.1, 14.3)),
    silent("battery.not_charged_by_engine", "10.8: lifted clearly over float", ran(14.2, 14.2, before=13.6)),
    silent("battery.not_charged_by_engine", "exactly 13.0 V", ran(13.0, 13.0)),
    silent("battery.not_charged_by_engine", "a flat battery that rises while it is charged", ran((12.7, 13.2), (13.6, 13.8))),
    silent("battery.not_charged_by_engine", "24 V charged", ran(27.5, 27.5, before=25.4, of=TWENTY_FOUR)),
    cannot("battery.not_charged_by_engine", "10.8: a charger holds it up, exercise proves nothing", ran(13.6, 13.6, 13.7, before=13.6), Reason.NOTHING_SEEN, "charger_on"),
    cannot("battery.not_charged_by_engine", "rest before the run not known: a charger may be on", ran(13.6, 13.6, before=None), Reason.NOTHING_SEEN, "charger_on"),
    cannot("battery.not_charged_by_engine", "runs of nine minutes", ran(12.2, 12.2, running_s=540.0), Reason.NOTHING_SEEN, "short_runs"),
    cannot("battery.not_charged_by_engine", "rows every five minutes, runs of a quarter of an hour", ran(12.2, 12.2, running_s=900.0, resolution_s=300.0), Reason.NOTHING_SEEN, "short_runs"),
    cannot("battery.not_charged_by_engine", "no run", book(days=[day(0)]), Reason.NOTHING_SEEN),
    cannot("battery.not_charged_by_engine", "nominal voltage not known", ran(12.0, 12.0, of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
    # battery.not_recharged
    raises("battery.not_recharged", "two in a row, each lost more than a tenth", about((12.7, 12.75), (12.7, 12.55), (12.55, 12.4)), "soon", "each_run"),
    raises("battery.not_recharged", "three of which none gained, a tenth each", about((12.6, 12.6), (12.6, 12.5), (12.5, 12.4), (12.4, 12.3)), "soon", "over_runs"),
    raises("battery.not_recharged", "24 V against its own limit", about((25.4, 25.15), (25.2, 24.9), of=TWENTY_FOUR), "soon", "each_run"),
    raises("battery.not_recharged", "a hundredth gained at the end", about((12.7, 12.5), (12.5, 12.3), (12.3, 12.31)), "soon", "each_run"),
    raises("battery.not_recharged", "and then charged again", about((12.7, 12.5), (12.5, 12.3), (12.3, 12.6)), "note", "recovered"),
    silent("battery.not_recharged", "each run leaves it as it was or higher", about((12.6, 12.7), (12.65, 12.7), (12.68, 12.68))),
    silent("battery.not_recharged", "one lost, the next gained", about((12.7, 12.5), (12.55, 12.7), (12.7, 12.5), (12.5, 12.6))),
    silent("battery.not_recharged", "a tenth exactly, as whole tenths give it", about((12.7, 12.6), (12.7, 12.6), (12.7, 12.6))),
    silent("battery.not_recharged", "colder after than before", about(*[(12.60 - 0.02 * n, 12.59 - 0.02 * n) for n in range(8)])),
    cannot("battery.not_recharged", "on a charger", about((13.6, 13.5), (13.6, 13.4), (13.6, 13.3)), Reason.TOO_FEW, "few_runs"),
    cannot("battery.not_recharged", "a charger that pulses", book(runs=[run(7 * n + 3, battery_rest_before_v=13.0, battery_rest_after_v=12.8) for n in range(4)], days=[battery_day(n, 12.95, rest_battery_high_v=14.1) for n in range(30)]), Reason.TOO_FEW, "few_runs"),
    cannot("battery.not_recharged", "runs of five minutes", about((12.7, 12.5), (12.5, 12.3), minutes=5.0), Reason.TOO_FEW, "few_runs"),
    cannot("battery.not_recharged", "ran again before it had rested", about((12.7, None), (12.5, None)), Reason.TOO_FEW, "few_runs"),
    cannot("battery.not_recharged", "no run", book(days=[day(0)]), Reason.NOTHING_SEEN),
    cannot("battery.not_recharged", "nominal voltage not known", about((12.7, 12.5), (12.5, 12.3), of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
]  # fmt: skip
