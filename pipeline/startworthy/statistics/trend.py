"""Slopes that a few wild values do not turn."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl


@dataclass(frozen=True, slots=True)
class Slope:
    """A slope, in units of y for each unit of x, with its interval. Null where n is too small: see `why`."""

    per_x: float | None
    low: float | None
    high: float | None
    confidence: float
    n: int
    method: str
    why: str = ""

    @property
    def falls(self) -> bool:
        """The whole interval lies below zero."""
        return self.high is not None and self.high < 0.0


def theil_sen(x: pl.Series, y: pl.Series, confidence: float) -> Slope:
    """Median of the slopes between all pairs, with Sen's interval (Sen 1968, Kendall's variance with ties).

    x, y: as many values each; pairs with a null are left out. confidence: a fraction, such as 0.95.
    Fewer than three points, or all at one x, give no slope. Raises ValueError if the lengths differ.
    """
    if x.len() != y.len():
        raise ValueError("x and y must have as many values each")
    pairs = pl.DataFrame({"x": x.cast(pl.Float64), "y": y.cast(pl.Float64)}).drop_nulls()
    n = pairs.height
    if n < 3 or pairs["x"].n_unique() < 2:
        return Slope(None, None, None, confidence, n, "theil-sen", "too few points")
    from scipy.stats import theilslopes

    fit = theilslopes(pairs["y"].to_numpy(), pairs["x"].to_numpy(), alpha=confidence)
    return Slope(float(fit.slope), float(fit.low_slope), float(fit.high_slope), confidence, n, "theil-sen")


@dataclass(frozen=True, slots=True)
class Onset:
    """Where a level line turns into a slope: the row of the last level value. Null where n is too small: see `why`."""

    row: int | None
    n: int
    method: str
    why: str = ""


def onset(y: pl.Series) -> Onset:
    """The row after which evenly spaced values leave their level: the best hinge by least squares.

    For every row k the model y = a + b max(0, row - k) is fitted; the k that leaves the smallest sum of squares is
    taken, row 0 where the slope is there from the first value on. Fewer than four values, or none that differ,
    have no onset. Raises ValueError for nulls: their rows would be shifted.
    """
    if y.null_count():
        raise ValueError("an onset needs values without gaps")
    n = y.len()
    if n < 4 or y.n_unique() < 2:
        return Onset(None, n, "hinge", "too few points")
    import numpy as np

    values = y.cast(pl.Float64).to_numpy()
    rows = np.arange(n)
    # the last two rows cannot be told from a lone step
    hinges = np.clip(rows[None, :] - rows[: n - 2, None], 0, None).astype(float)
    hinges -= hinges.mean(axis=1, keepdims=True)
    explained = (hinges @ (values - values.mean())) ** 2 / (hinges**2).sum(axis=1)
    return Onset(int(explained.argmax()), n, "hinge")
