"""Ranks: one sample against another, and the place of a step."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.nonparametric import rank_compare_2indep

from startworthy.statistics.ranks import mann_whitney, step

sample = st.lists(st.integers(-20, 20), min_size=2, max_size=30)


@settings(deadline=None)
@given(sample, sample)
def test_the_share_agrees_with_another_library_and_mirrors(one, other):
    found, back = mann_whitney(pl.Series(one), pl.Series(other)), mann_whitney(pl.Series(other), pl.Series(one))
    counted = sum((a > b) + 0.5 * (a == b) for a in one for b in other) / (len(one) * len(other))
    assert found.share == pytest.approx(counted)
    if len(set(one)) > 1 and len(set(other)) > 1:
        # theirs needs a scatter in both
        with np.errstate(all="ignore"):
            assert found.share == pytest.approx(rank_compare_2indep(one, other).prob1)
    assert found.share + back.share == pytest.approx(1.0)
    assert found.p == pytest.approx(back.p)


def test_one_side_asks_for_a_direction():
    low, high = pl.Series(range(10)), pl.Series(range(8, 18))
    assert mann_whitney(low, high, "less").p < 0.001
    assert mann_whitney(low, high, "greater").p > 0.999
    both = mann_whitney(low, high)
    assert both.p == pytest.approx(2 * mann_whitney(low, high, "less").p, rel=1e-6)
    assert (both.n_first, both.n_second) == (10, 10)


def test_small_samples_are_counted_out():
    # 5 and 5 all apart: one order of 252 either way
    assert mann_whitney(pl.Series(range(5)), pl.Series(range(5, 10)), "less").p == pytest.approx(1 / 252)


@pytest.mark.parametrize("alternative", ["two-sided", "less", "greater"])
def test_samples_all_alike_do_not_differ(alternative):
    found = mann_whitney(pl.Series([5.0] * 4), pl.Series([5.0] * 3), alternative)
    assert (found.share, found.u, found.p) == (0.5, 6.0, 1.0)


def test_an_empty_sample_gives_no_p_and_a_reason():
    found = mann_whitney(pl.Series([None], dtype=pl.Float64), pl.Series([1.0, 2.0]))
    assert (found.share, found.p, found.n_first, found.n_second) == (None, None, 0, 2)
    assert found.why


@settings(deadline=None)
@given(st.integers(3, 30), st.integers(3, 30), st.floats(1.2, 50.0), st.integers(0, 10_000))
def test_a_step_of_three_times_the_scatter_is_found_to_the_row(before, after, height, seed):
    scatter = np.random.default_rng(seed).uniform(-0.2, 0.2, before + after)
    found = step(pl.Series(scatter + np.repeat([0.0, height], [before, after])))
    assert (found.row, found.n_before, found.n_after) == (before, before, after)
    assert found.after - found.before == pytest.approx(height, abs=0.4)
    assert found.scatter_before < 0.31
    assert 0.0 < found.p <= 1.0


def test_wild_values_do_not_move_it():
    values = [8.0] * 20 + [12.0] * 15
    values[4], values[30] = 500.0, -500.0
    found = step(pl.Series(values))
    assert (found.row, found.before, found.after) == (20, 8.0, 12.0)
    assert found.p < 0.01


def test_nulls_keep_their_rows():
    found = step(pl.Series([None, 1, 1, None, 1, 1, None, 5, 5, None, 5, 5]))
    assert (found.row, found.n_before, found.n_after) == (7, 4, 4)
    assert (found.scatter_before, found.scatter_after) == (0.0, 0.0)


def test_the_side_of_a_step_has_its_least_count():
    one_at_the_end = pl.Series([1.0] * 12 + [9.0])
    assert step(one_at_the_end).n_after >= 3
    assert step(one_at_the_end, least=1).n_after == 1


def test_no_step_in_few_values_or_in_one_level():
    for values in ([], [1.0, 2.0, 3.0, 4.0, 5.0], [7.0] * 20):
        found = step(pl.Series(values, dtype=pl.Float64))
        assert (found.row, found.before, found.p) == (None, None, None)
        assert found.why


def test_noise_seldom_makes_a_step():
    rng = np.random.default_rng(8)
    false = [step(pl.Series(rng.normal(size=40))).p < 0.05 for _ in range(300)]
    assert sum(false) / 300 <= 0.05
