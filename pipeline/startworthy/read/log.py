"""One log from bytes to readings: dialect, time, columns, set, zone; then the pass over its rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import polars as pl

from startworthy.problems import InputError, Problem
from startworthy.read.columns import ColumnPlan, Wanted, plan_columns
from startworthy.read.convert import Converted, convert
from startworthy.read.dialect import SET_WORDS, Dialect, dialect_of, set_column_of
from startworthy.read.exact import scan_lines
from startworthy.read.layout import NULL_WORDS, ColumnLayout, DateOrder, Layout
from startworthy.read.longform import LongForm, find_long_form, spread_values
from startworthy.read.parse import AS_TEXT, AS_WORD, REFUSED, Cells, Parsed, how_to_read, parse
from startworthy.read.reasons import RefusedReason
from startworthy.read.source import Source, as_utf8, encoding_of
from startworthy.read.times import TimePlan, plan_time
from startworthy.read.zones import days_added, to_utc
from startworthy.results import ColumnRead, FileRead
from startworthy.register import require_zone

UTC_TIME = pl.Datetime("us", "UTC")


@dataclass(frozen=True, slots=True)
class Options:
    """What the caller knows: a layout, the zone of each set, and words from the command line, which go first."""

    layout: Layout
    zone_of: Callable[[str], str]
    time_zone: str | None = None
    date_order: DateOrder | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """How one log will be read. `time` is None where `problems` has the reason."""

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

    def layout(self, given: Layout, units: Sequence[ColumnRead] = ()) -> Layout:
        """The layout as found, with what was given laid over it."""
        headers = self.dialect.headers
        told = {read.header: read for read in units}
        columns: dict[str, ColumnLayout] = {}
        for wanted in self.columns.wanted:
            read = told.get(wanted.header)
            if read is None or read.signal is not None:
                columns[wanted.header] = ColumnLayout(signal=wanted.signal.name, unit=read.unit if read else wanted.spelling)
        for left in self.columns.left:
            columns.setdefault(left.header, ColumnLayout())
        time = self.time
        found = Layout(
            encoding=self.encoding, delimiter=self.dialect.delimiter, quote_char=self.dialect.quote_char,
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


@dataclass(slots=True)
class LogRead:
    """One log's readings. frame: `set_id`, `at`, signals, `line`; None where the log was refused as a whole."""

    read: FileRead | None
    frame: pl.DataFrame | None
    refused: pl.DataFrame | None
    problems: list[Problem] = field(default_factory=list)
    layout: Layout | None = None


def plan_log(source: Source, options: Options) -> Plan:
    """Tell how a log is to be read, from its first bytes. Raises InputError where not even a header is found."""
    given = options.layout
    head = source.head()
    if not head:
        raise InputError(Problem("file_empty", source.label))
    encoding = given.encoding or encoding_of(head, source.label)
    utf8 = as_utf8(source, encoding)
    sample = utf8.head()
    text = sample.decode("utf-8-sig", errors="replace")
    dialect = dialect_of(text, source.label, given, whole=len(sample) < len(head) or len(sample) < (1 << 18))
    return plan_table(utf8, encoding, dialect, options, ascii_sample=sample.isascii())


