"""One log from bytes to readings, with its figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import polars as pl

from startworthy.problems import InputError, Problem
from startworthy.read.convert import convert
from startworthy.read.encoding import later_encoding, mended
from startworthy.read.instants import with_instants, with_set
from startworthy.read.layout import Layout
from startworthy.read.longform import spread_values
from startworthy.read.markscan import MARKED, marks_of_file
from startworthy.read.parse import Job, Parsed, parse, quotes_left
from startworthy.read.plan import Options, Plan, cells_of, header_place, no_signal, plan_log
from startworthy.read.reasons import RefusedReason, refused_schema
from startworthy.read.source import Source, why_not
from startworthy.results import ColumnRead, FileRead


@dataclass(slots=True)
class LogRead:
    """One log's readings. frame: `set_id`, `at`, signals, `line`; None where the log was refused as a whole."""

    read: FileRead | None = None
    frame: pl.DataFrame | None = None
    refused: pl.DataFrame | None = None
    problems: list[Problem] = field(default_factory=list)
    layout: Layout | None = None
    plan: Plan | None = None


def read_log(source: Source, options: Options) -> LogRead:
    """Read one log. Never raises for bad input: what is wrong stands in `problems`.

    A file that is written to meanwhile is read once more, as a copy of what it was at one moment.
    """
    done = _read_once(source, options)
    try:
        if source.changed():
            copy = source.settled()
            try:
                return _read_once(copy, options)
            finally:
                copy.drop()
    except InputError as error:
        return LogRead(problems=list(error.problems), plan=done.plan)
    except OSError as error:
        return _unreadable(source, error, done.plan)
    return done


def _read_once(source: Source, options: Options) -> LogRead:
    plan: Plan | None = None
    try:
        plan = plan_log(source, options)
        if any(p.fatal for p in plan.problems):
            problems = [*plan.problems, *plan.columns.problems]
            return LogRead(problems=problems, layout=plan.layout(options.layout), plan=plan)
        return _with_marks_told_late(_read_planned(plan, options), source, options)
    except InputError as error:
        return LogRead(problems=list(error.problems), plan=plan)
    except OSError as error:
        return _unreadable(source, error, plan)
    except (pl.exceptions.PolarsError, pl.exceptions.PanicException) as error:
        # A panic of the parser is no Exception; what brings one about is the file
        why = " ".join(str(error).split())[:100].rstrip(".").lower()
        return LogRead(problems=[Problem("parser_failed", source.label, values={"why": why})], plan=plan)
    finally:
        if plan is not None and plan.source.held is not source.held:
            plan.source.drop()


def _unreadable(source: Source, error: OSError, plan: Plan | None) -> LogRead:
    return LogRead(problems=[Problem("file_unreadable", source.label, values={"why": why_not(error)})], plan=plan)


def _with_marks_told_late(done: LogRead, source: Source, options: Options) -> LogRead:
    """Read again with the marks of all numbers, where cells beyond the sample are none by those of the sample."""
    given, plan = options.layout, done.plan
    if plan is None or done.refused is None or (given.decimal_char is not None and given.group_char is not None):
        return done
    doubted = done.refused.filter(pl.col("reason") == RefusedReason.NOT_A_NUMBER.value)["value"].cast(pl.String)
    if not doubted.str.contains(MARKED).any():
        return done
    marks = marks_of_file(plan.source, plan.dialect, plan.long, given)
    if not marks.seen or (marks.decimal, marks.group) == (plan.dialect.decimal_char, plan.dialect.group_char):
        return done
    stated = given.model_copy(update={"decimal_char": marks.decimal, "group_char": marks.group})
    return _read_once(source, replace(options, layout=stated))


def _read_planned(plan: Plan, options: Options) -> LogRead:
    """The pass over the rows of a planned log."""
    assert plan.time is not None
    parsed = parse(plan.source, _job(plan))
    if not plan.dialect.spaced_quotes and quotes_left(parsed, plan.dialect.quote_char, plan.dialect.delimiter):
        # Spaces before a quote that came only after the sample: such cells are taken apart the exact way
        plan = replace(plan, dialect=replace(plan.dialect, spaced_quotes=True))
        parsed = parse(plan.source, _job(plan))
    # Where the first letter beyond ASCII comes after the sample, only now can the encoding be told
    untold = plan.ascii_sample and plan.encoding == "utf-8" and options.layout.encoding is None
    if parsed.lossy and untold and later_encoding(plan.source) != "utf-8":
        stated = options.layout.model_copy(update={"encoding": "windows-1252"})
        return _read_once(plan.source, replace(options, layout=stated))
    if parsed.lossy:
        plan = replace(plan, source=mended(plan.source))
        return finish(plan, options, parse(plan.source, _job(plan)))
    return finish(plan, options, parsed)


