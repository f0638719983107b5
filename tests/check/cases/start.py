"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from startworthy.results import Sampling
from tests.support.books import ALL_SIGNALS, at, attempt, book, mark, run, start
from tests.support.cases import cannot, raises, silent

SILENT_SIGNALS = ALL_SIGNALS - {"alarm", "state", "starts_counter"}
COARSE = Sampling(60.0, 60.0, 60.0)
YEAR = (at(0), at(200))

weekly = [start(7 * n) for n in range(26)]
coarse_start = {"attempts": None, "attempts_at_least": 1, "resolution_s": 60.0}
failed_now = start(183, started=False, attempts=3, attempts_at_least=3)
failed_early = start(3, started=False, attempts=3, attempts_at_least=3)


def cranks(*seconds, c=20.0, resolution_s=1.0):
    return [
        attempt(
            7 * n, crank_low_s=s, crank_s=s + 0.5, crank_high_s=s + 1.0, coolant_before_c=c, resolution_s=resolution_s
        )
        for n, s in enumerate(seconds)
    ]


def cranked(attempts, **more):
    return book(attempts=attempts, starts=[start(7 * n) for n in range(len(attempts))], span=YEAR, **more)


CASES = [
    raises("start.failed", "the latest demand failed", book(starts=[*weekly, failed_now], span=YEAR), "urgent", "latest"),
    raises(
        "start.failed", "one failed a month ago, good ones since", book(starts=[*weekly, start(150, started=False)], span=YEAR), "urgent", "recent"
    ),
    raises("start.failed", "one failed half a year ago, good ones since", book(starts=[failed_early, *weekly], span=YEAR), "soon", "older"),
    raises(
        "start.failed", "an old one with only two good starts since", book(starts=[failed_early, start(40), start(47)], span=YEAR), "urgent", "recent"
    ),
    raises(
        "start.failed", "by hand, a good start an hour later",
        book(starts=[*weekly, start(180, started=False, cause="manual", mode="manual"), start(180, began_at=at(180, 9), cause="manual", mode="manual")], span=YEAR),
        "soon", "by_hand",
    ),
    raises(
        "start.failed", "by hand long ago, many good ones since",
        book(starts=[start(1, started=False, cause="manual"), start(1, began_at=at(1, 10)), *weekly[2:]], span=YEAR), "note", "by_hand",
    ),
    raises(
        "start.failed", "by hand, and nothing came of it for days",
        book(starts=[start(180, started=False, cause="manual"), start(183)], span=YEAR), "urgent", "recent",
    ),
    raises(
        "start.failed", "a failed one is a failed one at any sampling",
        book(starts=[*weekly, start(183, started=False, **coarse_start)], span=YEAR, sampling=COARSE, signals=SILENT_SIGNALS), "urgent", "latest",
    ),
    silent("start.failed", "26 good starts", book(starts=weekly, span=YEAR)),
    silent("start.failed", "a failed attempt in a good demand", book(starts=[*weekly, start(183, attempts=2, attempts_at_least=2)], span=YEAR)),
    silent(
        "start.failed", "rows exactly as close as needed",
        book(starts=[start(1, resolution_s=10.0)], sampling=Sampling(60.0, 10.0, 10.0), signals=SILENT_SIGNALS, span=YEAR),
    ),
    silent("start.failed", "rows far apart, but alarms are logged", book(starts=[start(1, **coarse_start)], sampling=COARSE, span=YEAR)),
    cannot(
        "start.failed", "rows far apart, and a counter that may count good starts only",
        book(starts=[start(1, **coarse_start)], sampling=COARSE, signals=SILENT_SIGNALS | {"starts_counter"}, span=YEAR), Reason.TOO_COARSE,
    ),
    cannot(
        "start.failed", "rows far apart and nothing speaks of starts",
        book(starts=[start(1, **coarse_start)], sampling=COARSE, signals=SILENT_SIGNALS, span=YEAR), Reason.TOO_COARSE,
    ),
    cannot("start.failed", "no demand", book(span=YEAR), Reason.NOTHING_SEEN),
    cannot("start.failed", "no signal that tells", book(starts=weekly, signals={"fuel_fraction"}, span=YEAR), Reason.SIGNAL_MISSING),
    # start.retried
    raises("start.retried", "two of the last ten", book(starts=[*weekly, start(184, attempts=2, attempts_at_least=2), start(190, attempts=3, attempts_at_least=3)], span=YEAR), "soon", "often"),
    raises(
        "start.retried", "one in three, not twice in the last ten",
        book(starts=[*[start(n, attempts=2, attempts_at_least=2) for n in range(6)], *[start(n) for n in range(10, 19)], start(20, attempts=2, attempts_at_least=2)], span=YEAR),
        "soon", "often",
    ),
    raises("start.retried", "once", book(starts=[*weekly, start(184, attempts=2, attempts_at_least=2)], span=YEAR), "note", "once"),
    raises(
        "start.retried", "often once, and mended",
        book(starts=[*[start(n, attempts=2, attempts_at_least=2) for n in range(5)], *[start(n) for n in range(10, 21)]], span=YEAR), "note", "once",
    ),
    raises(
        "start.retried", "more than one seen, though the count is not known",
        book(starts=[*[start(n, attempts=None, resolution_s=10.0) for n in range(5)], start(9, attempts=None, attempts_at_least=2, resolution_s=10.0)], span=YEAR),
        "note", "once",
    ),
    silent("start.retried", "all at the first attempt", book(starts=weekly, span=YEAR)),
    silent("start.retried", "a demand that failed is not a retried start", book(starts=[*weekly, failed_now], span=YEAR)),
    cannot("start.retried", "attempts cannot be counted", book(starts=[start(n, **coarse_start) for n in range(9)], span=YEAR), Reason.TOO_COARSE, "not_counted"),
    cannot("start.retried", "no good start", book(starts=[failed_now], span=YEAR), Reason.NOTHING_SEEN),
    # start.slow
    raises("start.slow", "two long ones, warm", cranked(cranks(1.5, 1.5, 1.5, 6.0, 7.0)), "soon", "long"),
    raises("start.slow", "two long ones, cold", cranked(cranks(3.0, 11.0, 12.0, c=-5.0)), "soon", "long"),
    raises("start.slow", "temperature not known counts as cold", cranked(cranks(3.0, 11.0, 12.0, c=None)), "soon", "long"),
    raises("start.slow", "twice its own record", cranked(cranks(0.5, 0.5, 0.5, 0.5, 0.5, 4.5, 4.5)), "soon", "record"),
    raises("start.slow", "one long one", cranked(cranks(1.5, 1.5, 6.0, 1.5)), "note", "once"),
    silent("start.slow", "two seconds each", cranked(cranks(1.5, 1.5, 1.5, 1.5))),
    silent("start.slow", "exactly at the warm limit", cranked(cranks(5.0, 5.0, 5.0))),
    silent("start.slow", "six seconds at freezing point, twice and more its summer record", cranked([*cranks(0.5, 0.5, 0.5, 0.5, 0.5, 0.5, c=9.0), *[
        attempt(60 + n, crank_low_s=5.0, crank_s=5.5, crank_high_s=6.0, coolant_before_c=0.0) for n in range(3)]])),
    silent("start.slow", "winter after summer: no record at that temperature", cranked([*cranks(0.5, 0.5, 0.5, 0.5, 0.5, 0.5, c=25.0), *[
        attempt(90 + n, crank_low_s=4.5, crank_s=5.0, crank_high_s=5.5, coolant_before_c=8.0) for n in range(3)]])),
    silent("start.slow", "long ones long ago", cranked(cranks(9.0, 9.0, 1.5, 1.5, 1.5, 1.5, 1.5))),
    silent("start.slow", "a long attempt that failed is another matter", cranked([*cranks(1.5, 1.5), attempt(40, fired=False, crank_low_s=15.0)])),
    cannot("start.slow", "rows every ten seconds", cranked(cranks(10.0, 10.0, resolution_s=10.0)), Reason.TOO_COARSE),
    cannot("start.slow", "no start", book(span=YEAR), Reason.NOTHING_SEEN),
    cannot("start.slow", "cranks fell between the rows", book(starts=weekly, runs=[run(1)], span=YEAR, marks=[mark("alarm", at(1))]), Reason.TOO_COARSE, "not_seen"),
]  # fmt: skip
