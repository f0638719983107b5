"""Centre and scatter that a few wild values do not move."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import polars as pl

MAD_TO_SIGMA = 1.4826
"""Median absolute deviation to the standard deviation of a normal distribution: 1 / 0.6745."""
MEAN_DEVIATION_TO_SIGMA = 1.253314
"""Mean absolute deviation to the same: root of pi / 2."""


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


@dataclass(frozen=True, slots=True, eq=False)
class Scores:
    """How many standard deviations each value lies from the median. Null where there is no judgement: see `why`.

    scores: as many as the values given, null where they are. scale: the standard deviation they are counted in.
    """

    scores: pl.Series | None
    median: float | None
    scale: float | None
    n: int
    method: str
    why: str = ""


def modified_z(values: pl.Series) -> Scores:
    """Modified z of Iglewicz and Hoaglin (1993): 0.6745 (x - median) / MAD; beyond 3.5 they call a value an outlier.

    Where more than half of the values are alike the MAD is 0: then the mean absolute deviation times 1.253314 takes its
    place, and `method` says so. All values alike, or fewer than three: no judgement.
    """
    known = values.cast(pl.Float64).drop_nulls()
    n = known.len()
    if n < 3:
        return Scores(None, None, None, n, "modified z", "fewer than 3 values")
    median = _median(known)
    away = (known - median).abs()
    scale, method = _median(away) / 0.6745, "modified z, median absolute deviation"
    if scale == 0.0:
        mean = float(away.sum()) / n
        scale, method = MEAN_DEVIATION_TO_SIGMA * mean, "modified z, mean absolute deviation"
    if scale == 0.0:
        return Scores(None, median, 0.0, n, method, "all values alike")
    return Scores((values.cast(pl.Float64) - median) / scale, median, scale, n, method)


@dataclass(frozen=True, slots=True)
class Outlier:
    """The value furthest from the mean, and whether one such is more than chance. Null where n is too small: see `why`.

    row: its place in the values as given. g: its distance in standard deviations; critical: what g has to exceed.
    """

    row: int | None
    g: float | None
    critical: float | None
    outlying: bool
    confidence: float
    n: int
    method: str
    why: str = ""


def grubbs(values: pl.Series, confidence: float, side: Literal["both", "above", "below"] = "both") -> Outlier:
    """Grubbs' test for one outlier among values that are else normal (Grubbs 1969, Technometrics 11).

    Nulls are left out; fewer than three values, or all alike, give no judgement. Two outliers hide one another: where
    more than one may be there, `modified_z` is the test.
    """
    method = f"grubbs, {side}"
    known = pl.DataFrame({"row": pl.int_range(values.len(), eager=True), "value": values.cast(pl.Float64)}).drop_nulls()
    n = known.height
    spread = deviation(known["value"])
    if n < 3 or spread == 0.0:
        return Outlier(None, None, None, False, confidence, n, method, "fewer than 3 values" if n < 3 else "all alike")
    from scipy.special import stdtrit

    away = (known["value"] - known["value"].mean()) / spread * (-1.0 if side == "below" else 1.0)
    furthest = int((away.abs() if side == "both" else away).arg_max() or 0)
    tail = (1.0 - confidence) / (2.0 * n if side == "both" else n)
    t = float(stdtrit(n - 2, 1.0 - tail))
    critical = (n - 1) / n**0.5 * (t * t / (n - 2 + t * t)) ** 0.5
    g = abs(float(away[furthest]))
    return Outlier(int(known["row"][furthest]), g, critical, g > critical, confidence, n, method)


def _median(values: pl.Series) -> float:
    return float(values.cast(pl.Float64).median())  # type: ignore[arg-type]
