"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, book, run
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
QUICK = {"oil_ready_s": 3.0, "oil_ready_low_s": 2.0, "oil_before_kpa": 4.0, "coolant_before_c": 15.0}
LATE = QUICK | {"oil_ready_s": 25.0, "oil_ready_low_s": 24.0}
STIFF = QUICK | {"oil_ready_s": 19.0, "oil_ready_low_s": 18.0}


def runs(*rows):
    return book(runs=[run(150 + 7 * n, **own) for n, own in enumerate(rows)], span=YEAR)


CASES = [
    raises("oil.slow_to_build", "24 s in the last three runs", runs(QUICK, QUICK, QUICK, LATE, LATE, LATE), "soon", "slow"),
    raises("oil.slow_to_build", "in every run", runs(LATE, LATE), "soon", "slow"),
    raises("oil.slow_to_build", "once", runs(QUICK, QUICK, QUICK, QUICK, LATE), "note", "once"),
    raises("oil.slow_to_build", "rows ten seconds apart, more than 20 s", runs(*[LATE | {"resolution_s": 10.0}] * 3), "soon", "slow"),
    raises("oil.slow_to_build", "40 s in hard frost", runs(*[LATE | {"oil_ready_low_s": 40.0, "coolant_before_c": -22.0}] * 3), "soon", "slow"),
    silent("oil.slow_to_build", "3 s", runs(QUICK, QUICK, QUICK)),
    silent("oil.slow_to_build", "exactly 15 s at the least", runs(*[LATE | {"oil_ready_low_s": 15.0, "oil_ready_s": 17.0}] * 3)),
    silent("oil.slow_to_build", "rows ten seconds apart, between 10 and 20 s", runs(*[LATE | {"oil_ready_low_s": 20.0, "resolution_s": 10.0}] * 3)),
    silent("oil.slow_to_build", "stiff oil in hard frost", runs(*[STIFF | {"coolant_before_c": -22.0}] * 3)),
    silent("oil.slow_to_build", "hard frost, held warm by a heater: the air tells", runs(*[STIFF | {"coolant_before_c": 38.0, "ambient_before_c": -22.0}] * 3)),
    silent("oil.slow_to_build", "long ago, good ones since", runs(LATE, LATE, *[QUICK] * 5)),
    cannot("oil.slow_to_build", "rows a minute apart", runs({"resolution_s": 60.0}, {"resolution_s": 60.0}), Reason.TOO_COARSE),
    cannot("oil.slow_to_build", "a sender that shows pressure at rest", runs(*[LATE | {"oil_before_kpa": 250.0}] * 3), Reason.NOTHING_SEEN, "pressure_before"),
    cannot("oil.slow_to_build", "never at speed", runs({"oil_min_kpa": None}), Reason.NOTHING_SEEN),
    cannot("oil.slow_to_build", "no oil pressure logged", book(runs=[run(1)], signals={"speed_rpm"}, span=YEAR), Reason.SIGNAL_MISSING),
]  # fmt: skip