def plan_table(source: Source, encoding: str, dialect: Dialect, options: Options, *, ascii_sample: bool) -> Plan:
    """Tell time, set and signals of a table whose cells are known."""
    given, label = options.layout, source.label
    headers = dialect.headers
    problems: list[Problem] = []
    time: TimePlan | None = None
    try:
        time = plan_time(
            headers, dialect.body, given, label, source.stem, dialect.decimal_char, options.date_order,
            lambda t, d: _stamps(source, dialect, t, d),
        )  # fmt: skip
    except InputError as error:
        line = dialect.header_line if dialect.header_row_count else None
        problems += [replace(p, line=line) if p.column in headers else p for p in error.problems]
    set_header = given.set_column or (None if given.set_id else set_column_of(headers))
    set_column = headers.index(set_header) if set_header in headers else None
    if given.set_column is not None and set_column is None:
        problems.append(Problem("no_such_column", label, column=given.set_column, values={"near": ", ".join(headers[:8])}))
    long = find_long_form(dialect, given, label, problems)
    taken = [t for t in ((time.time_column, time.date_column) if time else ()) if t is not None]
    taken += [set_column] if set_column is not None else []
    if time is None:
        taken += [headers.index(p.column) for p in problems if p.column in headers]
    if long is not None:
        columns = ColumnPlan((), tuple(ColumnRead(h, None, why="one row a value: not used") for i, h in enumerate(headers)
                                       if i not in (*taken, *long.positions())))  # fmt: skip
    else:
        line = dialect.header_line if dialect.header_row_count else None
        columns = plan_columns(headers, dialect.units_row, given, taken, label, line)  # type: ignore[arg-type]
        no_time_at_all = any(p.code == "no_time_column" for p in problems)
        if not columns.wanted and not no_time_at_all:
            problems.append(_no_signal(label, headers, columns))
    set_id, set_from = _set_id(given, dialect, source.stem)
    notes = dialect.notes + (time.notes if time else ())
    nulls = tuple(word.casefold() for word in given.null) if given.null is not None else NULL_WORDS
    return Plan(
        source, encoding, dialect, time, columns, long, set_id, set_from, set_column, nulls, ascii_sample, tuple(problems), notes,
    )  # fmt: skip


def _no_signal(label: str, headers: Sequence[str], columns: ColumnPlan) -> Problem:
    unknown = next((c.header for c in columns.left if not c.header.startswith("#")), headers[-1] if headers else "")
    listed = ", ".join(headers[:8]) + (f" and {len(headers) - 8} more" if len(headers) > 8 else "")
    return Problem("no_known_signal", label, values={"columns": listed, "header": unknown.replace('"', '\\"')})


def _set_id(given: Layout, dialect: Dialect, stem: str) -> tuple[str, str]:
    if given.set_id:
        return given.set_id, "the layout"
    for words in SET_WORDS + ("id", "name", "serial number", "serial no", "serial"):
        if dialect.preamble.get(words):
            return dialect.preamble[words], f"the line {words!r} above the header"
    return stem, "the file name"


def _stamps(source: Source, dialect: Dialect, time: int, date: int | None) -> pl.Series:
    """All time stamps of a log, in file order, read by cutting lines at the delimiter."""
    def cell(n: int) -> pl.Expr:
        return pl.col("text").str.split(dialect.delimiter).list.get(n, null_on_oob=True).str.strip_chars(' "')

    stamp = cell(time) if date is None else cell(date) + " " + cell(time)
    lines = scan_lines(source, dialect.skip_lines).select(stamp.alias("stamp"))
    return lines.collect(engine="streaming")["stamp"]


def read_log(source: Source, options: Options) -> LogRead:
    """Read one log. Never raises for bad input: what is wrong stands in `problems`."""
    try:
        plan = plan_log(source, options)
        if plan.problems and any(p.fatal for p in plan.problems):
            return LogRead(None, None, None, [*plan.problems, *plan.columns.problems], plan.layout(options.layout))
        done = read_planned(plan, options)
        if done[1] is not None:
            plan = done[1]
        return done[0]
    except InputError as error:
        return LogRead(None, None, None, list(error.problems))
    except OSError as error:
        return LogRead(None, None, None, [Problem("file_unreadable", source.label, values={"why": (error.strerror or "unreadable").lower()})])


def cells_of(plan: Plan) -> list[Cells]:
    """The columns to read from the text."""
    headers = plan.dialect.headers
    cells = [Cells(w.position, w.signal.name, w.header, how_to_read(w.signal.quantity)) for w in plan.columns.wanted]
    if plan.set_column is not None:
        cells.append(Cells(plan.set_column, "set_id", headers[plan.set_column], AS_WORD))
    if plan.long is not None:
        cells.append(Cells(plan.long.name, "name", headers[plan.long.name], AS_WORD))
        cells.append(Cells(plan.long.value, "value", headers[plan.long.value], AS_TEXT))
        if plan.long.unit is not None:
            cells.append(Cells(plan.long.unit, "unit", headers[plan.long.unit], AS_WORD))
    return cells


