"""Trends of values that something else drives (temperature, load), and the day on which a limit will be met."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import polars as pl

from startworthy.statistics.regression import robust
from startworthy.statistics.robust import scatter
from startworthy.statistics.trend import LEAST_FOR_TREND, Slope, mann_kendall, spaced, theil_sen, variance_ratio

VALUES_FOR_EACH = 3
"""Values wanted for each figure fitted: practice, no source."""
TIME = "time, days"


@dataclass(frozen=True, slots=True)
class DrivenTrend:
    """Slope of y for each day with its drivers held. Null where no trend is judged: then `why` says so.

    low, high: interval, widened for values that hang together. p: two-sided, that there is no trend. level: of the line
    at at_day, the median day, with the drivers at their medians. scatter: of single values about the fit, in the unit
    of y, 1.4826 times the median absolute deviation. drivers: those that were used. n: rows used.
    """

    per_day: float | None
    low: float | None
    high: float | None
    confidence: float
    p: float | None
    level: float | None
    at_day: float | None
    scatter: float | None
    variance_ratio: float
    drivers: tuple[str, ...]
    n: int
    method: str
    why: str = ""

    @property
    def slope(self) -> Slope:
        """The slope alone, as `theil_sen` gives one."""
        return Slope(self.per_day, self.low, self.high, self.confidence, self.n, self.method, self.why)

    def chance(self, direction: Literal["falls", "rises"]) -> float | None:
        """One-sided p, for a direction that was fixed before the values were seen: half of p where it goes there."""
        if self.p is None or self.per_day is None:
            return None
        there = self.per_day < 0 if direction == "falls" else self.per_day > 0
        return self.p / 2 if there else 1.0 - self.p / 2

    def meets(self, limit: float, *, side: Literal["below", "above"], now_day: float) -> Meeting:
        """When the level, with the drivers at their medians, meets a limit: see `forecast`."""
        if self.level is None or self.at_day is None:
            return Meeting(None, None, None, self.confidence, self.n, "straight line", self.why)
        return forecast(self.slope, self.level, at_day=self.at_day, limit=limit, side=side, now_day=now_day)


@dataclass(frozen=True, slots=True)
class Meeting:
    """When a line meets a limit, in the days of its trend; null = never on that line, then `why` says so.

    earliest, latest: by the steepest and the shallowest slope of the interval; latest is null where the shallowest
    never gets there.
    """

    day: float | None
    earliest: float | None
    latest: float | None
    confidence: float
    n: int
    method: str
    why: str = ""


def days_of(at: pl.Series) -> pl.Series:
    """Instants as days since 1970, UTC, as numbers with a fraction."""
    return at.dt.epoch("us") / 86_400_000_000


def driven_trend(at_days: pl.Series, y: pl.Series, drivers: pl.DataFrame, confidence: float) -> DrivenTrend:
    """Slope of y for each day, corrected for what drives it.

    at_days: numbers (see `days_of`), in any order. y: as many values. drivers: a column each, as many rows, or no
    column at all. Rows with a null are left out. confidence: a fraction.
    With drivers: robust regression (bisquare) of y on the drivers and time together. Regressing on the drivers first
    and looking for a trend in what is left gives the drivers whatever they share with time, so that a season hides a
    decline; together, what cannot be told apart widens the interval. The interval is Student's, its standard error
    times the root of the variance ratio of the residuals (see `mann_kendall`). p: the greater of Mann-Kendall's on y
    less its drivers' part (evidence that needs no straight line) and that of the widened t: Mann-Kendall's alone does
    not know that the drivers' part was fitted, and under a season raises a trend in a third of healthy rows
    (tests/statistics). Without drivers: Theil-Sen with Sen's interval, widened alike, and Mann-Kendall's p.
    No trend below 8 values or 3 for each figure fitted, or where time cannot be told from the drivers.
    Raises ValueError for lengths that differ.
    """
    if at_days.len() != y.len() or (drivers.width and drivers.height != y.len()):
        raise ValueError("at_days, y and the drivers must have as many rows each")
    rows = pl.DataFrame({TIME: at_days.cast(pl.Float64), "": y.cast(pl.Float64)}).hstack(drivers.cast(pl.Float64))
    rows = rows.drop_nulls().sort(TIME, maintain_order=True)
    moving = [name for name in drivers.columns if rows[name].n_unique() > 1]
    least = max(LEAST_FOR_TREND, VALUES_FOR_EACH * (len(moving) + 2))
    if rows.height < least:
        return _none(confidence, rows.height, f"fewer than {least} values")
    at, values = rows[TIME], rows[""]
    if at.n_unique() < 2:
        return _none(confidence, rows.height, "all of one day")
    if not moving:
        return _plain(at, values, confidence)
    from scipy.special import stdtr, stdtrit

    pivot = _median(at)
    fit = robust(values, rows.select(*moving, at - pivot), confidence)
    slope = fit.of(TIME)
    if slope is None or fit.residuals is None:
        return _none(confidence, rows.height, fit.why or "time cannot be told from the drivers")
    ratio = variance_ratio(spaced(at, fit.residuals))
    used = tuple(name for name in moving if name not in fit.left_out)
    degrees = fit.n - len(fit.coefficients)
    error = slope.standard_error * ratio**0.5
    half = float(stdtrit(degrees, (1.0 + confidence) / 2.0)) * error
    trend = mann_kendall(fit.residuals + slope.estimate * (at - pivot), at=at)
    by_t = 2.0 * float(stdtr(degrees, -abs(slope.estimate) / error)) if error > 0.0 else 0.0
    p = None if trend.p is None else max(trend.p, by_t)
    level = sum(c.estimate * (_median(rows[c.name]) if c.name in used else 1.0) for c in fit.coefficients if c != slope)
    return DrivenTrend(
        slope.estimate,
        slope.estimate - half,
        slope.estimate + half,
        confidence,
        p,
        level,
        pivot,
        scatter(fit.residuals).scatter,
        ratio,
        used,
        fit.n,
        f"{fit.method} on {', '.join(used)} and time; {trend.method}",
        trend.why,
    )


def forecast(
    slope: Slope, level: float, *, at_day: float, limit: float, side: Literal["below", "above"], now_day: float
) -> Meeting:
    """When a line meets a limit, if it goes on as it did: nobody knows that it will, so give it with its interval.

    slope: for each day. level: of the line at at_day, best the middle of the days it was fitted to: the lines of its
    interval turn about that point (the level's own interval is left out, it is small beside theirs). side: "below"
    where a limit is broken by falling below it. now_day: nothing is foretold before it. Where the line is there already
    the day is now_day and `why` says so.
    """
    method = "straight line"
    if slope.per_x is None or slope.low is None or slope.high is None:
        return Meeting(None, None, None, slope.confidence, slope.n, method, slope.why)
    sign = 1.0 if side == "below" else -1.0
    steep, shallow = (slope.low, slope.high) if side == "below" else (slope.high, slope.low)
    margin = sign * (level - limit)

    def met(per_day: float) -> float | None:
        fall = -sign * per_day
        after = margin / fall if fall > 0.0 else math.inf
        # a slope of next to nothing gets there after the end of all numbers: that is never
        return max(now_day, at_day + after) if math.isfinite(after) else None

    if margin + sign * slope.per_x * (now_day - at_day) <= 0.0:
        return Meeting(now_day, now_day, now_day, slope.confidence, slope.n, method, "the line is there already")
    day = met(slope.per_x)
    return Meeting(
        day, met(steep), met(shallow), slope.confidence, slope.n, method, "" if day else "it does not get there"
    )


def _plain(at: pl.Series, values: pl.Series, confidence: float) -> DrivenTrend:
    pivot = _median(at)
    trend = mann_kendall(values, at=at)
    slope = theil_sen(at, values, confidence, variance_ratio=trend.variance_ratio)
    left = values - (slope.per_x or 0.0) * (at - pivot)
    about = scatter(left)
    return DrivenTrend(
        slope.per_x,
        slope.low,
        slope.high,
        confidence,
        trend.p,
        about.median,
        pivot,
        about.scatter,
        trend.variance_ratio,
        (),
        slope.n,
        f"theil-sen; {trend.method}",
        slope.why or trend.why,
    )


def _none(confidence: float, n: int, why: str) -> DrivenTrend:
    return DrivenTrend(None, None, None, confidence, None, None, None, None, 1.0, (), n, "driven trend", why)


def _median(values: pl.Series) -> float:
    return float(values.median())  # type: ignore[arg-type]
