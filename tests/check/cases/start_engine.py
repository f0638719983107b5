"""Stalled runs, and cranks that tell of fuel, plugs and starter. Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, attempt, book, known, mark, run, start
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
BY_HAND = {"cause": "manual", "mode": "manual"}
AT_8 = known(exercise_minute_of_day=480)
V24 = known({"battery_nominal_v": 24}, battery_nominal_v=24.0)
NO_PLUGS = known({"preheat": False})


def ran(*runs, of=None, **more):
    return book(runs=[*[run(7 * n) for n in range(26)], *runs], of=of, span=more.pop("span", YEAR), **more)


def stall(day, s=20.0, **own):
    """A run that ended by itself after so many seconds."""
    return run(day, s / 60.0, **({"mode": "automatic"} | own))


def outage_stall(day, back_after_s):
    """A run of 20 s in an outage; the mains are back so many seconds after the loss."""
    began = at(day, 3)
    return {
        "starts": [start(day, began_at=began, cause="outage", mains_lost_at=began, run=90)],
        "marks": [mark("mains_lost", began, at(day, 3 + back_after_s / 3600.0), signal="mains_present")],
        "runs": [*[run(7 * n, run=n + 1) for n in range(26)], stall(day, began_at=began, cause="outage", run=90)],
        "span": YEAR,
    }


def rested(after_long_s, after_short_s, *, pairs=8, long_c=10.0, short_c=10.0, **own):
    """Exercises every fortnight, each with a run by hand the day after it."""
    rows = []
    for n in range(pairs):
        rows += [
            start(14 * n, crank_s=after_long_s, rest_h=312.0, coolant_before_c=long_c, **own),
            start(14 * n + 1, crank_s=after_short_s, rest_h=24.0, coolant_before_c=short_c, **(own | BY_HAND)),
        ]
    return book(starts=rows, span=YEAR)


def turned(*speeds, volts=None, c=None, of=None, resolution_s=1.0):
    """A crank a week at these rpm, with these volts and at these temperatures."""
    rows = [
        attempt(
            7 * n, crank_rpm=float(rpm), battery_mean_v=10.4 if volts is None else volts[n],
            coolant_before_c=20.0 if c is None else c[n], resolution_s=resolution_s,
        )
        for n, rpm in enumerate(speeds)
    ]  # fmt: skip
    return book(attempts=rows, starts=[start(7 * n) for n in range(len(rows))], of=of, span=YEAR)


def glowed(dips, *, c=5.0, before=12.8, of=None, causes=None, **own):
    """A start a week whose preheat pulls the battery down by so much; 0 is none seen. c, before: one figure or one each."""

    def each(value, n):
        return value[n] if isinstance(value, list) else value

    rows, asked = [], []
    for n, dip in enumerate(dips):
        seen = {"preheat_s": 8.0 if dip else 0.0, "preheat_v": each(before, n) - dip if dip else None}
        rows.append(attempt(7 * n, battery_before_v=each(before, n), coolant_before_c=each(c, n), **(seen | own)))
        asked.append(start(7 * n, **({} if causes is None else causes[n])))
    return book(attempts=rows, starts=asked, of=of, span=YEAR)


good, bad = [0.9] * 10, [0.0] * 4
steady = [230, 236, 228, 233, 240, 231, 229, 235, 232, 230, 238, 234]
seasons = [240] * 8 + [180] * 8

CASES = [
    raises("start.stalled", "twice in a month", ran(stall(170), stall(185)), "urgent", "often"),
    raises("start.stalled", "once, last week", ran(stall(190)), "soon", "once"),
    raises("start.stalled", "once in an outage, mains still away", book(**outage_stall(150, 7200.0)), "soon", "once"),
    raises("start.stalled", "a fault that the set could not name", ran(stall(190, cause="unknown", ended_by="shutdown", end_text="engine stopped")), "soon", "once"),
    raises("start.stalled", "once, reason for the start not known", ran(stall(190, cause="unknown", mode=None)), "note", "doubtful"),
    raises("start.stalled", "half a year ago, twice, good ones since", ran(stall(20), stall(25)), "soon", "past"),
    raises("start.stalled", "in test mode at the hour of the exercise", ran(stall(190, mode="test"), of=AT_8), "soon", "once"),
    silent("start.stalled", "weekly exercises", ran()),
    silent("start.stalled", "a technician's trial by hand", ran(stall(180, **BY_HAND), stall(181, **BY_HAND))),
    silent("start.stalled", "a trial in test mode at another hour", ran(stall(180, mode="test", began_at=at(180, 15)), of=AT_8)),
    silent("start.stalled", "a protection that names its reason", ran(stall(180, ended_by="oil"), stall(185, ended_by="overspeed"))),
    silent("start.stalled", "the mains were back within seconds", book(**outage_stall(150, 15.0))),
    silent("start.stalled", "59 s seen, 61 s possible", ran(stall(180, 60.0))),
    silent("start.stalled", "cut by a gap: its length is not known", ran(stall(180, end_seen=False), stall(185, missing_s=300.0))),
    cannot("start.stalled", "a row a minute", book(runs=[run(7 * n, resolution_s=60.0) for n in range(26)], span=YEAR), Reason.TOO_COARSE),
    cannot("start.stalled", "only runs by hand", book(runs=[run(7 * n, **BY_HAND) for n in range(26)], span=YEAR), Reason.NOTHING_SEEN),
    # start.longer_after_rest
    raises("start.longer_after_rest", "six seconds more after a fortnight", rested(8.0, 2.0), "soon", "default"),
    raises("start.longer_after_rest", "three seconds more, rows close enough to tell", rested(5.0, 2.0, resolution_s=0.2), "soon", "default"),
    silent("start.longer_after_rest", "exactly four seconds more, rows a second apart", rested(6.0, 2.0)),
    silent("start.longer_after_rest", "three seconds more, rows a second apart", rested(5.0, 2.0)),
    silent("start.longer_after_rest", "six seconds more, but not twice as long", rested(13.0, 7.0)),
    silent("start.longer_after_rest", "alike", rested(2.0, 2.0)),
    cannot("start.longer_after_rest", "the long rests were in winter", rested(8.0, 2.0, long_c=-10.0, short_c=20.0), Reason.TOO_FEW, "rests_alike"),
    cannot("start.longer_after_rest", "weekly: all rests alike", book(starts=[start(7 * n, crank_s=2.0, rest_h=168.0) for n in range(26)], span=YEAR), Reason.TOO_FEW, "rests_alike"),
    cannot("start.longer_after_rest", "a row every ten seconds", rested(8.0, 2.0, resolution_s=10.0), Reason.TOO_COARSE),
    cannot("start.longer_after_rest", "never started", book(starts=[start(3, started=False)], span=YEAR), Reason.NOTHING_SEEN),
    # start.slow_cranking
    raises("start.slow_cranking", "half the speed, volts up", turned(*steady, *[120] * 8, volts=[10.4] * 12 + [11.4] * 8), "soon", "volts_good"),
    raises("start.slow_cranking", "a quarter less, volts down with it", turned(*steady, *[170] * 8, volts=[10.4] * 12 + [9.4] * 8), "soon", "volts_low"),
    raises("start.slow_cranking", "volts not known", turned(*steady, *[120] * 8, volts=[None] * 20), "soon", "volts_unknown"),
    raises("start.slow_cranking", "half the speed on a 24 V set", turned(*steady, *[120] * 8, volts=[21.0] * 12 + [20.8] * 8, of=V24), "soon", "volts_good"),
    silent("start.slow_cranking", "as ever", turned(*steady, *steady)),
    silent("start.slow_cranking", "all to the same figure", turned(*[230] * 12)),
    silent("start.slow_cranking", "slower in winter", turned(*seasons, c=[22.0] * 8 + [-8.0] * 8)),
    silent("start.slow_cranking", "one slow crank", turned(*steady, 110, *steady)),
    silent("start.slow_cranking", "a tenth less", turned(*steady, *[209] * 8)),
    cannot("start.slow_cranking", "seven cranks", turned(*steady[:7]), Reason.TOO_FEW),
    cannot("start.slow_cranking", "a row every ten seconds", turned(*steady, resolution_s=10.0), Reason.TOO_COARSE),
    cannot("start.slow_cranking", "the signal is blind to so slow a turning", book(attempts=[attempt(7 * n) for n in range(12)], span=YEAR), Reason.NOTHING_SEEN, "no_speed"),
    # start.no_preheat
    raises("start.no_preheat", "none since a month", glowed([*good, *bad]), "soon", "gone"),
    raises("start.no_preheat", "none since a month, though it always preheated when warmer", glowed([*good, *bad], c=[18.0] * 10 + [2.0] * 4), "soon", "gone"),
    raises("start.no_preheat", "none on a 24 V set", glowed([*[0.8] * 10, *bad], before=27.0, of=V24), "soon", "gone"),
    raises("start.no_preheat", "half the dip at like volts", glowed([*good, *[0.45] * 3]), "soon", "weaker"),
    silent("start.no_preheat", "a dip every time", glowed(good)),
    silent("start.no_preheat", "one start without", glowed([*good, 0.0])),
    silent("start.no_preheat", "the charger was lost: the dip from rest is smaller", glowed([*[1.8] * 10, *[0.9] * 3], before=[13.7] * 10 + [12.6] * 3)),
    silent("start.no_preheat", "a third less", glowed([*good, *[0.6] * 3])),
    silent("start.no_preheat", "a person skipped it", glowed([*good, *bad], causes=[{}] * 10 + [BY_HAND] * 4)),
    silent("start.no_preheat", "came back", glowed([*good, *bad, *good])),
    cannot("start.no_preheat", "left out since it is warm", glowed([*good, *bad], c=[0.0] * 10 + [18.0] * 4), Reason.TOO_FEW, "no_record"),
    cannot("start.no_preheat", "no glow plugs, says the register", glowed([*good, *bad], of=NO_PLUGS), Reason.NOTHING_SEEN, "no_plugs"),
    cannot("start.no_preheat", "never a dip: no glow plugs", glowed([0.0] * 20), Reason.NOTHING_SEEN, "never_seen"),
    cannot("start.no_preheat", "12 V or 24 V is not known", glowed([*good, *bad], of=known(battery_nominal_v=None)), Reason.NOT_IN_REGISTER),
    cannot("start.no_preheat", "a row a minute", glowed([*good, *bad], resolution_s=60.0), Reason.TOO_COARSE),
]  # fmt: skip
