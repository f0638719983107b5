"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import battery_day, book, day, known
from tests.support.cases import cannot, raises, silent

NOT_KNOWN = known(battery_nominal_v=None)
TWENTY_FOUR = known(battery_nominal_v=24.0)
WITH_AH = known({"battery_ah": 60.0})
AGM = known({"battery_type": "agm", "battery_ah": 60.0})
NEVER = book(days=[day(n, rest_battery_v=None) for n in range(9)])


def days(*volts, of=None):
    """A day each; from 13.1 V on (24 V: 26.2 V) on float. A tuple is volts and what else the day is."""
    float_v = 26.2 if of is TWENTY_FOUR else 13.1
    given = [v if isinstance(v, tuple) else (v, {}) for v in volts]
    return book(days=[battery_day(n, v, v >= float_v, **more) for n, (v, more) in enumerate(given)], of=of)


def falling(first, last, n):
    return [first + (last - first) * i / (n - 1) for i in range(n)]


RUN = {"running_s": 1200.0}
PULSE = {"rest_battery_high_v": 14.1}
# weekly runs fill it again each time
WEEKS = [v for _ in range(9) for v in [(12.66, RUN), *falling(12.65, 12.60, 6)]]
DRAINED_WEEKS = [v for _ in range(3) for v in [(12.60, RUN), *falling(12.60, 12.30, 6)]]

