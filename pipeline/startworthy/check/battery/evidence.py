"""How sure a trend's slope is, as one number that can stand among all the tests of a run."""

from __future__ import annotations

from startworthy.statistics.driven import DrivenTrend


def slope_p(trend: DrivenTrend) -> float | None:
    """How often chance alone gives a slope as steep: by its own interval, on the side that lies nearer to 0.

    None where there is no slope. The interval is widened for values that hang together. `trend.p` is the greater of
    this and of Mann-Kendall's, and that one cannot get small where a clear decline bends, as batteries do: such a row
    swings slowly about its line, its variance is taken ten times as large, and 26 values in perfect order come out at
    0.03, which is lost among the tests of a run.
    """
    if trend.per_day is None or trend.low is None or trend.high is None:
        return None
    from scipy.special import stdtr, stdtrit

    degrees = max(1, trend.n - len(trend.drivers) - 2)
    half = trend.high - trend.per_day if trend.per_day < 0.0 else trend.per_day - trend.low
    if half <= 0.0:
        return 1.0 if trend.per_day == 0.0 else 0.0
    error = half / float(stdtrit(degrees, (1.0 + trend.confidence) / 2.0))
    return 2.0 * float(stdtr(degrees, -abs(trend.per_day) / error))
