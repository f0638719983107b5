"""The order of day, month and year in dates such as 03/04/2024: told from the data, or asked for."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from startworthy.problems import InputError, Problem
from startworthy.read.layout import DateOrder
from startworthy.read.stamps import ordered

if TYPE_CHECKING:
    import polars as pl

_THREE = r"^\s*(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})"


def order_of(
    sample: Sequence[str], patterns: Sequence[str], whole: Callable[[], pl.Series], label: str, header: str
) -> tuple[DateOrder, tuple[str, ...]]:
    """The order, and what is to be said about it: from the sample, else from every stamp of the file, else asked for.

    patterns: how the stamps are written, the date left open. Raises InputError (`ambiguous_dates`).
    """
    parts = [tuple(map(int, m.groups())) for m in (re.match(_THREE, cell) for cell in sample) if m]
    # With a year of four digits, or with dots between, the year stands last
    year_last = any(re.match(r"^\s*\d{1,2}([-/.]\d{1,2}[-/.]\d{4}|\.)", cell) for cell in sample)
    found = _possible(parts, year_last)  # type: ignore[arg-type]
    if len(found) == 1:
        return found.pop(), ()
    import polars as pl

    stamps = whole()
    days = stamps.str.strip_chars().str.head(10).unique().drop_nulls()
    groups = days.str.extract_groups(_THREE).struct.unnest()
    table = groups.select(pl.all().cast(pl.Int32, strict=False)).drop_nulls().unique()
    found = _possible(table.rows(), year_last) if table.height else set()
    if len(found) > 1:
        settled = _by_midnights(stamps, found, patterns)
        if settled is not None:
            return settled, (f"order {settled} of dates from the steps at midnight",)
    if len(found) != 1:
        raise InputError(Problem("ambiguous_dates", label, column=header, values={"example": sample[0][:30]}))
    return found.pop(), ()


def _possible(parts: Sequence[tuple[int, int, int]], year_last: bool) -> set[DateOrder]:
    first, second, third = (max(p[i] for p in parts) for i in range(3))
    low = [min(p[i] for p in parts) for i in range(3)]
    found: set[DateOrder] = set()
    if first <= 31 and second <= 12 and low[0] and low[1]:
        found.add("dmy")
    if first <= 12 and second <= 31 and low[0] and low[1]:
        found.add("mdy")
    if not year_last and second <= 12 and third <= 31 and low[1] and low[2]:
        found.add("ymd")
    if len(found) > 1 and "ymd" in found and not year_last:
        # A year does not change from day to day: where only one end of the date changes, the other is the year
        firsts, thirds = len({p[0] for p in parts}), len({p[2] for p in parts})
        if firsts > 2 and thirds == 1:
            found.discard("ymd")
        elif thirds > 2 and firsts == 1:
            found &= {"ymd"}
    return found


def _by_midnights(stamps: pl.Series, found: set[DateOrder], patterns: Sequence[str]) -> DateOrder | None:
    """The order under which each change of date is a small step, where every other order makes it a leap of weeks."""
    import polars as pl

    small, large = [], []
    for order in found:
        at = pl.Series([None] * len(stamps), dtype=pl.Datetime("us"))
        for pattern in patterns:
            read = stamps.str.to_datetime(ordered(pattern, order), strict=False, time_unit="us", cache=False)
            # Some stamps may have an offset and others none
            at = at.fill_null(read.dt.replace_time_zone(None))
        steps = pl.DataFrame({"day": at.dt.date(), "at": at}).drop_nulls()
        moved = steps.select(
            step=pl.col("at").diff().abs().dt.total_hours(), changed=pl.col("day") != pl.col("day").shift()
        ).filter("changed")["step"]
        if not len(moved):
            return None
        if moved.max() <= 6:  # type: ignore[operator]
            small.append(order)
        elif moved.min() >= 20 * 24:  # type: ignore[operator]
            large.append(order)
    return small[0] if len(small) == 1 and len(large) == len(found) - 1 else None
