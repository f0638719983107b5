"""Tables: between their points, at their ends, and put together wrongly."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.physics.battery import load_test, open_circuit
from startworthy.physics.table import Table

TABLES = [load_test(12), load_test(24), open_circuit(12), open_circuit(24)]


@pytest.mark.parametrize("table", TABLES, ids=lambda t: f"{t.source} {t.y[-1]}")
def test_a_table_goes_through_its_points(table):
    assert [table.at(x) for x in table.x] == list(table.y)


@given(st.sampled_from(TABLES), st.floats(-100, 100), st.floats(0, 50))
def test_it_rises_and_never_leaves_its_ends(table, x, more):
    assert table.y[0] <= table.at(x) <= table.at(x + more) <= table.y[-1]


def test_between_two_points_it_is_straight():
    assert Table((0.0, 10.0), (1.0, 3.0), "Cel", "V", "made up").at(2.5) == 1.5


@pytest.mark.parametrize(("x", "y"), [((0.0, 0.0), (1.0, 2.0)), ((1.0, 0.0), (1.0, 2.0)), ((0.0, 1.0), (1.0,))])
def test_a_table_that_does_not_ascend_is_refused(x, y):
    with pytest.raises(ValueError, match="ascending"):
        Table(x, y, "Cel", "V", "made up")


def test_no_table_for_another_nominal_voltage():
    with pytest.raises(KeyError):
        load_test(48)
