"""Quality flags: against another library, and where ours say more: gaps, mixed rates, edges."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ioos_qc import qartod

from startworthy.statistics.quality import Flag, flat_line, gross_range, rate_of_change, spike

maybe = st.lists(st.one_of(st.none(), st.integers(-30, 30)), min_size=3, max_size=60)


def series(values):
    return pl.Series(values, dtype=pl.Float64)


def array(values):
    return np.array([np.nan if v is None else v for v in values], dtype=float)


@settings(deadline=None)
@given(maybe)
def test_gross_range_agrees_with_another_library(values):
    theirs = qartod.gross_range_test(array(values), (-20, 20), (-10, 10))
    assert gross_range(series(values), (-20, 20), (-10, 10)).to_list() == theirs.tolist()


@settings(deadline=None)
@given(maybe)
def test_spike_agrees_with_another_library(values):
    theirs = qartod.spike_test(array(values), suspect_threshold=5, fail_threshold=12)
    assert spike(series(values), 5, 12).to_list() == theirs.tolist()


@settings(deadline=None)
@given(st.lists(st.tuples(st.integers(-30, 30), st.integers(1, 100)), min_size=2, max_size=60))
def test_rate_of_change_agrees_with_another_library_from_the_second_value_on(rows):
    values, at = [v for v, _ in rows], np.cumsum([s for _, s in rows])
    theirs = qartod.rate_of_change_test(array(values), at.astype("datetime64[s]"), 0.31, 1.07)
    ours = rate_of_change(series(values), pl.Series(at), 0.31, 1.07)
    assert ours[0] == Flag.NOT_EVALUATED  # theirs says GOOD of a value that has none before it
    assert ours[1:].to_list() == theirs[1:].tolist()


@settings(deadline=None)
@given(st.lists(st.integers(0, 2), min_size=3, max_size=60), st.integers(1, 5), st.integers(5, 9))
def test_flat_line_agrees_with_another_library_on_even_rows(values, few, many):
    at = np.arange(len(values)) * 10
    theirs = qartod.flat_line_test(array(values), at.astype("datetime64[s]"), few * 10, many * 10, tolerance=0.5)
    ours = flat_line(series(values), pl.Series(at), few * 10, many * 10, tolerance=0.5, longest_s=10)
    # what has not been watched for long enough is GOOD there and, unless it moved, NOT_EVALUATED here
    assert ours.replace(int(Flag.NOT_EVALUATED), int(Flag.GOOD)).to_list() == theirs.tolist()


@settings(deadline=None)
@given(st.lists(st.integers(0, 1), min_size=4, max_size=30), st.data())
def test_flat_by_time_is_the_same_however_often_it_was_logged(values, data):
    at = np.cumsum([10 * data.draw(st.integers(1, 3)) for _ in values])
    sparse = flat_line(series(values), pl.Series(at), 40, 80, tolerance=0, longest_s=60)
    # each reading held until the next, logged every second: its own rows must carry the same flags
    every = np.arange(at[0], at[-1] + 1)
    held = np.array(values)[np.searchsorted(at, every, side="right") - 1]
    dense = flat_line(series(held), pl.Series(every), 40, 80, tolerance=0, longest_s=60)
    own = dense.gather(at - at[0])
    raised = sparse.is_in([Flag.SUSPECT, Flag.FAIL])
    assert (own.filter(raised) >= sparse.filter(raised)).all()


def test_both_ends_of_a_range_belong_to_it():
    step = 1e-9
    values = series([0.0 - step, 0.0, 1.0 - step, 1.0, 9.0, 9.0 + step, 10.0, 10.0 + step])
    assert gross_range(values, (0, 10), (1, 9)).to_list() == [4, 3, 3, 1, 1, 3, 3, 4]
    assert gross_range(values, (0, 10)).to_list() == [4, 1, 1, 1, 1, 1, 1, 4]


def test_a_silence_breaks_a_flat_stretch_and_nulls_do_not():
    at = pl.Series([0, 10, 20, 30, 100, 110, 120, 130])
    same = series([5.0] * 8)
    assert flat_line(same, at, 20, 30, tolerance=0, longest_s=20).to_list() == [2, 2, 3, 4, 2, 2, 3, 4]
    assert flat_line(same, at, 20, 30, tolerance=0, longest_s=100).to_list() == [2, 2, 3, 4, 4, 4, 4, 4]
    holed = series([5.0, None, 5.0, 5.0])
    assert flat_line(holed, at[:4], 20, 30, tolerance=0, longest_s=20).to_list() == [2, 9, 3, 4]


def test_what_moved_is_good_even_before_it_was_watched_for_long():
    at = pl.Series([0, 10, 20, 30])
    assert flat_line(series([1.0, 2.0, 2.0, 2.0]), at, 100, 200, tolerance=0.5, longest_s=20).to_list() == [2, 1, 1, 1]


def test_a_slow_drift_within_the_tolerance_is_flat_and_beyond_it_is_not():
    at = pl.Series(range(100)) * 60
    drift = pl.Series(range(100)) * 0.01
    assert flat_line(drift, at, 600, 1200, tolerance=0.25, longest_s=60)[-1] == Flag.FAIL
    assert flat_line(drift, at, 600, 1200, tolerance=0.15, longest_s=60)[-1] == Flag.SUSPECT
    assert flat_line(drift, at, 600, 1200, tolerance=0.05, longest_s=60)[-1] == Flag.GOOD


def test_a_rate_bridges_nulls_but_not_gaps_or_one_instant():
    at = pl.Series([0, 10, 20, 20, 500])
    values = series([0.0, None, 10.0, 30.0, 40.0])
    assert rate_of_change(values, at, 0.4, 1.0).to_list() == [2, 9, 3, 2, 1]
    assert rate_of_change(values, at, 0.4, 1.0, longest_s=60).to_list() == [2, 9, 3, 2, 2]
    assert rate_of_change(values, at, 0.4).to_list() == [2, 9, 3, 2, 1]


def test_empty_and_all_null_rows_give_flags_and_no_fault():
    nothing, null = series([]), series([None, None])
    at = pl.Series([0, 1])
    assert gross_range(nothing, (0, 1)).len() == 0
    assert flat_line(nothing, nothing, 1, 2, tolerance=0, longest_s=9).len() == 0
    for flags in (
        gross_range(null, (0, 1)),
        spike(null, 1, 2),
        rate_of_change(null, at, 1.0),
        flat_line(null, at, 1, 2, tolerance=0, longest_s=9),
    ):
        assert flags.to_list() == [9, 9]
        assert flags.dtype == pl.UInt8


def test_limits_that_contradict_one_another_are_refused():
    values, at = series([1.0, 2.0]), pl.Series([0, 1])
    for fail, suspect in (((1, 0), None), ((0, 10), (-1, 5)), ((0, 10), (5, 11)), ((0, 10), (6, 5))):
        with pytest.raises(ValueError, match="range"):
            gross_range(values, fail, suspect)
    with pytest.raises(ValueError, match="suspect"):
        spike(values, 3, 2)
    with pytest.raises(ValueError, match="suspect"):
        rate_of_change(values, at, 3, 2)
    with pytest.raises(ValueError, match="tolerance"):
        flat_line(values, at, 1, 2, tolerance=-1, longest_s=9)
    with pytest.raises(ValueError, match="ascend"):
        rate_of_change(values, pl.Series([1, 0]), 3)
    with pytest.raises(ValueError, match="as many"):
        rate_of_change(values, pl.Series([1]), 3)
