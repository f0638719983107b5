"""The fast path from a delimited text to typed columns: all cells as text, cast by expressions, in one streaming pass.

Beside the pass, and only where something is wrong, the few rows and cells that were refused are gathered with
their line and raw text. Rows are counted twice, by line ends and by the parser; where the two differ the file is
taken apart again the exact way (exact.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import polars as pl

from startworthy.problems import InputError, Problem
from startworthy.read.dialect import Dialect
from startworthy.read.exact import rebuild, scan_lines
from startworthy.read.numbers import to_numbers
from startworthy.read.reasons import RefusedReason
from startworthy.read.source import FactsLater, Source
from startworthy.read.times import TimePlan, read_times
from startworthy.signals import Quantity

WIDEST = 4096
CELL_TEXT = 200
AS_NUMBER, AS_WORD, AS_TEXT = "number", "word", "text"
REFUSED = {"line": pl.UInt32, "column": pl.String, "value": pl.String, "reason": pl.String, "cost": pl.String}
"""Columns of refused cells and rows within one file."""


@dataclass(frozen=True, slots=True)
class Cells:
    """One column to read: its place, its name in the result, and as what: number, word (Categorical) or raw text."""

    position: int
    name: str
    header: str
    how: str


def how_to_read(quantity: Quantity) -> str:
    """Numbers are cast in the pass; flags and texts are kept as words and mapped later, word by word."""
    return AS_WORD if quantity in (Quantity.TEXT, Quantity.FLAG) else AS_NUMBER


@dataclass(frozen=True, slots=True)
class Parsed:
    """What the pass gives. frame: `line` (UInt32), `at` (Datetime us, no zone; null in no row), then the columns asked for.

    rows: rows below the header that are not blank; rows_refused of them are not in `frame`. null_words: per column.
    """

    frame: pl.DataFrame
    refused: pl.DataFrame
    rows: int
    sha256: str
    ascii: bool
    null_words: dict[str, int]


@dataclass(slots=True)
class _Pass:
    """One pass over a file: turns each batch of text columns into typed ones and keeps what did not fit."""

    plan: TimePlan
    columns: Sequence[Cells]
    extra: Sequence[str]
    decimal: str
    group: str
    nulls: Sequence[str]
    bad_cells: list[pl.DataFrame] = field(default_factory=list)
    bad_times: list[pl.DataFrame] = field(default_factory=list)
    too_long: list[pl.Series] = field(default_factory=list)
    null_words: dict[str, int] = field(default_factory=dict)
    error: BaseException | None = None

    def schema(self) -> dict[str, Any]:
        kinds = {AS_NUMBER: pl.Float64, AS_WORD: pl.Categorical, AS_TEXT: pl.String}
        return {"row": pl.UInt32, "at": pl.Datetime("us"), **{c.name: kinds[c.how] for c in self.columns}}

    def __call__(self, batch: pl.DataFrame) -> pl.DataFrame:
        try:
            return self._typed(batch)
        except BaseException as error:
            # Kept, as the engine would hand it on as one of its own
            self.error = error
            raise

    def _typed(self, batch: pl.DataFrame) -> pl.DataFrame:
        row = batch["row"]
        time = batch[f"c{self.plan.time_column}"]
        date = None if self.plan.date_column is None else batch[f"c{self.plan.date_column}"]
        at = read_times(time, date, self.plan)
        if at.null_count():
            lost = at.is_null()
            self.bad_times.append(
                pl.DataFrame({"row": row.filter(lost), "value": time.filter(lost),
                              "date": time.filter(lost) if date is None else date.filter(lost)})
            )  # fmt: skip
        for name in self.extra:
            cells = batch[name]
            if cells.null_count() < len(cells):
                filled = (cells.str.strip_chars() != "").fill_null(False)
                if filled.any():
                    self.too_long.append(row.filter(filled))
        typed = [row, at.alias("at")]
        for column in self.columns:
            text = batch[f"c{column.position}"]
            if column.how == AS_NUMBER:
                numbers, bad, words = to_numbers(text, self.decimal, self.group, self.nulls)
                if bad is not None:
                    self.bad_cells.append(
                        pl.DataFrame({"row": row.gather(bad), "value": text.gather(bad)})
                        .with_columns(column=pl.lit(column.header))
                    )  # fmt: skip
                if words:
                    self.null_words[column.header] = self.null_words.get(column.header, 0) + words
                typed.append(numbers.alias(column.name))
            elif column.how == AS_WORD:
                typed.append(text.str.strip_chars().cast(pl.Categorical).alias(column.name))
            else:
                typed.append(text.alias(column.name))
        return pl.DataFrame(typed)


def parse(
    source: Source, dialect: Dialect, plan: TimePlan, columns: Sequence[Cells], nulls: Sequence[str]
) -> Parsed:
    """Read the columns of a log. Raises InputError (`file_unreadable`) where not even the exact way finds rows."""
    later = FactsLater(source)
    skip = dialect.skip_lines
    try:
        one, frame = _scan(source, dialect, plan, columns, nulls, dialect.quote_char, skip)
        lines: pl.Series | None = None
        quotes: pl.DataFrame | None = None
    except pl.exceptions.PolarsError:
        one, frame, lines, quotes = _exactly(source, dialect, plan, columns, nulls)
    facts = later.get()
    if lines is None and frame.height != max(facts.lines - skip, 0):
        one, frame, lines, quotes = _exactly(source, dialect, plan, columns, nulls)
    return _settle(source, dialect, one, frame, lines, quotes, facts.sha256, facts.ascii)


def _exactly(
    source: Source, dialect: Dialect, plan: TimePlan, columns: Sequence[Cells], nulls: Sequence[str]
) -> tuple[_Pass, pl.DataFrame, pl.Series | None, pl.DataFrame | None]:
    if not dialect.quote_char:
        raise InputError(Problem("file_unreadable", source.label, values={"why": "its rows and its lines do not agree"}))
    cleaned = rebuild(source, dialect.skip_lines, dialect.delimiter, dialect.quote_char, len(dialect.headers))
    own = Source(source.label, source.stem, None, cleaned.data, "")
    try:
        one, frame = _scan(own, dialect, plan, columns, nulls, dialect.quote_char, 0)
    except pl.exceptions.PolarsError as error:
        why = str(error).split("\n")[0].lower()[:80]
        raise InputError(Problem("file_unreadable", source.label, values={"why": why})) from None
    if frame.height != len(cleaned.lines):
        raise InputError(Problem("file_unreadable", source.label, values={"why": "its rows and its lines do not agree"}))
    return one, frame, cleaned.lines, cleaned.refused


def _scan(
    source: Source, dialect: Dialect, plan: TimePlan, columns: Sequence[Cells], nulls: Sequence[str], quote: str, skip: int
) -> tuple[_Pass, pl.DataFrame]:
    """One pass, with room for one cell more than the header and the sample have; for more if that does not do."""
    width = max(len(dialect.headers), 1)
    if source.data is not None and not source.data:
        one = _Pass(plan, columns, (), dialect.decimal_char, dialect.group_char, nulls)
        return one, pl.DataFrame(schema=one.schema())
    for room in (max(dialect.width - width, 0) + 1, None):
        most = room if room is not None else min(_most_cells(source, dialect, skip), WIDEST) - width
        extra = [f"c{width + n}" for n in range(max(most, 0) + (room is None))]
        one = _Pass(plan, columns, extra, dialect.decimal_char, dialect.group_char, nulls)
        names = [f"c{n}" for n in range(width)] + extra
        used = {f"c{n}" for n in (plan.time_column, plan.date_column, *(c.position for c in columns)) if n is not None}
        scan = pl.scan_csv(
            source.scannable(), has_header=False, schema=dict.fromkeys(names, pl.String), separator=dialect.delimiter,
            quote_char=quote or None, skip_lines=skip, encoding="utf8-lossy", missing_columns="insert",
            truncate_ragged_lines=room is None, row_index_name="row",
        ).select("row", *[n for n in names if n in used or n in extra])  # fmt: skip
        try:
            frame = scan.map_batches(one, schema=one.schema(), streamable=True, validate_output_schema=False).collect(engine="streaming")
        except pl.exceptions.PolarsError as error:
            if one.error is not None:
                raise one.error from None
            if room is not None and ("more fields" in str(error) or "extra" in str(error)):
                continue
            raise
        return one, frame
    raise AssertionError("unreachable")


def _most_cells(source: Source, dialect: Dialect, skip: int) -> int:
    """Most cells that any line can have, quotes not considered."""
    counted = scan_lines(source, skip).select(pl.col("text").str.count_matches(dialect.delimiter, literal=True).max())
    most = counted.collect(engine="streaming").item()
    return int(most or 0) + 1


def _settle(
    source: Source, dialect: Dialect, one: _Pass, frame: pl.DataFrame, lines: pl.Series | None, quotes: pl.DataFrame | None,
    sha256: str, ascii_only: bool,
) -> Parsed:
    """Give rows their line numbers, take the refused ones out, and say why each was."""
    offset = dialect.skip_lines + 1

    def line_of(row: pl.Series) -> pl.Series:
        return (row + offset).cast(pl.UInt32) if lines is None else lines.gather(row).cast(pl.UInt32)

    refused: list[pl.DataFrame] = []
    rows = frame.height
    if quotes is not None and quotes.height:
        refused.append(quotes.select("line", column=pl.lit(None, pl.String), value=pl.col("value").str.head(CELL_TEXT),
                                     reason="reason", cost=pl.lit("row")))  # fmt: skip
        rows += quotes.height
    bad_rows, blank = _bad_rows(source, dialect, one, line_of)
    rows -= blank
    if bad_rows is not None:
        refused.append(bad_rows)
    line = line_of(frame["row"]).alias("line")
    frame = frame.drop("row").insert_column(0, line)
    lost = frame["at"].null_count() or one.too_long
    if lost:
        keep = pl.col("at").is_not_null()
        if bad_rows is not None:
            keep &= ~pl.col("line").is_in(bad_rows["line"].to_list())
        frame = frame.filter(keep)
    if one.bad_cells:
        cells = pl.concat(one.bad_cells)
        cells = cells.select(line_of(cells["row"]).alias("line"), "column", pl.col("value").str.head(CELL_TEXT),
                             reason=pl.lit(RefusedReason.NOT_A_NUMBER.value), cost=pl.lit("cell"))  # fmt: skip
        if bad_rows is not None:
            cells = cells.filter(~pl.col("line").is_in(bad_rows["line"].to_list()))
        refused.append(cells)
    every = pl.concat([r.cast(REFUSED) for r in refused]) if refused else pl.DataFrame(schema=REFUSED)  # type: ignore[arg-type]
    return Parsed(frame, every, rows, sha256, ascii_only, one.null_words)


def _bad_rows(source: Source, dialect: Dialect, one: _Pass, line_of: Any) -> tuple[pl.DataFrame | None, int]:
    """Rows refused as a whole, and the number of blank lines, which are no rows."""
    if not one.bad_times and not one.too_long:
        return None, 0
    # The whole line is needed to tell a blank one, a repeated header and a footer from a row with a bad time
    rows = pl.concat([*(b["row"] for b in one.bad_times), *one.too_long]).unique()
    asked = line_of(rows).implode()
    text = scan_lines(source, dialect.skip_lines).filter(pl.col("line").is_in(asked)).collect(engine="streaming")
    time_header = dialect.headers[one.plan.time_column]
    found: list[pl.DataFrame] = []
    blank = 0
    if one.bad_times:
        bad = pl.concat(one.bad_times)
        bad = bad.with_columns(line_of(bad["row"]).alias("line")).join(text, on="line", how="left", maintain_order="left")
        whole = pl.col("text").fill_null("").str.strip_chars(" \t\r\x1a")
        blank = bad.filter(whole == "").height
        cells = whole.str.strip_chars(f"{dialect.delimiter} \t\"")
        value = pl.col("value").str.strip_chars()
        words = RefusedReason
        reason = (
            pl.when(value.str.to_lowercase() == time_header.lower()).then(pl.lit(words.REPEATED_HEADER.value))
            .when(~cells.str.contains(dialect.delimiter, literal=True)).then(pl.lit(words.NOT_A_ROW.value))
            .when(value.is_null() | (value == "") | pl.col("date").is_null()).then(pl.lit(words.NO_TIME.value))
            .otherwise(pl.lit(words.BAD_TIME.value))
        )  # fmt: skip
        raw = pl.when(reason.is_in([words.NOT_A_ROW.value, words.REPEATED_HEADER.value])).then(whole).otherwise(value)
        column = pl.when(reason.is_in([words.NO_TIME.value, words.BAD_TIME.value])).then(pl.lit(time_header))
        found.append(bad.filter(whole != "").select("line", column=column, value=raw.str.head(CELL_TEXT), reason=reason, cost=pl.lit("row")))
    if one.too_long:
        long = pl.DataFrame({"line": line_of(pl.concat(one.too_long).unique().sort())})
        long = long.join(text, on="line", how="left", maintain_order="left")
        found.append(long.select("line", column=pl.lit(None, pl.String), value=pl.col("text").str.head(CELL_TEXT),
                                 reason=pl.lit(RefusedReason.TOO_MANY_CELLS.value), cost=pl.lit("row")))  # fmt: skip
    bad_rows = pl.concat([f.cast(REFUSED) for f in found]).unique("line", keep="first", maintain_order=True)  # type: ignore[arg-type]
    return bad_rows, blank
