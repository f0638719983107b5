"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, book, known, run
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
LOW = {"oil_min_kpa": 80.0, "oil_low_s": 40.0, "oil_warm_kpa": 95.0}
SLOW = {"resolution_s": 60.0}


def runs(*rows, of=None):
    return book(runs=rows, of=of, span=YEAR)


CASES = [
    raises("oil.low", "below the stop limit for most of a minute", runs(run(170), run(190, **LOW)), "urgent", "low"),
    raises("oil.low", "shut down by it", runs(run(170), run(190, oil_min_kpa=95.0, oil_low_s=3.0, ended_by="oil")), "urgent", "shut_down"),
    raises("oil.low", "one row at one second", runs(run(170), run(190, oil_min_kpa=20.0, oil_low_s=1.0)), "note", "moment"),
    raises("oil.low", "one row at ten seconds", runs(run(170), run(190, oil_min_kpa=20.0, oil_low_s=10.0, resolution_s=10.0)), "note", "moment"),
    raises("oil.low", "rows a minute apart, four minutes", runs(run(190, **(LOW | SLOW | {"oil_low_s": 240.0}))), "urgent", "low"),
    raises("oil.low", "near the stop limit again and again", runs(*[run(n, oil_min_kpa=125.0, oil_warm_kpa=130.0) for n in (150, 160, 170)]), "soon", "near"),
    raises("oil.low", "near the stop limit once", runs(run(170), run(180, oil_min_kpa=130.0), run(190)), "note", "moment"),
    raises("oil.low", "half a year ago, good ones since", runs(run(2, **LOW), run(100), run(130), run(190)), "soon", "past"),
    raises("oil.low", "the register's own limit is higher", runs(run(190, oil_min_kpa=180.0, oil_low_s=40.0), of=known({"limits": {"oil_low_kpa": 200.0}})), "urgent", "low"),
    silent("oil.low", "300 kPa", runs(run(170), run(190))),
    silent("oil.low", "exactly at the warning limit", runs(*[run(n, oil_min_kpa=138.0, oil_warm_kpa=138.0) for n in (150, 160, 170)])),
    silent("oil.low", "rows a minute apart, two minutes", runs(run(190, oil_min_kpa=80.0, oil_low_s=120.0, oil_warm_kpa=300.0, resolution_s=60.0), *[run(191 + n) for n in range(5)])),
    cannot("oil.low", "rows five minutes apart", runs(run(190, **(LOW | {"resolution_s": 300.0, "oil_low_s": 900.0}))), Reason.TOO_COARSE),
    cannot("oil.low", "never at speed for long enough", runs(run(1, oil_min_kpa=None)), Reason.NOTHING_SEEN),
    cannot("oil.low", "no oil pressure logged", book(runs=[run(1)], signals={"speed_rpm"}, span=YEAR), Reason.SIGNAL_MISSING),
]  # fmt: skip
