"""The five answers, from the findings and from what was really looked at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from startworthy.check.frame import Entry
from startworthy.findings import Answer, Finding, NotAssessed, Question, Severity


def answers_of(
    findings: Iterable[Finding], not_assessed: Iterable[NotAssessed], catalogue: Mapping[str, Entry]
) -> dict[Question, Answer]:
    """One answer a question.

    `no` with an urgent finding, `doubtful` with one to plan a visit for, `unknown` where a check that carries
    the question could not be made, else `yes`.
    """
    unseen = {o.code for o in not_assessed}
    worst: dict[Question, Severity] = {}
    for finding in findings:
        known = worst.get(finding.question)
        if known is None or finding.severity.rank < known.rank:
            worst[finding.question] = finding.severity
    answers = {}
    for question in Question:
        carriers = [entry for entry in catalogue.values() if entry.carries and entry.question is question]
        if worst.get(question) is Severity.URGENT:
            answers[question] = Answer.NO
        elif worst.get(question) is Severity.SOON:
            answers[question] = Answer.DOUBTFUL
        elif not carriers or _blind(carriers, unseen):
            answers[question] = Answer.UNKNOWN
        else:
            answers[question] = Answer.YES
    return answers


def _blind(carriers: Iterable[Entry], unseen: set[str]) -> bool:
    """A check that has to be made was not, or none of a group of which any one will do."""
    groups: dict[str, bool] = {}
    for entry in carriers:
        name = entry.carries if isinstance(entry.carries, str) else entry.code
        groups[name] = groups.get(name, False) or entry.code not in unseen
    return not all(groups.values())