def read_planned(plan: Plan, options: Options) -> tuple[LogRead, Plan | None]:
    """The pass over the rows of a planned log."""
    assert plan.time is not None
    parsed = parse(plan.source, plan.dialect, plan.time, cells_of(plan), plan.nulls)
    if not parsed.ascii and plan.ascii_sample and plan.encoding == "utf-8" and options.layout.encoding is None:
        # The first letter beyond ASCII came after the sample: only now can the encoding be told
        raw = plan.source.bytes()
        lines = b"\n".join(line for line in raw.split(b"\n") if not line.isascii())
        if encoding_of(lines, plan.source.label) != "utf-8":
            again = replace(options, layout=options.layout.model_copy(update={"encoding": "windows-1252"}))
            plan = plan_log(plan.source, again)
            return read_planned(plan, again)[0], plan
    return finish(plan, options, parsed), None


def finish(plan: Plan, options: Options, parsed: Parsed) -> LogRead:
    """From raw columns to signals, sets and UTC; the figures of the file."""
    assert plan.time is not None
    label = plan.source.label
    frame, refused, problems = parsed.frame, [parsed.refused], list(plan.problems) + list(plan.columns.problems)
    if not parsed.rows:
        return LogRead(None, None, None, [Problem("header_only", label, plan.dialect.header_line)], plan.layout(options.layout))
    frame, sets_refused = _with_set(frame, plan)
    refused += sets_refused
    frame, time_refused, zones = _with_time(frame, plan, options)
    refused += time_refused
    line = plan.dialect.header_line if plan.dialect.header_row_count else None
    rows_merged = 0
    if plan.long is not None:
        spread = spread_values(frame, plan, options.layout, line)
        done: Converted = spread.done
        frame, rows_merged = spread.frame, spread.values
        refused += spread.refused
    else:
        done = convert(frame, plan.columns.wanted, label, line, plan.nulls)
        frame = frame.select("set_id", "at", "line").with_columns(done.columns)
    refused += done.refused
    problems += done.problems
    reads = [*done.reads, *plan.columns.left]
    layout = plan.layout(options.layout, done.reads)
    every = pl.concat([r.cast(REFUSED) for r in refused])  # type: ignore[arg-type]
    rows_refused = int((every["cost"] == "row").sum())
    if frame.height and not done.columns:
        problems.append(_no_signal(label, plan.dialect.headers, plan.columns))
        return LogRead(None, None, None, problems, layout)
    if not frame.height:
        problems.append(_nothing_left(label, every))
        return LogRead(None, None, every, problems, layout)
    order = {header: n for n, header in enumerate(plan.dialect.headers)}
    reads.sort(key=lambda read: order.get(read.header, len(order)))
    accepted = parsed.rows - rows_refused
    assert plan.long is not None or accepted == frame.height
    file = FileRead(
        path=label, sha256=parsed.sha256, layout=_in_words(plan, zones), rows_read=parsed.rows, rows_accepted=accepted,
        rows_refused=rows_refused, rows_repeated=0, cells_emptied=every.height - rows_refused,
        first_at=frame["at"].min(), last_at=frame["at"].max(),  # type: ignore[arg-type]
        set_ids=tuple(sorted(frame["set_id"].unique().cast(pl.String).to_list())), columns=tuple(reads),
        notes=_notes(plan, parsed, rows_merged),
    )  # fmt: skip
    columns = ["set_id", "at", *(c.name for c in done.columns), "line"]
    return LogRead(file, frame.select(columns), every, problems, layout)


def _nothing_left(label: str, refused: pl.DataFrame) -> Problem:
    first = refused.sort("line").row(0, named=True)
    return Problem("no_row_accepted", label, first["line"], first["column"], {"rows": refused["line"].n_unique(), "reason": first["reason"], "value": (first["value"] or "")[:60]})


def _with_set(frame: pl.DataFrame, plan: Plan) -> tuple[pl.DataFrame, list[pl.DataFrame]]:
    if plan.set_column is None:
        return frame.with_columns(set_id=pl.lit(plan.set_id, dtype=pl.Categorical)), []
    empty = (frame["set_id"].is_null() | (frame["set_id"].cast(pl.String) == "")).fill_null(True)
    if not empty.any():
        return frame, []
    lost = frame.filter(empty)
    return frame.filter(~empty), [_rows_refused(lost["line"], plan.dialect.headers[plan.set_column], None, RefusedReason.NO_SET)]


