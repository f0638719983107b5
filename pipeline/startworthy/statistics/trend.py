"""Slopes that a few wild values do not turn, and whether there is a trend at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import polars as pl

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LEAST_FOR_TREND = 8
"""Below it no trend is judged, whatever its p."""
LEAST_FOR_NORMAL = 10
"""From it on Kendall's S is near enough to normal (Gilbert 1987); below it p is counted out."""
Z_95 = 1.959964
"""Autocorrelations count as significant beyond this over the root of n."""

Correction = Literal["cautious", "hamed-rao", "none"]


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


def theil_sen(x: pl.Series, y: pl.Series, confidence: float, *, variance_ratio: float = 1.0) -> Slope:
    """Median of the slopes between all pairs, with Sen's interval (Sen 1968, Kendall's variance with ties).

    x, y: as many values each; pairs with a null are left out. confidence: a fraction, such as 0.95. variance_ratio:
    of `mann_kendall`, widens the interval where values hang together (Sen's interval takes them as independent).
    Fewer than three points, or all at one x, give no slope. Raises ValueError if the lengths differ.
    """
    if x.len() != y.len():
        raise ValueError("x and y must have as many values each")
    pairs = pl.DataFrame({"x": x.cast(pl.Float64), "y": y.cast(pl.Float64)}).drop_nulls()
    n = pairs.height
    if n < 3 or pairs["x"].n_unique() < 2:
        return Slope(None, None, None, confidence, n, "theil-sen", "too few points")
    from scipy.special import ndtr, ndtri
    from scipy.stats import theilslopes

    # scipy takes the two tails as well as the confidence, and tails this small only in that form
    tails = (
        1.0 - confidence if variance_ratio == 1.0 else 2.0 * ndtr(ndtri((1.0 - confidence) / 2.0) * variance_ratio**0.5)
    )
    fit = theilslopes(pairs["y"].to_numpy(), pairs["x"].to_numpy(), alpha=tails)
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


@dataclass(frozen=True, slots=True)
class Trend:
    """Kendall's S of values in order: do they rise or fall more often than chance has it?

    s, tau: pairs that rise less pairs that fall, and as a share (-1 to 1). variance: of s, with ties and correlation.
    variance_ratio: how much of it comes from correlation (n / n* of Hamed and Rao). z: null where p was counted out.
    p: two-sided; null where no trend is judged, then `why` says so.
    """

    s: int | None
    tau: float | None
    variance: float | None
    variance_ratio: float
    z: float | None
    p: float | None
    n: int
    method: str
    why: str = ""


def mann_kendall(y: pl.Series, *, at: pl.Series | None = None, correction: Correction = "cautious") -> Trend:
    """Mann-Kendall trend test, with ties, and corrected for values that hang together in time.

    y: values in time order, null = not known (left out). at: numbers that rise (days, say), one for each value, so that
    gaps in time are kept when neighbours are compared; without it the rows are taken as evenly spaced.
    correction, of the variance of S, after Hamed and Rao (1998, J. Hydrology 204): ranks of what a Theil-Sen slope
    leaves, their autocorrelations, n / n* = 1 + 2 sum (n-k)(n-k-1)(n-k-2) r(k) / (n(n-1)(n-2)).
    - "hamed-rao": as they have it, over all lags that are significant at 5 %. On short rows it raises too many trends
      (about 17 % instead of 5 % at lag-1 correlation 0.6 and n = 60), and it can shrink the variance.
    - "cautious": over the first significant lags up to the first that is not, or those of a first-order process of the
      lag-1 correlation freed from its bias, (n r1 + 2) / (n - 4), whichever is more, and never below 1 (7 % there).
    - "none".
    Continuity-corrected z, two-sided p. Below 10 values without ties p is counted out and nothing is corrected; below 8
    there is no p. Raises ValueError if `at` has another length.
    """
    if at is not None and at.len() != y.len():
        raise ValueError("at and y must have as many values each")
    kept = y.is_not_null() if at is None else y.is_not_null() & at.is_not_null()
    known = y.filter(kept).cast(pl.Float64)
    n = known.len()
    if n < 2:
        return Trend(None, None, None, 1.0, None, None, n, "mann-kendall", "too few values")
    from scipy.special import ndtr
    from scipy.stats import kendalltau

    values = known.to_numpy()
    pairs = n * (n - 1) // 2
    ties = known.value_counts()["count"].cast(pl.Int64)
    untied = pairs - int((ties * (ties - 1)).sum()) // 2
    variance = (n * (n - 1) * (2 * n + 5) - int((ties * (ties - 1) * (2 * ties + 5)).sum())) / 18.0
    exact = n < LEAST_FOR_NORMAL and untied == pairs
    kendall = kendalltau(range(n), values, method="exact" if exact else "asymptotic") if untied else None
    s = round(float(kendall.statistic) * (pairs * untied) ** 0.5) if kendall is not None else 0
    tau = s / pairs
    if n < LEAST_FOR_TREND:
        why = f"fewer than {LEAST_FOR_TREND} values"
        return Trend(s, tau, variance, 1.0, None, None, n, "mann-kendall", why)
    if exact and kendall is not None:
        return Trend(s, tau, variance, 1.0, None, float(kendall.pvalue), n, "mann-kendall, exact")
    if n < LEAST_FOR_NORMAL or correction == "none":
        ratio, method = 1.0, "mann-kendall"
    else:
        even = y.cast(pl.Float64).set(~kept, None) if at is None else spaced(at.filter(kept), known)
        ratio, method = (
            variance_ratio(_detrended(even), correction),
            f"mann-kendall, serial correlation: {correction}",
        )
    if ratio <= 0.0:
        return Trend(s, tau, variance, ratio, None, None, n, method, "the corrected variance is not positive")
    variance *= ratio
    z = (abs(s) - 1) / variance**0.5 * (1 if s > 0 else -1) if s else 0.0
    return Trend(s, tau, variance, ratio, z, min(1.0, 2.0 * float(ndtr(-abs(z)))), n, method)


