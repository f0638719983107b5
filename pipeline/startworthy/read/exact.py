"""The slow, exact way from bytes to records, for files whose quotes make rows and lines differ.

A quoted line break joins lines into one record. An unclosed quote would swallow all rows to the next quote: where a
line that such a record takes in is a whole row by itself, the quote is held to be broken, its line is refused,
and the rows after it are read. Line numbers stay true throughout.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import polars as pl

from startworthy.read.reasons import RefusedReason, refused_rows
from startworthy.read.source import Source


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """Clean records as UTF-8 CSV without header, the line (from 1) of each, and the lines that were refused.

    cells: `line`, `text` and `cells` of the records whose number of cells is not the usual one.
    """

    data: bytes
    lines: pl.Series
    refused: pl.DataFrame
    cells: pl.DataFrame


def scan_lines(source: Source, skip_lines: int) -> pl.LazyFrame:
    """Each physical line below `skip_lines` as text (null if empty), with its number: columns `line`, `text`."""
    return pl.scan_csv(
        source.scannable(), has_header=False, schema={"text": pl.String}, separator=unused_byte(source),
        quote_char=None, skip_lines=skip_lines, encoding="utf8-lossy", truncate_ragged_lines=True,
        extra_columns="ignore", glob=False,
    ).with_row_index("line", offset=skip_lines + 1)  # fmt: skip


def unused_byte(source: Source) -> str:
    """A control character that the log does not hold: read with it as delimiter, a line is one cell.

    Where a stretch of junk holds all of them, its lines are cut at the first.
    """
    for code in (*range(1, 9), *range(14, 26), *range(27, 32)):
        if not any(bytes([code]) in part for part in source.parts()):
            return chr(code)
    return "\x01"


def cell_count(text: pl.Expr, delimiter: str, quote: str) -> pl.Expr:
    """Cells of each record: its delimiters outside quotes, and one."""
    if quote:
        q = re.escape(quote)
        quoted = text.str.contains(quote, literal=True)
        text = pl.when(quoted).then(text.str.replace_all(f"{q}[^{q}]*{q}", "")).otherwise(text)
    return text.str.count_matches(delimiter, literal=True) + 1


def rebuild(
    source: Source, skip_lines: int, delimiter: str, quote: str, columns: int, *, usual: int | None = None
) -> Rebuilt:
    """Records of a log. columns: how many the header has; a row with more is refused, unless they are empty.

    usual: how many cells most rows have, if other than that.
    """
    lines = scan_lines(source, skip_lines).collect().with_columns(pl.col("text").fill_null(""))
    if not quote:
        return _rebuilt(lines, delimiter, quote, (columns, usual or columns), [])
    odd = (lines["text"].str.count_matches(quote, literal=True) % 2 == 1).arg_true().to_list()
    whole = (
        (lines["text"].str.count_matches(delimiter, literal=True) >= max(columns - 1, 1))
        .cast(pl.UInt32)
        .cum_sum()
        .to_list()
    )
    d, q = re.escape(delimiter), re.escape(quote)
    ends = f"^(?:(?:[^{q}]|{q}{q})*[^{q}{d}])?{q}[ \\t]*(?:{d}|\\r?$)"
    unclosed, joined = _pair(odd, whole, lines["text"].str.contains(ends).to_list())
    starts = pl.Series([True], dtype=pl.Boolean).new_from_index(0, lines.height)
    if joined:
        starts = starts.scatter([i for a, b in joined for i in range(a + 1, b + 1)], False)
    broken = lines[unclosed]
    refused = refused_rows(broken["line"], None, broken["text"], RefusedReason.UNCLOSED_QUOTE)
    records = lines.with_columns(record=starts.cast(pl.UInt32).cum_sum())
    if unclosed:
        records = records.filter(~pl.col("line").is_in(refused["line"].to_list()))
    if joined:
        records = records.group_by("record", maintain_order=True).agg(
            pl.col("line").first(), pl.col("text").str.join("\n")
        )
    records, ill = _well_formed(records.select("line", "text"), delimiter, quote)
    return _rebuilt(records, delimiter, quote, (columns, usual or columns), [refused, ill])


def _rebuilt(
    records: pl.DataFrame, delimiter: str, quote: str, widths: tuple[int, int], refused: list[pl.DataFrame]
) -> Rebuilt:
    """Records with more cells than the header apart; cells that are empty beyond it are cut off."""
    columns, usual = widths
    d = re.escape(delimiter)
    blank = "[ \\t\\r]" if delimiter != "\t" else "[ \\r]"
    text = pl.col("text")
    records = records.select("line", "text").with_columns(cells=cell_count(text, delimiter, quote))
    ended = text.str.replace(f"(?:{d}{blank}*)+$", "")
    records = records.with_columns(ended=pl.when(pl.col("cells") > columns).then(ended))
    records = records.with_columns(filled=cell_count(pl.col("ended"), delimiter, quote))
    long = records.filter(pl.col("filled") > columns)
    refused = [*refused, refused_rows(long["line"], None, long["text"], RefusedReason.TOO_MANY_CELLS)]
    records = records.filter((pl.col("filled") <= columns).fill_null(True))
    unusual = records.filter(pl.col("cells") != usual).select("line", "text", "cells")
    data = "\n".join(records.select(pl.coalesce("ended", "text"))["ended"].to_list())
    return Rebuilt((data + "\n").encode() if records.height else b"", records["line"], pl.concat(refused), unusual)


def _pair(odd: list[int], whole: list[int], ends: list[bool]) -> tuple[list[int], list[tuple[int, int]]]:
    """Lines with an odd number of quotes, paired into records of several lines, or singled out as broken.

    whole: running count of lines that have as many delimiters as a whole row. ends: whether the first quote of a line
    can be the end of a cell that began above; then the line is no whole row by itself, whatever its delimiters.
    """
    unclosed: list[int] = []
    joined: list[tuple[int, int]] = []
    at = 0
    while at < len(odd):
        first = odd[at]
        last = odd[at + 1] if at + 1 < len(odd) else None
        if last is None or whole[last - 1 if ends[last] else last] > whole[first]:
            unclosed.append(first)
            at += 1
        else:
            joined.append((first, last))
            at += 2
    return unclosed, joined


def _well_formed(records: pl.DataFrame, delimiter: str, quote: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Records whose quotes are in order, with spaces around quoted cells taken off; and the others, to be refused."""
    d, q = re.escape(delimiter), re.escape(quote)
    blank = "[ \\t]*" if delimiter != "\t" else "[ ]*"
    quoted, plain = f"{q}(?:[^{q}]|{q}{q})*{q}", f"[^{q}{d}\\n]*"
    strict = f"(?s)^(?:{quoted}|{plain})(?:{d}(?:{quoted}|{plain}))*$"
    loose = f"(?s)^(?:{blank}{quoted}{blank}|{plain})(?:{d}(?:{blank}{quoted}{blank}|{plain}))*$"
    text = pl.col("text")
    has = text.str.contains(quote, literal=True)
    judged = records.with_columns(
        fine=~has | text.str.contains(strict), loose=~has | text.str.contains(loose)
    ).with_columns(
        text=pl.when("fine").then(text).otherwise(text.str.replace_all(f"(^|{d}){blank}({quoted}){blank}", "$1$2"))
    )
    ill = judged.filter(~pl.col("loose"))
    return judged.filter("loose").select("line", "text"), refused_rows(
        ill["line"], None, ill["text"], RefusedReason.BAD_QUOTES
    )
