"""What the checks say of one set, from its readings on, in a form that a test can hold against another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import polars as pl

import startworthy as sw
from startworthy.findings import Clear, Finding, NotAssessed, Severity
from startworthy.register import Register
from startworthy.results import Logbook, SetResult
from tests.support.logs import as_readings


@dataclass(frozen=True)
class Said:
    """What was said of one set. found: code to its worst finding."""

    found: dict[str, Finding]
    clear: dict[str, Clear]
    blind: dict[str, NotAssessed]
    answers: dict[str, str]
    findings: tuple[Finding, ...]
    book: Logbook

    @classmethod
    def of(cls, one: SetResult, book: Logbook) -> Said:
        """Findings come worst first."""
        found: dict[str, Finding] = {}
        for finding in one.findings:
            found.setdefault(finding.code, finding)
        return cls(
            found,
            {o.code: o for o in one.clear},
            {o.code: o for o in one.not_assessed},
            {str(question): str(answer) for question, answer in one.answers.items()},
            one.findings,
            book.of(one.set_id),
        )

    def raised(self) -> dict[str, str]:
        """Codes found urgent or soon, with the severity."""
        return {code: str(f.severity) for code, f in self.found.items() if f.severity is not Severity.NOTE}

    def how(self, code: str) -> str:
        """The worst severity, `clear` or `not_assessed`. Raises KeyError for a code that nobody said anything of."""
        if code in self.found:
            return str(self.found[code].severity)
        if code in self.clear:
            return "clear"
        return "not_assessed" if self.blind[code] else ""

    def variant(self, code: str) -> str | None:
        """The variant of the worst finding of a code; None where there is none."""
        return self.found[code].variant if code in self.found else None


def said(frame: pl.DataFrame, register: Register | None = None, **entry: Any) -> Said:
    """The checks over the readings of one set. `entry`: what the register says of the set `A`, in place of a register."""
    told = register or Register.model_validate({"sets": {"A": entry}})
    checked = sw.check(as_readings(frame), register=told, strict=True)
    (one,) = checked.sets
    return Said.of(one, checked.logbook)
