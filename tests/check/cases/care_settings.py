"""Invented figures: they show behaviour, they prove no value."""

from dataclasses import replace
from datetime import timedelta

from startworthy.findings import Question, Reason, Severity
from startworthy.results import Sampling
from tests.support.books import at, attempt, battery_day, book, day, known, mark, run, start
from tests.support.cases import Case, cannot, raises, silent

CODE = "care.settings_changed"
DENSE, MINUTE, COARSE = (Sampling(s, s, s) for s in (1.0, 60.0, 300.0))
WEEKLY = known({"exercise": {"every_days": 7, "minutes": 20}}, exercise_minute_of_day=480)
BERLIN = replace(WEEKLY, time_zone="Europe/Berlin")
WEEKS = range(20)


def log(*marks, runs=(), attempts=(), starts=(), days=None, sampling=DENSE, of=WEEKLY, weeks=20):
    return book(
        days=days or [day(n, rest_battery_v=None) for n in range(7 * weeks)], runs=runs, attempts=attempts, starts=starts,
        marks=marks, sampling=sampling, of=of,
    )  # fmt: skip


def two(before, after, week=10):
    """A value of every week: as before up to that week, then as after."""
    return [(n, before if n < week else after) for n in WEEKS]


def preheats(values, temps=None, **own):
    return [
        attempt(7 * n, demand=n + 1, preheat_s=value, coolant_before_c=20.0 if temps is None else temps[n], **own)
        for n, value in values
    ]


def hours(values, minutes=20.0, **own):
    """An exercise a week that begins at that hour (UTC)."""
    return [run(7 * n, minutes, began_at=at(7 * n, hour), **own) for n, hour in values]


def failing(crank_s=10.0, attempts=3, rest_s=10.0, week=0):
    """A failed demand: its attempts, and its row of starts."""
    rows = [
        attempt(7 * week, demand=week + 1, attempt=n + 1, fired=False, crank_s=crank_s,
                began_at=at(7 * week, 8) + timedelta(seconds=n * (crank_s + rest_s)),
                ended_at=at(7 * week, 8) + timedelta(seconds=n * (crank_s + rest_s) + crank_s))
        for n in range(attempts)
    ]  # fmt: skip
    return rows, start(
        7 * week, demand=week + 1, started=False, attempts=attempts, attempts_at_least=attempts, cause="unknown"
    )


def failures(*demands):
    both = [failing(week=n, **one) for n, one in enumerate(demands)]
    return {"attempts": [row for rows, _ in both for row in rows], "starts": [row for _, row in both]}


def outages(values):
    """An outage a week that is answered after that many seconds, preheat included."""
    starts = [
        start(7 * n, demand=n + 1, began_at=at(7 * n, s / 3600), mains_lost_at=at(7 * n), cause="outage", preheat_s=8.0)
        for n, s in values
    ]
    return {
        "starts": starts,
        "runs": [run(7 * n, 60.0, began_at=at(7 * n, s / 3600), cause="outage") for n, s in values],
    }


def floating(volts, temps=None, **more):
    rows = [
        battery_day(n, v, on_charge=True, ambient_c=20.0 if temps is None else temps[n]) for n, v in enumerate(volts)
    ]
    return log(days=rows, **more)


SEASON = [25.0 - n for n in WEEKS]

