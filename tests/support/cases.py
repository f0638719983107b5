"""One case of one check: a logbook, and what the check has to say of it."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from startworthy.findings import Question, Reason, Severity
from startworthy.results import Logbook

CASES_FOLDER = Path(__file__).parent.parent / "check" / "cases"


@dataclass(frozen=True)
class Case:
    """`variants`: severity and variant of each finding, in order; `reason`: why it cannot tell; neither: it is clear."""

    code: str
    name: str
    book: Logbook
    variants: tuple[tuple[Severity, str], ...] = ()
    reason: Reason | None = None
    why: str | None = None
    question: Question | None = None

    @property
    def kind(self) -> Literal["raises", "silent", "cannot tell"]:
        """Which of the three kinds that every code needs."""
        if self.variants:
            return "raises"
        return "silent" if self.reason is None else "cannot tell"

    def __str__(self) -> str:
        return f"{self.code}: {self.name}"


def raises(code: str, name: str, book: Logbook, severity: str, variant: str, question: Question | None = None) -> Case:
    """The check finds exactly this."""
    return Case(code, name, book, ((Severity(severity), variant),), question=question)


def silent(code: str, name: str, book: Logbook) -> Case:
    """The check looked, and is clear."""
    return Case(code, name, book)


def cannot(code: str, name: str, book: Logbook, reason: Reason, why: str | None = None) -> Case:
    """The check says that it cannot tell, and why."""
    return Case(code, name, book, reason=reason, why=why)


def all_cases() -> list[Case]:
    """The cases of every group: `CASES` of each module beside this one's users, in the order of their names."""
    modules = sorted(path.stem for path in CASES_FOLDER.glob("*.py") if path.stem != "__init__")
    return [case for name in modules for case in importlib.import_module(f"tests.check.cases.{name}").CASES]
