"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Question, Reason
from startworthy.results import Sampling
from tests.support.books import at, battery_day, book, day, mark, run, start
from tests.support.cases import cannot, raises, silent

CODE = "care.outage_missed"
DENSE, TEN, MINUTE, COARSE = (Sampling(s, s, s) for s in (1.0, 10.0, 60.0, 300.0))


def lost(days, minutes, hours=0.0):
    return mark(
        "mains_lost", at(days, hours), at(days, hours + minutes / 60.0), signal="mains_present", value=minutes * 60.0
    )


def change(days, text, hours=0.0):
    return mark("mode_change", at(days, hours), signal="mode", text=text)


def log(*marks, runs=(), sampling=MINUTE, mode="automatic", **more):
    days = more.pop("days", None) or [
        day(n, **{"automatic_s": None, f"{mode}_s": 86400.0} if mode else {"automatic_s": None}) for n in range(30)
    ]
    return book(days=days, marks=marks, runs=runs, sampling=sampling, **more)


def answered(days, delay_s=20.0, minutes=60.0):
    """A run that took over, and its start."""
    began = at(days, delay_s / 3600.0)
    return run(days, minutes, began_at=began, cause="outage"), start(
        days, began_at=began, cause="outage", mains_lost_at=at(days)
    )


DEAD = [battery_day(n, 12.6) for n in range(30)]

CASES = [
    raises(CODE, "three hours in automatic without a run", log(lost(20, 180)), "urgent", "missed", Question.START),
    raises(CODE, "three minutes, row a minute, others answered", log(
        lost(5, 60), lost(20, 3.5), runs=[answered(5)[0]], starts=[answered(5)[1]]), "urgent", "missed"),
    raises(CODE, "answered ones since, and half a year ago", log(
        *[lost(n, 60) for n in (2, 10, 50, 90, 150)], runs=[answered(n)[0] for n in (10, 50, 90, 150)], starts=[answered(n)[1] for n in (10, 50, 90, 150)],
        days=[day(n) for n in range(180)]), "soon", "missed", Question.CARE),
    raises(CODE, "it still lasts at the end of the log", log(mark("mains_lost", at(29, 12), signal="mains_present")), "urgent", "missed"),
    raises(CODE, "it tried and failed", log(
        lost(20, 180), starts=[start(20, began_at=at(20, 0.01), started=False, cause="outage", mains_lost_at=at(20))]), "urgent", "tried"),
    raises(CODE, "it tried and failed for ten minutes, rows at rest five minutes apart", log(
        lost(20, 10), starts=[start(20, began_at=at(20, 0.01), started=False, cause="outage", mains_lost_at=at(20))], sampling=Sampling(300.0, 1.0, 1.0)), "urgent", "tried"),
    raises(CODE, "off since days", log(lost(20, 180), change(15, "automatic>off"), change(25, "off>automatic")), "urgent", "out_of_auto"),
    raises(CODE, "off since days, answered since", log(
        lost(16, 180), change(12, "automatic>off"), change(18, "off>automatic"), lost(25, 60), runs=[answered(25)[0]], starts=[answered(25)[1]]), "soon", "out_of_auto"),
    raises(CODE, "a technician's hour", log(lost(20, 20, 9.2), change(20, "automatic>off", 9), change(20, "off>automatic", 10)), "note", "at_work"),
    raises(CODE, "mode not logged, never answered", log(lost(20, 180), mode=None), "soon", "never"),
    raises(CODE, "it stands by hand", log(
        lost(20, 180), days=[day(n, automatic_s=0.0, manual_s=86400.0) for n in range(30)], runs=[run(n, cause="manual", mode="manual") for n in (2, 9, 16)]), "note", "by_hand"),
    raises(CODE, "two days without mains and the battery falling", log(lost(20, 2 * 1440 + 60), days=DEAD), "urgent", "missed"),
    raises(CODE, "a gap after the first hour of it", log(lost(20, 180), mark("gap", at(20, 1), at(20, 2), value=3600.0)), "urgent", "missed"),
    silent(CODE, "answered after 20 s", log(lost(20, 60), runs=[answered(20)[0]], starts=[answered(20)[1]])),
    silent(CODE, "a long outage, answered for a day", log(lost(20, 1500), runs=[answered(20, 20.0, 1500)[0]], starts=[answered(20)[1]])),
    silent(CODE, "it ran already when mains went", log(lost(20, 180, 8.2), runs=[run(20, 200, began_at=at(20, 8))])),
    silent(CODE, "an answered one and a brown-out of seconds", log(
        lost(10, 60), lost(20, 0.05), runs=[answered(10)[0]], starts=[answered(10)[1]], sampling=DENSE)),
    silent(CODE, "exactly three minutes, row a minute", log(lost(10, 60), lost(20, 3), runs=[answered(10)[0]], starts=[answered(10)[1]])),
    silent(CODE, "a set that waits ten minutes, and a loss of fifteen", log(
        lost(10, 60), lost(20, 15), runs=[answered(10, 600.0)[0]], starts=[answered(10, 600.0)[1]])),
    silent(CODE, "it started in the row in which mains came back", log(lost(10, 6), runs=[run(10, began_at=at(10, 0.1))])),
    cannot(CODE, "no outage", log(), Reason.NOTHING_SEEN),
    cannot(CODE, "brown-outs alone", log(lost(20, 0.1), sampling=DENSE), Reason.NOTHING_SEEN, "short"),
    cannot(CODE, "ten minutes, rows five minutes apart", log(lost(20, 10), sampling=COARSE), Reason.NOTHING_SEEN, "short"),
    cannot(CODE, "the log begins in it", log(mark("mains_lost", at(0), at(1), signal="mains_present")), Reason.NOTHING_SEEN, "short"),
    cannot(CODE, "it began in a gap", log(lost(20, 180), mark("gap", at(19), at(20), value=86400.0)), Reason.NOTHING_SEEN, "short"),
    cannot(CODE, "a gap hides what came of it", log(lost(20, 180), mark("gap", at(20, 0.02), at(20, 2), value=7200.0)), Reason.NOTHING_SEEN, "short"),
    cannot(CODE, "lost for days with the battery on charge", log(lost(20, 3 * 1440)), Reason.CONFLICT, "fed"),
    cannot(CODE, "mains not logged", book(days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
]  # fmt: skip
