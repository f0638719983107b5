"""Output: what frequency, droop, unbalance and derating do at their edges, and what is refused."""

from __future__ import annotations

import polars as pl
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from startworthy.physics.electric import (
    DIESEL,
    count_10_s_means,
    droop_fraction,
    frequency_hz,
    hz_on_droop,
    hz_on_droop_over,
    load_on_droop_kw,
    negative_sequence,
    poles_from,
    synchronous_rpm,
    unbalance,
    unbalance_over,
)

VOLTS = st.floats(1, 500)


@given(st.integers(1, 12).map(lambda n: 2 * n), st.floats(100, 4000))
def test_poles_speed_and_frequency_agree(poles: int, rpm: float) -> None:
    hz = frequency_hz(poles, rpm)
    assert synchronous_rpm(poles, hz) == pytest.approx(rpm)
    assert poles_from(hz, rpm) == poles


def test_a_ratio_that_fits_no_machine() -> None:
    assert poles_from(50, 2000) is None, "three poles"
    assert poles_from(50, 1460) == 4, "a little off, as a speed that is read a moment later"
    assert poles_from(50, 6000) is None
    assert poles_from(50, 100) is None


@given(st.sampled_from([50.0, 60.0]), st.floats(0.001, 0.1), st.floats(0, 1.1))
def test_the_droop_line_is_its_droop(rated_hz: float, droop: float, load: float) -> None:
    at_none, at_rated = hz_on_droop(rated_hz, droop, 0.0), hz_on_droop(rated_hz, droop, 1.0)
    assert at_rated == rated_hz
    assert droop_fraction(at_none, at_rated, rated_hz) == pytest.approx(droop)
    moved = load_on_droop_kw(10.0, rated_hz, hz_on_droop(rated_hz, droop, load), rated_kw=10, rated_hz=rated_hz, droop=droop)  # fmt: skip
    assert moved == pytest.approx(10.0 * load, abs=1e-9)
    row = pl.DataFrame({"load": [load, None]}).select(hz_on_droop_over(rated_hz, droop, pl.col("load"))).to_series()
    assert row.to_list() == [pytest.approx(hz_on_droop(rated_hz, droop, load)), None]


@given(VOLTS, VOLTS, VOLTS)
def test_unbalance_by_both_ways(a: float, b: float, c: float) -> None:
    low, middle, high = sorted((a, b, c))
    assume(low + middle > high)
    assert 0 <= unbalance(a, b, c) <= 2
    assert 0 <= negative_sequence(a, b, c) <= 1
    assert negative_sequence(a, b, c) == pytest.approx(negative_sequence(c, a, b), abs=1e-6)
    assert negative_sequence(a, a, a) == pytest.approx(0, abs=1e-7)
    assert unbalance(a, a, a) == pytest.approx(0, abs=1e-12)


def test_unbalance_over_columns() -> None:
    frame = pl.DataFrame({"a": [460.0, None, 0.0], "b": [467.0, 1.0, 0.0], "c": [450.0, 1.0, 0.0]})
    got = frame.select(unbalance_over(pl.col("a"), pl.col("b"), pl.col("c"))).to_series().to_list()
    assert got == [pytest.approx(unbalance(460, 467, 450)), None, None]


@given(st.floats(-500, 6000), st.floats(-60, 80), st.floats(0, 20))
def test_height_and_heat_only_take(altitude_m: float, ambient_c: float, more: float) -> None:
    factor = DIESEL.factor(altitude_m, ambient_c)
    assert 0 <= factor <= DIESEL.factor(altitude_m) <= 1
    assert DIESEL.factor(altitude_m, min(ambient_c + more, 80)) <= factor
    frame = pl.DataFrame({"c": [ambient_c, None]}).select(DIESEL.factor_over(altitude_m, pl.col("c"))).to_series()
    assert frame.to_list() == [pytest.approx(factor), pytest.approx(DIESEL.factor(altitude_m))]


def test_nothing_is_taken_in_the_cold_by_the_sea() -> None:
    assert DIESEL.factor(0.0, -20.0) == DIESEL.factor(152.0, 29.0) == 1


def test_an_instant_of_low_frequency_hides_in_its_10_s_mean() -> None:
    # the 51 samples of IEEE P1159.1 "Frequency Assessment"; the mean is our own arithmetic, not the paper's,
    # whose last digit is cut from 3.6 s on
    hz = [48.98438 + 0.05 * i for i in range(24)]
    hz += [hz[-1] - 0.01 * i for i in range(1, 20)]
    hz += [hz[-1] - 0.05 * i for i in range(1, 9)]
    mean = pl.Series(hz).mean()
    assert len(hz) == 51
    assert mean == pytest.approx(49.761436, abs=5e-6)
    assert count_10_s_means(pl.Series([mean]), 50, tied=True).complies
    assert not count_10_s_means(pl.Series(hz), 50, tied=True).complies


def test_nothing_valid_is_no_verdict() -> None:
    assert count_10_s_means(pl.Series([None, None], dtype=pl.Float64), 50, tied=False).complies is None


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (lambda: frequency_hz(3, 1500), "poles"),
        (lambda: frequency_hz(4, -1), "0 or more"),
        (lambda: synchronous_rpm(0, 50), "poles"),
        (lambda: poles_from(0, 1500), "running"),
        (lambda: droop_fraction(52, 50, 0), "above 0"),
        (lambda: hz_on_droop(50, -0.01, 0.5), "droop"),
        (lambda: load_on_droop_kw(10, 50, 51, rated_kw=10, rated_hz=50, droop=0), "droop"),
        (lambda: unbalance(230), "two values"),
        (lambda: unbalance(0, 0, 0), "not all 0"),
        (lambda: unbalance(230, float("nan"), 230), "two values"),
        (lambda: negative_sequence(100, 100, 250), "line-to-line"),
        (lambda: negative_sequence(0, 100, 100), "line-to-line"),
        (lambda: DIESEL.factor(9000), "9000"),
        (lambda: DIESEL.factor(0, 400), "400"),
        (lambda: count_10_s_means(pl.Series([50.0]), 0, tied=True), "above 0"),
    ],
)
def test_what_cannot_be_is_refused(call, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        call()
