"""Quality tests of sensor values after the QARTOD manuals of IOOS: gross range, spike, rate of change, flat line.

Each gives one flag a value. Where a test departs from its manual it says so.
"""

from __future__ import annotations

from enum import IntEnum
from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Flag(IntEnum):
    """The flags of QARTOD (and of IODE): 2 and 9 say that a value was not looked at, and why."""

    GOOD = 1
    NOT_EVALUATED = 2
    SUSPECT = 3
    FAIL = 4
    MISSING = 9


def gross_range(values: pl.Series, fail: tuple[float, float], suspect: tuple[float, float] | None = None) -> pl.Series:
    """FAIL outside the range that the sensor can give, SUSPECT outside the one expected. The ends belong to the range.

    values: null = MISSING. fail, suspect: lowest and highest, in the unit of the values. Returns flags, as many as
    values. Raises ValueError where a range runs backwards or `suspect` reaches outside `fail`.
    """
    inner = suspect or fail
    if not fail[0] <= inner[0] <= inner[1] <= fail[1]:
        raise ValueError("ranges run from low to high, and the suspect one lies within the fail one")
    value = pl.col("value")
    return _flags(pl.DataFrame({"value": values}), ~value.is_between(*fail), ~value.is_between(*inner), missing=value)


def spike(values: pl.Series, suspect: float, fail: float) -> pl.Series:
    """A value further than `suspect`, or `fail`, from the mean of its two neighbours (the "average" method).

    values: in time order, null = MISSING. First and last, and a value beside a missing one, are NOT_EVALUATED. A spike
    also marks its neighbours where it is high enough. Returns flags. Raises ValueError unless 0 <= suspect <= fail.
    """
    _ordered(suspect, fail)
    value = pl.col("value")
    away = (value - (value.shift(1) + value.shift(-1)) / 2).abs()
    return _flags(pl.DataFrame({"value": values}), away > fail, away > suspect, missing=value, looked=away)


def rate_of_change(
    values: pl.Series,
    at_s: pl.Series,
    suspect_per_s: float,
    fail_per_s: float | None = None,
    *,
    longest_s: float | None = None,
) -> pl.Series:
    """A value that differs from the known one before it by more than a rate, in its unit for each second.

    The manual counts the difference in standard deviations of the hours before; a physical limit is known as a rate, so
    this departs from it. values: null = MISSING. at_s: seconds, ascending. longest_s:
    over a longer gap nothing is said. The first value, and a second one at the same instant, are NOT_EVALUATED.
    Returns flags. Raises ValueError for lengths that differ, time that runs backwards, or limits that cannot be.
    """
    _ordered(suspect_per_s, suspect_per_s if fail_per_s is None else fail_per_s)
    frame = _timed(values, at_s)
    value, at = pl.col("value"), pl.col("at")
    since_s = at - pl.when(value.is_not_null()).then(at).forward_fill().shift(1)
    usable = since_s > 0.0 if longest_s is None else (since_s > 0.0) & (since_s <= longest_s)
    rate = pl.when(usable).then((value - value.forward_fill().shift(1)).abs() / since_s)
    failed = pl.lit(False) if fail_per_s is None else rate > fail_per_s
    return _flags(frame, failed, rate > suspect_per_s, missing=value, looked=rate)


def flat_line(
    values: pl.Series, at_s: pl.Series, suspect_s: float, fail_s: float, *, tolerance: float, longest_s: float
) -> pl.Series:
    """A value at whose instant the signal has stayed within `tolerance` for `suspect_s`, or `fail_s`, seconds.

    The manual counts values; here it is seconds, so that a log of mixed rate has one limit: a value is flagged where
    the known values from that long before it up to it (the last one before that instant too) span no more than the
    tolerance. values: null = MISSING, and skipped. at_s: seconds, ascending. tolerance: in the unit of the values;
    below the step in which a sensor counts, its own rounding is flat. longest_s: a longer silence breaks the stretch.
    Values whose stretch is not yet `suspect_s` long are NOT_EVALUATED, unless it already moved.
    Returns flags. Raises ValueError for lengths that differ, time that runs backwards, or limits that cannot be.
    """
    _ordered(suspect_s, fail_s)
    if tolerance < 0.0:
        raise ValueError("tolerance is 0 or more")
    value, at = pl.col("value"), pl.col("at")
    frame = _timed(values, at_s).with_row_index("row")
    known = frame.drop_nulls("value").with_columns((at.diff() > longest_s).fill_null(True).cum_sum().alias("stretch"))
    known = known.with_columns(
        at.first().over("stretch").alias("began"),
        (value.cum_max() - value.cum_min()).over("stretch").alias("so_far"),
    )
    known = known.with_columns(_span(known, suspect_s).alias("suspect"), _span(known, fail_s).alias("fail"))
    spans = frame.join(known.select("row", "so_far", "suspect", "fail"), on="row", how="left", maintain_order="left")
    looked = pl.when(pl.col("suspect").is_not_null() | (pl.col("so_far") > tolerance)).then(True)
    return _flags(spans, pl.col("fail") <= tolerance, pl.col("suspect") <= tolerance, missing=value, looked=looked)


def _span(known: pl.DataFrame, seconds: float) -> pl.Series:
    """Range of the values from `seconds` before each value up to it; null where its stretch began later than that."""
    import numpy as np

    at = known["at"].to_numpy()
    first = np.maximum(np.searchsorted(at, at - seconds, side="right") - 1, 0)
    whole = at - seconds >= known["began"].to_numpy()
    return pl.Series(np.where(whole, _range_between(known["value"].to_numpy(), first), np.nan)).fill_nan(None)


def _range_between(values: NDArray[np.float64], first: NDArray[np.intp]) -> NDArray[np.float64]:
    """Highest less lowest of values[first[i]] to values[i], for all i: from those of 1, 2, 4, 8 ... values."""
    import numpy as np

    last = np.arange(len(values))
    doublings = np.log2(last - first + 1).astype(int)
    span = np.zeros(len(values))
    top = low = values
    for k in range(int(doublings.max(initial=-1)) + 1):
        (here,) = np.nonzero(doublings == k)
        one, other = first[here], last[here] - (1 << k) + 1
        span[here] = np.maximum(top[one], top[other]) - np.minimum(low[one], low[other])
        top, low = np.maximum(top[: -(1 << k)], top[1 << k :]), np.minimum(low[: -(1 << k)], low[1 << k :])
    return span


def _timed(values: pl.Series, at_s: pl.Series) -> pl.DataFrame:
    if values.len() != at_s.len():
        raise ValueError("values and at_s must be as many")
    at = at_s.cast(pl.Float64)
    if at.null_count() or not at.is_sorted():
        raise ValueError("at_s must ascend, without nulls")
    return pl.DataFrame({"value": values.cast(pl.Float64), "at": at})


def _ordered(suspect: float, fail: float) -> None:
    if not 0.0 <= suspect <= fail:
        raise ValueError("the suspect limit is 0 or more and does not exceed the fail limit")


def _flags(
    frame: pl.DataFrame, failed: pl.Expr, suspected: pl.Expr, *, missing: pl.Expr, looked: pl.Expr | None = None
) -> pl.Series:
    flag = (
        pl.when(missing.is_null())
        .then(Flag.MISSING)
        .when(pl.lit(False) if looked is None else looked.is_null())
        .then(Flag.NOT_EVALUATED)
        .when(failed)
        .then(Flag.FAIL)
        .when(suspected)
        .then(Flag.SUSPECT)
        .otherwise(Flag.GOOD)
    )
    return frame.select(flag.cast(pl.UInt8).alias("flag")).to_series()
