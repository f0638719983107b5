"""Output against published figures: speeds, droop, unbalance, derating, and the count of EN 50160."""

from __future__ import annotations

import polars as pl
import pytest

from startworthy.physics.electric import (
    DIESEL,
    SPARK_IGNITION,
    count_10_s_means,
    frequency_hz,
    hz_on_droop,
    load_on_droop_kw,
    negative_sequence,
    poles_from,
    synchronous_rpm,
    unbalance,
)

MACHINES = "f = p n / 120, p poles, n rpm: any machines text"
GOVERNOR = "lecture page on governors, worked examples 1 and 2"
NEMA = "NEMA MG 1, 460, 467 and 450 V: 1.96 %"
SEQUENCE = "the same voltages, negative over positive sequence: 2.15 %"
AGRICULTURAL = "agricultural engineering text, naturally aspirated engines"
EN_50160 = "EN 50160:2010, frequency, as restated in two power-quality meter manuals"


@pytest.mark.published(MACHINES)
@pytest.mark.parametrize(("poles", "rpm", "hz"), [(4, 1500, 50), (4, 1800, 60), (2, 3000, 50), (2, 3600, 60)])
def test_speed_and_frequency(poles: int, rpm: float, hz: float) -> None:
    assert frequency_hz(poles, rpm) == hz
    assert synchronous_rpm(poles, hz) == rpm
    assert poles_from(hz, rpm) == poles


@pytest.mark.published(GOVERNOR)
@pytest.mark.parametrize(("rated", "load", "new"), [(180, 180, 165), (240, 180, 160)])
def test_load_on_the_droop_line(rated: float, load: float, new: float) -> None:
    moved = load_on_droop_kw(load, 60, 60.3, rated_kw=rated, rated_hz=60, droop=0.06)
    assert moved == pytest.approx(new)


@pytest.mark.published(f"{GOVERNOR}: f0 = f (1 + d)")
def test_no_load_frequency() -> None:
    assert hz_on_droop(60, 0.06, 0.0) == pytest.approx(60 * 1.06)


@pytest.mark.published(NEMA)
def test_unbalance() -> None:
    assert round(100 * unbalance(460, 467, 450), 2) == 1.96


@pytest.mark.published(SEQUENCE)
def test_unbalance_by_sequence() -> None:
    assert round(100 * negative_sequence(460, 467, 450), 2) == 2.15


@pytest.mark.published(f"{AGRICULTURAL}: 225 hp at 4500 ft, 3 % for each 1000 ft above 500 ft")
def test_power_by_height() -> None:
    assert 225 * DIESEL.factor(4500 * 0.3048) == pytest.approx(198, abs=1e-9)


@pytest.mark.published(f"{AGRICULTURAL}: 165 hp at 100 F, spark ignition, 1 % for each 10 F above 85 F: 162.525 hp")
def test_power_by_heat() -> None:
    assert 165 * SPARK_IGNITION.factor(0, (100 - 32) / 1.8) == pytest.approx(162.525, abs=1e-9)


@pytest.mark.published(
    f"{AGRICULTURAL}: diesel, 1 % for each 5 F (2.7 C) above 85 F (29 C), 3 % for each 305 m above 152 m"
)
def test_the_metric_figures_of_the_source_lie_within_their_rounding() -> None:
    for altitude_m, ambient_c in ((1500, 29), (0, 45), (2000, 40)):
        metric = (1 - 0.03 * max(altitude_m - 152, 0) / 305) * (1 - 0.01 * (ambient_c - 29) / 2.7)
        assert DIESEL.factor(altitude_m, ambient_c) == pytest.approx(metric, abs=0.004)


@pytest.mark.published(f"{EN_50160}: complies if N1 / N <= 0.5 % and N2 = 0")
@pytest.mark.parametrize(
    ("outside", "far", "complies"),
    [([50.51], [], True), ([50.51, 49.49], [], False), ([], [52.01], False), ([], [46.99], False), ([], [], True)],
)
def test_count_of_a_grid_tied_to_others(outside: list[float], far: list[float], complies: bool) -> None:
    # the edges themselves (1 %) are within; invalid intervals are left out of N
    means = pl.Series([*outside, *far, None, *([49.5, 50.5] * 100)][: 201 + len(far)])
    count = count_10_s_means(means, 50, tied=True)
    assert count.n == 200 + len(far)
    assert (count.outside_near, count.outside_far) == (len(outside) + len(far), len(far))
    assert count.complies is complies


@pytest.mark.published(f"{EN_50160}: not tied, within 2 % for 95 % and within 15 % always")
@pytest.mark.parametrize(
    ("hz", "complies"),
    [([51.0, 49.0], True), ([51.01] + [50.0] * 19, True), ([51.01] * 2 + [50.0] * 18, False), ([57.5] + [50.0] * 19, True), ([42.4] + [50.0] * 19, False)],
)  # fmt: skip
def test_count_of_a_grid_on_its_own(hz: list[float], complies: bool) -> None:
    assert count_10_s_means(pl.Series(hz), 50, tied=False).complies is complies
