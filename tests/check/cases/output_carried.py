"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, book, day, known, mark, run, start
from tests.support.cases import cannot, raises, silent

NOT_TAKEN = "output.load_not_taken"
OVERLOAD = "output.overload"

TAKES = {"load_fraction_mean": 0.4, "load_fraction_max": 0.55, "load_taken_s": 12.0}
NONE = {"load_fraction_mean": 0.0, "load_fraction_max": 0.01, "load_taken_s": None}
EMPTY = {"load_fraction_mean": 0.02, "load_fraction_max": 0.06, "load_taken_s": 12.0}
IN_KW = {"load_fraction_mean": None, "load_fraction_max": None}


def outages(*changes, days=100, minutes=60.0, away_minutes=57.0, of=None, signals=None, **own):
    """A loss of mains every ten days, the set running from ten seconds later on."""
    rows, starts, marks = [], [], []
    for n, change in enumerate(changes):
        rows.append(run(10 * n, minutes, **({"run": n + 1, "cause": "outage"} | change | own)))
        lost = at(10 * n, 8 - 10 / 3600)
        starts.append(start(10 * n, run=n + 1, mains_lost_at=lost, cause="outage"))
        marks.append(mark("mains_lost", lost, at(10 * n, 8 + away_minutes / 60)))
    more = {} if signals is None else {"signals": signals}
    return book(runs=rows, starts=starts, marks=marks, days=[day(n) for n in range(days)], of=of, **more)


WITHIN = {
    "overload_s": 0.0,
    "overload_far_s": 0.0,
    "load_fraction_max": 0.8,
    "load_fraction_mean": 0.6,
    "frequency_mean_hz": 50.8,
    "frequency_heavy_hz": 50.6,
}
OVER = {"overload_s": 1500.0, "overload_far_s": 0.0, "load_fraction_max": 1.07, "frequency_heavy_hz": 49.8}
FAR = {"overload_s": 1500.0, "overload_far_s": 300.0, "load_fraction_max": 1.18, "frequency_heavy_hz": 49.5}
KVA = {"overload_s": 1500.0, "overload_far_s": 900.0, "load_fraction_max": 1.2, "frequency_heavy_hz": 50.4}


def loads(*changes, days=70, of=None, **own):
    rows = [run(7 * n, **(WITHIN | change | own)) for n, change in enumerate(changes)]
    return book(runs=rows, days=[day(n) for n in range(days)], of=of)


