"""Centre and scatter that a few wild values do not move."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

MAD_TO_SIGMA = 1.4826
"""Median absolute deviation to the standard deviation of a normal distribution: 1 / 0.6745."""


@dataclass(frozen=True, slots=True)
class Scatter:
    """Median, and scatter in the unit of the values. Null where there were no values: then `why` says so."""

    median: float | None
    scatter: float | None
    n: int
    method: str
    why: str = ""


def scatter(values: pl.Series) -> Scatter:
    """Median and 1.4826 times the median absolute deviation. Null values are left out.

    A scatter of 0 is a true answer on a signal of coarse steps: whoever divides by it has to think first.
    """
    known = values.drop_nulls()
    if known.is_empty():
        return Scatter(None, None, 0, "median absolute deviation", "no values")
    median = _median(known)
    return Scatter(median, MAD_TO_SIGMA * _median((known - median).abs()), known.len(), "median absolute deviation")


def deviation(values: pl.Series) -> float:
    """Plain standard deviation (n - 1), 0 below two values: the fallback where the median deviation is 0."""
    spread = values.drop_nulls().std()
    return float(spread) if isinstance(spread, float) else 0.0


def _median(values: pl.Series) -> float:
    return float(values.cast(pl.Float64).median())  # type: ignore[arg-type]
