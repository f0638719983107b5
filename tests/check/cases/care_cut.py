"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, book, day, mark, run
from tests.support.cases import cannot, raises, silent

CODE = "care.stopped_by_power_cut"


def cut(number, *, before_h=100.0, advance_h=0.3, ended_by="unknown", **own):
    """An exercise of 20 min after which nothing is heard for a while."""
    return run(
        number, end_seen=False, ended_by=ended_by, hours_before_h=before_h, hours_after_h=before_h + advance_h, **own
    )


def gap(number, hours=0.6):
    return mark("gap", at(number, 8 + 1 / 3), at(number, 8 + 1 / 3 + hours), value=hours * 3600.0)


def fell_back(number, days=9000.0):
    return mark("clock_jump", at(number, 8 + 1 / 3), at(number - days, 8), signal="at", value=-days * 86400.0)


def log(runs, *marks, days=60, **more):
    return book(days=[day(n, hour_meter_h=100.3 + 0.3 * n) for n in range(days)], runs=runs, marks=marks, **more)


GOOD = [run(n) for n in (1, 8, 15)]
WEEKS = (22, 29, 36)
LOADED = {"unloaded_end_s": 0.0, "load_taken_s": 5.0}

CASES = [
    raises(CODE, "the hour meter stood still over three gaps", log([*GOOD, *[cut(n) for n in WEEKS]], *[gap(n) for n in WEEKS]), "soon", "often"),
    raises(CODE, "rows a minute apart", log([*GOOD, *[cut(n, resolution_s=60.0) for n in WEEKS]], *[gap(n) for n in WEEKS]), "soon", "often"),
    raises(CODE, "the clock fell back twice, rows five minutes apart", log(
        [*GOOD, *[cut(n, ended_by="power_cut", resolution_s=300.0) for n in (22, 29)]], fell_back(22), fell_back(29)), "soon", "often"),
    raises(CODE, "a meter of whole hours, over many gaps", book(
        days=[day(n, hour_meter_h=100.0) for n in range(60)], runs=[cut(n, before_h=100.0 + n // 21, advance_h=1.0 if n % 21 == 0 else 0.0) for n in range(0, 56, 7)],
        marks=[gap(n) for n in range(0, 56, 7)]), "soon", "often"),
    raises(CODE, "load up to the last row three times", log(
        [*GOOD, *[run(n, end_seen=False, ended_by="unknown", **LOADED) for n in WEEKS]], *[gap(n) for n in WEEKS]), "soon", "often"),
    raises(CODE, "once", log([*GOOD, cut(22, ended_by="power_cut"), run(29)], fell_back(22)), "note", "once"),
    raises(CODE, "thrice, and not for months", log(
        [*[cut(n) for n in (1, 8, 15)], *[run(n) for n in range(22, 170, 7)]], *[gap(n) for n in (1, 8, 15)], days=170), "note", "past"),
    silent(CODE, "rows go on after each run", log(GOOD)),
    silent(CODE, "the meter ran on in the gap: only the log broke off", log([*GOOD, cut(22, advance_h=0.9)], gap(22))),
    silent(CODE, "the log simply ends in a run", log([*GOOD, run(22, end_seen=False, ended_by="log_end")])),
    silent(CODE, "an alarm says why it stopped", log([*GOOD, run(22, end_seen=False, ended_by="oil")], gap(22))),
    silent(CODE, "a logger that the set feeds: no row at rest before it", log(
        [run(0), *[cut(n, start_seen=False, ended_by="unknown") for n in WEEKS]], *[gap(n) for n in WEEKS])),
    cannot(CODE, "the clock went back by an hour in autumn", log([*GOOD, run(22, end_seen=False, ended_by="power_cut")], fell_back(22, 1 / 24)), Reason.NOTHING_SEEN, "unsure"),
    cannot(CODE, "rows break off, no hour meter and no load", log([*GOOD, run(22, end_seen=False, ended_by="unknown")], gap(22)), Reason.NOTHING_SEEN, "unsure"),
    cannot(CODE, "the gap is shorter than the meter can tell", log([*GOOD, cut(22)], gap(22, 0.1)), Reason.NOTHING_SEEN, "unsure"),
    cannot(CODE, "load up to the last row, twice", log([*GOOD, *[run(n, end_seen=False, ended_by="unknown", **LOADED) for n in WEEKS[:2]]], *[gap(n) for n in WEEKS[:2]]), Reason.NOTHING_SEEN, "unsure"),
    cannot(CODE, "the meter was changed in the gap", log([*GOOD, cut(22)], gap(22), mark("hours_jump", at(22, 8 + 1 / 3), at(22, 9), value=-90.0)), Reason.NOTHING_SEEN, "unsure"),
    cannot(CODE, "no end of a run is seen", log([run(1, end_seen=False, ended_by="log_end")]), Reason.NOTHING_SEEN, "no_end"),
    cannot(CODE, "rows five minutes apart", log([run(n, resolution_s=300.0) for n in (1, 8)]), Reason.TOO_COARSE),
    cannot(CODE, "no run", log([]), Reason.NOTHING_SEEN),
]  # fmt: skip
