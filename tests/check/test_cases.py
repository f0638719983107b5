"""Every check over logbooks made by hand: raises, stays silent, cannot tell. Invented figures prove no value."""

from __future__ import annotations

from collections import defaultdict

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from startworthy.check import CATALOGUE, run_one
from startworthy.findings import Clear, Finding, NotAssessed, Severity
from startworthy.logbook.tables import TABLES as MODELS
from startworthy.words import Style, clear_text, finding_text, reason_text, texts
from tests.support.books import SET
from tests.support.cases import Case, all_cases

CASES = all_cases()
TABLES = ("attempts", "starts", "runs", "days", "marks", "sensors")


@pytest.mark.parametrize("name", TABLES)
def test_the_books_of_the_cases_are_logbooks(name):
    MODELS[name].validate(pl.concat([getattr(case.book, name) for case in CASES]))


def outcomes(case: Case):
    return run_one(CATALOGUE[case.code], case.book, SET, strict=True)


@pytest.mark.parametrize("case", CASES, ids=str)
def test_case(case: Case):
    before = {name: getattr(case.book, name).clone() for name in TABLES}
    got = outcomes(case)
    if case.kind == "raises":
        assert [(o.severity, o.variant) for o in got if isinstance(o, Finding)] == list(case.variants)
        assert len(got) == len(case.variants)
        if case.question is not None:
            assert got[0].question is case.question
    elif case.kind == "silent":
        assert [type(o) for o in got] == [Clear], got
    else:
        assert [(type(o), o.reason, o.evidence.get("why")) for o in got] == [(NotAssessed, case.reason, case.why)]
    for name in TABLES:
        assert_frame_equal(getattr(case.book, name), before[name])


@pytest.mark.parametrize("case", [c for c in CASES if c.kind == "raises"], ids=str)
@pytest.mark.parametrize("units", ["si", "us"])
def test_every_finding_has_its_sentences_and_its_limit(case: Case, units):
    for finding in outcomes(case):
        text = finding_text(finding, Style(units, "Europe/Vienna"))
        spoken = [text.title, text.detail, *text.advice, *text.cautions]
        assert all(spoken)
        assert not any("{" in line or "nan" in line.split() for line in spoken)
        assert len(text.title) <= 60
        assert finding.value is not None
        assert finding.limit is not None
        assert finding.side in {"above", "below"}
        assert finding.basis is not None
        assert finding.per
        assert finding.limit_name in CATALOGUE[case.code].limits
        assert finding.began_at is not None
        assert finding.ended_at is not None
        assert finding.began_at <= finding.ended_at


@pytest.mark.parametrize("case", [c for c in CASES if c.kind == "raises"], ids=str)
def test_an_urgent_or_pressing_value_lies_beyond_its_limit(case: Case):
    for finding in outcomes(case):
        if finding.severity is Severity.NOTE or finding.variant in {"shut_down", "past"}:
            continue
        beyond = finding.value > finding.limit if finding.side == "above" else finding.value < finding.limit
        assert beyond, (finding.value, finding.side, finding.limit)


@pytest.mark.parametrize("case", [c for c in CASES if c.kind != "raises"], ids=str)
def test_what_was_not_found_is_said_too(case: Case):
    (outcome,) = outcomes(case)
    said = clear_text(outcome, Style()) if isinstance(outcome, Clear) else reason_text(outcome, Style())
    assert said
    assert "{" not in said
    if isinstance(outcome, Clear):
        assert outcome.evidence


@pytest.mark.parametrize("code", CATALOGUE)
def test_each_code_has_cases_of_all_three_kinds(code):
    assert {case.kind for case in CASES if case.code == code} == {"raises", "silent", "cannot tell"}


def test_every_sentence_is_reached_by_a_case():
    reached = defaultdict(set)
    reasons = defaultdict(set)
    for case in CASES:
        for outcome in outcomes(case):
            if isinstance(outcome, Finding):
                reached[case.code].add(outcome.variant)
            elif isinstance(outcome, NotAssessed):
                reasons[case.code].add(str(outcome.evidence.get("why", outcome.reason.value)))
    for code in CATALOGUE:
        own = texts(code.split(".")[0])[code]
        assert reached[code] == set(own["found"]), code
        assert set(own.get("not_assessed", {})) <= reasons[code], code


def test_outcomes_do_not_depend_on_the_order_of_rows():
    for case in CASES:
        turned = {name: getattr(case.book, name).reverse() for name in TABLES}
        book = type(case.book)(
            *turned.values(), case.book.known, case.book.signals, case.book.sampling, case.book.span, case.book.refused
        )
        assert run_one(CATALOGUE[case.code], book, SET, strict=True) == outcomes(case), str(case)


def test_the_frames_hold_no_nan():
    for case in CASES:
        for name in TABLES:
            floats = getattr(case.book, name).select(pl.col(pl.Float64))
            assert not floats.select(pl.any_horizontal(pl.all().is_nan().any())).item(), str(case)
