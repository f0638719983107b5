"""Poles and usual load, told from the runs."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest

from startworthy.logbook.tables import in_form
from startworthy.logbook.usual import with_usual
from startworthy.results import Known
from tests.support.books import SET, known, run


def usual(*rows, of: Known | None = None) -> Known:
    return with_usual({SET: of or known()}, in_form("runs", pl.DataFrame(list(rows), infer_schema_length=None)))[SET]


def loaded(day, share, minutes=60.0, cause="outage", **own):
    return run(day, minutes, cause=cause, load_fraction_mean=share, load_taken_s=10.0, **own)


@pytest.mark.published("f = p n / 120, p poles, n rpm: any machines text")
@pytest.mark.parametrize(
    ("rpm", "hz", "poles"), [(1500.0, 50.0, 4), (1800.0, 60.0, 4), (3000.0, 50.0, 2), (3600.0, 60.0, 2)]
)
def test_poles_follow_from_speed_and_frequency(rpm, hz, poles):
    got = usual(run(1), of=replace(known(), rated_rpm=rpm, rated_frequency_hz=hz))
    assert got.poles == poles
    assert "rpm" in got.inferred["poles"]


def test_the_usual_load_is_that_of_the_outages_and_weighs_by_time():
    got = usual(
        loaded(1, 0.2, 10.0),
        loaded(2, 0.5, 300.0),
        loaded(3, 0.6, 20.0),
        *(loaded(n, 0.05, cause="exercise") for n in range(4, 9)),
    )
    assert got.usual_load_fraction == 0.5
    assert got.inferred["usual_load_fraction"] == "median over 3 outages"


def test_without_outages_it_is_that_of_the_loaded_runs():
    got = usual(loaded(1, 0.3, cause="exercise"), loaded(2, 0.3, cause="exercise"), run(3, load_fraction_mean=0.0))
    assert got.usual_load_fraction == 0.3
    assert got.inferred["usual_load_fraction"] == "median over 2 runs with load"


@pytest.mark.parametrize(
    "rows",
    [
        [loaded(1, 0.4)],
        [run(1, load_fraction_mean=0.0), run(8, load_fraction_mean=0.01)],
        [loaded(1, 0.4, 5.0), loaded(2, 0.4, 5.0)],
    ],
)
def test_too_little_load_tells_nothing(rows):
    assert usual(*rows).usual_load_fraction is None
    assert "usual_load_fraction" not in usual(*rows).inferred
