"""The frame of the catalogue: what a check declares, and the register of all checks.

A check is one function over the logbook of one set. It yields findings, or `NotAssessed`, or `Clear` with what it
looked at; it reads no file, builds no sentence and knows no default number (those stand in limits.py).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from startworthy import limits as _limits
from startworthy.findings import Outcome, Question
from startworthy.limits import Limits
from startworthy.logbook.tables import TABLES
from startworthy.results import Known, Logbook
from startworthy.signals import BY_NAME as SIGNALS

CheckFunction = Callable[[Logbook, Known, Limits], Iterable[Outcome]]


@dataclass(frozen=True, slots=True)
class Entry:
    """One check of the catalogue.

    signals: what the log must carry; `a|b` where either will do. needs: logbook columns (`days.rest_battery_v`)
    that must have a value somewhere. carries: its question is only answered `yes` if this check was made; a word
    instead of True names a group of checks of which any one will do.
    """

    code: str
    question: Question
    carries: bool | str
    signals: tuple[str, ...]
    needs: tuple[str, ...]
    limits: tuple[str, ...]
    since: str
    function: CheckFunction

    @property
    def group(self) -> str:
        """The part of the code before the point."""
        return self.code.split(".")[0]

    def __str__(self) -> str:
        return self.code


CATALOGUE: dict[str, Entry] = {}

RETIRED: dict[str, str] = {}
"""Codes that were in a release and are no more, with what replaced them."""


def check(
    code: str,
    *,
    question: Question,
    carries: bool | str = False,
    signals: Iterable[str] = (),
    needs: Iterable[str] = (),
    limits: Iterable[str] = (),
    since: str,
) -> Callable[[CheckFunction], CheckFunction]:
    """Enter a function in the catalogue. Raises ValueError for a code twice, an unknown signal, column or limit."""

    def enter(function: CheckFunction) -> CheckFunction:
        entry = Entry(code, question, carries, tuple(signals), tuple(needs), tuple(limits), since, function)
        _require(entry)
        CATALOGUE[code] = entry
        return function

    return enter


def _require(entry: Entry) -> None:
    if entry.code in CATALOGUE:
        raise ValueError(f"{entry.code} stands in the catalogue already")
    for name in (one for choice in entry.signals for one in choice.split("|")):
        if name not in SIGNALS:
            raise ValueError(f"{entry.code} needs an unknown signal {name}")
    for name in (one for choice in entry.needs for one in choice.split("|")):
        table, _, column = name.partition(".")
        if table not in TABLES or (column and column not in TABLES[table].columns):
            raise ValueError(f"{entry.code} needs an unknown column {name}")
    for name in entry.limits:
        if name not in _limits.BY_NAME:
            raise ValueError(f"{entry.code} uses an unknown limit {name}")
