"""Clocks of one site against each other: invented outages, seen by two logs at their own rows."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest

import startworthy as sw
from startworthy.logbook.beside import compared
from startworthy.register import Register
from tests.support.logs import Start, Truth, as_readings, log

ROWS_S = 120.0


def outages(n: int, days: float = 180.0, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    return np.sort(rng.uniform(0, days * 86400, n)), rng.lognormal(6.5, 1.0, n)


def seen(began: np.ndarray, lasted: np.ndarray, *, offset_s: float = 0.0, drift_s_day: float = 0.0, seed: int = 0) -> np.ndarray:  # fmt: skip
    """As a log at a row a minute has them, one in ten missing, by a clock that is off."""
    kept = np.random.default_rng(seed).random(len(began)) > 0.1
    first, last = (np.ceil(x / 60) * 60 for x in (began[kept], (began + lasted)[kept]))
    shown = [x + offset_s + drift_s_day * x / 86400 for x in (first, last)]
    return np.stack([shown[0] * 1e6, (shown[1] - shown[0]) * 1e6], axis=1).astype(np.int64)


@pytest.mark.parametrize("drift", [-25.0, -5.0, 2.5, 12.0, 25.0])
@pytest.mark.parametrize("n", [12, 60])
def test_a_drift_is_found_to_a_tenth_of_a_second_a_day(drift: float, n: int) -> None:
    began, lasted = outages(n)
    got = compared(seen(began, lasted, drift_s_day=drift, seed=1), seen(began, lasted, seed=2), ROWS_S)
    assert got is not None
    assert got.drift_s_day == pytest.approx(drift, abs=0.5 if n < 20 else 0.1)
    assert got.outages >= 0.7 * n


@pytest.mark.parametrize("offset", [-3600.0, -240.0, 0.0, 600.0, 7200.0])
def test_an_offset_is_found_and_no_drift(offset: float) -> None:
    began, lasted = outages(20)
    got = compared(seen(began, lasted, offset_s=offset, seed=1), seen(began, lasted, seed=2), ROWS_S)
    assert got is not None
    assert (got.offset_s, got.drift_s_day) == (pytest.approx(offset, abs=61), 0.0)


@pytest.mark.parametrize("seed", range(12))
def test_sets_on_two_mains_are_not_compared(seed: int) -> None:
    one, two = (seen(*outages(25, seed=s)) for s in (seed, seed + 100))
    assert compared(one, two, ROWS_S) is None


def test_few_outages_tell_nothing() -> None:
    began, lasted = outages(3)
    assert compared(seen(began, lasted), seen(began, lasted), ROWS_S) is None


def two_sets(late_s: float, *, one_site: bool = True) -> sw.results.Checked:
    """Six outages of different lengths at two sets, the clock of the second late by so much."""
    begins = [(86400.0 * d + 7000.0 * d, 20.0 + 9 * d) for d in range(1, 7)]
    starts = tuple(Start(at, minutes=minutes, mains_lost_s=10.0) for at, minutes in begins)
    first = log(Truth(days=9.0, starts=starts), 60.0, 60.0, set_id="A")
    second = log(Truth(days=9.0, starts=starts), 60.0, 60.0, set_id="B", offset_s=0.0)
    second = second.with_columns(at=pl.col("at") - pl.duration(seconds=int(late_s)))
    readings = as_readings(pl.concat([first, second]))
    register = Register.model_validate({"sets": {"A": {"site": "Hill"}, "B": {"site": "Hill" if one_site else "Dale"}}})
    return sw.check(readings, register=register, strict=True)


def test_two_sets_of_a_site_are_both_told() -> None:
    checked = two_sets(900.0)
    marks = checked.logbook.marks.filter(pl.col("kind") == "clock_beside").sort("set_id")
    assert marks.select("set_id", "text", "after").rows() == [("A", "B", 6.0), ("B", "A", 6.0)]
    assert marks["before"].to_list() == [pytest.approx(900.0), pytest.approx(-900.0)]
    found = {
        s.set_id: [(f.variant, str(f.severity)) for f in s.findings if f.code == "log.clock_fault"]
        for s in checked.sets
    }
    assert found == {"A": [("beside_ahead", "note")], "B": [("beside_behind", "note")]}


@pytest.mark.parametrize(("late_s", "one_site"), [(0.0, True), (900.0, False), (60.0, True)])
def test_clocks_that_agree_and_sets_of_two_sites_are_not_told(late_s: float, one_site: bool) -> None:
    checked = two_sets(late_s, one_site=one_site)
    assert checked.logbook.marks.filter(pl.col("kind") == "clock_beside").is_empty()
    assert all("log.clock_fault" in [c.code for c in s.clear] for s in checked.sets)
