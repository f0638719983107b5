"""A log too large to be held, read in pieces: each a stretch of whole lines, all understood in one and the same way.

How the log is to be understood is told from its beginning and from stretches spread evenly over the whole of it,
so that a unit is judged by a year of values and not by the first hour.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence, Set
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import chain
from pathlib import Path

import numpy as np
import polars as pl

from startworthy.problems import Problem
from startworthy.read.encoding import MIXED, as_utf8
from startworthy.read.headers import unit_named
from startworthy.read.log import LogRead, finish, read_log
from startworthy.read.parse import Job, parse, quotes_left
from startworthy.read.plan import Options, Plan, cells_of
from startworthy.read.restart import header_in_force
from startworthy.read.source import SAMPLE_BYTES, Source
from startworthy.read.times import read_times
from startworthy.read.zones import changes_of
from startworthy.results import ColumnRead, FileRead

HUGE_BYTES = 512 << 20
"""A text longer than this is read in pieces: held whole it would take some four times as much memory."""
PIECE_BYTES = 24 << 20
_STRETCHES, _STRETCH_BYTES = 32, 1 << 18
_LOOK_ON_BYTES = 4 << 20
_DAY_US = 86_400_000_000
_LISTED = 500_000
"""Refused rows and cells of one log that are listed one by one; beyond it they are counted."""


def is_huge(source: Source) -> bool:
    """Whether a log is to be read in pieces."""
    return source.path is not None and source.data is None and source.path.stat().st_size > HUGE_BYTES


@dataclass(slots=True)
class _Sum:
    """What the pieces add up to."""

    rows: int = 0
    accepted: int = 0
    refused: int = 0
    emptied: int = 0
    first_at: datetime | None = None
    last_at: datetime | None = None
    sets: set[str] = field(default_factory=set)
    columns: dict[str, ColumnRead] = field(default_factory=dict)
    notes: dict[str, None] = field(default_factory=dict)
    problems: dict[tuple[str, str | None], Problem] = field(default_factory=dict)
    listed: list[pl.DataFrame] = field(default_factory=list)
    listed_rows: int = 0
    unlisted: int = 0

    def take(self, done: LogRead, offset: int, *, again: bool) -> None:
        """Add one piece, whose lines begin after `offset`. again: its first line was counted before."""
        for problem in done.problems:
            moved = replace(problem, line=problem.line + offset) if problem.line and problem.fatal else problem
            self.problems.setdefault((problem.code, problem.column), moved)
        read, refused = done.read, done.refused
        if again and refused is not None:
            refused = refused.filter(pl.col("line") > 1)
            self.rows -= read is not None
            self.refused -= read is not None
        if refused is not None and refused.height:
            whole_rows = int((refused["cost"] == "row").sum())
            if read is None:
                self.rows += whole_rows
                self.refused += whole_rows
                self.emptied += refused.height - whole_rows
            if self.listed_rows < _LISTED:
                self.listed.append(refused.with_columns((pl.col("line").cast(pl.Int64) + offset).cast(pl.UInt32)))
                self.listed_rows += refused.height
            else:
                self.unlisted += refused.height
        if read is None:
            return
        self.rows += read.rows_read
        self.accepted += read.rows_accepted
        self.refused += read.rows_refused
        self.emptied += read.cells_emptied
        self.first_at = min((t for t in (self.first_at, read.first_at) if t is not None), default=None)
        self.last_at = max((t for t in (self.last_at, read.last_at) if t is not None), default=None)
        self.sets.update(read.set_ids)
        self.notes |= dict.fromkeys(read.notes)
        for column in read.columns:
            if column.signal is not None or column.header not in self.columns:
                self.columns[column.header] = column


def read_huge(source: Source, options: Options, keep: Callable[[pl.DataFrame], None]) -> LogRead:
    """Read a log in pieces; `keep` takes the frame of each (`set_id`, `at`, signals, `line`), in order of the file.

    The result's frame is None: the rows are with `keep`. Raises OSError.
    """
    sample = _sample(source)
    first = read_log(sample, options)
    if first.read is None or first.plan is None:
        return first
    doubted = [p for p in first.problems if p.code in ("unit_contradicted", "unit_changed")]
    plan = _settled(first.plan, first.read.columns, {p.column for p in doubted})
    refusal = _not_in_pieces(plan, source)
    if refusal is not None:
        return LogRead(problems=[refusal], layout=first.layout, plan=plan)
    head = source.head()
    if plan.encoding not in ("utf-8", "utf-8-sig", "ascii") or (b"\n" not in head and b"\r" in head):
        # lines that end in a carriage return alone get ends by which the text can be cut
        source = as_utf8(source, plan.encoding)
    total = _Sum()
    digest = hashlib.sha256()
    skip, line = plan.dialect.skip_lines, 0
    other: bytes | None = None
    for data, lines in _cut(source, plan, options):
        digest.update(data)
        # a header with other columns stays in force over the end of its piece: the next begins with it once more
        text = _text_of(data if other is None else other + b"\n" + data)
        own = replace(plan, source=Source(source.label, source.stem, None, text, ""), problems=(), notes=())
        own = replace(own, dialect=replace(plan.dialect, skip_lines=skip if line == 0 else 0))
        done = _read_piece(own, options)
        offset = line - (other is not None)
        total.take(done, offset, again=other is not None)
        if done.frame is not None:
            keep(done.frame.with_columns((pl.col("line").cast(pl.Int64) + offset).cast(pl.UInt32)))
        other = header_in_force(own.source, own.dialect, done.refused) if done.refused is not None else None
        line += lines
    total.problems = {key: p for key, p in total.problems.items() if p.code not in ("header_only", "no_row_accepted")}
    problems = [*plan.problems, *doubted, *total.problems.values()]
    notes = [*first.plan.notes, *total.notes, "read in pieces, as it is too large to be held"]
    if total.unlisted:
        notes.append(f"{total.unlisted} refused rows and cells are counted and not listed")
    out = LogRead(problems=problems, layout=first.layout, plan=plan)
    out.refused = pl.concat(total.listed) if total.listed else None
    out.read = FileRead(
        source.label, source.sha256 or digest.hexdigest(), first.read.layout, total.rows, total.accepted,
        total.refused, 0, total.emptied, total.first_at, total.last_at, tuple(sorted(total.sets)),
        _in_order(total.columns, plan), tuple(notes),
    )  # fmt: skip
    return out


def _in_order(columns: dict[str, ColumnRead], plan: Plan) -> tuple[ColumnRead, ...]:
    order = {header: n for n, header in enumerate(plan.dialect.headers)}
    return tuple(sorted(columns.values(), key=lambda read: order.get(read.header, len(order))))


def _read_piece(plan: Plan, options: Options) -> LogRead:
    assert plan.time is not None
    own = pl.Series("set_id", [plan.set_id], dtype=pl.Categorical) if plan.set_column is None else None
    time = plan.time
    parsed = parse(plan.source, Job(plan.dialect, time, cells_of(plan), plan.nulls, own))
    if not plan.dialect.spaced_quotes and quotes_left(parsed, plan.dialect.quote_char, plan.dialect.delimiter):
        plan = replace(plan, dialect=replace(plan.dialect, spaced_quotes=True))
        parsed = parse(plan.source, Job(plan.dialect, time, cells_of(plan), plan.nulls, own))
    return finish(plan, options, parsed)


def _settled(plan: Plan, reads: Sequence[ColumnRead], doubted: Set[str | None]) -> Plan:
    """The plan with every unit that was told from values held fast, and columns in doubt left alone."""
    told = {read.header: read for read in reads if read.signal is not None}
    wanted = tuple(
        replace(w, unit=unit_named(told[w.header].unit) or w.unit, spelling=told[w.header].unit, why=told[w.header].why)
        if w.unit is None and w.header in told
        else replace(w, sure=True)
        for w in plan.columns.wanted
        if w.header not in doubted
    )
    left = tuple(replace(read, signal=None) for read in reads if read.header in doubted)
    return replace(plan, columns=replace(plan.columns, wanted=wanted, left=(*plan.columns.left, *left)))


def _not_in_pieces(plan: Plan, source: Source) -> Problem | None:
    """Why a log cannot be read in pieces, if it cannot.

    A clock without dates counts its midnights over the whole log, one row a value is put together over it, and cells
    that stand apart by spaces are cut in memory.
    """
    assert plan.time is not None
    if plan.time.kind == "clock" or plan.long is not None or plan.aligned:
        size = Path(source.path or "").stat().st_size / (1 << 20)
        return Problem("too_large_for_its_form", source.label, values={"size_mib": round(size)})
    return None


def _sample(source: Source) -> Source:
    """The log's beginning, and stretches of whole lines spread evenly over the rest."""
    assert source.path is not None
    size = source.path.stat().st_size
    with source.path.open("rb") as file:
        head = file.read(SAMPLE_BYTES * 4)
        parts = [head[: head.rfind(b"\n") + 1] or head]
        for n in range(1, _STRETCHES):
            file.seek(max(size * n // _STRETCHES, len(head)))
            stretch = file.read(_STRETCH_BYTES)
            first, last = stretch.find(b"\n") + 1, stretch.rfind(b"\n") + 1
            parts.append(stretch[first:last])
    return Source(source.label, source.stem, None, b"".join(parts), "")


def _cut(source: Source, plan: Plan, options: Options) -> Iterator[tuple[bytes, int]]:
    """The file in pieces of whole lines, each with its count. No piece ends within an hour that stands twice."""
    rest, waiting, size = b"", [], 0
    for part in chain(source.parts(), (b"",)):
        waiting.append(part)
        size += len(part)
        if part and size < PIECE_BYTES:
            continue
        data = b"".join((rest, *waiting))
        if not part:
            break
        at = _end(data, plan, options, rest=len(rest))
        if not at and len(data) > 5 * PIECE_BYTES:
            # without an end in sight it is one line of a length that no row has
            at = len(data)
        if at:
            yield data[:at], _lines(data[:at])
        rest, waiting, size = data[at:], [], 0
    if data:
        yield data, _lines(data)


def _lines(data: bytes) -> int:
    return int(np.count_nonzero(np.frombuffer(data, np.uint8) == 10)) + (not data.endswith(b"\n"))


def _end(data: bytes, plan: Plan, options: Options, rest: int) -> int:
    """Where a piece ends: after the last line that is whole by itself, clear of an hour that stands twice; 0: later."""
    least = max(len(data) - _LOOK_ON_BYTES, rest)
    end = data.rfind(b"\n", least) + 1
    while end > least:
        begin = data.rfind(b"\n", 0, end - 1) + 1
        last = data[begin:end]
        whole = _is_whole(last, plan)
        if whole and not _twice(last, plan, options):
            return end
        if whole:
            # the doubled hour may be long, if rows are close: the piece ends before all of it, or goes on beyond it
            earlier = _before_doubled(data, least=len(data) // 4, plan=plan, options=options)
            return earlier if earlier or len(data) <= 4 * PIECE_BYTES else end
        end = begin
    return data.rfind(b"\n") + 1


def _is_whole(line: bytes, plan: Plan) -> bool:
    """Whether a line can be a row by itself: neither the beginning nor the end of a quoted text of several lines."""
    delimiter, quote = plan.dialect.delimiter.encode(), plan.dialect.quote_char.encode()
    return line.count(delimiter) >= len(plan.dialect.headers) - 1 and (not quote or line.count(quote) % 2 == 0)


def _before_doubled(data: bytes, *, least: int, plan: Plan, options: Options) -> int:
    """The last line end, looked at in steps, that lies before a doubled hour; 0 where none is found."""
    at, step = len(data), len(data) // 256 + 1
    while (at := data.rfind(b"\n", 0, max(at - step, 0))) > least:
        line = data[data.rfind(b"\n", 0, at) + 1 : at + 1]
        if _is_whole(line, plan) and not _twice(line, plan, options):
            return at + 1
    return 0


def _twice(line: bytes, plan: Plan, options: Options) -> bool:
    """Whether the time of a line is one that its zone shows twice."""
    time = plan.time
    assert time is not None
    if time.utc:
        return False
    cells = line.decode("utf-8", "replace").rstrip("\r\n").split(plan.dialect.delimiter)
    place = [n for n in (time.date_column, time.time_column) if n is not None]
    if max(place) >= len(cells):
        return False
    quote = plan.dialect.quote_char or '"'
    texts = [pl.Series([cells[n].strip(" \t" + quote)]) for n in place]
    at = read_times(texts[-1], texts[0] if len(texts) > 1 else None, time)
    if at[0] is None:
        return False
    set_id = plan.set_id
    if plan.set_column is not None and plan.set_column < len(cells):
        set_id = cells[plan.set_column].strip(" \t" + quote)
    zone = options.time_zone or options.layout.time_zone or time.time_zone or options.zone_of(set_id)
    local_us = int(at.cast(pl.Int64)[0])
    day = local_us // _DAY_US
    changes = changes_of(zone, day - 2, day + 2)
    return any(moved + after <= local_us < moved + before for moved, before, after in changes)


def _text_of(data: bytes) -> bytes:
    """UTF-8 of a piece; bytes that are no UTF-8 are taken for Windows-1252, as they are in a smaller log."""
    return data if data.isascii() else data.decode("utf-8", errors=MIXED).encode()
