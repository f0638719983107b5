"""Run the catalogue over the logbook of one set, so that every code ends in exactly one of three places."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import polars as pl

from startworthy.check.answers import answers_of
from startworthy.check.discovery import hold_false_discoveries
from startworthy.check.facts import facts_of
from startworthy.check.found import spoken_choice
from startworthy.check.frame import CATALOGUE, Entry
from startworthy.findings import Clear, Finding, NotAssessed, Outcome, Reason
from startworthy.results import Logbook, SetResult

_Kind = TypeVar("_Kind", Finding, NotAssessed, Clear)


def run_one(entry: Entry, book: Logbook, set_id: str, *, strict: bool = False) -> list[Outcome]:
    """The outcomes of one check for one set: findings, or one `NotAssessed`, or one `Clear`.

    book: the logbook of that set alone. strict: let an error inside the check through (tests do).
    """
    unmet = _unmet(entry, book, set_id)
    if unmet is not None:
        return [unmet]
    known = book.known[set_id]
    try:
        outcomes = list(entry.function(book, known, known.limits))
    except Exception as error:
        if strict:
            raise
        # one fault never costs the rest; what failed is said where the check's outcome would stand
        return [NotAssessed(entry.code, Reason.INTERNAL_ERROR, {"what": type(error).__name__})]
    findings: list[Outcome] = [o for o in outcomes if isinstance(o, Finding)]
    if findings:
        return findings
    return [next((o for o in outcomes if isinstance(o, NotAssessed)), None) or next(iter(outcomes), Clear(entry.code))]


def run_set(
    book: Logbook, set_id: str, *, catalogue: Mapping[str, Entry] = CATALOGUE, strict: bool = False
) -> SetResult:
    """All checks over the logbook of one set. Findings come worst first, then in catalogue order."""
    own = book.of(set_id)
    outcomes = [o for entry in catalogue.values() for o in run_one(entry, own, set_id, strict=strict)]
    order = {code: n for n, code in enumerate(catalogue)}
    findings = tuple(sorted(_of(Finding, outcomes), key=lambda f: (f.severity.rank, order[f.code], str(f.began_at))))
    not_assessed = tuple(_of(NotAssessed, outcomes))
    began, ended = own.span[set_id]
    return SetResult(
        set_id=set_id,
        known=own.known[set_id],
        sampling=own.sampling[set_id],
        began_at=began,
        ended_at=ended,
        answers=answers_of(findings, not_assessed, catalogue),
        facts=facts_of(own, own.known[set_id]),
        findings=findings,
        clear=tuple(_of(Clear, outcomes)),
        not_assessed=not_assessed,
    )


def run_sets(
    book: Logbook, *, catalogue: Mapping[str, Entry] = CATALOGUE, strict: bool = False
) -> tuple[SetResult, ...]:
    """All checks over every set of the logbook, by set id; what a test found has to hold among all of them."""

    def one(set_id: str) -> SetResult:
        return run_set(book, set_id, catalogue=catalogue, strict=strict)

    # a good part of the work on small tables runs outside of Python's lock
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        results = list(pool.map(one, sorted(book.known)))
    rate = min((known.limits.value("false_discovery_rate") for known in book.known.values()), default=0.0)
    return hold_false_discoveries(results, rate, catalogue)


def _of(kind: type[_Kind], outcomes: Iterable[Outcome]) -> list[_Kind]:
    return [o for o in outcomes if isinstance(o, kind)]


def _unmet(entry: Entry, book: Logbook, set_id: str) -> NotAssessed | None:
    there = book.signals.get(set_id, frozenset())
    missing = [choice for choice in entry.signals if not there.intersection(choice.split("|"))]
    if missing:
        return NotAssessed(entry.code, Reason.SIGNAL_MISSING, {"signals": _spoken(missing)})
    empty = [choice for choice in entry.needs if not any(_has_value(book, name) for name in choice.split("|"))]
    if empty:
        return NotAssessed(entry.code, Reason.NOTHING_SEEN, {"what": ", ".join(empty)})
    return None


def _spoken(choices: list[str]) -> str:
    return "; no ".join(" or ".join(spoken_choice(choice)) for choice in choices)


def _has_value(book: Logbook, name: str) -> bool:
    table, _, column = name.partition(".")
    frame: pl.DataFrame = getattr(book, table)
    return frame.height > 0 if not column else frame[column].null_count() < frame.height
