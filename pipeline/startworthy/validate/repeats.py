"""Rows that say again what another row of that set and instant says: the same log sent twice, uploads that overlap."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import polars as pl

from startworthy.signals import BY_NAME, Quantity
from startworthy.validate.clock import JUMPS
from startworthy.validate.clock.evidence import ALIKE, agree, said_twice, signals_of
from startworthy.validate.clock.track import S

TOLD_FROM = 10
"""So many repeated rows of one file are told as a mark; a few are only counted."""
LATE = (S, -S)
"""Two exports of one log may round its stamps to the second differently."""


def without_repeats(frame: pl.DataFrame, several_files: bool) -> tuple[pl.DataFrame, dict[int, int], pl.DataFrame]:
    """Leave out rows that say nothing new, of each pair the poorer one. frame: by set and time, in file order within.

    Returns the rest, the counts by file, and what is told of them (rows of JUMPS). Repeated is a row equal to the
    letter; one that agrees in all that it says, but for rounding or cells left empty; and one of an upload whose rows
    stand a second beside those of another file throughout.
    """
    kept = frame
    gone: list[pl.DataFrame] = []
    # one look over all rows; what follows is dearer, and only rows of one instant have something to say to each other
    if frame.height > 1 and frame.select(_twin().any()).item():
        kept, gone = _to_the_letter(frame)
        kept, more = _rounded(kept)
        gone += more
    if several_files:
        kept, more = _a_second_beside(kept)
        gone += more
    if not gone:
        return frame, {}, pl.DataFrame(schema=JUMPS)
    again = pl.concat(gone)
    return kept, dict(again.group_by("file").len().iter_rows()), _told(again)


def _told(again: pl.DataFrame) -> pl.DataFrame:
    told: dict[str, Any] = {
        "before_at": pl.col("at").min(),
        "line": pl.col("line").min(),
        "rows": pl.len().cast(pl.Int64),
    }
    found = (
        again.group_by("set_id", "file", maintain_order=True)
        .agg(pl.col("at").max().alias("at"), *(how.alias(name) for name, how in told.items()))
        .filter(pl.col("rows") >= TOLD_FROM)
        .with_columns(pl.col("set_id").cast(pl.String), pl.lit("repeated_upload").alias("kind"))
    )
    return found.select((pl.col(c) if c in found.columns else pl.lit(None)).cast(t).alias(c) for c, t in JUMPS.items())


_PLACE = ["set_id", "at", "file", "line"]


def _twin() -> pl.Expr:
    """The row before is of the same set and instant."""
    code = pl.col("set_id").to_physical()
    return (code.eq(code.shift(1)) & (pl.col("at") == pl.col("at").shift(1))).fill_null(False)


def _to_the_letter(frame: pl.DataFrame) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    numbered = frame.with_row_index("row")
    twins = numbered.filter((_twin() | _twin().shift(-1)).fill_null(False))
    said = [name for name in frame.columns if name not in {"file", "line"}]
    again = twins.filter(~pl.struct(said).is_first_distinct())
    if again.is_empty():
        return frame, []
    kept = numbered.filter(~pl.col("row").is_in(again["row"].implode())).drop("row")
    return kept, [again.select(_PLACE)]


def _rounded(frame: pl.DataFrame) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    """Of two rows of one instant that agree but for rounding and empty cells, the poorer goes.

    Rows next to each other in one file are two looks within one second, and stay.
    """
    names = signals_of(frame)
    if not names:
        return frame, []
    beside = (pl.col("file") == pl.col("file").shift(1)) & (
        (pl.col("line").cast(pl.Int64) - pl.col("line").shift(1).cast(pl.Int64)).abs() <= 1
    )
    found = frame.select((_twin() & ~beside.fill_null(False)).arg_true().alias("row")).to_series()
    if not found.len():
        return frame, []
    rows = found.to_numpy()
    two, one = frame[rows], frame[rows - 1].select(pl.col(n).alias(f"{n}|") for n in names)
    both = pl.concat([two.select(names), one], how="horizontal")
    finer, coarser, empty_two, empty_one = [], [], [], []
    for name in names:
        a, b = pl.col(name), pl.col(f"{name}|")
        empty_two.append(a.is_null() & b.is_not_null())
        empty_one.append(b.is_null() & a.is_not_null())
        if BY_NAME[name].quantity is not Quantity.TEXT:
            differ = (a != b).fill_null(False)
            near_a = pl.any_horizontal([a.round(k) == b for k in range(4)]).fill_null(False)
            finer.append(differ & near_a)
            coarser.append(differ & ~near_a)
    told = both.select(
        pl.all_horizontal([agree(n, f"{n}|") for n in names]).alias("same"),
        pl.sum_horizontal([f.cast(pl.Int32) for f in finer] or [pl.lit(0)]).alias("finer"),
        pl.sum_horizontal([f.cast(pl.Int32) for f in coarser] or [pl.lit(0)]).alias("coarser"),
        pl.any_horizontal(empty_two).alias("lacks_two"),
        pl.any_horizontal(empty_one).alias("lacks_one"),
    ).to_dict(as_series=False)
    same, lacks_two, lacks_one = (np.array(told[n], dtype=bool) for n in ("same", "lacks_two", "lacks_one"))
    # the first of two equals stays; a row that lacks a cell may go, one that has a cell the other lacks may not
    better_two = (np.array(told["finer"]) > np.array(told["coarser"])) | (lacks_one & ~lacks_two)
    out = np.zeros(frame.height, dtype=bool)
    out[(rows - 1)[same & better_two & ~lacks_two]] = True
    out[rows[same & ~better_two & ~lacks_one]] = True
    if not out.any():
        return frame, []
    mask = pl.Series(out)
    return frame.filter(~mask), [frame.filter(mask).select(_PLACE)]


def _a_second_beside(frame: pl.DataFrame) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    """Rows of a file that say what another file says a second sooner or later, where all of what both cover does so."""
    spans = (
        frame.group_by("set_id", "file")
        .agg(pl.col("at").min().alias("first"), pl.col("at").max().alias("last"))
        .sort("set_id", "first", "file")
    )
    code = spans["set_id"].to_physical()
    meets = (code == code.shift(1)) & (spans["first"] <= spans["last"].shift(1))
    if not meets.fill_null(False).any():
        return frame, []
    numbers, sets = frame["file"].to_numpy(), frame["set_id"].to_physical().to_numpy()
    at = frame["at"].to_physical().to_numpy()
    out = np.zeros(frame.height, dtype=bool)
    codes = code.to_numpy()
    for n, (one, two) in enumerate(pairwise(spans.iter_rows(named=True))):
        if codes[n] != codes[n + 1] or two["first"] > one["last"]:
            continue
        low, high = spans["first"].to_physical()[n + 1] - 2 * S, spans["last"].to_physical()[n] + 2 * S
        inside = (sets == codes[n]) & (at >= low) & (at <= high)
        earlier, later = (
            np.flatnonzero(inside & (numbers == one["file"])),
            np.flatnonzero(inside & (numbers == two["file"])),
        )
        if min(len(earlier), len(later)) < TOLD_FROM:
            continue
        least = ALIKE * min(len(earlier), len(later))
        if int(said_twice(frame, earlier, later)["same"].sum()) >= least:
            continue
        for late in LATE:
            met = said_twice(frame, earlier, later, late)
            same = met.filter("same")
            if same.height >= least:
                out[same["row"].to_numpy()] = True
                break
    if not out.any():
        return frame, []
    mask = pl.Series(out)
    return frame.filter(~mask), [frame.filter(mask).select(_PLACE)]
