"""Late and unreliable starts. Invented figures: they show behaviour, they prove no value."""

from datetime import timedelta

from startworthy.findings import Reason
from startworthy.results import Sampling
from tests.support.books import ALL_SIGNALS, at, book, known, run, start
from tests.support.cases import cannot, raises, silent

SILENT_SIGNALS = ALL_SIGNALS - {"alarm", "state", "starts_counter"}
YEAR = (at(0), at(200))
TYPE_10 = known({"type_10": True})
OWN_LIMIT = known({"limits": {"start_late_s": 60.0}})


def lost(day, after_s, asked_s=4.0, **own):
    """A start that answers a loss of the mains and is in band `after_s` later, seen at 1 s."""
    began = own.pop("began_at", at(day, 8))
    row = {"cause": "outage", "mains_lost_at": began - timedelta(seconds=asked_s), "ready_low_s": after_s, "ready_high_s": after_s + 2.0, "ready_s": after_s + 1.0}  # fmt: skip
    return start(day, began_at=began, **(row | own))


def cranked(day, after_s, **own):
    """An exercise, in band `after_s` after its first crank."""
    return start(day, **({"ready_low_s": after_s, "ready_high_s": after_s + 2.0, "ready_s": after_s + 1.0} | own))


def timed(*starts, of=TYPE_10, **more):
    return book(starts=starts, of=of, span=YEAR, **more)


def demands(good, failed=(), **more):
    """Good demands on these days, failed ones on those."""
    rows = [start(n) for n in good] + [
        start(n, began_at=at(n, 20), started=False, attempts=3, attempts_at_least=3) for n in failed
    ]
    return book(starts=rows, span=more.pop("span", YEAR), **more)


week = [7 * n for n in range(28)]
by_hand = {"cause": "manual", "mode": "manual"}

CASES = [
    silent("start.failed", "the log ends while it cranks", book(starts=[*[start(n) for n in week], start(199, started=False, began_at=at(200, -0.01))], span=YEAR)),
    cannot("start.failed", "the log ends while it cranks for the first time", book(starts=[start(199, started=False, began_at=at(200, -0.01))], span=YEAR), Reason.NOTHING_SEEN),
    raises("start.failed", "the log ends, but the set itself said that it failed", book(starts=[*[start(n) for n in week], start(199, started=False, told_by="alarm", began_at=at(200, -0.01))], span=YEAR), "urgent", "latest"),
    raises("start.late", "25 s after each of two losses", timed(lost(20, 25.0), lost(50, 26.0)), "soon", "loss"),
    raises("start.late", "the latest loss alone", timed(lost(20, 8.0), lost(50, 26.0)), "soon", "loss"),
    raises("start.late", "late at the losses, while exercises are in time", timed(lost(20, 25.0), lost(50, 26.0), *[cranked(60 + n, 5.0) for n in range(9)]), "soon", "loss"),
    raises("start.late", "late from the crank on", timed(*[cranked(7 * n, 14.0) for n in range(5)]), "soon", "crank"),
    raises("start.late", "once, in time since", timed(lost(20, 25.0), lost(50, 8.0)), "note", "once"),
    raises("start.late", "beyond the register's own limit", timed(lost(20, 65.0), lost(50, 66.0), of=OWN_LIMIT), "soon", "loss"),
    raises("start.late", "the register's own limit, rows every ten seconds", timed(lost(50, 66.0, resolution_s=10.0), of=OWN_LIMIT), "soon", "loss"),
    silent("start.late", "in time", timed(lost(20, 8.0), cranked(27, 5.0))),
    silent("start.late", "exactly ten seconds at its lower bound", timed(lost(20, 10.0))),
    silent("start.late", "25 s are allowed where the register says so", timed(lost(20, 25.0), of=OWN_LIMIT)),
    silent("start.late", "started by hand in an outage", timed(lost(20, 8.0), lost(50, 400.0, **by_hand))),
    silent("start.late", "a second start within the same outage", timed(lost(20, 8.0), lost(20, 500.0, began_at=at(20, 8.1), asked_s=364.0))),
    silent("start.late", "put back into automatic an hour after the loss", timed(lost(20, 8.0), lost(50, 3610.0, asked_s=3600.0))),
    cannot("start.late", "no type 10, no limit of its own", timed(lost(20, 25.0), of=known()), Reason.NOT_IN_REGISTER),
    cannot("start.late", "rows every ten seconds for ten seconds", timed(lost(20, 25.0, resolution_s=10.0)), Reason.TOO_COARSE),
    cannot("start.late", "only starts by hand", timed(cranked(20, 30.0, **by_hand)), Reason.NOTHING_SEEN),
    cannot("start.late", "no frequency logged", timed(lost(20, 25.0), signals={"voltage_v", "speed_rpm"}), Reason.SIGNAL_MISSING),
    # start.reliability
    raises("start.reliability", "three of the last twenty", demands(week[:20], (100, 120, 140)), "soon", "often"),
    raises("start.reliability", "three of the first five", demands([0, 7], (10, 20, 30), span=(at(0), at(35))), "urgent", "sure"),
    raises("start.reliability", "three of twenty, good ones for four months since", demands([7 * n for n in range(3, 20)], (3, 6, 9)), "note", "past"),
    raises("start.reliability", "five of fifty, not three of the last twenty", demands([4 * n for n in range(45)], (20, 50, 70, 85, 170)), "soon", "often"),
    raises("start.reliability", "eight of a hundred, not five of the last fifty", demands([2 * n for n in range(92)], (5, 15, 25, 35, 112, 132, 152, 178)), "soon", "often"),
    raises(
        "start.reliability", "failures that are seen count at any sampling",
        demands(week[:20], (100, 120, 140), signals=SILENT_SIGNALS, sampling=Sampling(60.0, 60.0, 60.0)), "soon", "often",
    ),
    silent("start.reliability", "26 of 26", demands(week[:26], (), runs=[run(7 * n) for n in range(26)])),
    silent("start.reliability", "two of twenty-two", demands(week[:20], (100, 120))),
    silent("start.reliability", "ten seconds apart: a lower bound, and said so", book(starts=[start(n, resolution_s=10.0, attempts=None) for n in week], span=YEAR, signals=SILENT_SIGNALS, sampling=Sampling(60.0, 10.0, 10.0))),
    silent("start.reliability", "tried six times within a day before the cause was found", book(starts=[
        *[start(n) for n in week], *[start(150, began_at=at(150, 10 + n), started=False) for n in range(6)]], span=YEAR)),
    silent("start.reliability", "cranked by hand to bleed it, then a good start", book(starts=[
        *[start(n) for n in week], *[row for n in (60, 90, 120) for row in (
            start(n, began_at=at(n, 10), started=False, **by_hand), start(n, began_at=at(n, 10.5), **by_hand))]], span=YEAR)),
    cannot("start.reliability", "nine demands", demands(week[:9]), Reason.TOO_FEW),
    cannot("start.reliability", "a row a minute, and neither alarm nor state", book(
        starts=[start(n, attempts=None, resolution_s=60.0) for n in week], span=YEAR, signals=SILENT_SIGNALS, sampling=Sampling(60.0, 60.0, 60.0)), Reason.TOO_COARSE),
    cannot("start.reliability", "never asked", book(span=YEAR), Reason.NOTHING_SEEN),
]  # fmt: skip
