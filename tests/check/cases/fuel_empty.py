"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, book, mark, run
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
FULL = {"fuel_before_fraction": 0.8, "fuel_after_fraction": 0.79}
DRY = {"fuel_before_fraction": 0.6, "fuel_after_fraction": 0.02}
LOW = {"fuel_before_fraction": 0.6, "fuel_after_fraction": 0.11}
SAG = {"end_sag_fraction": 0.18}
BY_FUEL = {"ended_by": "fuel"}
COARSE = {"resolution_s": 60.0}
LONG = 900.0


def runs(*rows, **more):
    return book(runs=rows, span=YEAR, **more)


def after(*rows):
    """A healthy run, then these."""
    return runs(run(150, **FULL), *rows)


def outage(day, **own):
    return run(day, LONG, cause="outage", **own)


CASES = [
    raises("fuel.run_out", "named by the controller, at the bottom", after(outage(190, **DRY, **BY_FUEL)), "urgent", "dry"),
    raises("fuel.run_out", "it sagged and came back, low", after(outage(190, **LOW, **SAG)), "urgent", "dry"),
    raises("fuel.run_out", "a shutdown without a word why, at the bottom", after(outage(190, **DRY, ended_by="shutdown")), "urgent", "dry"),
    raises("fuel.run_out", "a stop at the bottom, and the mains were still away", runs(run(150, **FULL), outage(190, **DRY), marks=[mark("mains_lost", at(190, 7.9), at(191, 8))]), "urgent", "dry"),
    raises("fuel.run_out", "dry, bled and running again", after(outage(180, **DRY, **BY_FUEL), run(190, **FULL)), "soon", "dry"),
    raises("fuel.run_out", "dry five months ago", runs(outage(20, **DRY, **BY_FUEL), *[run(100 + 20 * n, **FULL) for n in range(5)]), "note", "dry"),
    raises("fuel.run_out", "10.19: at the low-fuel stop, no sag", after(outage(190, **LOW, **BY_FUEL)), "soon", "protected"),
    raises("fuel.run_out", "named by the controller, no level logged", after(outage(190, **BY_FUEL)), "soon", "protected"),
    raises("fuel.run_out", "named by the controller, tank not low", after(outage(190, fuel_before_fraction=0.7, fuel_after_fraction=0.6, **BY_FUEL)), "urgent", "shut_down"),
    raises("fuel.run_out", "rows a minute apart, at the bottom", after(outage(190, **DRY, **COARSE)), "soon", "bottom"),
    silent("fuel.run_out", "stopped with fuel left", after(run(190, **FULL))),
    silent("fuel.run_out", "stopped by hand at a low level", after(outage(190, **LOW))),
    silent("fuel.run_out", "stopped by hand at the bottom, rows close", after(outage(190, **DRY))),
    silent("fuel.run_out", "a sag with a full tank", after(run(190, **FULL, **SAG))),
    silent("fuel.run_out", "a sender that failed within twenty minutes", after(run(190, **DRY, **COARSE))),
    silent("fuel.run_out", "a sender that read nothing before either", after(outage(190, fuel_before_fraction=0.0, fuel_after_fraction=0.0, **COARSE))),
    silent("fuel.run_out", "another shutdown", after(run(190, **FULL, ended_by="oil"))),
    cannot("fuel.run_out", "no level, and no words", runs(run(190), signals={"fuel_fraction", "speed_rpm"}), Reason.NOTHING_SEEN),
    cannot("fuel.run_out", "no fuel logged", runs(run(190), signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
    cannot("fuel.run_out", "no runs", book(span=YEAR), Reason.NOTHING_SEEN),
]  # fmt: skip
