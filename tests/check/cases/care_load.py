"""Invented figures: they show behaviour, they prove no value."""

from dataclasses import replace

from startworthy.findings import Reason
from tests.support.books import book, day, known, run
from tests.support.cases import cannot, raises, silent

CODE = "care.light_running"


def log(loads, minutes=30.0, **more):
    return book(
        days=[day(n) for n in range(7 * len(loads))],
        runs=[run(7 * n, minutes, load_fraction_mean=load) for n, load in enumerate(loads)],
        **more,
    )


CASES = [
    raises(CODE, "weekly half hours without load: one standing note", log([0.05] * 26), "note", "some"),
    raises(CODE, "a hundred hours since it was last burnt clean", log([0.6, *[0.1] * 26], minutes=240.0), "soon", "long"),
    silent(CODE, "a quarter of an hour a week without load", log([0.05] * 26, minutes=15.0)),
    silent(CODE, "exactly 30 %", log([0.3] * 40)),
    silent(CODE, "burnt clean in the last outage", log([*[0.05] * 25, 0.55])),
    silent(CODE, "without load now and then, at 40 % mostly", log([0.4, 0.4, 0.1] * 20)),
    silent(CODE, "two rows a run say nothing of its load", book(
        days=[day(n) for n in range(200)], runs=[run(0, load_fraction_mean=0.4), *[run(7 * n, load_fraction_mean=0.0, rows=2) for n in range(1, 26)]])),
    cannot(CODE, "rated power not known", book(
        days=[day(n) for n in range(9)], runs=[run(1, load_fraction_mean=None, load_kw_mean=2.0)], of=replace(known(), rated_kw=None)), Reason.NOT_IN_REGISTER),
    cannot(CODE, "load never told", log([None] * 5), Reason.NOTHING_SEEN),
    cannot(CODE, "no load logged", book(days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
]  # fmt: skip
