"""Invented figures: they show behaviour, they prove no value."""

import math

from startworthy.findings import Reason
from tests.support.books import at, book, known, run
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
STOP_HIGH = known({"limits": {"oil_low_kpa": 200.0}})
NO_AIR = {"ambient_before_c": None, "ambient_c": None, "coolant_before_c": None}


def air(i):
    return 15.0 + 5.0 * math.sin(1.7 * i) + 2.0 * math.sin(0.61 * i)


def load(i):
    return 0.5 + 0.1 * math.sin(2.3 * i)


def pressure(oil_c, worn):
    """Falls with the oil's thinning, less than in proportion."""
    return 300.0 * worn * math.exp(-0.012 * (oil_c - 90.0))


def weekly(
    worn=lambda i: 1.0,
    n=26,
    air=air,
    load=load,
    coolant=lambda i: 80.0 + 0.8 * math.sin(0.9 * i),
    minutes=60.0,
    of=None,
    step=1.0,
    **own,
):
    """A run a week; worn: share of the pressure left at run i. The sump follows the air in part."""
    rows = []
    for i in range(n):
        oil_c = coolant(i) + 8.0 + 0.4 * (air(i) - 15.0) + 10.0 * (load(i) - 0.5)
        kpa = round((pressure(oil_c, worn(i)) + 2.0 * math.sin(4.1 * i)) / step) * step
        told = {
            "oil_warm_kpa": kpa,
            "oil_min_kpa": kpa - 10.0,
            "coolant_warm_c": coolant(i),
            "ambient_before_c": air(i),
            "ambient_c": air(i),
            "load_late_fraction": load(i),
        }
        rows.append(run(7 * i, minutes, **(told | own)))
    return book(runs=rows, of=of, span=YEAR)


def wears(i):
    return 1.0 - 0.35 * i / 26.0


CASES = [
    raises("oil.declining", "a third less in half a year", weekly(wears), "soon", "dated"),
    raises("oil.declining", "in steps of 10 kPa", weekly(wears, step=10.0), "soon", "dated"),
    raises("oil.declining", "the stop limit lies years ahead", weekly(wears, of=known({"limits": {"oil_forecast_days": 30.0}})), "soon", "falling"),
    raises("oil.declining", "air not logged", weekly(wears, **NO_AIR), "soon", "dated"),
    raises("oil.declining", "no coolant: by the air", weekly(wears, coolant_warm_c=None), "soon", "dated"),
    raises("oil.declining", "load not logged", weekly(wears, load_late_fraction=None, load_fraction_mean=None), "soon", "dated"),
    raises("oil.declining", "a higher stop limit is met sooner", weekly(wears, of=STOP_HIGH), "soon", "dated"),
    silent("oil.declining", "a healthy half year", weekly()),
    silent("oil.declining", "from winter to summer", weekly(air=lambda i: -10.0 + 1.5 * i + 4.0 * math.sin(1.7 * i))),
    silent("oil.declining", "a hot summer week at the end", weekly(air=lambda i: 40.0 if i >= 24 else air(i), coolant=lambda i: 96.0 if i >= 24 else 80.0 + math.sin(0.9 * i))),
    silent("oil.declining", "more load since the middle, and hotter for it", weekly(load=lambda i: (0.3 if i < 13 else 0.8) + 0.03 * math.sin(2.3 * i), coolant=lambda i: (78.0 if i < 13 else 86.0) + math.sin(0.9 * i))),
    silent("oil.declining", "a tenth less is too little", weekly(lambda i: 1.0 - 0.10 * i / 26.0)),
    silent("oil.declining", "sunk, and right again after an oil change", weekly(lambda i: wears(i) if i < 20 else 1.0)),
    silent("oil.declining", "whole degrees and steps of 10 kPa", weekly(step=10.0, coolant=lambda i: float(round(80.0 + 0.8 * math.sin(0.9 * i))))),
    cannot("oil.declining", "neither coolant nor air", weekly(wears, coolant_warm_c=None, **NO_AIR), Reason.SIGNAL_MISSING, "no_temperature"),
    cannot("oil.declining", "runs of ten minutes", weekly(wears, minutes=10.0), Reason.TOO_FEW, "few_runs"),
    cannot("oil.declining", "rows five minutes apart, runs of twenty minutes", weekly(wears, minutes=20.0, resolution_s=300.0), Reason.TOO_FEW, "few_runs"),
    cannot("oil.declining", "nine runs", weekly(wears, n=9), Reason.TOO_FEW, "few_runs"),
    cannot("oil.declining", "the air went with time alone", weekly(wears, air=lambda i: 10.0 + i, load=lambda i: 0.5), Reason.TOO_FEW, "not_apart"),
    cannot("oil.declining", "never warm", book(runs=[run(1, oil_warm_kpa=None)], span=YEAR), Reason.NOTHING_SEEN),
    cannot("oil.declining", "no oil pressure logged", book(runs=[run(1)], signals={"speed_rpm"}, span=YEAR), Reason.SIGNAL_MISSING),
]  # fmt: skip
