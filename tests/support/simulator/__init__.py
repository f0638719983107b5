"""An independent simulator of standby diesel sets, for tests: half a year of one set by kind and seed, with its truth.

Invented throughout: it shows behaviour and proves no value. Its physics and its code share nothing with tools/sample_fleet.
"""

from tests.support.simulator.simulate import CADENCES, KINDS, simulate, story_of
from tests.support.simulator.truth import DemandTruth, Truth

__all__ = ["CADENCES", "KINDS", "DemandTruth", "Truth", "simulate", "story_of"]
