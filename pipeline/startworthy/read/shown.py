"""How a file is understood, for people: `startworthy layout`."""

from __future__ import annotations

from pathlib import Path

from startworthy.problems import InputError, Problem
from startworthy.read.log import Options, Plan, plan_log, read_planned
from startworthy.read.record import Understood
from startworthy.read.source import Source, open_sources
from startworthy.results import ColumnRead

FIRST_ROWS = 5


def show(path: Path, options: Options) -> tuple[Understood, ...]:
    """One account per log in the file."""
    return tuple(
        _refused(source.file, (source,)) if isinstance(source, Problem) else _one(source, options)
        for source in open_sources(path)
    )


def _one(source: Source, options: Options) -> Understood:
    plan: Plan | None = None
    try:
        plan = plan_log(source, options)
        if any(p.fatal for p in plan.problems):
            return _planned(plan, options, (*plan.problems, *plan.columns.problems))
        done, replanned = read_planned(plan, options)
        plan = replanned or plan
        if done.read is None:
            return _planned(plan, options, tuple(done.problems))
        read = done.read
        return Understood(
            source.label, done.layout, read.columns, _first_rows(plan), read.rows_read, read.first_at, read.last_at,
            read.set_ids, read.layout, read.notes, tuple(done.problems),
        )  # fmt: skip
    except InputError as error:
        return _planned(plan, options, error.problems) if plan is not None else _refused(source.label, error.problems)


def _first_rows(plan: Plan) -> tuple[tuple[str, ...], ...]:
    return (plan.dialect.headers, *plan.dialect.body[:FIRST_ROWS])


def _planned(plan: Plan, options: Options, problems: tuple[Problem, ...]) -> Understood:
    """What was found of a file that cannot be read as it is."""
    reads = [ColumnRead(w.header, w.signal.name, w.spelling, w.stated, w.why) for w in plan.columns.wanted]
    order = {header: n for n, header in enumerate(plan.dialect.headers)}
    reads += plan.columns.left
    reads.sort(key=lambda read: order.get(read.header, len(order)))
    return Understood(
        plan.source.label, plan.layout(options.layout), tuple(reads), _first_rows(plan), None, None, None,
        (), "", plan.notes, problems,
    )  # fmt: skip


def _refused(label: str, problems: tuple[Problem, ...]) -> Understood:
    return Understood(label, None, (), (), None, None, None, (), "", (), problems)
