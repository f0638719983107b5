"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, book, known, run
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
AIR = known({"air_cooled": True})
AIR_LIMITS = known({"air_cooled": True, "limits": {"coolant_high_c": 120.0}})
HOT = {"coolant_max_c": 103.0, "coolant_high_s": 300.0}
COOKED = {"coolant_max_c": 109.0, "coolant_high_s": 400.0}


def runs(*rows, of=None):
    return book(runs=rows, of=of, span=YEAR)


CASES = [
    raises("cooling.overheat", "above the warning limit for minutes", runs(run(170), run(190, **HOT)), "soon", "high"),
    raises("cooling.overheat", "above the stop limit", runs(run(170), run(190, **COOKED)), "urgent", "stop"),
    raises("cooling.overheat", "shut down by it", runs(run(170), run(190, **(HOT | {"ended_by": "coolant"}))), "urgent", "shut_down"),
    raises("cooling.overheat", "hot, and shut down without a word why", runs(run(170), run(190, **(HOT | {"ended_by": "shutdown"}))), "urgent", "shut_down"),
    raises("cooling.overheat", "an alarm named it between two rows", runs(run(190, coolant_max_c=96.0, ended_by="coolant")), "urgent", "shut_down"),
    raises("cooling.overheat", "half a year ago, good ones since", runs(run(2, **COOKED), run(100), run(130), run(190)), "soon", "past"),
    raises("cooling.overheat", "an air-cooled set beyond its own limit", runs(run(190, coolant_max_c=130.0, coolant_high_s=300.0), of=AIR_LIMITS), "urgent", "stop"),
    silent("cooling.overheat", "82 C", runs(run(170), run(190))),
    silent("cooling.overheat", "exactly half a minute above", runs(run(190, coolant_max_c=101.0, coolant_high_s=30.0))),
    silent("cooling.overheat", "exactly at the limit", runs(run(190, coolant_max_c=100.0, coolant_high_s=0.0))),
    silent("cooling.overheat", "a shutdown that was not hot", runs(run(190, ended_by="shutdown"))),
    cannot("cooling.overheat", "runs of five minutes", runs(run(180, 5.0), run(190, 5.0)), Reason.TOO_FEW, "no_long_run"),
    cannot("cooling.overheat", "air cooled", runs(run(190, coolant_max_c=140.0, coolant_high_s=900.0), of=AIR), Reason.NOTHING_SEEN, "air_cooled"),
    cannot("cooling.overheat", "no coolant while it ran", runs(run(1, coolant_max_c=None)), Reason.NOTHING_SEEN),
    cannot("cooling.overheat", "no coolant logged", book(runs=[run(1)], signals={"speed_rpm"}, span=YEAR), Reason.SIGNAL_MISSING),
]  # fmt: skip
