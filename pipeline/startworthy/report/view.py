"""What a set's page says, worked into words and rows; the templates only set it out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import polars as pl

from startworthy.findings import Answer, Finding, NotAssessed, Question, Severity
from startworthy.limits import LIMITS
from startworthy.report.cells import Table, Where, logbook_tables
from startworthy.report.charts import logbook_charts, slow_chart
from startworthy.report.look import Chart, limit_name
from startworthy.report.moments import OwnReadings, OwnRows, moment_chart
from startworthy.results import Checked, Logbook, SetResult
from startworthy.words import Style, check_text, clear_text, finding_text, reason_text, texts

MOST_ZOOMS = 12


@dataclass(frozen=True, slots=True)
class AnswerView:
    """One question with its answer; `target` is the id of the finding that decided it, if one did."""

    key: str
    question: str
    short: str
    answer: str
    word: str
    sentence: str
    target: str = ""
    target_title: str = ""


@dataclass(frozen=True, slots=True)
class FindingView:
    """One finding in words. `facts`: label and text of what was seen, when, against which limit."""

    key: str
    severity: str
    severity_word: str
    code: str
    title: str
    detail: str
    facts: tuple[tuple[str, str], ...]
    advice: tuple[str, ...]
    cautions: tuple[str, ...]
    chart: Chart | None
    chart_note: str


@dataclass(frozen=True, slots=True)
class OutcomeView:
    """A check that found nothing or was not made, and the sentence that says so."""

    code: str
    title: str
    text: str


@dataclass(frozen=True, slots=True)
class SetView:
    """All that a set's page shows."""

    set_id: str
    site: str
    period: str
    written: str
    answers: tuple[AnswerView, ...]
    first: str
    first_because: str
    first_target: str
    findings: tuple[FindingView, ...]
    findings_note: str
    not_assessed: tuple[OutcomeView, ...]
    clear: tuple[OutcomeView, ...]
    facts: tuple[tuple[str, str], ...]
    charts: tuple[Chart, ...]
    tables: tuple[Table, ...]
    inferred: tuple[tuple[str, str], ...]
    limits: Table | None


def set_view(checked: Checked, result: SetResult, readings: OwnRows, style: Style, where: Where) -> SetView:
    """The page of one set. readings: its rows alone (see moments.OwnReadings.frame); style: with its own zone."""
    book = checked.logbook.of(result.set_id)
    gaps = book.marks.filter(pl.col("kind") == "gap")
    own = OwnReadings(readings, gaps, result.known, result.sampling)
    findings = _findings(result, book, own, style)
    answers = _answers(result, findings, style)
    first, because, target = _first(result, findings, style)
    page = texts("report")["page"]
    return SetView(
        set_id=result.set_id,
        site=result.known.entry.site or "",
        period=style.fill(
            page["period"], {"began_at": result.began_at, "ended_at": result.ended_at, "zone": style.zone}
        ),
        written=written_line(checked),
        answers=answers,
        first=first,
        first_because=because,
        first_target=target,
        findings=findings,
        findings_note=_zooms_note(findings, style),
        not_assessed=tuple(
            OutcomeView(o.code, check_text(o.code).title, reason_text(o, style)) for o in result.not_assessed
        ),
        clear=tuple(OutcomeView(o.code, check_text(o.code).title, clear_text(o, style)) for o in result.clear),
        facts=_facts(result, style),
        charts=tuple(logbook_charts(book, result.known, style)),
        tables=tuple(logbook_tables(book, style, where)),
        inferred=_inferred(result, style),
        limits=_own_limits(result, style),
    )


def written_line(checked: Checked) -> str:
    """When and by which version the page was written."""
    utc = Style()
    return utc.fill(
        texts("report")["page"]["written"], {"generated_at": checked.generated_at, "version": checked.version}
    )


