"""Control charts: does a row of values stay where it was? Target, limits, and the rows outside them."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

D2 = 1.128
"""Mean range of two normal values in standard deviations, rounded as the handbooks print it (NIST/SEMATECH 6.3.2.2)."""


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """A chart of values in order. Null where it cannot be drawn: then `why` says so.

    statistic, lower, upper, out: as many rows as values were given; out is True where the statistic lies outside its
    limits, null rows stay null and are not out. first: row of the first signal. n: known values.
    """

    centre: float | None
    sigma: float | None
    statistic: pl.Series | None
    lower: pl.Series | None
    upper: pl.Series | None
    out: pl.Series | None
    first: int | None
    n: int
    method: str
    why: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Sums:
    """Both cumulative sums of a row of values, in its unit; out is True where either exceeds `decision`.

    high grows while values lie above target + allowance, low while they lie below target - allowance. As many rows as
    values were given, null rows stay null. first: row of the first signal. Null where there are no values: see `why`.
    """

    high: pl.Series | None
    low: pl.Series | None
    out: pl.Series | None
    first: int | None
    decision: float
    n: int
    method: str
    why: str = ""


def individuals(values: pl.Series, *, width: float = 3.0, baseline: int | None = None) -> Chart:
    """Individuals chart: mean and `width` times the mean moving range over 1.128 (NIST/SEMATECH e-Handbook 6.3.2.2).

    baseline: centre and sigma come from so many first values; without it from all of them, as the handbook does.
    Nulls are left out (the moving range joins their neighbours). It takes values as independent.
    """
    method = "individuals, moving range"
    known = values.cast(pl.Float64).drop_nulls()
    first = known if baseline is None else known[:baseline]
    if first.len() < 2:
        return _no_chart(known.len(), method, "fewer than 2 values")
    sigma = _moving_range(first) / D2
    if sigma == 0.0:
        return _no_chart(known.len(), method, "values do not scatter")
    centre = float(first.sum()) / first.len()
    half = pl.repeat(width * sigma, values.len(), dtype=pl.Float64, eager=True)
    return _chart(values.cast(pl.Float64), centre, sigma, half, n=known.len(), method=method)


def ewma(
    values: pl.Series, *, target: float, sigma: float, weight: float, width: float = 3.0, asymptotic: bool = True
) -> Chart:
    """Exponentially weighted moving average, z = weight x + (1 - weight) z, from z = target (NIST/SEMATECH 6.3.2.4).

    sigma: standard deviation of single values. weight: 0 to 1, 0.2 to 0.3 is usual. Limits: target and width sigma
    root(weight / (2 - weight)); without `asymptotic` they are as narrow at the start as they truly are,
    times root(1 - (1 - weight)^(2 i)). Nulls are left out. Raises ValueError for a weight or sigma that cannot be.
    """
    if not 0.0 < weight <= 1.0 or sigma <= 0.0:
        raise ValueError("weight lies between 0 and 1, sigma above 0")
    known = values.cast(pl.Float64).drop_nulls()
    method = f"ewma, weight {weight:g}"
    if known.is_empty():
        return _no_chart(0, method, "no values")
    started = pl.concat([pl.Series([target], dtype=pl.Float64), known.rename("")])
    averaged = _back_in_rows(started.ewm_mean(alpha=weight, adjust=False)[1:], values)
    half = pl.repeat(width * sigma * (weight / (2.0 - weight)) ** 0.5, values.len(), dtype=pl.Float64, eager=True)
    if not asymptotic:
        half = half * (1.0 - (1.0 - weight) ** (2 * values.is_not_null().cum_sum().clip(1))).sqrt()
    return _chart(averaged, target, sigma, half, n=known.len(), method=method)


def cusum(
    values: pl.Series, *, target: float, allowance: float, decision: float, head_start: float = 0.0, reset: bool = False
) -> Sums:
    """Tabular cumulative sums (NIST/SEMATECH e-Handbook 6.3.2.3): a small lasting shift signals sooner than on a chart.

    high = max(0, high + x - target - allowance), low = max(0, low + target - allowance - x); a signal where one is
    above `decision`. allowance (k), decision (h): in the unit of the values. head_start: the fast initial response of
    Lucas and Crosier (1982), both sums begin there (half of `decision` is usual). reset: after a signal both begin
    anew. Nulls are left out. Raises ValueError for an allowance below 0 or a decision that is not above the head start.
    """
    if allowance < 0.0 or not 0.0 <= head_start < decision:
        raise ValueError("allowance is 0 or more, decision above the head start")
    known = values.cast(pl.Float64).drop_nulls()
    method = "cusum, reset" if reset else "cusum"
    if known.is_empty():
        return Sums(None, None, None, None, decision, 0, method, "no values")
    highs, lows, rest = [], [], known
    while not rest.is_empty():  # once for each signal, not for each row
        high = _one_sided(rest - target - allowance, head_start)
        low = _one_sided(target - allowance - rest, head_start)
        signal = ((high > decision) | (low > decision)).arg_true()
        until = int(signal[0]) + 1 if reset and not signal.is_empty() else rest.len()
        highs.append(high[:until])
        lows.append(low[:until])
        rest = rest[until:]
    high, low = (_back_in_rows(pl.concat(sums), values) for sums in (highs, lows))
    out = ((high > decision) | (low > decision)).fill_null(False)
    return Sums(high, low, out, _first(out), decision, known.len(), method)


def _one_sided(steps: pl.Series, head_start: float) -> pl.Series:
    """max(0, before + step) row after row, as the distance of the running sum from its lowest point so far."""
    total = steps.cum_sum() + head_start
    return total - total.cum_min().clip(upper_bound=0.0)


def _moving_range(values: pl.Series) -> float:
    return float(values.diff().abs().sum()) / (values.len() - 1)


def _back_in_rows(known: pl.Series, values: pl.Series) -> pl.Series:
    """Known values at the rows they came from, null at the others."""
    place = values.is_not_null()
    return pl.select(pl.when(place).then(known.gather((place.cum_sum().cast(pl.Int64) - 1).clip(0)))).to_series()


def _chart(statistic: pl.Series, centre: float, sigma: float, half: pl.Series, *, n: int, method: str) -> Chart:
    lower, upper = centre - half, centre + half
    out = ((statistic < lower) | (statistic > upper)).fill_null(False)
    return Chart(centre, sigma, statistic, lower, upper, out, _first(out), n, method)


def _first(out: pl.Series) -> int | None:
    rows = out.arg_true()
    return None if rows.is_empty() else int(rows[0])


def _no_chart(n: int, method: str, why: str) -> Chart:
    return Chart(None, None, None, None, None, None, None, n, method, why)
