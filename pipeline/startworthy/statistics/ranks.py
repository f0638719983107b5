"""Comparisons by rank: one sample against another, and where a row of values changed its level."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import polars as pl

from startworthy.statistics.robust import scatter

AT_ONCE = 4_000_000
"""Deviations worked out at once, so that a long row does not fill the memory."""

Alternative = Literal["two-sided", "less", "greater"]


@dataclass(frozen=True, slots=True)
class Ranks:
    """Whether one sample tends to lie above another.

    share: of all pairs, those in which the first is greater, ties half (0.5 = no difference). u: Mann and Whitney's, of
    the first. p: null where a sample is empty, then `why` says so.
    """

    share: float | None
    u: float | None
    p: float | None
    n_first: int
    n_second: int
    method: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """The best place to cut a row of values in two levels. Null where there is none: see `why`.

    row: the first value of the second level, counted in the values as given (nulls too). before, after: medians.
    scatter_before, scatter_after: 1.4826 times the median absolute deviation, may be 0 on coarse steps. p: of Pettitt's
    test, that there is no change. n_before, n_after: known values either side.
    """

    row: int | None
    before: float | None
    after: float | None
    scatter_before: float | None
    scatter_after: float | None
    p: float | None
    n_before: int
    n_after: int
    method: str
    why: str = ""


def mann_whitney(first: pl.Series, second: pl.Series, alternative: Alternative = "two-sided") -> Ranks:
    """Rank test of two samples (Mann and Whitney 1947): "less" asks whether the first lies lower.

    Exact where a sample has 8 values or fewer and none tie, else normal with ties and continuity correction. Nulls are
    left out. The values must not hang together within a sample, or p comes out too small.
    """
    one, other = first.drop_nulls(), second.drop_nulls()
    if one.is_empty() or other.is_empty():
        return Ranks(None, None, None, one.len(), other.len(), "mann-whitney", "a sample is empty")
    pairs = one.len() * other.len()
    if one.min() == other.max() and one.max() == other.min():  # all alike, where scipy has no p from 1.18 on
        return Ranks(0.5, pairs / 2, 1.0, one.len(), other.len(), "mann-whitney")
    from scipy.stats import mannwhitneyu

    found = mannwhitneyu(one.to_numpy(), other.to_numpy(), alternative=alternative)
    u = float(found.statistic)
    return Ranks(u / pairs, u, float(found.pvalue), one.len(), other.len(), "mann-whitney")


def step(values: pl.Series, *, least: int = 3) -> Step:
    """Where values in time order went from one level to another: the cut whose two medians lie nearest to the values.

    values: null = not known, left out. least: known values wanted either side. The cut is that of the smallest sum of
    absolute deviations; there is always one, so p says whether it is more than chance: 2 exp(-6 K^2 / (n^3 + n^2)),
    two-sided, Pettitt (1979, Applied Statistics 28), about right below 0.5. It takes values as independent, and a slope
    changes level as well.
    """
    rows = pl.DataFrame({"row": pl.int_range(values.len(), eager=True), "value": values.cast(pl.Float64)}).drop_nulls()
    n, method = rows.height, "best split of medians, pettitt's p"
    if n < 2 * least:
        return Step(None, None, None, None, None, None, n, 0, method, f"fewer than {2 * least} values")
    if rows["value"].n_unique() < 2:
        return Step(None, None, None, None, None, None, n, 0, method, "all values alike")
    cut = _best_cut(rows["value"], least)
    before, after = scatter(rows["value"][:cut]), scatter(rows["value"][cut:])
    ranks = rows["value"].rank("average") - (n + 1) / 2
    pettitt = 2.0 * float(ranks.cum_sum().abs().max())  # type: ignore[arg-type]
    p = min(1.0, 2.0 * math.exp(-6.0 * pettitt**2 / (n**3 + n**2)))
    return Step(
        int(rows["row"][cut]), before.median, after.median, before.scatter, after.scatter, p, cut, n - cut, method
    )


def _best_cut(values: pl.Series, least: int) -> int:
    """Of all cuts; in a long row of one in so many, then moved to the best one given its medians."""
    import numpy as np

    n = values.len()
    cuts = np.arange(least, n - least + 1, max(1, n * n // AT_ONCE))
    until = values.rolling_median(n, min_samples=1).to_numpy()[cuts - 1]
    onward = values.reverse().rolling_median(n, min_samples=1).reverse().to_numpy()[cuts]
    level = np.where(np.arange(n) < cuts[:, None], until[:, None], onward[:, None])
    cut = int(cuts[np.abs(values.to_numpy() - level).sum(axis=1).argmin()])
    if len(cuts) == n - 2 * least + 1:
        return cut
    gain = (values - values[:cut].median()).abs() - (values - values[cut:].median()).abs()
    return int(gain.cum_sum()[least - 1 : n - least].arg_min() or 0) + least
