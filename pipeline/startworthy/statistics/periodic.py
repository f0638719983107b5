"""Periods in values that are not evenly spaced."""

from __future__ import annotations

import math
from dataclasses import dataclass

import polars as pl

LEAST = 10
"""Fewer values show no period worth the name: practice, no source."""
AT_ONCE = 4_000_000
"""Sines worked out at once, so that a long row does not fill the memory."""


@dataclass(frozen=True, slots=True)
class Period:
    """The strongest period. Null where n is too small: then `why` says so.

    frequency, period: in the unit of time given. power: share of the variance that one sine explains, 0 to 1.
    amplitude: of that sine, in the unit of the values. false_alarm: upper bound on the probability that independent
    values without any period show a peak as high somewhere between the frequencies searched.
    """

    frequency: float | None
    period: float | None
    power: float | None
    amplitude: float | None
    false_alarm: float | None
    n: int
    method: str
    why: str = ""


def lomb_scargle(at: pl.Series, y: pl.Series, *, lowest: float, highest: float, per_peak: int = 5) -> Period:
    """Strongest sine in unevenly spaced values: Lomb-Scargle with a floating mean (Zechmeister and Kuerster 2009).

    at, y: as many each, nulls are left out in pairs. lowest, highest: frequencies searched, in cycles of the unit of
    `at`, the lowest above 0. per_peak: frequencies tried within 1 / (last - first), the width of a peak.
    false_alarm: Baluev's bound (2008, Mon. Not. R. Astron. Soc. 385), which is close where small and assumes that no
    two values hang together: a drift or slow noise breaks it. Raises ValueError for lengths or frequencies that
    cannot be.
    """
    if at.len() != y.len():
        raise ValueError("at and y must have as many values each")
    if not 0.0 < lowest < highest:
        raise ValueError("frequencies: 0 < lowest < highest")
    method = "lomb-scargle, floating mean, baluev bound"
    pairs = pl.DataFrame({"at": at.cast(pl.Float64), "y": y.cast(pl.Float64)}).drop_nulls()
    n = pairs.height
    if n < LEAST:
        return Period(None, None, None, None, None, n, method, f"fewer than {LEAST} values")
    if pairs["y"].n_unique() < 2 or pairs["at"].n_unique() < 2:
        return Period(None, None, None, None, None, n, method, "all values alike")
    import numpy as np
    from scipy.signal import lombscargle
    from scipy.special import gammaln

    t, values = pairs["at"].to_numpy() - pairs["at"][0], pairs["y"].to_numpy()
    values = values - values.mean()
    tried = max(2, math.ceil(per_peak * float(np.ptp(t)) * (highest - lowest)) + 1)
    frequencies = np.linspace(lowest, highest, tried)
    power = np.concatenate(
        [
            np.atleast_1d(lombscargle(t, values, 2.0 * np.pi * part, normalize=True, floating_mean=True))
            for part in np.array_split(frequencies, math.ceil(tried * n / AT_ONCE))
        ]
    )
    best = int(power.argmax())
    peak, frequency = min(float(power[best]), 1.0), float(frequencies[best])
    sine = lombscargle(t, values, np.array([2.0 * np.pi * frequency]), normalize="amplitude", floating_mean=True)
    # Baluev 2008, table 1, for powers between 0 and 1: one parameter without, three with the sine
    single = (1.0 - peak) ** ((n - 3) / 2.0)
    width = highest * math.sqrt(4.0 * math.pi * float(t.var()))
    factor = math.sqrt(2.0 / (n - 1)) * math.exp(gammaln((n - 1) / 2.0) - gammaln((n - 2) / 2.0))
    crossings = factor * width * (1.0 - peak) ** ((n - 4) / 2.0) * math.sqrt((n - 1) * peak / 2.0)
    false_alarm = single * math.exp(-crossings) - math.expm1(-crossings)
    return Period(frequency, 1.0 / frequency, peak, float(np.abs(sine).item()), false_alarm, n, method)
