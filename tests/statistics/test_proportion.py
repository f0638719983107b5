"""Shares and rates of few events: against another library, their cover, and their ends."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson

from startworthy.statistics.proportion import clopper_pearson, jeffreys, poisson_rate, wilson, zero_failure_bound

trials = st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
confidences = st.sampled_from([0.8, 0.9, 0.95, 0.99])


@settings(deadline=None)
@given(trials, confidences)
@pytest.mark.parametrize(("ours", "theirs"), [(clopper_pearson, "beta"), (wilson, "wilson"), (jeffreys, "jeffreys")])
def test_it_agrees_with_another_library(ours, theirs, events_of_trials, confidence):
    events, n = events_of_trials
    low, high = proportion_confint(events, n, alpha=1 - confidence, method=theirs)
    # Jeffreys' ends at no events and at all are set, see its docstring: the other library leaves them
    if theirs == "jeffreys":
        low, high = (0.0 if events == 0 else low), (1.0 if events == n else high)
    found = ours(events, n, confidence)
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-9)
    assert (found.share, found.n, found.confidence) == (events / n, n, confidence)


@settings(deadline=None)
@given(st.integers(0, 60), st.floats(0.1, 1e4), confidences)
def test_a_rate_agrees_with_another_library(events, exposure, confidence):
    low, high = confint_poisson(events, exposure, method="exact-c", alpha=1 - confidence)
    found = poisson_rate(events, exposure, confidence)
    low = 0.0 if events == 0 else low  # theirs is not a number there
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-9)
    assert found.per_unit == events / exposure


@settings(deadline=None)
@given(trials, confidences)
@pytest.mark.parametrize("interval", [clopper_pearson, wilson, jeffreys])
def test_an_interval_holds_its_share_and_mirrors(interval, events_of_trials, confidence):
    events, n = events_of_trials
    found, mirrored = interval(events, n, confidence), interval(n - events, n, confidence)
    assert 0.0 <= found.low <= found.share <= found.high <= 1.0
    assert (found.low, found.high) == pytest.approx((1 - mirrored.high, 1 - mirrored.low), abs=1e-9)


def test_the_exact_interval_covers_what_it_says():
    from scipy.stats import binom

    for n, share in ((20, 0.02), (50, 0.1), (200, 0.01)):
        holds = [clopper_pearson(k, n, 0.95).low <= share <= clopper_pearson(k, n, 0.95).high for k in range(n + 1)]
        assert binom.pmf(np.arange(n + 1), n, share)[holds].sum() >= 0.95


@settings(deadline=None)
@given(st.integers(1, 1000), confidences)
def test_the_bound_of_no_failure_is_where_none_becomes_unlikely(n, confidence):
    assert (1 - zero_failure_bound(n, confidence).high) ** n == pytest.approx(1 - confidence)


@pytest.mark.parametrize("interval", [clopper_pearson, wilson, jeffreys])
def test_without_trials_there_is_no_share_and_a_reason(interval):
    found = interval(0, 0, 0.95)
    assert (found.share, found.low, found.high, found.n, found.why) == (None, None, None, 0, "no trials")
    assert zero_failure_bound(0, 0.95).high is None
    assert poisson_rate(0, 0.0, 0.95).why


@pytest.mark.parametrize("interval", [clopper_pearson, wilson, jeffreys])
def test_counts_that_cannot_be_are_refused(interval):
    for events, n in ((-1, 5), (6, 5), (0, -1)):
        with pytest.raises(ValueError, match="between 0 and the number"):
            interval(events, n, 0.95)
    with pytest.raises(ValueError, match="fraction"):
        interval(1, 2, 95.0)
    with pytest.raises(ValueError, match="0 or more"):
        poisson_rate(-1, 2.0, 0.95)
    with pytest.raises(ValueError, match="fraction"):
        poisson_rate(1, 2.0, 1.0)
