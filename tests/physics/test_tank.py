"""Tanks: level to litres and back, for one value and for a column, and what is refused."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.physics.tank import (
    cylinder_depth,
    cylinder_fraction,
    full_litres,
    level_at,
    levels_over,
    litres_at,
    litres_over,
    strapping,
)
from startworthy.register import SetEntry

LEVELS = [None, 0.0, 0.02, 0.16, 0.5, 0.83, 1.0, 1.04]
BOX = SetEntry(tank_litres=110, tank_shape="rectangular")
LYING = SetEntry(tank_litres=110, tank_shape="horizontal_cylinder")
DIPPED = SetEntry(tank_shape=[(0, 2), (10, 8), (50, 60), (100, 110)])
SHORT = SetEntry(tank_shape=[(10, 8), (80, 90)])
UNKNOWN = SetEntry(tank_shape="horizontal_cylinder")
TANKS = {"box": BOX, "lying": LYING, "dipped": DIPPED, "short": SHORT, "unknown": UNKNOWN}


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_lying_cylinder_is_the_same_from_above_and_rises(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert cylinder_fraction(low) <= cylinder_fraction(high) + 1e-12
    assert cylinder_fraction(one) + cylinder_fraction(1 - one) == pytest.approx(1, abs=1e-9)


@given(st.sampled_from([BOX, LYING, DIPPED]), st.floats(0, 1))
def test_there_and_back_is_the_same_level(entry: SetEntry, level: float) -> None:
    assert level_at(entry, litres_at(entry, level)) == pytest.approx(level, abs=1e-9)


@pytest.mark.parametrize("name", TANKS)
def test_a_column_gives_what_single_levels_give(name: str) -> None:
    frame = pl.DataFrame({"set_id": [name] * len(LEVELS), "level": LEVELS})
    got = frame.with_columns(litres_over(TANKS, pl.col("level")).alias("l"))
    got = got.with_columns(levels_over(TANKS, pl.col("l")).alias("back"))
    for level, litres, back in got.select("level", "l", "back").iter_rows():
        assert litres == pytest.approx(litres_at(TANKS[name], level), abs=1e-9)
        assert back == pytest.approx(level_at(TANKS[name], litres), abs=1e-6)


def test_a_set_without_a_tank_is_not_known_beside_others() -> None:
    frame = pl.DataFrame({"set_id": ["box", "other", "lying"], "level": [0.5, 0.5, 0.5]})
    assert frame.select(litres_over(TANKS, pl.col("level"))).to_series().to_list() == pytest.approx([55.0, None, 55.0])
    assert frame.select(litres_over({}, pl.col("level"))).to_series().drop_nulls().is_empty()


def test_a_short_strapping_table_says_nothing_above_its_end() -> None:
    assert litres_at(SHORT, 0.05) == pytest.approx(4), "nothing in an empty tank"
    assert litres_at(SHORT, 0.9) is None
    assert level_at(SHORT, 95) is None
    assert full_litres(SHORT) == 90
    assert full_litres(UNKNOWN) is None
    known = SHORT.model_copy(update={"tank_litres": 110.0})
    assert litres_at(known, 0.9) == pytest.approx(100)
    assert full_litres(known) == 110
    assert full_litres(DIPPED) == 110


def test_a_sender_over_full() -> None:
    assert litres_at(BOX, 1.04) == pytest.approx(114.4)
    assert litres_at(LYING, 1.04) == litres_at(DIPPED, 1.04) == 110


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0)],
        [(0, 0), (50, 60), (50, 70)],
        [(0, 0), (50, 60), (100, 60)],
        [(0, 0), (50, 60), (100, 50)],
        [(0, 0), (110, 60)],
        [(-1, 0), (100, 60)],
        [(0, -1), (100, 60)],
        [(0, 0), (float("nan"), 60)],
        [(0, 0), (100, float("inf"))],
    ],
)
def test_a_strapping_table_that_does_not_rise_is_refused(points: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError, match="strapping table"):
        strapping(points)


@pytest.mark.parametrize("wrong", [-0.01, 1.01, float("nan")])
def test_no_share_beyond_empty_and_full(wrong: float) -> None:
    with pytest.raises(ValueError, match="within 0 and 1"):
        cylinder_fraction(wrong)
    with pytest.raises(ValueError, match="within 0 and 1"):
        cylinder_depth(wrong)