CASES = [
    raises(NOT_TAKEN, "the last outage without load", outages(TAKES, TAKES, NONE), "urgent", "not_taken"),
    raises(NOT_TAKEN, "load logged in kW, rating not known", outages({"load_kw_mean": 4.0, "load_kw_max": 6.0} | IN_KW, {"load_kw_mean": 0.0, "load_kw_max": 0.1} | IN_KW, of=known(rated_kw=None)), "urgent", "not_taken"),
    raises(NOT_TAKEN, "mains still away at the log's end", book(
        runs=[run(1, 60, run=1, **TAKES), run(20, 60, run=2, **NONE)], starts=[start(1, run=1, mains_lost_at=at(1, 8)), start(20, run=2, mains_lost_at=at(20, 8))],
        marks=[mark("mains_lost", at(1, 8), at(1, 9)), mark("mains_lost", at(20, 8))], days=[day(n) for n in range(21)]), "urgent", "not_taken"),
    raises(NOT_TAKEN, "a row a minute, an hour", outages(TAKES, NONE, resolution_s=60.0), "urgent", "not_taken"),
    raises(NOT_TAKEN, "once, taken twice since", outages(TAKES, NONE, TAKES, TAKES), "note", "past"),
    raises(NOT_TAKEN, "long ago, taken since", outages(TAKES, NONE, NONE, TAKES, TAKES, TAKES, days=150), "note", "past"),
    silent(NOT_TAKEN, "taken each time", outages(TAKES, TAKES, TAKES)),
    silent(NOT_TAKEN, "mains back before it usually takes its load", outages(TAKES, TAKES, *[NONE | {"ended_at": at(20, 8 + 65 / 3600)}])),
    silent(NOT_TAKEN, "a transfer that waits for a minute of warm-up", outages(TAKES | {"load_taken_s": 60.0}, TAKES | {"load_taken_s": 60.0}, NONE | {"ended_at": at(20, 8 + 110 / 3600)})),
    silent(NOT_TAKEN, "no volts: the transfer waits rightly", outages(TAKES, TAKES, NONE | {"voltage_mean_v": 5.0})),
    silent(NOT_TAKEN, "an exercise without load is no outage", book(
        runs=[run(1, 60, run=1, **TAKES), run(8, run=2, **NONE)], starts=[start(1, run=1, mains_lost_at=at(1, 8)), start(8, run=2)],
        marks=[mark("mains_lost", at(1, 8), at(1, 9))], days=[day(n) for n in range(21)])),
    cannot(NOT_TAKEN, "an empty house: hardly ever any load", outages(EMPTY, EMPTY, NONE, EMPTY, TAKES), Reason.TOO_FEW, "never_loaded"),
    cannot(NOT_TAKEN, "never any load", outages(NONE, NONE), Reason.TOO_FEW, "never_loaded"),
    cannot(NOT_TAKEN, "load not measured", outages(IN_KW, IN_KW), Reason.NOTHING_SEEN, "load_not_measured"),
    cannot(NOT_TAKEN, "mains back within the minute", outages(TAKES, TAKES, away_minutes=0.9), Reason.TOO_FEW, "short_outages"),
    cannot(NOT_TAKEN, "a row every five minutes, outages of ten", outages(TAKES, NONE, minutes=12.0, away_minutes=10.0, resolution_s=300.0), Reason.TOO_FEW, "short_outages"),
    cannot(NOT_TAKEN, "a start that failed", book(starts=[start(1, started=False, mains_lost_at=at(1, 8))], days=[day(0)]), Reason.NOTHING_SEEN, "no_outage"),
    cannot(NOT_TAKEN, "mains not logged", outages(TAKES, signals={"power_kw", "speed_rpm"}), Reason.SIGNAL_MISSING),
    cannot(NOT_TAKEN, "no outage", book(starts=[start(1)], days=[day(0)]), Reason.NOTHING_SEEN),
    # output.overload
    raises(OVERLOAD, "far beyond for five minutes", loads({}, FAR), "urgent", "far"),
    raises(OVERLOAD, "beyond for twenty-five minutes", loads({}, OVER), "soon", "lasting"),
    raises(OVERLOAD, "a row a minute, five of them", loads({}, FAR, resolution_s=60.0), "urgent", "far"),
    raises(OVERLOAD, "frequency not logged", loads({}, FAR, frequency_mean_hz=None, frequency_heavy_hz=None, of=known(rated_frequency_hz=None)), "urgent", "far"),
    raises(OVERLOAD, "what 2000 m leave of it", loads({}, OVER | {"load_fraction_max": 0.9}, of=known({"altitude_m": 2000.0})), "soon", "lasting"),
    raises(OVERLOAD, "long ago, within it since", loads(FAR, {}, {}, {}, {}, days=150), "soon", "past"),
    raises(OVERLOAD, "kVA taken for kW: it holds its frequency", loads({}, KVA, KVA), "note", "held"),
    silent(OVERLOAD, "within its rating", loads({}, {})),
    silent(OVERLOAD, "a motor's start", loads({}, {"overload_s": 20.0, "overload_far_s": 12.0, "load_fraction_max": 1.4})),
    silent(OVERLOAD, "a quarter of an hour exactly", loads({}, OVER | {"overload_s": 900.0})),
    silent(OVERLOAD, "two rows a minute apart", loads({}, FAR | {"overload_far_s": 120.0, "overload_s": 120.0}, resolution_s=60.0)),
    cannot(OVERLOAD, "rated power not known", loads({}, {}, overload_s=None, of=known(rated_kw=None)), Reason.NOT_IN_REGISTER),
    cannot(OVERLOAD, "load not measured in any run", loads({}, {}, overload_s=None), Reason.NOTHING_SEEN),
    cannot(OVERLOAD, "no load logged", book(runs=[run(1)], days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
]  # fmt: skip
