"""In which order sets are named, and in which zone each is spoken of: what pages and terminal share."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from startworthy.findings import Answer, Severity
from startworthy.results import SetResult
from startworthy.words import Style


def standing(result: SetResult) -> tuple[int, ...]:
    """Sort key of a set, worst first: what is urgent, then visits to plan, open questions, notes."""
    severities = Counter(finding.severity for finding in result.findings)
    answers = Counter(result.answers.values())
    return (
        -severities[Severity.URGENT],
        -answers[Answer.NO],
        -severities[Severity.SOON],
        -answers[Answer.DOUBTFUL],
        -answers[Answer.UNKNOWN],
        -severities[Severity.NOTE],
    )


def own_style(style: Style, result: SetResult) -> Style:
    """The style with the zone of that set."""
    return replace(style, zone=result.known.time_zone)