def _findings(result: SetResult, book: Logbook, own: OwnReadings, style: Style) -> tuple[FindingView, ...]:
    views = []
    zooms = 0
    for number, finding in enumerate(result.findings, start=1):
        chart, note = None, ""
        if zooms < MOST_ZOOMS:
            key = f"moment-{number}"
            chart = slow_chart(finding, key, book, result.known, style) or moment_chart(finding, key, own, style)
            zooms += chart is not None
            note = texts("report")["finding"]["no_readings"] if chart is None and finding.began_at is not None else ""
        text = finding_text(finding, style)
        views.append(
            FindingView(
                f"finding-{number}",
                finding.severity.value,
                texts("general")["severities"][finding.severity.value],
                finding.code,
                text.title,
                text.detail,
                _finding_facts(finding, style),
                text.advice,
                text.cautions,
                chart,
                note,
            )
        )
    return tuple(views)


def _zooms_note(findings: tuple[FindingView, ...], style: Style) -> str:
    drawn = sum(f.chart is not None for f in findings)
    if drawn < MOST_ZOOMS or len(findings) == drawn:
        return ""
    return style.fill(texts("report")["finding"]["zooms_capped"], {"shown": drawn, "total": len(findings)})


def _finding_facts(finding: Finding, style: Style) -> tuple[tuple[str, str], ...]:
    words = texts("report")["finding"]
    facts = [(words["when"], when_text(finding.began_at, finding.ended_at, style))]
    if finding.value is not None:
        facts.append((words["seen"], style.quantity(finding.value, finding.unit)))
    if finding.limit is not None:
        limit = style.fill(
            words[f"limit_{finding.side or 'plain'}"], {"value": style.quantity(finding.limit, finding.unit)}
        )
        facts.append(
            (
                words["limit"],
                style.fill(words["limit_per"], {"limit": limit, "per": finding.per}) if finding.per else limit,
            )
        )
    if finding.basis is not None:
        basis = texts("general")["bases"][finding.basis]
        sourced = finding.source and finding.source != finding.basis
        facts.append(
            (
                words["basis"],
                style.fill(words["basis_source"], {"basis": basis, "source": finding.source}) if sourced else basis,
            )
        )
    return (*facts, (words["code"], finding.code))


def when_text(began: datetime | None, ended: datetime | None, style: Style) -> str:
    """When something was, in local time: one instant, a span, or none."""
    words = texts("report")["finding"]
    if began is None:
        return str(words["when_none"])
    if ended is None:
        return style.fill(words["when_since"], {"began_at": began})
    first, last = style.value("began_at", began), style.value("ended_at", ended)
    return first if first == last else style.fill(words["when_span"], {"began_at": first, "ended_at": last})


def _answers(result: SetResult, findings: tuple[FindingView, ...], style: Style) -> tuple[AnswerView, ...]:
    general, short = texts("general"), texts("report")["short_questions"]
    views = []
    for question in Question:
        answer = result.answers[question]
        missing = missing_text(result, question, style) if answer is Answer.UNKNOWN else ""
        sentence = general["answer_sentences"][question.value][answer.value].format(missing=missing)
        # the findings stand worst first, so the first of a question is the one that decided its answer
        decided = next((v for f, v in zip(result.findings, findings, strict=True) if f.question is question), None)
        shown = decided if answer in {Answer.NO, Answer.DOUBTFUL} else None
        views.append(
            AnswerView(
                question.value,
                general["questions"][question.value],
                short[question.value],
                answer.value,
                general["answers"][answer.value],
                sentence,
                shown.key if shown else "",
                shown.title if shown else "",
            )
        )
    return tuple(views)


def missing_text(result: SetResult, question: Question, style: Style) -> str:
    """Why a question could not be answered: the reasons of the checks that carry it and were not made."""
    words = texts("report")["answers"]
    reasons = list(dict.fromkeys(reason_text(o, style) for o in result.not_assessed if _carries(o, question)))
    if not reasons:
        return f"{words['no_check']}."
    text = _lower_first(reasons[0])
    return (
        text if len(reasons) == 1 else f"{text.rstrip('.')} ({style.fill(words['more'], {'more': len(reasons) - 1})})."
    )


