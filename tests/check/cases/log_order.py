"""Invented figures: they show behaviour, they prove no value."""

from dataclasses import replace

from startworthy.findings import Reason
from startworthy.results import Conflict
from tests.support.books import at, book, day, known, mark, one_row_book, run
from tests.support.cases import cannot, raises, silent


def clock(*steps):
    """Two months, with steps of so many days back on these days."""
    marks = [mark("clock_jump", at(n), at(n - back), value=-back * 86400.0, signal="at") for n, back in steps]
    return book(days=[day(n) for n in range(60)], marks=marks)


RATED = {"rated_frequency_hz": 50, "rated_voltage_v": 230.0, "rated_rpm": 1500.0, "battery_nominal_v": 12}


def contradicted(*conflicts, entry=RATED, marks=()):
    own = replace(
        known(entry),
        conflicts=tuple(Conflict(key, was, shows, unit, "by the log") for key, was, shows, unit in conflicts),
    )
    return book(
        days=[day(n) for n in range(30)], runs=[run(n, speed_mean_rpm=1520.0) for n in (3, 10, 17)], of=own, marks=marks
    )


OVERLAP = [mark("conflict", at(3), at(4), value=40.0, before=0.01)]
HOUR = 1 / 24

CASES = [
    raises("log.clock_fault", "it fell back by years", clock((20, 9000)), "soon", "fell_back"),
    raises("log.clock_fault", "it fell back, and went back by an hour", clock((20, 9000), (40, HOUR)), "soon", "fell_back"),
    raises("log.clock_fault", "back by an hour", clock((20, HOUR)), "note", "once"),
    raises("log.clock_fault", "back by two days, twice", clock((20, 2), (40, 2)), "note", "often"),
    silent("log.clock_fault", "always forward", clock()),
    silent("log.clock_fault", "daylight saving: the zone places both hours", clock()),
    silent("log.clock_fault", "set right by a minute", clock((20, 1 / 1440))),
    silent("log.clock_fault", "exactly two minutes", clock((20, 2 / 1440))),
    cannot("log.clock_fault", "one row", one_row_book(), Reason.TOO_SHORT, "one_row"),
    cannot("log.clock_fault", "no rows", book(), Reason.NOTHING_SEEN),
    # log.conflict
    raises("log.conflict", "60 Hz written, 50 Hz seen", contradicted(("rated_frequency_hz", 60.0, 50.0, "Hz")), "soon", "register_hz"),
    raises("log.conflict", "12 V written, 24 V seen", contradicted(("battery_nominal_v", 12.0, 24.0, "V")), "soon", "register_v"),
    raises("log.conflict", "1500 rpm written, 3000 seen", contradicted(("rated_rpm", 1500.0, 3000.0, "rpm")), "soon", "register_rpm"),
    raises("log.conflict", "two files say different things", contradicted(marks=OVERLAP), "soon", "two_values"),
    silent("log.conflict", "register and log agree", contradicted()),
    cannot("log.conflict", "an empty register", contradicted(entry={}), Reason.NOT_IN_REGISTER, "nothing_to_compare"),
    cannot("log.conflict", "a log that shows none of it", book(of=known(RATED)), Reason.NOT_IN_REGISTER, "nothing_to_compare"),
]  # fmt: skip
