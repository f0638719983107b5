"""Theil-Sen and the median absolute deviation against published examples."""

from __future__ import annotations

import polars as pl
import pytest

from startworthy.statistics.robust import MAD_TO_SIGMA, scatter
from startworthy.statistics.trend import theil_sen


@pytest.mark.published("Theil-Sen example 12 8 9 4 7 5 3 1: slope -1.5, 95 % -2.0 to -0.75")
def test_theil_sen_of_eight_values():
    fit = theil_sen(pl.Series(range(1, 9)), pl.Series([12.0, 8.0, 9.0, 4.0, 7.0, 5.0, 3.0, 1.0]), 0.95)
    assert (fit.per_x, fit.low, fit.high) == pytest.approx((-1.5, -2.0, -0.75))


@pytest.mark.published("Iglewicz and Hoaglin 1993, modified z: 25.856 and 26.306 for the last two of ten")
def test_modified_z_of_two_outliers():
    values = pl.Series([2.1, 2.6, 2.4, 2.5, 2.3, 2.1, 2.3, 2.6, 8.2, 8.3])
    spread = scatter(values)
    # the modified z takes 0.6745 over the raw deviation, this scatter 1.4826 of it
    raw = spread.scatter / MAD_TO_SIGMA
    scores = 0.6745 * (values - spread.median) / raw
    assert scores.to_list()[-2:] == pytest.approx([25.856, 26.306], abs=1e-3)
    assert scores.abs()[:-2].max() < 3.5