def _rows_refused(line: pl.Series, column: str, value: pl.Series | None, reason: RefusedReason) -> pl.DataFrame:
    raw = value if value is not None else pl.Series([None], dtype=pl.String).new_from_index(0, len(line))
    table: dict[str, Any] = {"line": line, "value": raw}
    return pl.DataFrame(table).select(
        "line", column=pl.lit(column), value="value", reason=pl.lit(reason.value), cost=pl.lit("row")
    ).cast(REFUSED)  # type: ignore[arg-type]  # fmt: skip


def zone_for(plan: Plan, options: Options, set_id: str) -> str:
    """The zone in which a set's naive times are read: the caller's word, the layout's, the header's, the register's."""
    assert plan.time is not None
    return options.time_zone or options.layout.time_zone or plan.time.time_zone or options.zone_of(set_id)


def _with_time(frame: pl.DataFrame, plan: Plan, options: Options) -> tuple[pl.DataFrame, list[pl.DataFrame], tuple[str, ...]]:
    """`at` in UTC; rows at face values that their zone never had are refused."""
    time = plan.time
    assert time is not None
    if time.kind == "clock":
        parts = frame.partition_by("set_id", maintain_order=True) if plan.set_column is not None else [frame]
        frame = pl.concat(
            p.with_columns(at=pl.Series(days_added(p["at"].cast(pl.Int64).to_numpy())).cast(pl.Datetime("us"))) for p in parts
        ) if frame.height else frame  # fmt: skip
        frame = frame.sort("line") if len(parts) > 1 else frame
    if time.utc or not frame.height:
        return frame.with_columns(pl.col("at").dt.replace_time_zone("UTC")), [], ("UTC",)
    sets = frame["set_id"].unique().cast(pl.String).to_list()
    zones = {name: zone_for(plan, options, name) for name in sets}
    for zone in set(zones.values()):
        try:
            require_zone(zone)
        except ValueError as error:
            raise InputError(Problem("unknown_zone", plan.source.label, values={"why": str(error)})) from None
    if len(set(zones.values())) == 1 and zones[sets[0]] in ("UTC", "Etc/UTC"):
        return frame.with_columns(pl.col("at").dt.replace_time_zone("UTC")), [], ("UTC",)
    local = frame["at"].cast(pl.Int64).to_numpy()
    utc, missing = local.copy(), local < local
    for name in sets:
        own = slice(None) if len(sets) == 1 else (frame["set_id"] == name).arg_true().to_numpy()
        utc[own], missing[own] = to_utc(local[own], zones[name])
    lost = pl.Series(missing)
    at = pl.Series("at", utc).cast(pl.Datetime("us")).dt.replace_time_zone("UTC")
    refused = []
    if missing.any():
        bad = frame.filter(lost)
        header = plan.dialect.headers[time.time_column]
        refused.append(_rows_refused(bad["line"], header, bad["at"].dt.to_string("%Y-%m-%d %H:%M:%S"), RefusedReason.NO_SUCH_TIME))
        return frame.with_columns(at).filter(~lost), refused, tuple(sorted(set(zones.values())))
    return frame.with_columns(at), refused, tuple(sorted(set(zones.values())))


def _in_words(plan: Plan, zones: Sequence[str]) -> str:
    assert plan.time is not None
    names = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
    d = plan.dialect
    parts = [f"{names.get(d.delimiter, repr(d.delimiter))}-separated {plan.encoding}"] if d.delimiter else [plan.encoding]
    parts += ["decimal comma"] if d.decimal_char == "," else []
    parts += [f"{d.skip_rows} lines above the header"] if d.skip_rows else []
    parts += ["units row"] if d.header_row_count == 2 else []
    parts += ["one row a value"] if plan.long else []
    parts.append(f"time {plan.time.time_format} in {', '.join(zones) if not plan.time.utc else 'UTC'}")
    parts.append(f"set from {'column ' + d.headers[plan.set_column] if plan.set_column is not None else plan.set_from}")
    return ", ".join(parts)


def _notes(plan: Plan, parsed: Parsed, values: int) -> tuple[str, ...]:
    notes = list(plan.notes)
    notes += [f"{column}: {count} cells hold a word for no value" for column, count in parsed.null_words.items()]
    if values:
        notes.append(f"one row a value: {values} values")
    return tuple(notes)
