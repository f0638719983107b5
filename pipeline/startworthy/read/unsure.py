"""Rows that read well and are not to be trusted: too few cells, cells that moved, a last line that breaks off.

A row that lost a delimiter gives a reading under the wrong name, and a number that was cut reads as another one: both
are refused, where nothing shows that the logger writes so. The pass over the rows cannot see this; so delimiters are
counted beside it, and only where their number is not that of the rows is each line looked at.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import polars as pl

from startworthy.read.dialect import Dialect
from startworthy.read.exact import cell_count, scan_lines
from startworthy.read.reasons import RefusedReason, refused_rows
from startworthy.read.source import Facts, Source

HABIT_ROWS = 20
HABIT_SHARE = 0.05
HABIT_ALIKE = 0.9
"""Short rows are how a logger writes (it leaves out empty cells at the end) where there are so many, and they are this
share of all rows or this share of them have one length: damage strikes few rows, each elsewhere. Common practice,
no source."""
_TAIL_BYTES = 1 << 16
_LIKE_ROWS = 10


def usual_cells(dialect: Dialect) -> int:
    """How many cells most rows of the sample have."""
    counts = Counter(len(row) for row in dialect.body)
    return counts.most_common(1)[0][0] if counts else max(len(dialect.headers), 1)


@dataclass(frozen=True, slots=True)
class Doubts:
    """What the pass over the rows left. frame: `line`, `at`, null for a row without a time. gone: rows refused so far.

    cells: `line`, `text`, `cells` of records with an unusual number of cells; None: not looked for yet. bad: lines in
    which a cell was refused.
    """

    cells: pl.DataFrame | None
    bad: pl.Series
    frame: pl.DataFrame
    gone: pl.DataFrame | None

    def there(self) -> pl.Series:
        """Lines of the rows that stand so far."""
        lines = self.frame.filter(pl.col("at").is_not_null())["line"]
        return lines if self.gone is None else lines.filter(~lines.is_in(self.gone["line"].implode()))


def unsure_rows(source: Source, facts: Facts, dialect: Dialect, doubts: Doubts) -> tuple[pl.DataFrame | None, int]:
    """Rows to refuse, and how many rows are short by the logger's habit."""
    usual = usual_cells(dialect)
    cells = doubts.cells
    if cells is None and (len(doubts.bad) or _uneven(source, facts, dialect, usual)):
        cells = _unusual(source, dialect, usual)
    found: list[pl.DataFrame] = []
    habit = 0
    last = _last_line(source, facts, dialect)
    if last is not None:
        # Where the text is known to break off, a bad time in its last line needs no reason of its own
        there = doubts.frame["line"] if source.cut else doubts.there()
        found.append(last.filter(pl.col("line").is_in(there.implode())))
    if cells is not None and cells.height:
        there = doubts.there()
        cells = cells.filter(pl.col("line").is_in(there.implode()))
        least = min(usual, max(len(dialect.headers), 1))
        short = cells.filter(pl.col("cells") < least)
        if _is_habit(short, len(there)):
            habit = short.height
        else:
            found.append(refused_rows(short["line"], None, short["text"], RefusedReason.TOO_FEW_CELLS))
        # A cell that is out of place beside cells too many: the others may have moved as well
        wide = max(len(dialect.headers), usual)
        moved = cells.filter((pl.col("cells") > wide) & pl.col("line").is_in(doubts.bad.implode()))
        found.append(refused_rows(moved["line"], None, moved["text"], RefusedReason.TOO_MANY_CELLS))
    if not found:
        return None, habit
    return pl.concat(found).unique("line", keep="first", maintain_order=True), habit


def _uneven(source: Source, facts: Facts, dialect: Dialect, usual: int) -> bool:
    """Whether the delimiters of the file are not as many as its rows ask for."""
    head = source.head().split(b"\n", dialect.skip_lines)
    if len(head) <= dialect.skip_lines or not dialect.delimiter.isascii():
        return True
    above = sum(line.count(dialect.delimiter.encode()) for line in head[: dialect.skip_lines])
    return facts.delimiters - above != (usual - 1) * max(facts.lines - dialect.skip_lines, 0)


def _unusual(source: Source, dialect: Dialect, usual: int) -> pl.DataFrame:
    lines = scan_lines(source, dialect.skip_lines).with_columns(pl.col("text").fill_null(""))
    counted = lines.with_columns(cells=cell_count(pl.col("text"), dialect.delimiter, dialect.quote_char))
    return counted.filter(pl.col("cells") != usual).collect(engine="streaming")


def _is_habit(short: pl.DataFrame, rows: int) -> bool:
    if short.height < HABIT_ROWS:
        return False
    alike = short["cells"].value_counts(sort=True)["count"][0] / short.height
    return short.height >= HABIT_SHARE * rows or bool(alike >= HABIT_ALIKE)


def _last_line(source: Source, facts: Facts, dialect: Dialect) -> pl.DataFrame | None:
    """The last line, where it breaks off. Most files without a last line end are whole, so more is asked for:

    fewer cells than usual, or a last cell that is shorter than any other of its column and the beginning of the one
    above it ("12." below "12.6", "15" below "1500").
    """
    if facts.ended or facts.lines <= dialect.skip_lines:
        return None
    lines = source.tail(_TAIL_BYTES).decode("utf-8", errors="replace").rsplit("\n", 2)
    text = lines[-1]
    if not text.strip(" \t\r\x1a\x00"):
        return None
    quote = dialect.quote_char
    cells = text.count(dialect.delimiter) + 1
    cut = source.cut or (not (quote and quote in text) and (cells < _least(dialect) or _is_begun(text, lines, dialect)))
    if not cut:
        return None
    line = pl.Series([facts.lines], dtype=pl.UInt32)
    return refused_rows(line, None, pl.Series([text]), RefusedReason.CUT_OFF)


def _least(dialect: Dialect) -> int:
    return min(usual_cells(dialect), max(len(dialect.headers), 1))


def _is_begun(text: str, lines: list[str], dialect: Dialect) -> bool:
    """Whether the last cell is only the beginning of one."""
    cells = text.split(dialect.delimiter)
    above = lines[-2].split(dialect.delimiter) if len(lines) > 1 else []
    at = len(cells) - 1
    last = cells[-1].strip()
    others = [row[at] for row in dialect.body if at < len(row) and row[at] and "\t".join(row) != "\t".join(cells)]
    if not last or len(above) != len(cells) or len(others) < _LIKE_ROWS:
        return False
    whole = above[-1].strip()
    return len(last) < min(map(len, others)) and (whole.startswith(last) or _fewer_decimals(last, others, dialect))


def _fewer_decimals(last: str, others: list[str], dialect: Dialect) -> bool:
    """Whether all other numbers of a column have one number of decimals, and this one fewer."""
    mark = dialect.decimal_char
    digits = {len(cell.rpartition(mark)[2]) if mark in cell else 0 for cell in others}
    return len(digits) == 1 and (len(last.rpartition(mark)[2]) if mark in last else 0) < digits.pop()
