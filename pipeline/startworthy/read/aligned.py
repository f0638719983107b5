"""Logs whose cells stand apart by spaces only, one below the other: cut at the columns of spaces that all rows share.

Runs of spaces cannot be taken for delimiters: an empty cell would move all cells after it.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import polars as pl

from startworthy.read.delimiter import is_known
from startworthy.read.source import Source
from startworthy.read.stamps import looks_like_time

SPACE = " "
"""As a layout's `delimiter` it means: aligned by spaces."""
_APART = re.compile(r"\s{2,}")
_LEAST_CELLS = 3
_LOOK_AT = 480

Spans = tuple[tuple[int, int | None], ...]


def spans_of(lines: Sequence[str], *, headless: bool = False, stated: bool = False) -> Spans | None:
    """First and last (exclusive, None: to the end) character of each column; None where lines are not so aligned.

    headless: no header is there to hold known names; the rows have to hold times. stated: by a layout, so that it
    needs neither.
    """
    full = [line.rstrip() for line in lines[:_LOOK_AT] if line.strip()]
    apart = [line for line in full if "  " in line.strip()]
    if len(apart) * 4 < len(full) or len(apart) < 3:
        return None
    counts = Counter(len(_APART.split(line.strip())) for line in apart)
    cells = max(counts, key=lambda cells: (cells >= _LEAST_CELLS) * counts[cells])
    rows = [line for line in apart if len(_APART.split(line.strip())) == cells]
    some = [_APART.split(row.strip()) for row in rows[:30]]
    if headless:
        told = sum(any(map(looks_like_time, row)) for row in some) * 2 > len(some)
    else:
        told = any(sum(map(is_known, row)) * 2 > cells for row in some)
    if cells < _LEAST_CELLS or not (told or stated):
        return None
    wide = max(map(len, rows))
    blank = [True] * wide
    for row in rows:
        for place, char in enumerate(row):
            if char != SPACE:
                blank[place] = False
    gaps = [(m.start(), m.end()) for m in re.finditer(r"11+", "".join("1" if b else "0" for b in blank))]
    inner = [gap for gap in gaps if gap[0] > 0]
    begins = [0, *(end for _, end in inner)]
    ends = [*(begin for begin, _ in inner), None]
    spans = tuple(zip(begins, ends, strict=True))
    return spans if len(spans) == cells else None


def cut_at(source: Source, spans: Spans) -> Source:
    """The same log with tabs between its cells.

    A line that has other than spaces between two columns is cut at its runs of spaces where that gives all cells (a
    cell may be longer than any of the sample), and stays whole where it does not.
    """
    raw = source.bytes()
    sha = source.sha256 or hashlib.sha256(raw).hexdigest()
    text = pl.Series("text", raw.decode("utf-8-sig", errors="replace").replace("\t", SPACE).split("\n"))
    column = pl.col("text").str.strip_suffix("\r")
    cells = [column.str.slice(a, None if b is None else b - a).str.strip_chars() for a, b in spans]
    between = [column.str.slice(a, b - a) for (_, a), (b, _) in pairwise(spans) if a is not None]
    runs = column.str.strip_chars().str.replace_all(r" {2,}", "\t")
    in_runs = runs.str.count_matches("\t", literal=True) == len(spans) - 1
    fits = pl.all_horizontal(gap.str.strip_chars() == "" for gap in between) & (column.str.strip_chars() != "")
    lines = pl.DataFrame(text).select(
        pl.when(fits).then(pl.concat_str(cells, separator="\t")).when(in_runs).then(runs).otherwise(column)
    )
    return replace(source, path=None, data="\n".join(lines.to_series().to_list()).encode(), sha256=sha)