CASES = [
    raises("battery.flat_forecast", "charger lost, falling to a half within the month", days(*[13.6] * 5, *falling(12.64, 12.36, 14), of=WITH_AH), "soon", "soon"),
    raises("battery.flat_forecast", "falling to a half within three months", days(*[13.6] * 5, *falling(12.64, 12.46, 28)), "note", "later"),
    raises("battery.flat_forecast", "24 V, no charger, runs do not hold it", days(*falling(25.2, 24.8, 20), of=TWENTY_FOUR), "soon", "soon"),
    raises("battery.flat_forecast", "off charge for three days: by its ampere hours", days(*[13.6] * 5, 12.7, 12.68, 12.66, of=WITH_AH), "note", "by_capacity"),
    raises("battery.flat_forecast", "below one half already", days(*falling(12.5, 12.1, 10)), "note", "there"),
    raises("battery.flat_forecast", "an AGM battery at volts that are well charged for a flooded one", days(*falling(12.5, 12.35, 10), of=AGM), "note", "there"),
    silent("battery.flat_forecast", "on float to the end", days(*[13.6] * 20)),
    silent("battery.flat_forecast", "back on float", days(*[13.6] * 5, *falling(12.6, 12.4, 10), 13.6)),
    silent("battery.flat_forecast", "a charger that pulses", days(*[(v, PULSE) for v in falling(12.9, 12.6, 20)])),
    silent("battery.flat_forecast", "solar: falls at night, charged by day", days(*[(12.6 - 0.01 * n, {"rest_battery_high_v": 13.9}) for n in range(20)])),
    silent("battery.flat_forecast", "no charger, weekly runs fill it again", days(*WEEKS)),
    silent("battery.flat_forecast", "off charge, steady", days(*[12.55, 12.54, 12.55, 12.53] * 7)),
    silent("battery.flat_forecast", "one step of a tenth of a volt", days(*[12.6] * 14, *[12.5] * 14)),
    silent("battery.flat_forecast", "autumn: colder, some hundredths lower", days(*falling(12.60, 12.57, 28))),
    cannot("battery.flat_forecast", "five days off charge, ampere hours not known", days(*[13.6] * 5, *falling(12.6, 12.5, 5)), Reason.TOO_FEW, "few_off_days"),
    cannot("battery.flat_forecast", "five days of a set that may have no charger", days(*falling(12.6, 12.5, 5), of=WITH_AH), Reason.TOO_FEW, "few_off_days"),
    cannot("battery.flat_forecast", "two days", days(12.2, 12.2), Reason.TOO_FEW, "few_days"),
    cannot("battery.flat_forecast", "low for one day, after float", days(13.6, 13.6, 13.6, 12.1), Reason.TOO_FEW, "few_days"),
    cannot("battery.flat_forecast", "never at rest for long enough", NEVER, Reason.NOTHING_SEEN),
    cannot("battery.flat_forecast", "nominal voltage not known", days(*falling(12.6, 12.3, 10), of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
    # battery.standing_drain
    raises("battery.standing_drain", "4 Ah a day, one long rest", days(*falling(12.58, 12.15, 9), of=WITH_AH), "soon", "drains"),
    raises("battery.standing_drain", "between weekly runs that fill it again", days(*DRAINED_WEEKS, of=WITH_AH), "soon", "drains"),
    raises("battery.standing_drain", "then flat for a month", days(*falling(12.58, 12.10, 8), *[9.0] * 30, of=WITH_AH), "soon", "drains"),
    raises("battery.standing_drain", "an AGM battery by its own volts", days(*falling(12.72, 12.30, 9), of=AGM), "soon", "drains"),
    raises("battery.standing_drain", "about the limit, and not sure", days(12.55, 12.53, 12.42, 12.45, 12.33, 12.36, 12.29, of=WITH_AH), "note", "perhaps"),
    raises("battery.standing_drain", "found and switched off", days(*falling(12.58, 12.15, 9), *[13.6] * 20, of=WITH_AH), "note", "past"),
    silent("battery.standing_drain", "a controller left on: 1 Ah a day", days(*falling(12.60, 12.42, 13), of=WITH_AH)),
    silent("battery.standing_drain", "full all the time", days(*[12.70, 12.68, 12.69] * 5, of=WITH_AH)),
    silent("battery.standing_drain", "surface charge on the days of a run", days(*[v for _ in range(4) for v in [(12.9, RUN), 12.60, 12.59, 12.58, 12.57, 12.56, 12.55]], of=WITH_AH)),
    silent("battery.standing_drain", "steady to the last digit", days(*[12.5] * 12, of=WITH_AH)),
    cannot("battery.standing_drain", "ampere hours not in the register", days(*falling(12.58, 12.15, 9)), Reason.NOT_IN_REGISTER),
    cannot("battery.standing_drain", "on float", days(*[13.6] * 20, of=WITH_AH), Reason.TOO_FEW, "few_days"),
    cannot("battery.standing_drain", "six days off charge", days(*falling(12.58, 12.3, 6), of=WITH_AH), Reason.TOO_FEW, "few_days"),
    cannot("battery.standing_drain", "flat from the first day on", days(*[11.0] * 20, of=WITH_AH), Reason.TOO_FEW, "few_days"),
    cannot("battery.standing_drain", "never at rest for long enough", NEVER, Reason.NOTHING_SEEN),
    cannot("battery.standing_drain", "nominal voltage not known", days(*falling(12.6, 12.3, 10), of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
    # battery.dead_cell
    raises("battery.dead_cell", "one cell from one day to the next", days(*[12.65] * 8, 10.55, 10.54, 10.53, 10.53), "urgent", "dead"),
    raises("battery.dead_cell", "at noon: the day between is neither", days(*[12.65] * 8, 11.5, 10.54, 10.53, 10.53), "urgent", "dead"),
    raises("battery.dead_cell", "one of the twelve of a 24 V set", days(*[25.3] * 8, 23.2, 23.2, 23.2, of=TWENTY_FOUR), "urgent", "dead"),
    raises("battery.dead_cell", "one in each half of a 24 V set", days(*[25.3] * 8, 21.1, 21.1, 21.1, of=TWENTY_FOUR), "urgent", "dead"),
    raises("battery.dead_cell", "and a new battery since", days(*[12.65] * 8, *[10.55] * 6, *[12.75] * 9), "note", "replaced"),
    silent("battery.dead_cell", "sound", days(*[12.65, 12.63, 12.61] * 5)),
    silent("battery.dead_cell", "a new battery: a step up", days(*[10.6] * 6, *[12.7] * 6)),
    silent("battery.dead_cell", "runs flat and falls on", days(*falling(12.6, 12.2, 6), 11.9, 11.0, 9.9, 8.8, 8.8, 8.8)),
    silent("battery.dead_cell", "an AGM battery that was flat before", days(*[12.15] * 8, 10.1, 10.1, 10.1, of=AGM)),
    silent("battery.dead_cell", "was flat before", days(*[11.9] * 8, 9.8, 9.8, 9.8)),
    silent("battery.dead_cell", "for one day only", days(*[12.65] * 8, 10.55, *[12.6] * 6)),
    silent("battery.dead_cell", "losing the charger is no dead cell", days(*[13.6] * 6, *[12.7] * 6)),
    silent("battery.dead_cell", "from float: the charger hid what went before", days(*[13.6] * 6, *[11.5] * 6)),
    silent("battery.dead_cell", "a gap of a week before the fall", book(days=[battery_day(n, 12.65 if n < 8 else 10.55) for n in (*range(8), *range(15, 22))])),
    cannot("battery.dead_cell", "on float", days(*[13.6] * 20), Reason.TOO_FEW, "few_off_days"),
    cannot("battery.dead_cell", "four days off charge", days(*[13.6] * 9, 12.6, 12.6, 10.5, 10.5), Reason.TOO_FEW, "few_off_days"),
    cannot("battery.dead_cell", "never at rest for long enough", NEVER, Reason.NOTHING_SEEN),
    cannot("battery.dead_cell", "nominal voltage not known", days(*[12.65] * 8, 10.5, 10.5, of=NOT_KNOWN), Reason.NOT_IN_REGISTER),
]  # fmt: skip
