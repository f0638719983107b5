"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.check.cases.fuel_use import burning, steady
from tests.support.books import book, day, fuel_day, known, run
from tests.support.cases import cannot, raises, silent

OUTAGE = {"cause": "outage", "load_fraction_mean": 0.5}
RUNS = [run(3), run(10, 90.0, **OUTAGE), run(17)]
TANK = known({"tank_litres": 60.0})
SMALL = known({"tank_litres": 14.0})
CURVE = known({"tank_litres": 60.0, "fuel_curve": [[0.25, 1.4], [0.5, 2.2], [0.75, 3.1], [1.0, 4.0]]})


def stands(level, of=TANK, runs=RUNS, **more):
    return book(days=[fuel_day(n, level) for n in range(30)], runs=runs, of=of, **more)


def own(level):
    """A record of its own, in a tank whose litres nobody told; then this level."""
    days = [day(d) for d in range(185)] + [fuel_day(d, level) for d in range(185, 190)]
    return burning(steady, n=30, of=known(), days=days)


def months(levels, **more):
    return book(days=[fuel_day(n, level, **more) for n, level in enumerate(levels)])


COLD = {"ambient_c": 4.0}
UNKNOWN = {"ambient_c": None, "rest_coolant_c": None}
HEATED = {"ambient_c": None, "rest_coolant_c": 42.0}

CASES = [
    raises("fuel.autonomy", "a third of the tank, nothing known of its use", stands(0.3), "soon", "usual"),
    raises("fuel.autonomy", "by the register's curve", stands(0.3, CURVE), "soon", "curve"),
    raises("fuel.autonomy", "by its own record", own(0.3), "soon", "own"),
    raises("fuel.autonomy", "the register asks for two days", stands(0.4, known({"tank_litres": 200.0, "limits": {"fuel_autonomy_h": 48.0}})), "soon", "usual"),
    raises("fuel.autonomy", "no outage seen: by the loaded runs", stands(0.3, runs=[run(3), run(10)]), "soon", "usual"),
    raises("fuel.autonomy", "no rating, by kW", stands(0.3, known({"tank_litres": 60.0}, rated_kw=None), runs=[run(3, load_fraction_mean=None, load_kw_mean=6.0, load_kw_max=9.0)]), "soon", "usual"),
    silent("fuel.autonomy", "three quarters", stands(0.75)),
    silent("fuel.autonomy", "a full small tank is no lack", stands(0.95, SMALL)),
    silent("fuel.autonomy", "a small tank above half", stands(0.6, SMALL)),
    silent("fuel.autonomy", "a third of a large tank", stands(0.33, known({"tank_litres": 300.0}))),
    silent("fuel.autonomy", "its own record, three quarters", own(0.75)),
    cannot("fuel.autonomy", "exercised unloaded, no outage", stands(0.3, runs=[run(3, load_fraction_mean=0.0)]), Reason.SIGNAL_MISSING, "no_load"),
    cannot("fuel.autonomy", "no tank, no record", stands(0.3, known()), Reason.NOT_IN_REGISTER, "no_rate"),
    cannot("fuel.autonomy", "neither rating nor kW", stands(0.3, known({"tank_litres": 60.0}, rated_kw=None)), Reason.NOT_IN_REGISTER, "no_rate"),
    cannot("fuel.autonomy", "no level", book(runs=RUNS, days=[day(0, rest_fuel_fraction=None, rest_fuel_first_fraction=None, rest_fuel_last_fraction=None)]), Reason.NOTHING_SEEN),
    cannot("fuel.autonomy", "no fuel logged", book(runs=RUNS, signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
    raises("fuel.part_full", "two cold months", months([0.45] * 60, **COLD), "note", "default"),
    raises("fuel.part_full", "since the autumn", months([0.8] * 40 + [0.4] * 40, **COLD), "note", "default"),
    raises("fuel.part_full", "season not known", months([0.45] * 60, **UNKNOWN), "note", "season_unknown"),
    raises("fuel.part_full", "a heater hides the season", months([0.45] * 60, **HEATED), "note", "season_unknown"),
    raises("fuel.part_full", "a heater that holds the coolant at a summer's warmth hides the season", months([0.45] * 60, ambient_c=None, rest_coolant_c=38.0), "note", "season_unknown"),
    silent("fuel.part_full", "warm", months([0.45] * 60, ambient_c=24.0)),
    silent("fuel.part_full", "exactly half", months([0.5] * 60, **COLD)),
    silent("fuel.part_full", "three weeks", months([0.8] * 40 + [0.4] * 21, **COLD)),
    silent("fuel.part_full", "filled since", months([0.4] * 60 + [0.9] * 3, **COLD)),
    silent("fuel.part_full", "half, swelling by day and by season", months([0.5 + 0.01 * ((n // 7) % 2) - 0.004 for n in range(90)], **COLD)),
    cannot("fuel.part_full", "three weeks in all", months([0.4] * 21, **COLD), Reason.TOO_SHORT),
    cannot("fuel.part_full", "no level", book(days=[day(0, rest_fuel_fraction=None)]), Reason.NOTHING_SEEN),
    cannot("fuel.part_full", "no fuel logged", book(days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
]  # fmt: skip
