"""Headers between the rows of a log: a logger that restarts writes its own again, one set up anew writes another.

Rows below another header are not read by the first one: their cells may stand elsewhere, or be in other units.
"""

from __future__ import annotations

import polars as pl

from startworthy.read.delimiter import cut
from startworthy.read.dialect import Dialect
from startworthy.read.exact import scan_lines
from startworthy.read.heading import is_header
from startworthy.read.reasons import RefusedReason, refused_rows
from startworthy.read.source import Source

_END = (1 << 32) - 1
_LOOK_AT = 2000
"""Refused rows that are looked at; a log that restarts more often than that repeats itself."""


def below_other_headers(
    source: Source, dialect: Dialect, bad: pl.DataFrame, frame: pl.DataFrame
) -> pl.DataFrame | None:
    """Rows to refuse: those between a header that is not the log's and the next one that is, or the end.

    bad: the rows refused so far, `line` and `reason`. frame: the rows read, `line` and `at`.
    """
    spans = _spans(source, dialect, bad)
    if not spans:
        return None
    there = frame.filter(pl.col("at").is_not_null())["line"]
    below = pl.concat([there.filter(there.is_between(begin, end)) for begin, end in spans])
    return refused_rows(below, None, None, RefusedReason.OTHER_COLUMNS)


def header_in_force(source: Source, dialect: Dialect, bad: pl.DataFrame) -> bytes | None:
    """The line of the other header below which the text ends; None where it ends below the log's own."""
    spans = _spans(source, dialect, bad)
    if not spans or spans[-1][1] != _END:
        return None
    line = scan_lines(source, dialect.skip_lines).filter(pl.col("line") == spans[-1][0]).collect(engine="streaming")
    return str(line["text"][0]).encode()


def _spans(source: Source, dialect: Dialect, bad: pl.DataFrame) -> list[tuple[int, int]]:
    """First and last line of each stretch below another header."""
    reasons = (RefusedReason.REPEATED_HEADER, RefusedReason.NOT_A_ROW, RefusedReason.BAD_TIME, RefusedReason.NO_TIME)
    lines = bad.filter(pl.col("reason").is_in([r.value for r in reasons]))["line"].sort().head(_LOOK_AT)
    if not len(lines) or not dialect.header_rows:
        return []
    found = scan_lines(source, dialect.skip_lines).filter(pl.col("line").is_in(lines.implode()))
    told = found.filter(pl.col("text").str.contains(dialect.delimiter, literal=True)).collect(engine="streaming")
    spans: list[tuple[int, int]] = []
    begin: int | None = None
    for line, text in told.select("line", "text").rows():
        rows, _, _ = cut([text], dialect.delimiter, dialect.quote_char)
        same = is_header(rows[0], dialect.header_rows, dialect.names_at) if rows else None
        if same is None:
            continue
        if same and begin is not None:
            spans.append((begin, line))
            begin = None
        elif not same and begin is None:
            begin = line
    return [*spans, (begin, _END)] if begin is not None else spans
