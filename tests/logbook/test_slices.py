"""A logbook built slice by slice is that of the whole: what lies beyond a slice moves nothing in it."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from startworthy.logbook.build import build
from startworthy.logbook.slices import build_spilled
from startworthy.logbook.tables import TABLES
from startworthy.register import Register
from startworthy.results import Readings
from startworthy.spill import Spill
from startworthy.validate.shares import clean_spilled
from tests.support.logs import as_readings
from tests.support.simulator import simulate


def spilled_of(readings: Readings, piece: int = 7_000) -> Readings:
    """The same readings on disk, in parts of a few thousand rows."""
    spill = Spill()
    spill.part_rows = piece
    for at in range(0, readings.frame.height, piece):
        spill.add(readings.frame[at : at + piece])
    return replace(readings, frame=readings.frame.clear(), spilled=spill.done())


def both(kind: str, seed: int, cadence: str, most: int) -> tuple[dict[str, pl.DataFrame], dict[str, pl.DataFrame]]:
    frame, truth = simulate(kind, seed, cadence=cadence)
    register = truth.register if isinstance(truth.register, Register) else Register()
    readings = as_readings(frame)
    whole = build(readings, register)
    lying = spilled_of(readings)
    sliced = build_spilled(lying, lying.spilled, register, most)  # type: ignore[arg-type]
    assert sliced.known.keys() == whole.known.keys()
    assert sliced.signals == whole.signals
    assert sliced.span == whole.span
    assert sliced.refused == whole.refused
    return {n: getattr(whole, n) for n in TABLES}, {n: getattr(sliced, n) for n in TABLES}


@pytest.mark.parametrize("kind", ["healthy", "charger_lost", "not_in_auto", "outages", "leak"])
@pytest.mark.parametrize(("cadence", "most"), [("dense", 40_000), ("60", 40_000)])
def test_slices_and_the_whole_give_one_logbook(kind: str, cadence: str, most: int) -> None:
    whole, sliced = both(kind, 3, cadence, most)
    for name, table in whole.items():
        assert_frame_equal(sliced[name], table, check_exact=False, rel_tol=1e-9, abs_tol=1e-9)