def _carries(outcome: NotAssessed, question: Question) -> bool:
    from startworthy.check import CATALOGUE

    entry = CATALOGUE.get(outcome.code)
    return entry is not None and bool(entry.carries) and entry.question is question


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:] if text[1:2].islower() else text


def _first(result: SetResult, findings: tuple[FindingView, ...], style: Style) -> tuple[str, str, str]:
    """The one thing to do first, why, and the id of the finding it comes from."""
    words = texts("report")["first"]
    unknown = [q for q in Question if result.answers[q] is Answer.UNKNOWN]
    worst = findings[0] if findings else None
    pressing = worst is not None and worst.severity != Severity.NOTE.value
    if unknown and not pressing:
        reason = missing_text(result, unknown[0], style)
        return (
            style.fill(words["unknown"], {"unknown": len(unknown), "reason": reason[:1].upper() + reason[1:]}),
            "",
            "",
        )
    if worst is None:
        return str(words["nothing"]), "", ""
    advice = worst.advice[0] if worst.advice else worst.detail
    return (
        style.fill(words[worst.severity], {"advice": advice}),
        style.fill(words["because"], {"title": worst.title}),
        worst.key,
    )


def _facts(result: SetResult, style: Style) -> tuple[tuple[str, str], ...]:
    words = texts("report")["facts"]
    names = ("demands", "failed_demands", "attempts", "runs", "running_h", "fuel_used_l", "coverage", "days", "rows")
    rows = [(words[name], _fact(name, result.facts, style)) for name in names if name in result.facts]
    intervals = [(name, getattr(result.sampling, name)) for name in ("rest_s", "running_s", "start_s")]
    rows += [
        (words[f"sampling_{name.removesuffix('_s')}"], style.value(name, interval))
        for name, interval in intervals
        if interval is not None
    ]
    return tuple(rows)


def _fact(name: str, facts: Mapping[str, Any], style: Style) -> str:
    words = texts("report")["facts"]
    value = facts[name]
    if name == "attempts" and value is None and facts.get("attempts_at_least"):
        return style.fill(words["attempts_at_least"], {"seen": facts["attempts_at_least"]})
    if value is None:
        return str(words["unknown"])
    if name == "running_h":
        # running time is told in hours in the trade, however long
        return f"{value:.1f} h"
    if name == "coverage":
        return f"{value * 100:.1f} %"
    if isinstance(value, int):
        return f"{value:,}".replace(",", "\N{NARROW NO-BREAK SPACE}")
    return style.value(name, value)


def _inferred(result: SetResult, style: Style) -> tuple[tuple[str, str], ...]:
    labels, line = texts("report")["known"], texts("report")["reading"]["told"]
    rows = []
    for name, evidence in result.known.inferred.items():
        value = style.value(name, getattr(result.known, name, None))
        rows.append((labels.get(name, name.replace("_", " ")), line.format(value=value, evidence=evidence)))
    return tuple(rows)


def _own_limits(result: SetResult, style: Style) -> Table | None:
    words = texts("report")
    rows = []
    for default in LIMITS:
        here = result.known.limits[default.name]
        if here.value != default.value or here.basis != default.basis:
            shown = (style.quantity(default.value, default.unit), style.quantity(here.value, here.unit))
            rows.append(
                (
                    f"{limit_name(default.name)} ({default.name})",
                    *shown,
                    texts("general")["bases"][here.basis],
                )
            )
    if not rows:
        return None
    heads = tuple(words["columns"][name] for name in ("limit", "default", "here", "why"))
    return Table("limits", words["table"]["caption_limits"], words["intro"]["limits"], heads, tuple(rows))
