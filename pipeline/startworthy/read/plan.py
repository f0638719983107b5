"""How one log will be read: dialect, time, columns and set, from its first bytes and from what a layout states."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import polars as pl

from startworthy.problems import InputError, Problem
from startworthy.read.aligned import SPACE, cut_at, spans_of
from startworthy.read.columns import ColumnPlan, Place, plan_columns
from startworthy.read.dialect import SET_WORDS, Dialect, dialect_of, sample_of, set_column_of
from startworthy.read.encoding import as_utf8, encoding_of, without_junk
from startworthy.read.exact import scan_lines
from startworthy.read.headers import unit_named
from startworthy.read.layout import NULL_WORDS, ColumnLayout, DateOrder, Layout
from startworthy.read.longform import LongForm, find_long_form
from startworthy.read.markscan import tell_marks
from startworthy.read.parse import AS_TEXT, AS_WORD, Cells, how_to_read
from startworthy.read.source import Source
from startworthy.read.timecolumn import Sample, listed, plan_time
from startworthy.read.times import TimePlan
from startworthy.results import ColumnRead


@dataclass(frozen=True, slots=True)
class Options:
    """What the caller knows: a layout, the zone of each set, and words from the command line, which go first."""

    layout: Layout
    zone_of: Callable[[str], str]
    time_zone: str | None = None
    date_order: DateOrder | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """How one log will be read. `time` is None where `problems` has the reason. aligned: see aligned.py."""

    source: Source
    encoding: str
    dialect: Dialect
    time: TimePlan | None
    columns: ColumnPlan
    long: LongForm | None
    set_id: str
    set_from: str
    set_column: int | None
    nulls: tuple[str, ...]
    ascii_sample: bool
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()
    aligned: bool = False

    def layout(self, given: Layout, units: Sequence[ColumnRead] = ()) -> Layout:
        """The layout as found, with what was given laid over it."""
        headers = self.dialect.headers
        told = {read.header: read for read in units}
        columns: dict[str, ColumnLayout] = {}
        for wanted in self.columns.wanted:
            read = told.get(wanted.header)
            if read is None or read.signal is not None:
                unit = read.unit if read else wanted.spelling
                # A signal that needs no unit may have words in a unit's place: they are none
                known = unit if unit_named(unit) is not None else ""
                columns[wanted.header] = ColumnLayout(signal=wanted.signal.name, unit=known)
        for left in self.columns.left:
            columns.setdefault(left.header, ColumnLayout())
        time = self.time
        found = Layout(
            encoding=self.encoding, delimiter=SPACE if self.aligned else self.dialect.delimiter,
            quote_char=self.dialect.quote_char,
            skip_rows=self.dialect.skip_rows, header_row_count=self.dialect.header_row_count,
            decimal_char="," if self.dialect.decimal_char == "," else ".", group_char=self.dialect.group_char or None,
            time_column=headers[time.time_column] if time else None,
            date_column=headers[time.date_column] if time and time.date_column is not None else None,
            time_format=time.time_format if time else None, date_order=time.date_order if time else None,
            time_zone=time.time_zone if time else None,
            set_id=None if self.set_column is not None else self.set_id,
            set_column=headers[self.set_column] if self.set_column is not None else None,
            name_column=headers[self.long.name] if self.long else None,
            value_column=headers[self.long.value] if self.long else None,
            unit_column=headers[self.long.unit] if self.long and self.long.unit is not None else None,
            columns=columns,
        )  # fmt: skip
        return given.over(found)


def plan_log(source: Source, options: Options) -> Plan:
    """Tell how a log is to be read, from its first bytes. Raises InputError where not even a header is found."""
    if source.kind:
        as_written = {"delimiter": ",", "encoding": "utf-8", "quote_char": '"'}
        options = replace(options, layout=options.layout.model_copy(update=as_written))
    given = options.layout
    head = source.head()
    if not head:
        raise InputError(Problem("file_empty", source.label))
    encoding = given.encoding or encoding_of(head, source.label)
    utf8 = as_utf8(source, encoding)
    sample, whole = sample_of(utf8)
    text = without_junk(sample.decode("utf-8-sig", errors="replace"))
    if encoding == "windows-1252" and given.encoding is None and is_no_western_text(text):
        raise InputError(Problem("ambiguous_encoding", source.label))
    spans = None
    if given.delimiter in (None, SPACE) and "  " in text:
        spans = spans_of(text.split("\n"), headless=given.header_row_count == 0, stated=given.delimiter == SPACE)
    if spans is None:
        dialect = dialect_of(text, source.label, given, whole)
        return plan_table(utf8, encoding, dialect, options, ascii_sample=sample.isascii())
    utf8 = cut_at(utf8, spans)
    inner = given.model_copy(update={"delimiter": "\t"})
    dialect = dialect_of(sample_of(utf8)[0].decode("utf-8", errors="replace"), source.label, inner, whole)
    dialect = replace(dialect, notes=("cells stand apart by spaces, in columns",))
    plan = plan_table(utf8, encoding, dialect, replace(options, layout=inner), ascii_sample=sample.isascii())
    return replace(plan, aligned=True)


def plan_table(source: Source, encoding: str, dialect: Dialect, options: Options, *, ascii_sample: bool) -> Plan:
    """Tell time, set and signals of a table whose cells are known."""
    given, label = options.layout, source.label
    headers = dialect.headers
    problems: list[Problem] = []
    long = find_long_form(dialect, given, label, problems)
    dialect = replace(dialect, marks=tell_marks(source, dialect, long, given))
    if dialect.marks.open is not None:
        header, cell = dialect.marks.open
        problems.append(Problem("ambiguous_numbers", label, dialect.header_line, header, {"example": cell}))
    time: TimePlan | None = None
    try:
        sample = Sample(headers, dialect.body, dialect.decimal_char, label, source.stem, given)
        time = plan_time(sample, options.date_order, lambda t, d: _stamps(source, dialect, t, d))
    except InputError as error:
        line = header_place(label, dialect).line
        problems += [replace(p, line=line) if p.column in headers else p for p in error.problems]
    set_header = given.set_column or (None if given.set_id else set_column_of(headers))
    set_column = headers.index(set_header) if set_header in headers else None
    if given.set_column is not None and set_column is None:
        problems.append(
            Problem("no_such_column", label, column=given.set_column, values={"near": ", ".join(headers[:8])})
        )
    taken = [t for t in ((time.time_column, time.date_column) if time else ()) if t is not None]
    taken += [set_column] if set_column is not None else []
    if time is None:
        taken += [headers.index(p.column) for p in problems if p.column in headers]
    if long is not None:
        unused = [h for i, h in enumerate(headers) if i not in (*taken, *long.positions())]
        columns = ColumnPlan((), tuple(ColumnRead(h, None, why="one row a value: not used") for h in unused))
    else:
        columns = plan_columns(headers, dialect.units_row, given, taken, header_place(label, dialect))
        no_time_at_all = any(p.code == "no_time_column" for p in problems)
        if not columns.wanted and not no_time_at_all:
            problems.append(no_signal(label, headers, columns))
    set_id, set_from = _set_id(given, dialect, source.stem)
    notes = dialect.notes + (time.notes if time else ())
    nulls = tuple(word.casefold() for word in given.null) if given.null is not None else NULL_WORDS
    return Plan(
        source, encoding, dialect, time, columns, long, set_id, set_from, set_column, nulls, ascii_sample,
        tuple(problems), notes,
    )  # fmt: skip


def header_place(label: str, dialect: Dialect) -> Place:
    """Where the header of a log is; without a line where it has none."""
    return Place(label, dialect.header_line if dialect.header_row_count else None)


def no_signal(label: str, headers: Sequence[str], columns: ColumnPlan) -> Problem:
    """No column is left that holds a signal."""
    unknown = next((c.header for c in columns.left if not c.header.startswith("#")), headers[-1] if headers else "")
    return Problem("no_known_signal", label, values={"columns": listed(headers), "header": unknown.replace('"', '\\"')})


def _set_id(given: Layout, dialect: Dialect, stem: str) -> tuple[str, str]:
    if given.set_id:
        return given.set_id, "the layout"
    for words in (*SET_WORDS, "id", "name", "serial number", "serial no", "serial"):
        if dialect.preamble.get(words):
            return dialect.preamble[words], f"the line {words!r} above the header"
    return stem, "the file name"


def _stamps(source: Source, dialect: Dialect, time: int, date: int | None) -> pl.Series:
    """All time stamps of a log, in file order, read by cutting lines at the delimiter."""
    around = f' "{dialect.quote_char}'

    def cell(n: int) -> pl.Expr:
        return pl.col("text").str.split(dialect.delimiter).list.get(n, null_on_oob=True).str.strip_chars(around)

    stamp = cell(time) if date is None else cell(date) + " " + cell(time)
    lines = scan_lines(source, dialect.skip_lines).select(stamp.alias("stamp"))
    return lines.collect(engine="streaming")["stamp"]


def cells_of(plan: Plan) -> list[Cells]:
    """The columns to read from the text."""
    headers = plan.dialect.headers
    cells = [
        Cells(w.position, w.signal.name, w.header, how_to_read(w.signal.quantity), w.unit, w.signal)
        for w in plan.columns.wanted
    ]
    if plan.set_column is not None:
        cells.append(Cells(plan.set_column, "set_id", headers[plan.set_column], AS_WORD))
    if plan.long is not None:
        cells.append(Cells(plan.long.name, "name", headers[plan.long.name], AS_WORD))
        cells.append(Cells(plan.long.value, "value", headers[plan.long.value], AS_TEXT))
        if plan.long.unit is not None:
            cells.append(Cells(plan.long.unit, "unit", headers[plan.long.unit], AS_WORD))
    return cells


_SIGN_IN_WORD = re.compile(r"[a-zA-Z][¹³¿¼¾¥£ª]+[a-zA-Z]|(?<![\w.,])[¯¹³]+[a-z]|[a-z]œ(?![uil])")


def is_no_western_text(text: str) -> bool:
    """Whether a text that was read as Windows-1252 has signs where a word has letters: it is in another code page."""
    return _SIGN_IN_WORD.search(text) is not None