CASES = [
    raises(CODE, "preheat from ten seconds to two", log(attempts=preheats(two(10.0, 2.0))), "soon", "one", Question.CARE),
    raises(CODE, "preheat and cool-down at one time", log(
        attempts=preheats(two(10.0, 2.0)), runs=[run(7 * n, unloaded_end_s=v, load_taken_s=8.0) for n, v in two(180.0, 0.0)]), "soon", "several"),
    raises(CODE, "cool-down gone, rows a minute apart", log(
        runs=[run(7 * n, unloaded_end_s=v, resolution_s=60.0) for n, v in two(240.0, 0.0)], sampling=MINUTE), "soon", "one"),
    raises(CODE, "it waits longer after loss of mains", log(**outages(two(13.0, 38.0))), "soon", "one"),
    raises(CODE, "exercises half as long", log(runs=[run(7 * n, minutes) for n, minutes in two(20.0, 10.0)]), "soon", "one"),
    raises(CODE, "every other week only", log(
        runs=[run(d) for d in (0, 7, 14, 21, 28, 35, 49, 63, 77, 91)], days=[day(n, rest_battery_v=None) for n in range(96)]), "soon", "one"),
    raises(CODE, "attempts from three to one", log(**failures({}, {}, {}, {"attempts": 1}, {"attempts": 1}, {"attempts": 1})), "urgent", "start_cut", Question.START),
    raises(CODE, "crank time from ten seconds to four", log(**failures({}, {}, {}, *[{"crank_s": 4.0}] * 3)), "urgent", "start_cut"),
    raises(CODE, "crank time from ten seconds to fifteen", log(**failures({}, {}, {}, *[{"crank_s": 15.0}] * 3)), "soon", "one"),
    raises(CODE, "rest between attempts from ten seconds to twenty", log(**failures({}, {}, {}, *[{"rest_s": 20.0}] * 3)), "soon", "one"),
    raises(CODE, "exercise moved from 8 to 13 o'clock", log(runs=hours(two(8.0, 13.0)), sampling=COARSE), "note", "hour"),
    raises(CODE, "the low-fuel stop set lower", log(
        runs=[run(14 * n, ended_by="fuel", fuel_after_fraction=0.15 if n < 4 else 0.05) for n in range(8)]), "soon", "one"),
    raises(CODE, "float volts half a volt lower from one day to the next", floating([13.8] * 40 + [13.2] * 40), "note", "float"),
    raises(CODE, "exercise ceased, in automatic", log(runs=[run(7 * n) for n in range(8)]), "urgent", "ceased", Question.CARE),
    raises(CODE, "exercise ceased, mode not logged", log(
        runs=[run(7 * n) for n in range(8)], days=[day(n, automatic_s=0.0, rest_battery_v=None) for n in range(140)]), "soon", "ceased"),
    Case(CODE, "cool-down in spring, exercise hour in summer: two findings", log(
        runs=[run(7 * n, unloaded_end_s=180.0 if n < 6 else 0.0, began_at=at(7 * n, 8.0 if n < 14 else 13.0)) for n in WEEKS]),
        ((Severity.SOON, "one"), (Severity.NOTE, "hour"))),
    silent(CODE, "all as ever", log(attempts=preheats(two(8.0, 8.0)), runs=[run(7 * n, unloaded_end_s=120.0) for n in WEEKS])),
    silent(CODE, "preheat that follows temperature", log(attempts=preheats([(n, 4.0 + 0.4 * n) for n in WEEKS], SEASON))),
    silent(CODE, "longer preheat below a temperature, never seen warm since", log(
        attempts=preheats(two(5.0, 12.0), [22.0 if n < 10 else 2.0 for n in WEEKS]))),
    silent(CODE, "a preheat that is no longer seen: plugs or their relay", log(attempts=preheats(two(8.0, 0.0)))),
    silent(CODE, "a second more where rows are a second apart", log(attempts=preheats(two(4.0, 6.0)))),
    silent(CODE, "a logger with other row interval", log(attempts=[
        *preheats(two(8.0, 14.0)[:10], resolution_s=1.0), *preheats(two(8.0, 14.0, 14)[10:], resolution_s=4.0)])),
    silent(CODE, "daylight saving: the clock of the set does not follow", log(runs=hours(two(8.0, 8.0)), of=BERLIN, days=[day(n, rest_battery_v=None) for n in range(140)])),
    silent(CODE, "an hour later, as in summer time", log(runs=hours(two(8.0, 9.0)))),
    silent(CODE, "one exercise moved by a day, one stood for by an outage", log(
        runs=[run(7 * n + (1 if n == 5 else 0), cause="outage" if n == 12 else "exercise") for n in WEEKS])),
    silent(CODE, "exercise by hand at any hour and length, mode not logged", log(
        runs=[run(7 * n, 8.0 + 5 * (n * 7 % 5), began_at=at(7 * n, 7 + n * 5 % 9), cause="unknown") for n in WEEKS])),
    silent(CODE, "exercises that the log breaks off in still tell their hour", log(
        runs=[*[run(7 * n) for n in range(10)], *[run(7 * n, end_seen=False, ended_by="unknown") for n in range(10, 20)],
              *[run(7 * n + 3, 9.0, began_at=at(7 * n + 3, 15), cause="unknown") for n in (12, 15, 18)]])),
    silent(CODE, "hand runs are no exercise", log(
        runs=[*[run(7 * n) for n in range(17)], *[run(7 * n, 6.0, began_at=at(7 * n, 15), cause="manual", mode="manual") for n in range(17, 20)]])),
    silent(CODE, "exercises cut short by a protective stop", log(runs=[*[run(7 * n) for n in range(17)], *[run(7 * n, 5.0, ended_by="oil") for n in range(17, 20)]])),
    silent(CODE, "attempts by hand stop as the key is let go", log(
        attempts=failures(*[{}] * 3, *[{"crank_s": 3.0}] * 3)["attempts"],
        starts=[row | {"mode": "manual"} for row in failures(*[{}] * 3, *[{"crank_s": 3.0}] * 3)["starts"]], runs=[run(7 * n) for n in WEEKS])),
    silent(CODE, "exercises that stall between rows a minute apart look as if none had been", log(
        runs=[run(7 * n, resolution_s=60.0) for n in range(8)], sampling=MINUTE)),
    silent(CODE, "exercise ceased because it stands off", log(
        mark("mode_change", at(60), at(140), text="automatic>off"), runs=[run(7 * n) for n in range(8)])),
    silent(CODE, "exercise ceased because it failed to start", log(
        runs=[run(7 * n) for n in range(8)], starts=[start(56, started=False, attempts=3)])),
    silent(CODE, "outages stood for the exercises", log(runs=[*[run(7 * n) for n in range(8)], *[run(7 * n, 60.0, cause="outage") for n in range(8, 20)]])),
    silent(CODE, "float that follows temperature", floating([13.5 - 0.018 * (t - 25.0) for t in [25.0 - 0.3 * n for n in range(80)]], [25.0 - 0.3 * n for n in range(80)])),
    silent(CODE, "float that follows temperature, and none is logged", log(
        days=[battery_day(n, 13.9 - 0.3 * min(max(n - 30, 0), 20) / 20 - 0.05 * (n > 40), on_charge=True, ambient_c=None, rest_coolant_c=None) for n in range(80)])),
    silent(CODE, "a new charger: a day off charge between", log(
        days=[battery_day(n, 13.8 if n < 40 else 13.2, on_charge=n not in {39, 40, 41}) for n in range(80)])),
    silent(CODE, "a new battery, with the set out of automatic", log(
        mark("mode_change", at(39, 9), at(39, 11), text="automatic>off"), mark("mode_change", at(39, 11), at(80), text="off>automatic"),
        days=[battery_day(n, 13.8 if n < 40 else 13.2, on_charge=True) for n in range(80)])),
    silent(CODE, "preheat at 60 s is not looked at", log(
        attempts=preheats(two(10.0, 2.0), resolution_s=60.0), runs=[run(7 * n) for n in WEEKS], sampling=MINUTE)),
    silent(CODE, "a cool-down of two minutes, rows a minute apart", log(
        runs=[run(7 * n, unloaded_end_s=v, resolution_s=60.0) for n, v in two(120.0, 0.0)], sampling=MINUTE)),
    silent(CODE, "two odd ones at the end are no change yet", log(attempts=preheats(two(10.0, 2.0, week=18)))),
    cannot(CODE, "five runs", log(runs=[run(7 * n) for n in range(5)], weeks=6), Reason.TOO_FEW, "few"),
    cannot(CODE, "no battery and no runs", book(days=[day(n, rest_battery_v=None) for n in range(9)]), Reason.NOTHING_SEEN),
    cannot(CODE, "nothing that tells running or battery", book(days=[day(0)], signals={"fuel_fraction"}), Reason.SIGNAL_MISSING),
]  # fmt: skip
