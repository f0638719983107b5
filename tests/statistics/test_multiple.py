"""Many tests at once: against another library, and tests that gave no p."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from startworthy.statistics.multiple import benjamini_hochberg

some = st.lists(st.floats(0.0, 1.0), min_size=1, max_size=40)
rates = st.sampled_from([0.01, 0.05, 0.2])


@settings(deadline=None)
@given(some, rates)
def test_it_agrees_with_another_library(p_values, rate):
    rejected, adjusted, *_ = multipletests(p_values, alpha=rate, method="fdr_bh")
    found = benjamini_hochberg(p_values, rate)
    assert found.adjusted == pytest.approx(adjusted.tolist())
    # where an adjusted p is the rate itself to the last digit, the two may round apart
    clear = np.abs(adjusted - rate) > 1e-12
    assert np.array(found.rejected)[clear].tolist() == rejected[clear].tolist()


@settings(deadline=None)
@given(some, rates, st.integers(0, 40))
def test_a_test_without_p_changes_nothing(p_values, rate, at):
    place = min(at, len(p_values))
    with_none = [*p_values[:place], None, *p_values[place:]]
    plain, found = benjamini_hochberg(p_values, rate), benjamini_hochberg(with_none, rate)
    assert found.adjusted[place] is None
    assert not found.rejected[place]
    assert found.adjusted[:place] + found.adjusted[place + 1 :] == plain.adjusted
    assert (found.count, found.n) == (plain.count, len(p_values))


def test_of_many_tests_on_nothing_few_are_raised():
    rng = np.random.default_rng(5)
    raised = [benjamini_hochberg(rng.uniform(size=60).tolist(), 0.05).count > 0 for _ in range(400)]
    assert sum(raised) / 400 == pytest.approx(0.05, abs=0.03)


def test_no_p_at_all_and_p_that_cannot_be():
    nothing = benjamini_hochberg([None, None], 0.05)
    assert (nothing.rejected, nothing.adjusted, nothing.n) == ((False, False), (None, None), 0)
    assert nothing.why
    for wrong in (-0.1, 1.1, float("nan")):
        with pytest.raises(ValueError, match="between 0 and 1"):
            benjamini_hochberg([0.5, wrong], 0.05)
