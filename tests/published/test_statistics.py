"""The statistics against published answers: each source stands beside its values."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from startworthy.statistics.control import cusum, ewma, individuals
from startworthy.statistics.multiple import benjamini_hochberg
from startworthy.statistics.periodic import lomb_scargle
from startworthy.statistics.proportion import clopper_pearson, jeffreys, wilson, zero_failure_bound
from startworthy.statistics.quality import gross_range, spike
from startworthy.statistics.regression import least_squares
from startworthy.statistics.robust import modified_z
from startworthy.statistics.trend import mann_kendall

DATA = Path(__file__).parent / "data"

EWMA_VALUES = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]  # fmt: skip
CUSUM_VALUES = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]  # fmt: skip


@pytest.mark.published(
    "Mann 1945, Kendall 1975: S n(n-1)/2, variance n(n-1)(2n+5)/18, Z (S-1)/root: of 1 to 100 14.738700"
)
def test_mann_kendall_of_a_steady_rise():
    trend = mann_kendall(pl.Series(range(1, 101)), correction="none")
    assert (trend.s, trend.variance) == (4950, 112750.0)
    assert trend.z == pytest.approx(14.738700, abs=5e-7)


@pytest.mark.published("Gilbert 1987, Statistical Methods for Environmental Pollution Monitoring, chapter 16")
@pytest.mark.parametrize(
    ("values", "s", "variance"),
    [
        ([10, 15, 14, 20], 4, None),
        ([23, 24, 0, 6, 0, 24, 24, 0, 23], None, 83.667),
        ([10, 14, 14, 14, 17, 22, 22, 23, 27, 27], None, 119.33),
    ],
)
def test_mann_kendall_with_and_without_ties(values, s, variance):
    trend = mann_kendall(pl.Series(values), correction="none")
    if s is not None:
        assert trend.s == s
    if variance is not None:
        assert trend.variance == pytest.approx(variance, abs=5e-3)


@pytest.mark.published("NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.4")
def test_ewma_chart():
    chart = ewma(pl.Series(EWMA_VALUES), target=50.0, sigma=2.0539, weight=0.3)
    assert chart.statistic[-1] == pytest.approx(51.99, abs=5e-3)
    assert chart.upper[-1] == pytest.approx(52.5884, abs=1e-3)
    assert chart.lower[-1] == pytest.approx(47.4115, abs=1e-3)
    assert chart.first is None


@pytest.mark.published("NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.3")
def test_cusum_signals_at_the_fourteenth_value():
    sums = cusum(pl.Series(CUSUM_VALUES), target=325.0, allowance=0.3175, decision=4.1959)
    assert sums.first == 13
    assert sums.out.arg_true().to_list() == list(range(13, 20))


@pytest.mark.published(
    "NIST/SEMATECH e-Handbook 6.3.2.3, its values; after each signal the sums begin anew: 14, 16, 19"
)
def test_cusum_that_begins_anew():
    sums = cusum(pl.Series(CUSUM_VALUES), target=325.0, allowance=0.3175, decision=4.1959, reset=True)
    assert [row + 1 for row in sums.out.arg_true()] == [14, 16, 19]


@pytest.mark.published("NIST/SEMATECH e-Handbook of Statistical Methods 6.3.2.2")
def test_individuals_chart():
    chart = individuals(pl.Series([49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]))
    assert chart.centre == pytest.approx(50.81, abs=1e-9)
    assert (chart.upper[0], chart.lower[0]) == pytest.approx((55.8041, 45.8159), abs=1e-4)
    assert chart.first is None


@pytest.mark.published("Iglewicz and Hoaglin 1993, modified z: 25.856 and 26.306 for the last two, above 3.5")
def test_modified_z_finds_what_the_plain_one_misses():
    values = pl.Series([2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3])
    found = modified_z(values)
    assert found.scores.to_list()[-2:] == pytest.approx([25.856, 26.306], abs=1e-3)
    assert (found.scores.abs() > 3.5).arg_true().to_list() == [8, 9]
    assert ((values - values.mean()) / values.std()).abs().max() < 3.5


@pytest.mark.published("Benjamini and Hochberg 1995, J. R. Stat. Soc. B 57, section 3: 4 rejected at 5 %, Bonferroni 3")
def test_false_discovery_rate():
    p_values = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590, 1.0]  # fmt: skip
    found = benjamini_hochberg(p_values, 0.05)
    assert found.count == 4
    assert found.rejected[:4] == (True,) * 4
    assert sum(p <= 0.05 / 15 for p in p_values) == 3


@pytest.mark.published("R package binom, 4 of 20 at 95 %")
@pytest.mark.parametrize(
    ("interval", "low", "high"),
    [
        (clopper_pearson, 0.0573340, 0.4366140),
        (wilson, 0.0806577, 0.4160174),
        (jeffreys, 0.0715201, 0.4082258),
    ],
)
def test_proportion_four_of_twenty(interval, low, high):
    found = interval(4, 20, 0.95)
    assert found.share == 0.2
    assert (found.low, found.high) == pytest.approx((low, high), abs=6e-8)


@pytest.mark.published("0 of n: one-sided 1 - 0.05^(1/n), two-sided 1 - 0.025^(1/n); any text on exact binomial limits")
@pytest.mark.parametrize("n", [1, 10, 59, 1000])
def test_no_failure_in_n(n):
    assert zero_failure_bound(n, 0.95).high == pytest.approx(1 - 0.05 ** (1 / n))
    assert clopper_pearson(0, n, 0.95).high == pytest.approx(1 - 0.025 ** (1 / n))
    assert jeffreys(0, n, 0.95).low == 0.0
    assert jeffreys(n, n, 0.95).high == 1.0


@pytest.mark.published("QARTOD cases of the public tests of ioos_qc: gross range, fail 10-50, suspect 20-40")
def test_gross_range_with_its_ends():
    values = pl.Series([5, 10, 15, 20, 25, 30, 35, 40, 45, 51])
    assert gross_range(values, (10, 50), (20, 40)).to_list() == [4, 3, 3, 1, 1, 1, 1, 1, 3, 4]


@pytest.mark.published("QARTOD cases of the public tests of ioos_qc: spike, suspect 25, fail 50, average method")
def test_spike_by_the_mean_of_its_neighbours():
    values = pl.Series([10.0, 12.0, 999.99, 13.0, 15.0, 40.0, 9.0, 9.0])
    assert spike(values, 25, 50).to_list() == [2, 4, 4, 4, 1, 3, 1, 2]


@pytest.mark.published("arithmetic: y = 2 sin(2 pi 0.123 t) has its peak at 0.123, within 1 / T = 0.005")
def test_lomb_scargle_of_one_sine():
    rows = pl.DataFrame({"i": range(200)}).select((pl.col("i") + 0.3 * pl.col("i").sin()).alias("t"))
    y = rows.select(2 * (2 * 3.141592653589793 * 0.123 * pl.col("t")).sin()).to_series()
    found = lomb_scargle(rows["t"], y, lowest=0.005, highest=0.5)
    assert found.frequency == pytest.approx(0.123, abs=0.005)
    assert found.amplitude == pytest.approx(2.0, rel=0.1)
    assert found.false_alarm < 1e-30


@pytest.mark.published("NIST Statistical Reference Datasets, Norris, certified values")
def test_least_squares_to_ten_figures():
    points = pl.read_csv(DATA / "norris.csv", comment_prefix="#")
    fit = least_squares(points["y"], points.select("x"), 0.95)
    intercept, slope = fit.coefficients
    assert points.height == 36
    assert slope.estimate == pytest.approx(1.00211681802045, rel=1e-12)
    assert slope.standard_error == pytest.approx(0.429796848199937e-03, rel=1e-10)
    assert intercept.estimate == pytest.approx(-0.262323073774029, rel=1e-10)
    assert intercept.standard_error == pytest.approx(0.232818234301152, rel=1e-10)
    assert fit.scale == pytest.approx(0.884796396144373, rel=1e-10)
    assert fit.r_squared == pytest.approx(0.999993745883712, rel=1e-13)
    assert (fit.residuals**2).sum() == pytest.approx(26.6173985294224, rel=1e-10)
    assert (slope.estimate / slope.standard_error) ** 2 == pytest.approx(5436385.54079785, rel=1e-10)
