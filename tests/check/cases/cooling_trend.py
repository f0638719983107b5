"""Invented figures: they show behaviour, they prove no value."""

import math

from startworthy.findings import Reason
from tests.support.books import at, book, known, run
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
AIR = known({"air_cooled": True})
HEATER = known({"coolant_heater": True})


def load(i):
    """Of run i, here and there between two fifths and three fifths."""
    return 0.5 + 0.1 * math.sin(2.3 * i)


def air(i):
    """Of a summer half year of weekly runs, with its weather."""
    return 20.0 + 8.0 * math.sin(math.pi * i / 26.0) + 4.0 * math.sin(1.7 * i) + 2.0 * math.sin(0.61 * i)


def wobble(i):
    return 0.7 * math.sin(4.1 * i) + 0.4 * math.sin(7.3 * i)


def coolant(air_c, share, left=1.0, opens_c=79.0):
    """What a thermostat lets it come to, and above that what the radiator, with so much of it left, cannot take off."""
    return max(opens_c + 4.0 * share, air_c + (10.0 + 42.0 * share) / left)


def weekly(left=lambda i: 1.0, n=26, air=air, load=load, minutes=60.0, opens_c=79.0, of=None, shown=round, **own):
    """A run a week; left: share of the radiator's transfer at run i."""
    rows = []
    for i in range(n):
        warm_c = coolant(air(i), load(i) or 0.5, left(i), opens_c) + wobble(i)
        told = {
            "ambient_before_c": shown(air(i)),
            "ambient_c": shown(air(i)),
            "coolant_before_c": shown(air(i) + 1.0),
            "load_late_fraction": load(i),
            "load_fraction_mean": load(i),
        }
        told |= {"coolant_warm_c": shown(warm_c), "coolant_max_c": shown(warm_c + 1.0)}
        rows.append(
            run(
                7 * i,
                minutes,
                **{name: None if own.get(name, 0) is None else value for name, value in told.items()}
                | {k: v for k, v in own.items() if v is not None},
            )
        )
    return book(runs=rows, of=of, span=YEAR, days=())


def fouls(i):
    return 0.75 - 0.40 * min(i / 22.0, 1.0)


def fouls_slowly(i):
    return 0.92 - 0.22 * i / 26.0


def fouls_a_little(i):
    return 0.68 - 0.12 * i / 26.0


def flat(c):
    return lambda i: c + 3.0 * math.sin(1.7 * i)


ENCLOSED = {"ambient_c": 45.0}
NO_AMBIENT = {"ambient_c": None, "ambient_before_c": None}

CASES = [
    raises("cooling.declining", "a radiator that fouls", weekly(fouls), "soon", "at_limit"),
    raises("cooling.declining", "slowly, so that the limit lies ahead", weekly(fouls_slowly, of=known({"limits": {"coolant_high_c": 120.0}}), opens_c=55.0), "soon", "dated"),
    raises("cooling.declining", "the limit lies years ahead", weekly(fouls_slowly, of=known({"limits": {"coolant_high_c": 125.0, "coolant_forecast_days": 30.0}}), opens_c=55.0), "soon", "rising"),
    raises("cooling.declining", "load not logged", weekly(fouls, load_late_fraction=None, load_fraction_mean=None), "note", "load_unknown"),
    raises("cooling.declining", "no rating, load in kW", weekly(fouls, load_late_fraction=None, load_fraction_mean=None, load_kw_mean=6.0, load_kw_max=9.0), "soon", "at_limit"),
    raises("cooling.declining", "ambient not logged: the cold coolant stands in", weekly(fouls, **NO_AMBIENT), "soon", "at_limit"),
    raises("cooling.declining", "10.17: a sensor in the enclosure is read before the run", weekly(fouls, **ENCLOSED), "soon", "at_limit"),
    silent("cooling.declining", "a healthy half year", weekly()),
    silent("cooling.declining", "held by its thermostat, from winter to summer", weekly(air=lambda i: -15.0 + 1.4 * i + 4.0 * math.sin(1.7 * i))),
    silent("cooling.declining", "held by its thermostat, from summer to winter", weekly(air=lambda i: 28.0 - 1.4 * i + 4.0 * math.sin(1.7 * i))),
    silent("cooling.declining", "off its plateau as the heat comes", weekly(lambda i: 0.6, air=lambda i: 5.0 + 1.3 * i + 4.0 * math.sin(1.7 * i))),
    silent("cooling.declining", "a hot summer week at the end", weekly(lambda i: 0.6, air=lambda i: 43.0 if i >= 24 else 22.0 + 4.0 * math.sin(1.7 * i))),
    silent("cooling.declining", "more load since the middle", weekly(lambda i: 0.6, load=lambda i: (0.45 if i < 13 else 0.8) + 0.03 * math.sin(2.3 * i))),
    silent("cooling.declining", "fouled, and cleaned before the last runs", weekly(lambda i: fouls(i) if i < 20 else 0.8)),
    silent("cooling.declining", "three degrees are too few", weekly(fouls_a_little, load=lambda i: 0.3 + 0.02 * math.sin(2.3 * i), opens_c=60.0)),
    silent("cooling.declining", "unloaded exercise in frost", weekly(air=flat(-12.0), load=lambda i: 0.0)),
    cannot("cooling.declining", "runs of ten minutes", weekly(fouls, minutes=10.0), Reason.TOO_FEW, "few_runs"),
    cannot("cooling.declining", "rows five minutes apart, runs of twenty minutes", weekly(fouls, minutes=20.0, resolution_s=300.0), Reason.TOO_FEW, "few_runs"),
    cannot("cooling.declining", "eight runs", weekly(fouls, n=8), Reason.TOO_FEW, "few_runs"),
    cannot("cooling.declining", "the air went with time alone", weekly(fouls, air=lambda i: 10.0 + i, shown=lambda v: v, load=lambda i: 0.5), Reason.TOO_FEW, "not_apart"),
    cannot("cooling.declining", "no air, and a heater holds the coolant", weekly(fouls, of=HEATER, **NO_AMBIENT), Reason.SIGNAL_MISSING, "no_air"),
    cannot("cooling.declining", "no air, and a heater that nobody told of", weekly(fouls, **(NO_AMBIENT | {"coolant_before_c": 41.0})), Reason.SIGNAL_MISSING, "no_air"),
    cannot("cooling.declining", "air cooled", weekly(fouls, of=AIR), Reason.NOTHING_SEEN, "air_cooled"),
    cannot("cooling.declining", "never warm", book(runs=[run(1)], span=YEAR), Reason.NOTHING_SEEN),
    cannot("cooling.declining", "no coolant logged", book(runs=[run(1)], signals={"speed_rpm"}, span=YEAR), Reason.SIGNAL_MISSING),
]  # fmt: skip
