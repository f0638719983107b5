"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from startworthy.results import Sampling
from tests.support.books import at, book, day, known, mark, run
from tests.support.cases import cannot, raises, silent

PLAN = known({"exercise": {"every_days": 7, "minutes": 20}})
INTERVAL_ONLY = known({"exercise": {"every_days": 7}})
HABIT = known(
    exercise_every_days=7.0, exercise_minutes=20.0, inferred={"exercise_every_days": "8 short runs, every 7 days"}
)
HOUR = known({"exercise": {"every_days": 7, "minutes": 20}}, exercise_minute_of_day=480)


def log(runs, days=70, of=PLAN, **more):
    """Seventy whole days unless said otherwise; `poor` days have half their rows."""
    poor = more.pop("poor", ())
    return book(
        runs=runs,
        of=of,
        days=[day(n, **({"coverage": 0.5, "covered_s": 43200.0} if n in poor else {})) for n in range(days)],
        **more,
    )


def weekly(*leave_out, minutes=20.0, **own):
    return [run(7 * n, minutes, **own) for n in range(10) if n not in leave_out]


CASES = [
    raises("exercise.missed", "none any more", log(weekly(6, 7, 8, 9)), "soon", "lasts"),
    raises("exercise.missed", "three left out, one after the other", log(weekly(3, 4, 5)), "soon", "missed"),
    raises("exercise.missed", "one left out, not long ago", log(weekly(8)), "soon", "missed"),
    raises("exercise.missed", "one left out, and four in time since", log(weekly(3)), "note", "once"),
    raises("exercise.missed", "a habit that ended", log(weekly(7, 8, 9), of=HABIT), "soon", "lasts_habit"),
    raises("exercise.missed", "a habit that paused", log(weekly(3, 4, 5), of=HABIT), "soon", "missed_habit"),
    raises("exercise.missed", "never run at all", log([]), "soon", "lasts"),
    raises("exercise.missed", "starting it by hand for a minute is no exercise", log([*weekly(6, 7, 8, 9), run(45, 1.0, cause="manual"), run(52, 1.0, cause="manual")]), "soon", "lasts"),
    raises(
        "exercise.missed", "a gap too short to hide an exercise hides none",
        log(weekly(6, 7, 8, 9), marks=[mark("gap", at(50), at(50, 0.25)), mark("gap", at(58), at(58, 0.25))]), "soon", "lasts",
    ),
    silent("exercise.missed", "every week", log(weekly())),
    silent("exercise.missed", "three days late", log([run(n) for n in (0, 7, 17, 24, 31, 38, 45, 52, 59, 66)])),
    silent("exercise.missed", "exactly one interval and a half", log([run(0, began_at=at(0), ended_at=at(0)), *[run(10.5 + 7 * n, began_at=at(10.5 + 7 * n)) for n in range(9)]])),
    silent("exercise.missed", "an outage run took its place", log([*weekly(4), run(29, 90.0, cause="outage")])),
    silent("exercise.missed", "run by hand instead, as long", log([*weekly(4), run(29, 20.0, cause="manual")])),
    silent("exercise.missed", "the log was away in that time", log(weekly(3, 4, 5), marks=[mark("gap", at(20), at(41), value=21 * 86400.0)])),
    silent("exercise.missed", "days of which half the rows are missing", log(weekly(4), poor=range(25, 32))),
    silent("exercise.missed", "not yet commissioned", log(weekly(0, 1, 2, 3), of=known({"exercise": {"every_days": 7, "minutes": 20}, "commissioned": "2025-02-01"}))),
    cannot("exercise.missed", "neither plan nor habit", log(weekly(), of=known()), Reason.NOT_IN_REGISTER),
    cannot("exercise.missed", "ten days of log", log([run(0)], days=10), Reason.TOO_SHORT),
    cannot("exercise.missed", "gaps every few days", log([], marks=[mark("gap", at(n, 1), at(n, 6)) for n in range(0, 70, 5)]), Reason.TOO_SHORT, "gaps"),
    cannot("exercise.missed", "a row every ten minutes", log([], sampling=Sampling(600.0, 600.0, 600.0)), Reason.TOO_COARSE),
    cannot("exercise.missed", "length not known, a row every five minutes", log([], of=INTERVAL_ONLY, sampling=Sampling(300.0, 300.0, 300.0)), Reason.TOO_COARSE),
    cannot("exercise.missed", "nothing tells that it runs", log([], signals={"fuel_fraction"}), Reason.SIGNAL_MISSING),
    # exercise.short
    raises("exercise.short", "two of the last four", log([*weekly(8, 9), run(56, 12.0), run(63, 12.0)]), "soon", "often"),
    raises("exercise.short", "one of the last four", log([*weekly(8), run(56, 12.0)]), "note", "once"),
    raises("exercise.short", "cause not told, but at the hour of the exercise", log([run(7 * n, 10.0, cause="unknown") for n in range(10)], of=HOUR), "soon", "often"),
    raises("exercise.short", "shorter than its own habit", log([*weekly(6, 7, 8, 9), *[run(7 * n, 9.0) for n in (6, 7, 8, 9)]], of=known()), "soon", "shrunk"),
    silent("exercise.short", "as planned", log(weekly())),
    silent("exercise.short", "at its upper bound exactly four fifths", log(weekly(minutes=16.0, running_high_s=960.0))),
    silent("exercise.short", "cut by a gap: its length is not known", log([*weekly(8, 9), run(56, 5.0, end_seen=False), run(63, 5.0, missing_s=600.0)])),
    silent("exercise.short", "short runs by hand are none", log([*weekly(), run(65, 2.0, cause="manual"), run(66, 2.0, cause="manual")])),
    silent("exercise.short", "short long ago", log([run(0, 5.0), run(7, 5.0), *weekly(0, 1)])),
    silent("exercise.short", "no plan: as long as ever", log(weekly(), of=known())),
    silent("exercise.short", "rows five minutes apart: the upper bound is long enough", log([run(7 * n, 15.0, running_low_s=600.0, running_high_s=1200.0, resolution_s=300.0) for n in range(10)])),
    cannot("exercise.short", "rows too far apart for it", log([run(7 * n, 10.0, running_low_s=0.0, running_high_s=1200.0, resolution_s=600.0) for n in range(10)]), Reason.TOO_COARSE),
    cannot("exercise.short", "no exercise told", log([run(3, 10.0, cause="outage")]), Reason.NOTHING_SEEN, "no_exercise"),
    cannot("exercise.short", "no plan and few exercises", log(weekly(7, 8, 9), of=known()), Reason.TOO_FEW, "no_habit"),
]  # fmt: skip
