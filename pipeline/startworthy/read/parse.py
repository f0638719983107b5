"""The fast path from a delimited text to typed columns: all cells as text, cast by expressions, in one streaming pass.

Beside the pass, and only where something is wrong, the few rows and cells that were refused are gathered with
their line and raw text. Rows are counted twice, by line ends and by the parser; where the two differ the file is
taken apart again the exact way (exact.py).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

import polars as pl

from startworthy.problems import InputError, Problem
from startworthy.read.dialect import Dialect
from startworthy.read.exact import rebuild, scan_lines
from startworthy.read.headers import unit_named
from startworthy.read.numbers import to_inner, to_numbers
from startworthy.read.reasons import CELL_TEXT, RefusedReason, refused_rows, refused_schema
from startworthy.read.restart import below_other_headers
from startworthy.read.source import Facts, FactsLater, Source
from startworthy.read.times import TimePlan, read_times
from startworthy.read.unsure import Doubts, unsure_rows, usual_cells
from startworthy.read.wording import dtype_of, to_meaning
from startworthy.signals import Quantity, Signal, Unit

AS_NUMBER, AS_WORD, AS_TEXT = "number", "word", "text"
_NUMBER_AND_UNIT = r"^\s*(?<number>[+\-\u2212]?[\d.,' ]*\d)\s*(?<unit>[^\d\s.,+\-][^\s]*)\s*$"
_NO_TEXT = pl.Series([None], dtype=pl.String)


@dataclass(frozen=True, slots=True)
class Cells:
    """One column to read: its place, its name in the result, and as what: number, word (Categorical) or raw text.

    unit: numbers are taken to the inner unit in the pass; None leaves them as written. signal: words are taken to
    their meaning; None leaves them as they are.
    """

    position: int
    name: str
    header: str
    how: str
    unit: Unit | None = None
    signal: Signal | None = None


def how_to_read(quantity: Quantity) -> str:
    """Numbers are cast in the pass; flags and texts are kept as words and mapped later, word by word."""
    return AS_WORD if quantity in (Quantity.TEXT, Quantity.FLAG) else AS_NUMBER


@dataclass(frozen=True, slots=True)
class Parsed:
    """What the pass gives. frame: `line` (UInt32), `at` (Datetime us, no zone, never null), then the columns asked for.

    rows: rows below the header that are not blank; rows_refused of them are not in `frame`. null_words: per column.
    lossy: bytes were met that are no UTF-8. quoted: the file has a quote.
    short: rows with fewer cells than the header, where that is usual.
    """

    frame: pl.DataFrame
    refused: pl.DataFrame
    rows: int
    sha256: str
    ascii: bool
    null_words: dict[str, int]
    ranges: dict[str, tuple[float, float]]
    lossy: bool = False
    short: int = 0
    quoted: bool = True


@dataclass(frozen=True, slots=True)
class Job:
    """What a pass has to do. constant: a column of one value for every row (the set's id), given as one cell."""

    dialect: Dialect
    time: TimePlan
    columns: Sequence[Cells]
    nulls: Sequence[str]
    constant: pl.Series | None = None


@dataclass(slots=True)
class _Pass:
    """One pass over a file: turns each batch of text columns into typed ones and keeps what did not fit."""

    job: Job
    extra: Sequence[str]
    bad_cells: list[pl.DataFrame] = field(default_factory=list)
    bad_times: list[pl.DataFrame] = field(default_factory=list)
    too_long: list[pl.Series] = field(default_factory=list)
    null_words: dict[str, list[int]] = field(default_factory=dict)
    ranges: dict[str, list[float]] = field(default_factory=dict)
    error: BaseException | None = None
    lossy: bool = False

    def schema(self) -> dict[str, Any]:
        """Columns of the result."""
        kinds: dict[str, Any] = {AS_NUMBER: pl.Float64, AS_WORD: pl.Categorical, AS_TEXT: pl.String}
        own = {} if self.job.constant is None else {self.job.constant.name: self.job.constant.dtype}
        columns = {c.name: dtype_of(c.signal) if c.signal is not None else kinds[c.how] for c in self.job.columns}
        return {"row": pl.UInt32, "at": pl.Datetime("us"), **own, **columns}

    def __call__(self, batch: pl.DataFrame) -> pl.DataFrame:
        try:
            return self._typed(batch)
        except BaseException as error:
            # Kept, as the engine would hand it on as one of its own
            self.error = error
            raise

    def _typed(self, batch: pl.DataFrame) -> pl.DataFrame:
        row = batch["row"]
        time = batch[f"c{self.job.time.time_column}"]
        date = None if self.job.time.date_column is None else batch[f"c{self.job.time.date_column}"]
        at = read_times(time, date, self.job.time)
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
        if self.job.constant is not None:
            typed.append(self.job.constant.new_from_index(0, len(row)))
        typed += [self._column(batch[f"c{c.position}"], c, row).alias(c.name) for c in self.job.columns]
        return pl.DataFrame(typed)

    def _column(self, text: pl.Series, column: Cells, row: pl.Series) -> pl.Series:
        if column.how == AS_TEXT:
            return text
        if column.how == AS_WORD:
            if column.signal is None:
                words = text.cast(pl.Categorical)
                # words are few and rows are many: spaces are looked for among the words
                seen = words.unique().cast(pl.String)
                spaced = (seen.str.strip_chars() != seen).any()
                return text.str.strip_chars().cast(pl.Categorical) if spaced else words
            meant, unknown = to_meaning(text, column.signal, self.job.nulls)
            if unknown is not None:
                self._refuse(row, text, unknown, column.header, RefusedReason.UNKNOWN_WORD)
            return meant
        numbers, bad, null_words = to_numbers(
            text, self.job.dialect.decimal_char, self.job.dialect.group_char, self.job.nulls
        )
        if bad is not None:
            numbers, bad = self._with_unit(text, numbers, bad, column)
            self._refuse(row, text, bad, column.header, RefusedReason.NOT_A_NUMBER)
        if null_words:
            self.null_words.setdefault(column.header, []).append(null_words)
        low = numbers.min()
        if low is not None:
            # Batches may come from several threads: appending is all that is safe
            self.ranges.setdefault(column.name, []).extend((low, numbers.max()))  # type: ignore[arg-type]
        return numbers if column.unit is None else to_inner(numbers, column.unit)

    def _with_unit(
        self, text: pl.Series, numbers: pl.Series, bad: pl.Series, column: Cells
    ) -> tuple[pl.Series, pl.Series]:
        """Numbers that have the column's own unit behind them, and the cells that are none even so.

        "12.6 V" in a column of volts is 12.6; "54 °F" in one of degrees Celsius is refused.
        """
        if column.unit is None:
            return numbers, bad
        cells = text.gather(bad).str.extract_groups(_NUMBER_AND_UNIT)
        number, unit = cells.struct.field("number"), cells.struct.field("unit")
        own = [spelled for spelled in unit.drop_nulls().unique().to_list() if unit_named(spelled) == column.unit]
        if not own:
            return numbers, bad
        plain = number.zip_with(unit.is_in(own).fill_null(False), _NO_TEXT.new_from_index(0, len(bad)))
        dialect = self.job.dialect
        again, _, _ = to_numbers(plain, dialect.decimal_char, dialect.group_char, ())
        found = again.is_not_null()
        return numbers.scatter(bad.filter(found), again.filter(found)), bad.filter(~found)

    def _refuse(self, row: pl.Series, text: pl.Series, at: pl.Series, header: str, reason: RefusedReason) -> None:
        cells = pl.DataFrame({"row": row.gather(at), "value": text.gather(at)})
        self.bad_cells.append(cells.with_columns(column=pl.lit(header), reason=pl.lit(reason.value)))


def parse(source: Source, job: Job) -> Parsed:
    """Read the columns of a log. Raises InputError (`file_unreadable`) where not even the exact way finds rows."""
    later = FactsLater(source, job.dialect.delimiter, job.dialect.quote_char)
    skip = job.dialect.skip_lines
    try:
        scanned = None if job.dialect.spaced_quotes else _Scanned(*_scan(source, job, job.dialect.quote_char, skip))
    except pl.exceptions.PolarsError:
        scanned = None
    facts = later.get()
    if scanned is None or scanned.frame.height != max(facts.lines - skip, 0):
        scanned = _exactly(source, job)
    return _settle(source, scanned, facts)


def _exactly(source: Source, job: Job) -> _Scanned:
    dialect = job.dialect
    columns = max(len(dialect.headers), 1)
    cleaned = rebuild(
        source, dialect.skip_lines, dialect.delimiter, dialect.quote_char, columns, usual=usual_cells(dialect)
    )
    own = Source(source.label, source.stem, None, cleaned.data, "")
    try:
        one, frame = _scan(own, job, dialect.quote_char, 0)
    except pl.exceptions.PolarsError as error:
        why = str(error).split("\n")[0].lower()[:80]
        raise InputError(Problem("file_unreadable", source.label, values={"why": why})) from None
    if frame.height != len(cleaned.lines):
        why = "its rows and its lines do not agree"
        raise InputError(Problem("file_unreadable", source.label, values={"why": why}))
    return _Scanned(one, frame, cleaned.lines, cleaned.refused, cleaned.cells)


def _scan(source: Source, job: Job, quote: str, skip: int) -> tuple[_Pass, pl.DataFrame]:
    """One pass, with room for one cell more than the header and the sample have. Raises PolarsError beyond it."""
    dialect = job.dialect
    width = max(len(dialect.headers), 1)
    if source.data is not None and not source.data:
        one = _Pass(job, ())
        return one, pl.DataFrame(schema=one.schema())
    encoding: Literal["utf8", "utf8-lossy"] = "utf8"
    extra = [f"c{width + n}" for n in range(max(dialect.width - width, 0) + 1)]
    names = [f"c{n}" for n in range(width)] + extra
    places = (job.time.time_column, job.time.date_column, *(c.position for c in job.columns))
    used = {f"c{n}" for n in places if n is not None}
    while True:
        one = _Pass(job, extra, lossy=encoding != "utf8")
        scan = pl.scan_csv(
            source.scannable(), has_header=False, schema=dict.fromkeys(names, pl.String), separator=dialect.delimiter,
            quote_char=quote or None, skip_lines=skip, encoding=encoding, missing_columns="insert",
            row_index_name="row", glob=False,
        ).select("row", *[n for n in names if n in used or n in extra])  # fmt: skip
        typed = scan.map_batches(one, schema=one.schema(), streamable=True, validate_output_schema=False)
        try:
            return one, typed.collect(engine="streaming")
        except pl.exceptions.PolarsError as error:
            if one.error is not None:
                raise one.error from None
            if encoding == "utf8" and "utf-8" in str(error):
                # A bad byte costs its cell, not the file; looking for one in each cell costs more than not to
                encoding = "utf8-lossy"
            else:
                raise


@dataclass(frozen=True, slots=True)
class _Scanned:
    """What a pass gave. lines: the line of each row where it does not follow from its place (exact.py).

    gone: rows refused before the pass. cells: the records whose number of cells is not the usual one, if looked for.
    """

    one: _Pass
    frame: pl.DataFrame
    lines: pl.Series | None = None
    gone: pl.DataFrame | None = None
    cells: pl.DataFrame | None = None

    def line_of(self, row: pl.Series) -> pl.Series:
        """Line in the file, from 1, of rows counted from 0."""
        if self.lines is not None:
            return self.lines.gather(row).cast(pl.UInt32)
        return (row + (self.one.job.dialect.skip_lines + 1)).cast(pl.UInt32)


def _settle(source: Source, scanned: _Scanned, facts: Facts) -> Parsed:
    """Give rows their line numbers, take the refused ones out, and say why each was."""
    one, frame = scanned.one, scanned.frame
    refused: list[pl.DataFrame] = []
    rows = frame.height
    if scanned.gone is not None and scanned.gone.height:
        refused.append(scanned.gone)
        rows += scanned.gone.height
    bad_rows, blank = _bad_rows(source, scanned)
    rows -= blank
    frame = frame.drop("row").insert_column(0, scanned.line_of(frame["row"]).alias("line"))
    unsure, short = unsure_rows(
        source, facts, one.job.dialect, Doubts(scanned.cells, _bad_lines(scanned), frame, bad_rows)
    )
    if unsure is not None:
        bad_rows = unsure if bad_rows is None else pl.concat([unsure, bad_rows]).unique("line", keep="first")
    if bad_rows is not None:
        below = below_other_headers(source, one.job.dialect, bad_rows, frame)
        bad_rows = bad_rows if below is None else pl.concat([bad_rows, below]).unique("line", keep="first")
        refused.append(bad_rows)
        frame = frame.filter(pl.col("at").is_not_null() & ~pl.col("line").is_in(bad_rows["line"].implode()))
    if one.bad_cells:
        cells = pl.concat(one.bad_cells)
        cells = cells.with_columns(scanned.line_of(cells["row"]).alias("line"), cost=pl.lit("cell"))
        refused.append(cells.with_columns(pl.col("value").str.head(CELL_TEXT)))
    schema = refused_schema()
    every = pl.concat([r.select(list(schema)) for r in refused]) if refused else pl.DataFrame(schema=schema)
    null_words = {header: sum(counts) for header, counts in one.null_words.items()}
    ranges = {name: (min(ends), max(ends)) for name, ends in one.ranges.items()}
    return Parsed(frame, every, rows, facts.sha256, facts.ascii, null_words, ranges, one.lossy, short, facts.quoted)


def _bad_lines(scanned: _Scanned) -> pl.Series:
    """Lines with a cell that was refused."""
    cells = [cells["row"] for cells in scanned.one.bad_cells]
    return scanned.line_of(pl.concat(cells)) if cells else pl.Series([], dtype=pl.UInt32)


def _bad_rows(source: Source, scanned: _Scanned) -> tuple[pl.DataFrame | None, int]:
    """Rows refused as a whole, and the number of blank lines, which are no rows."""
    one, dialect = scanned.one, scanned.one.job.dialect
    if not one.bad_times and not one.too_long:
        return None, 0
    # The whole line is needed to tell a blank one, a repeated header and a footer from a row with a bad time
    rows = pl.concat([*(b["row"] for b in one.bad_times), *one.too_long]).unique()
    lines = scan_lines(source, dialect.skip_lines).filter(pl.col("line").is_in(scanned.line_of(rows).implode()))
    text = lines.collect(engine="streaming").with_columns(pl.col("text").fill_null(""))
    found: list[pl.DataFrame] = []
    blank = 0
    if one.bad_times:
        bad = pl.concat(one.bad_times)
        bad = bad.with_columns(scanned.line_of(bad["row"]).alias("line")).join(text, on="line", maintain_order="left")
        whole = pl.col("text").str.strip_chars(" \t\r\x1a")
        blank = bad.filter(whole == "").height
        found.append(_why_no_time(bad.filter(whole != ""), dialect, dialect.headers[one.job.time.time_column]))
    if one.too_long:
        long = pl.DataFrame({"line": scanned.line_of(pl.concat(one.too_long))}).join(text, on="line")
        found.append(refused_rows(long["line"], None, long["text"], RefusedReason.TOO_MANY_CELLS))
    return pl.concat(found).unique("line", keep="first", maintain_order=True), blank


def _why_no_time(bad: pl.DataFrame, dialect: Dialect, header: str) -> pl.DataFrame:
    """Rows whose time is not to be read: a header again, a line of other text, no time, or one that is none."""
    whole, value = pl.col("text").str.strip_chars(), pl.col("value").str.strip_chars()
    alone = ~whole.str.strip_chars(f'{dialect.delimiter} \t"').str.contains(dialect.delimiter, literal=True)
    reasons = RefusedReason
    reason = (
        pl.when(value.str.to_lowercase() == header.lower()).then(pl.lit(reasons.REPEATED_HEADER.value))
        .when(alone & (len(dialect.headers) > 2)).then(pl.lit(reasons.NOT_A_ROW.value))
        .when(value.is_null() | (value == "") | pl.col("date").is_null()).then(pl.lit(reasons.NO_TIME.value))
        .otherwise(pl.lit(reasons.BAD_TIME.value))
    )  # fmt: skip
    whole_row = pl.col("reason").is_in([reasons.NOT_A_ROW.value, reasons.REPEATED_HEADER.value])
    return bad.with_columns(reason=reason).select(
        "line",
        column=pl.when(~whole_row).then(pl.lit(header)),
        value=pl.when(whole_row).then(whole).otherwise(value).str.head(CELL_TEXT),
        reason="reason",
        cost=pl.lit("row"),
    )


def quotes_left(parsed: Parsed, quote: str, delimiter: str) -> bool:
    """Whether cells begin with a quote after they were taken apart: spaces stood before it, so it was none."""
    if not quote or not parsed.quoted:
        return False
    begins = rf"^\s*{re.escape(quote)}"
    if parsed.refused.filter(pl.col("cost") == "cell")["value"].str.contains(begins).any():
        return True
    within = rf"(?:^|{re.escape(delimiter)})[ \t]+{re.escape(quote)}"
    if parsed.refused.filter(pl.col("cost") == "row")["value"].str.contains(within).any():
        return True
    words = [column.unique().cast(pl.String) for column in parsed.frame.get_columns() if column.dtype == pl.Categorical]
    texts = [column for column in parsed.frame.get_columns() if column.dtype == pl.String]
    return any(bool(column.str.contains(begins).any()) for column in (*words, *texts))
