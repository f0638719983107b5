"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Question, Reason
from startworthy.results import Sampling
from tests.support.books import ALL_SIGNALS, at, book, day, known, mark, run, start
from tests.support.cases import cannot, raises, silent

CODE = "care.left_locked_out"
WEEKLY = known({"exercise": {"every_days": 7, "minutes": 20}})
WITHOUT_ALARM = ALL_SIGNALS - {"alarm", "state"}


def failed(number, **own):
    return start(number, started=False, attempts=3, cause="unknown", **own)


def alarm(number, hours=None):
    return mark(
        "alarm", at(number, 8), None if hours is None else at(number, 8 + hours), signal="alarm", text="failed to start"
    )


def change(days, text, hours=0.0):
    return mark("mode_change", at(days, hours), signal="mode", text=text)


def log(*marks, good=(1, 8), after=(), starts=(), runs=(), days=40, mode=True, of=WEEKLY, **more):
    """Weekly exercises, then a fault, then perhaps exercises again."""
    rows = [day(n, automatic_s=86400.0 if mode else None) for n in range(days)]
    ran = [*(run(n) for n in good), *runs, *(run(n) for n in after)]
    began = [*(start(n) for n in good), *starts, *(start(n) for n in after)]
    return book(days=rows, runs=ran, starts=began, marks=marks, of=of, **more)


CASES = [
    raises(CODE, "failed to start, alarm to the end of the log", log(alarm(15), starts=[failed(15)]), "urgent", "now", Question.START),
    raises(CODE, "low oil stopped it, and no exercise since", log(runs=[run(15, ended_by="oil")], signals=WITHOUT_ALARM), "urgent", "now"),
    raises(CODE, "an outage came and met it locked out", log(
        mark("mains_lost", at(18), at(18, 3), value=10800.0), runs=[run(15, ended_by="coolant")], days=20, signals=WITHOUT_ALARM), "urgent", "now"),
    raises(CODE, "mode not logged", log(alarm(15), starts=[failed(15)], mode=False), "soon", "now"),
    raises(CODE, "reset after three weeks", log(alarm(15, 24.0 * 21), starts=[failed(15)], after=(36,)), "soon", "ended", Question.CARE),
    raises(CODE, "reset after three weeks, half a year ago", log(
        alarm(15, 24.0 * 21), starts=[failed(15)], after=range(36, 190, 7), days=190), "note", "ended"),
    raises(CODE, "three days, and nothing tells", log(starts=[failed(15)], days=19, signals=WITHOUT_ALARM), "note", "unattended"),
    silent(CODE, "no fault", log(after=(15, 22))),
    silent(CODE, "reset the same evening, next exercise in time", log(alarm(15, 9.0), starts=[failed(15)], after=(22, 29, 36))),
    silent(CODE, "no alarm logged, next exercise in time", log(starts=[failed(15)], after=(22, 29, 36), signals=WITHOUT_ALARM)),
    silent(CODE, "in repair: off since the next morning", log(change(16, "automatic>off", 9), starts=[failed(15)], signals=WITHOUT_ALARM)),
    silent(CODE, "a failed try by hand", log(starts=[failed(15, mode="manual")], after=(22, 29, 36))),
    silent(CODE, "a gap hides whether somebody came", log(
        mark("gap", at(15, 9), at(39), value=23.6 * 86400.0), starts=[failed(15)], signals=WITHOUT_ALARM)),
    silent(CODE, "it started by itself at the next demand", log(runs=[run(15, ended_by="shutdown"), run(15.4, began_at=at(15, 10))], after=(22, 29, 36))),
    silent(CODE, "low oil for half an hour, stopped by the exercise's own end", log(
        runs=[run(15, ended_by="oil", oil_low_s=1500.0)], days=19, signals=WITHOUT_ALARM)),
    silent(CODE, "stopped at the end of the log", log(runs=[run(39, ended_by="overspeed")], good=(1, 8, 15, 22, 29))),
    cannot(CODE, "slow rows and no alarm show no failed start", log(
        after=(15, 22), signals=WITHOUT_ALARM, sampling=Sampling(60.0, 60.0, 60.0)), Reason.TOO_COARSE),
    cannot(CODE, "nothing ran", book(days=[day(n) for n in range(9)]), Reason.NOTHING_SEEN),
    cannot(CODE, "nothing that tells a start", book(days=[day(0)], signals={"fuel_fraction"}), Reason.SIGNAL_MISSING),
]  # fmt: skip
