"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import book, day, run
from tests.support.cases import cannot, raises, silent

OVER = "output.overspeed"
VOLTS = "output.no_voltage"

CALM = {"overspeed_s": 0.0, "speed_max_fraction": 1.06, "speed_mean_rpm": 1545.0}
TRIPPED = {"overspeed_s": 4.0, "speed_max_fraction": 1.18, "ended_by": "overspeed"}
FAST = {"overspeed_s": 60.0, "speed_max_fraction": 1.12}


def speeds(*changes, days=70, **own):
    rows = [run(7 * n, **(CALM | change | own)) for n, change in enumerate(changes)]
    return book(runs=rows, days=[day(n) for n in range(days)])


LOST = {
    "no_voltage_s": 1180.0,
    "voltage_mean_v": 4.0,
    "frequency_mean_hz": 0.0,
    "load_fraction_max": 0.0,
    "load_fraction_mean": 0.0,
}
UNLOADED = {"no_voltage_s": 0.0, "load_fraction_max": 0.0, "load_fraction_mean": 0.0}
LOADED = {"no_voltage_s": 0.0, "load_fraction_max": 0.5, "load_taken_s": 8.0, "unloaded_end_s": 120.0}
BEHIND = LOADED | {"no_voltage_s": 119.0}
OUTAGE = {"cause": "outage"}


def volts(*changes, days=100, **own):
    rows = [run(7 * n, **({"speed_mean_rpm": 1545.0} | change | own)) for n, change in enumerate(changes)]
    return book(runs=rows, days=[day(n) for n in range(days)])


BLIND = LOADED | {"no_voltage_s": 1100.0, "voltage_mean_v": 0.0}
NO_LOAD_KNOWN = {"load_fraction_max": None, "load_fraction_mean": None}

CASES = [
    raises(OVER, "shut down for it", speeds({}, {}, TRIPPED), "urgent", "shut_down"),
    raises(OVER, "shut down for it as its load went, by the alarm", speeds({}, TRIPPED | {"unloaded_end_s": 2.0, "end_text": "overspeed shutdown"}), "urgent", "shut_down"),
    raises(OVER, "a fifth too fast and running on", speeds({}, {"overspeed_s": 40.0, "speed_max_fraction": 1.2}), "urgent", "far"),
    raises(OVER, "a minute above its droop line", speeds({}, FAST, {}), "soon", "lasting"),
    raises(OVER, "rated speed not known, shut down all the same", speeds({}, TRIPPED | {"overspeed_s": None, "speed_max_fraction": None}), "urgent", "shut_down"),
    raises(OVER, "two rows a minute apart, and a third", speeds({}, FAST | {"overspeed_s": 120.0}, resolution_s=60.0), "soon", "lasting"),
    raises(OVER, "long ago, right since", speeds(TRIPPED, {}, {}, {}, {}, days=150), "soon", "past"),
    silent(OVER, "on its droop line", speeds({}, {}, {})),
    silent(OVER, "load taken off: up for three seconds", speeds({}, {"overspeed_s": 3.0, "speed_max_fraction": 1.17})),
    silent(OVER, "stopped in the moment in which its load went", speeds({}, TRIPPED | {"unloaded_end_s": 2.0})),
    silent(OVER, "a lone spike", speeds({}, {"overspeed_s": 0.0, "speed_max_fraction": 1.05})),
    silent(OVER, "ten seconds exactly", speeds({}, {"overspeed_s": 10.0, "speed_max_fraction": 1.11})),
    silent(OVER, "frequency alone", speeds({}, {}, speed_mean_rpm=None)),
    cannot(OVER, "contradiction, and a run too short to be steady", book(
        runs=[run(7 * n, overspeed_s=900.0, speed_max_fraction=1.33, speed_mean_rpm=rpm) for n, rpm in enumerate((1993.0, 1993.0, None))], days=[day(0)]),
        Reason.CONFLICT, "speed_and_frequency"),
    cannot(OVER, "speed and frequency contradict each other", speeds(*[{"overspeed_s": 900.0, "speed_max_fraction": 1.33}] * 3, speed_mean_rpm=1993.0), Reason.CONFLICT, "speed_and_frequency"),
    cannot(OVER, "neither is logged", book(runs=[run(1)], days=[day(0)], signals={"voltage_v"}), Reason.SIGNAL_MISSING),
    cannot(OVER, "rated speed not known", book(runs=[run(1)], days=[day(0)]), Reason.NOTHING_SEEN),
    # output.no_voltage
    raises(VOLTS, "unloaded runs had volts, now none", volts(UNLOADED, UNLOADED, UNLOADED, LOST, LOST), "urgent", "none"),
    raises(VOLTS, "loaded runs had volts before they took their load", volts(LOADED, LOADED, LOST), "urgent", "none"),
    raises(VOLTS, "load not logged", volts({"no_voltage_s": 0.0}, {"no_voltage_s": 0.0}, LOST | NO_LOAD_KNOWN), "urgent", "none"),
    raises(VOLTS, "lost in the middle of a run", volts(LOADED, LOADED, UNLOADED | {"no_voltage_s": 600.0}), "urgent", "none"),
    raises(VOLTS, "in an outage, though measured behind the breaker", volts(BEHIND | OUTAGE, BEHIND | OUTAGE, LOST | OUTAGE), "urgent", "none"),
    raises(VOLTS, "once, and back by itself", volts(UNLOADED, LOST, UNLOADED, UNLOADED), "soon", "past"),
    raises(VOLTS, "long ago, mended since", volts(UNLOADED, LOST, LOST, *[UNLOADED] * 5, days=150), "note", "past"),
    raises(VOLTS, "load flows: only the reading is gone", volts(LOADED, LOADED, BLIND), "soon", "reading"),
    raises(VOLTS, "load flowed without a reading, once", volts(LOADED, LOADED, BLIND, LOADED, LOADED), "note", "reading"),
    raises(VOLTS, "lost under load, and the load with it", volts(LOADED, LOADED, LOADED | {"no_voltage_s": 700.0, "load_late_fraction": 0.0}), "urgent", "none"),
    raises(VOLTS, "never any", volts(LOST, LOST, LOST), "note", "never"),
    silent(VOLTS, "volts in every run", volts(UNLOADED, LOADED, LOADED)),
    silent(VOLTS, "measured behind the breaker: none while it cools down", volts(BEHIND, BEHIND, BEHIND)),
    silent(VOLTS, "slow to excite: ten seconds", volts(UNLOADED, UNLOADED | {"no_voltage_s": 10.0})),
    silent(VOLTS, "one row of a minute", volts(UNLOADED, UNLOADED | {"no_voltage_s": 0.0}, resolution_s=60.0)),
    cannot(VOLTS, "exercised without load, measured behind the breaker", volts(BEHIND, LOST, BEHIND, LOST, LOST), Reason.TOO_FEW, "behind_breaker"),
    cannot(VOLTS, "speed not logged", book(runs=[run(1, no_voltage_s=0.0)], days=[day(0)], signals={"voltage_v", "frequency_hz"}), Reason.SIGNAL_MISSING),
    cannot(VOLTS, "no run told", book(runs=[run(1)], days=[day(0)]), Reason.NOTHING_SEEN),
]  # fmt: skip
