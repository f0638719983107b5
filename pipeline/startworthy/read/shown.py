"""How a file is understood, for people: `startworthy layout`."""

from __future__ import annotations

from pathlib import Path

from startworthy.problems import Problem
from startworthy.read.log import read_log
from startworthy.read.pieces import is_huge, read_huge
from startworthy.read.plan import Options, Plan
from startworthy.read.record import Understood
from startworthy.read.source import Source, open_sources
from startworthy.results import ColumnRead

FIRST_ROWS = 5


def show(path: Path, options: Options) -> tuple[Understood, ...]:
    """One account per log in the file."""
    return tuple(
        Understood(source.file, problems=(source,)) if isinstance(source, Problem) else _one(source, options)
        for source in open_sources(path)
    )


def _one(source: Source, options: Options) -> Understood:
    done = read_huge(source, options, lambda _: None) if is_huge(source) else read_log(source, options)
    problems, plan, read = tuple(done.problems), done.plan, done.read
    if plan is None:
        return Understood(source.label, problems=problems)
    rows = (plan.dialect.headers, *plan.dialect.body[:FIRST_ROWS])
    layout = done.layout or plan.layout(options.layout)
    if read is None:
        return Understood(
            source.label, layout, _planned(plan), rows, notes=plan.notes, problems=problems,
        )  # fmt: skip
    return Understood(
        source.label, layout, read.columns, rows, read.rows_read, read.first_at, read.last_at, read.set_ids,
        read.layout, read.notes, problems,
    )  # fmt: skip


def _planned(plan: Plan) -> tuple[ColumnRead, ...]:
    """The columns of a file that cannot be read as it is, as far as their headers tell."""
    reads = [ColumnRead(w.header, w.signal.name, w.spelling, w.stated, w.why) for w in plan.columns.wanted]
    order = {header: n for n, header in enumerate(plan.dialect.headers)}
    return tuple(sorted((*reads, *plan.columns.left), key=lambda read: order.get(read.header, len(order))))