def _job(plan: Plan) -> Job:
    assert plan.time is not None
    own = pl.Series("set_id", [plan.set_id], dtype=pl.Categorical) if plan.set_column is None else None
    return Job(plan.dialect, plan.time, cells_of(plan), plan.nulls, own)


def finish(plan: Plan, options: Options, parsed: Parsed) -> LogRead:
    """From raw columns to signals, sets and UTC; the figures of the file."""
    label = plan.source.label
    problems = [*plan.problems, *plan.columns.problems]
    frame, no_set = with_set(parsed.frame, plan)
    frame, no_time, zones = with_instants(frame, plan, options)
    place = header_place(label, plan.dialect)
    notes = [*plan.notes, *(f"{header}: {n} cells hold a word for no value" for header, n in parsed.null_words.items())]
    notes += ["bytes that are no UTF-8 were taken for Windows-1252"] if plan.source.mixed else []
    notes += [f"{parsed.short} rows have fewer cells than the header: read as empty"] if parsed.short else []
    if plan.long is not None:
        frame, done, found = spread_values(frame, plan, options.layout, place)
        notes += found
    else:
        done = convert(frame, plan.columns.wanted, parsed.ranges, place)
        notes += done.notes
        frame = frame.select("set_id", "at", "line").with_columns(done.columns)
    problems += done.problems
    refused = _together([parsed.refused, *no_set, *no_time, *done.refused])
    out = LogRead(refused=refused, problems=problems, layout=plan.layout(options.layout, done.reads), plan=plan)
    if not parsed.rows:
        problems.append(Problem("header_only", label, plan.dialect.header_line))
    elif not frame.height:
        problems.append(_no_row(label, refused))
    elif not done.columns:
        problems.append(no_signal(label, plan.dialect.headers, plan.columns))
    else:
        out.frame = frame.select("set_id", "at", *(c.name for c in done.columns), "line")
        out.read = _figures(plan, parsed, out, done.reads)
        out.read = replace(out.read, layout=_in_words(plan, zones), notes=tuple(notes))
    return out


def _together(parts: Sequence[pl.DataFrame]) -> pl.DataFrame:
    """All refusals in line order; the cells of a refused row are not counted beside it."""
    every = pl.concat([part.select(list(refused_schema())) for part in parts])
    if not every.height:
        return every
    rows = every.filter(pl.col("cost") == "row")["line"]
    if len(rows):
        every = every.filter((pl.col("cost") == "row") | ~pl.col("line").is_in(rows.implode()))
    return every.sort("line", maintain_order=True)


def _figures(plan: Plan, parsed: Parsed, out: LogRead, reads: Sequence[ColumnRead]) -> FileRead:
    """The figures of the file: read = accepted + refused."""
    frame, refused = out.frame, out.refused
    assert frame is not None
    assert refused is not None
    order = {header: n for n, header in enumerate(plan.dialect.headers)}
    rows_refused = int((refused["cost"] == "row").sum())
    accepted = parsed.rows - rows_refused
    assert plan.long is not None or accepted == frame.height
    return FileRead(
        path=plan.source.label, sha256=parsed.sha256, layout="", rows_read=parsed.rows,
        rows_accepted=accepted, rows_refused=rows_refused, rows_repeated=0,
        cells_emptied=refused.height - rows_refused,
        first_at=frame["at"].min(), last_at=frame["at"].max(),  # type: ignore[arg-type]
        set_ids=tuple(sorted(frame["set_id"].unique().cast(pl.String).to_list())),
        columns=tuple(sorted((*reads, *plan.columns.left), key=lambda read: order.get(read.header, len(order)))),
    )  # fmt: skip


def _no_row(label: str, refused: pl.DataFrame) -> Problem:
    first = refused.row(0, named=True)
    values = {"rows": refused["line"].n_unique(), "reason": first["reason"], "value": (first["value"] or "")[:60]}
    return Problem("no_row_accepted", label, first["line"], first["column"], values)


def _in_words(plan: Plan, zones: Sequence[str]) -> str:
    assert plan.time is not None
    names = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
    d = plan.dialect
    parts = [plan.source.kind or f"{names.get(d.delimiter, repr(d.delimiter))}-separated {plan.encoding}"]
    parts += ["decimal comma"] if d.decimal_char == "," else []
    parts += [f"{d.skip_rows} lines above the header"] if d.skip_rows else []
    parts += ["units row"] if d.header_row_count == 2 else []
    parts += ["one row a value"] if plan.long else []
    parts.append(f"time {plan.time.time_format} in {', '.join(zones)}")
    parts.append(f"set from {'column ' + d.headers[plan.set_column] if plan.set_column is not None else plan.set_from}")
    return ", ".join(parts)
