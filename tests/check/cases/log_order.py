"""Invented figures: they show behaviour, they prove no value."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from startworthy.findings import Reason
from startworthy.results import Conflict
from tests.support.books import at, book, day, known, mark, one_row_book, run
from tests.support.cases import cannot, raises, silent


def clock(*steps):
    """Two months, with steps of so many days back on these days."""
    marks = [mark("clock_jump", at(n), at(n - back), value=-back * 86400.0, signal="at") for n, back in steps]
    return book(days=[day(n) for n in range(60)], marks=marks)


def stretch(kind, text, **own):
    """A stretch that stood under a wrong time, on the twentieth day."""
    told = {"value": 9000 * 86400.0, "before": 9000 * 86400.0, "after": 700.0} | own
    return mark(kind, at(20), at(21), signal="at", text=text, **told)


def clocked(*marks):
    """Two months with these marks of the clock."""
    return book(days=[day(n) for n in range(60)], marks=marks)


FELL = mark("clock_jump", at(20), at(20 - 9000), value=-9000 * 86400.0, signal="at")
HOUR_BACK = mark("clock_jump", at(20), at(20) - timedelta(hours=1), value=-3600.0, signal="at")
SUMMER = HOUR_BACK | {"text": "summer_time Europe/Berlin", "before": -3600.0, "after": 100.0}
BESIDE = {"signal": "mains_present", "text": "HILL-02", "after": 9.0}


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
    raises("log.clock_fault", "reset once, and placed", clocked(FELL, stretch("clock_reset", "end")), "note", "reset_placed"),
    raises("log.clock_fault", "reset twice, and placed", clocked(FELL, stretch("clock_reset", "end"), stretch("clock_reset", "bounds")), "soon", "reset_placed"),
    raises("log.clock_fault", "reset, and not placed", clocked(FELL, stretch("clock_reset", "refused", value=None)), "soon", "reset_refused"),
    raises("log.clock_fault", "never set", clocked(mark("clock_reset", datetime(1970, 1, 1, tzinfo=UTC), datetime(1970, 3, 1, tzinfo=UTC), signal="at", text="never_set", after=700.0)), "soon", "never_set"),
    raises("log.clock_fault", "all of it in the future", clocked(stretch("clock_ahead", "whole", value=40 * 86400.0)), "soon", "ahead"),
    raises("log.clock_fault", "some rows in the future", clocked(stretch("clock_ahead", "refused", value=40 * 86400.0)), "note", "ahead_rows"),
    raises("log.clock_fault", "an hour back and an hour on", clocked(HOUR_BACK, stretch("clock_step", "equal_steps", value=3600.0)), "note", "set_wrongly"),
    raises("log.clock_fault", "set wrongly twice", clocked(HOUR_BACK, stretch("clock_step", "equal_steps", value=3600.0), stretch("clock_step", "equal_steps", value=7200.0)), "soon", "set_wrongly"),
    raises("log.clock_fault", "a year back and a year on", clocked(HOUR_BACK | {"value": -365 * 86400.0}, stretch("clock_step", "equal_steps", value=365 * 86400.0)), "note", "set_wrongly"),
    raises("log.clock_fault", "an hour back in an autumn night", clocked(SUMMER), "note", "summer_time"),
    raises("log.clock_fault", "an hour's gap where clocks go forward", clocked(mark("gap", datetime(2025, 3, 30, 1, 59, tzinfo=UTC), datetime(2025, 3, 30, 3, 0, tzinfo=UTC), value=3660.0)), "note", "summer_time"),
    raises("log.clock_fault", "gains beside another", clocked(mark("clock_beside", at(1), at(50), value=4.0, before=200.0, **BESIDE)), "note", "drifts_ahead"),
    raises("log.clock_fault", "loses beside another", clocked(mark("clock_beside", at(1), at(50), value=-4.0, before=20.0, **BESIDE)), "note", "drifts_behind"),
    raises("log.clock_fault", "ahead of another", clocked(mark("clock_beside", at(1), at(50), value=0.0, before=200.0, **BESIDE)), "note", "beside_ahead"),
    raises("log.clock_fault", "behind another", clocked(mark("clock_beside", at(1), at(50), value=0.0, before=-200.0, **BESIDE)), "note", "beside_behind"),
    silent("log.clock_fault", "rows out of order, and rows sent again", clocked(mark("out_of_order", at(20), at(19), value=-86400.0), mark("repeated_upload", at(20), at(21), after=400.0))),
    silent("log.clock_fault", "an hour's gap on any other night", clocked(mark("gap", datetime(2025, 3, 12, 1, 59, tzinfo=UTC), datetime(2025, 3, 12, 3, 0, tzinfo=UTC), value=3660.0))),
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