def variance_ratio(values: pl.Series, correction: Correction = "cautious") -> float:
    """How many times more a sum of these values scatters than if each stood for itself: n / n* of `mann_kendall`.

    values: without trend, evenly spaced, null = not known. 1 where fewer than 10 are known or all are alike.
    """
    n = values.len() - values.null_count()
    ranks = values.rank("average")
    if correction == "none" or n < LEAST_FOR_NORMAL or ranks.drop_nulls().n_unique() < 2:
        return 1.0
    import numpy as np

    around = (ranks - ranks.mean()).fill_null(0.0).to_numpy()
    lags = np.arange(1, n - 1)
    correlation = _autocorrelation(around, n - 2)
    weight = 2.0 * (n - lags) * (n - lags - 1.0) * (n - lags - 2.0) / (n * (n - 1.0) * (n - 2.0))
    significant = np.abs(correlation) > Z_95 / n**0.5
    if correction == "hamed-rao":
        return float(1.0 + (weight * correlation)[significant].sum())
    leading = np.logical_and.accumulate(significant & (correlation > 0.0))
    unbiased = min(max((n * correlation[0] + 2.0) / (n - 4.0), 0.0), 0.99)
    return float(1.0 + max((weight * correlation)[leading].sum(), (weight * unbiased**lags).sum()))


def _autocorrelation(around: NDArray[np.float64], most: int) -> NDArray[np.float64]:
    """Of lags 1 to `most`, of values about their mean with 0 for those not known; lags beyond the row give 0."""
    import numpy as np

    size = 1 << (2 * len(around) - 1).bit_length()
    power = np.abs(np.fft.rfft(around, size)) ** 2
    all_lags = np.fft.irfft(power, size)[: len(around)]
    found: NDArray[np.float64] = all_lags[1 : most + 1] / all_lags[0]
    return np.pad(found, (0, most - len(found)))


def spaced(at: pl.Series, values: pl.Series) -> pl.Series:
    """Values on an even grid of their usual spacing, null between: as they are where two would share a place."""
    place = at.cast(pl.Float64) - at[0]
    step = place.diff().median()
    if not isinstance(step, float) or step <= 0.0:
        return values
    slots = (place / step).round().cast(pl.Int64)
    if slots.n_unique() < slots.len() or slots[-1] > 20 * slots.len():
        return values
    grid = pl.DataFrame({"slot": pl.int_range(0, slots[-1] + 1, eager=True)})
    return grid.join(pl.DataFrame({"slot": slots, "value": values}), on="slot", how="left", maintain_order="left")[
        "value"
    ]


def _detrended(values: pl.Series) -> pl.Series:
    """What a Theil-Sen slope leaves, as shares of the range, rounded: ranks would count the last digits."""
    rows = pl.Series(range(values.len()), dtype=pl.Float64)
    left = values - rows * (theil_sen(rows, values, 0.95).per_x or 0.0)
    span = (values.max() - values.min()) or 1.0  # type: ignore[operator]
    return (left / span).round(9)
