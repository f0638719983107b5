"""Comparisons by rank: one sample against another, and where a row of values changed its level."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import polars as pl

from startworthy.statistics.robust import scatter

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
    from scipy.stats import mannwhitneyu

    found = mannwhitneyu(one.to_numpy(), other.to_numpy(), alternative=alternative)
    u = float(found.statistic)
    return Ranks(u / (one.len() * other.len()), u, float(found.pvalue), one.len(), other.len(), "mann-whitney")


def step(values: pl.Series, *, least: int = 3) -> Step:
    """Where values in time order went from one level to another: the cut whose two sides differ most in rank.

    values: null = not known, left out. least: known values wanted either side. For every cut the sum of the ranks
    before it is held against what chance would give, (sum - mean)^2 / (k (n - k)): unlike the cut of Pettitt's own
    statistic this one is not drawn to the middle. p: 2 exp(-6 K^2 / (n^3 + n^2)), two-sided,
    after Pettitt (1979, Applied Statistics 28), about right below 0.5; it takes values as independent, and a slope
    changes level as well.
    """
    rows = pl.DataFrame({"row": pl.int_range(values.len(), eager=True), "value": values}).drop_nulls()
    n = rows.height
    method = "best split of ranks"
    if n < 2 * least:
        return Step(None, None, None, None, None, None, n, 0, method, f"fewer than {2 * least} values")
    if rows["value"].n_unique() < 2:
        return Step(None, None, None, None, None, None, n, 0, method, "all values alike")
    cuts = rows.select(
        (pl.col("value").rank("average") - (n + 1) / 2).cum_sum().alias("sum"),
        pl.int_range(1, n + 1).cast(pl.Float64).alias("k"),
    )[:-1]
    strength = cuts.select(
        pl.when(pl.col("k").is_between(least, n - least)).then(pl.col("sum") ** 2 / (pl.col("k") * (n - pl.col("k"))))
    )
    cut = int(strength.to_series().arg_max() or 0) + 1
    before, after = scatter(rows["value"][:cut]), scatter(rows["value"][cut:])
    pettitt = 2.0 * float(cuts["sum"].abs().max())  # type: ignore[arg-type]
    p = min(1.0, 2.0 * math.exp(-6.0 * pettitt**2 / (n**3 + n**2)))
    return Step(
        int(rows["row"][cut]), before.median, after.median, before.scatter, after.scatter, p, cut, n - cut, method
    )
