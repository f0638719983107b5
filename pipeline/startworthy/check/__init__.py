"""The fourth stage: a catalogue of checks over the logbook. Importing this package fills the catalogue."""

from startworthy.callable_stage import make_callable
from startworthy.check import battery, care, cooling, exercise, fuel, log, oil, output, start
from startworthy.check.frame import CATALOGUE, Entry
from startworthy.check.run import run_one, run_set, run_sets

__all__ = ["CATALOGUE", "Entry", "run_one", "run_set", "run_sets"]

GROUPS = (start, battery, exercise, output, cooling, oil, fuel, care, log)
"""The packages of the checks, in the order in which a report names them."""

make_callable(__name__)
