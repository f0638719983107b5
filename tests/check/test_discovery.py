"""What a test found has to hold among all the tests of a run. Invented p-values but for the published case."""

from __future__ import annotations

import pytest

from startworthy.check.frame import Entry
from startworthy.check.run import run_sets
from startworthy.findings import Answer, Clear, Finding, Question, Severity
from tests.support.books import SET, book, day

WHEN = book(days=[day(0)]).span[SET]


def _entry(code: str, p: float | None, *, finds: bool, question: Question = Question.CARRY) -> Entry:
    def own(book, known, limit):
        if finds:
            yield Finding(code, Severity.SOON, question, *WHEN, p_value=p)
        else:
            yield Clear(code, {}, p)

    return Entry(code, question, True, (), (), (), "0.1", own)


def _codes(kind) -> set[str]:
    return {one.code for one in kind}


@pytest.mark.published("Benjamini and Hochberg (1995), their 15 p-values: 4 hold at 5 %")
def test_of_the_published_fifteen_four_hold():
    p = [
        0.0001,
        0.0004,
        0.0019,
        0.0095,
        0.0201,
        0.0278,
        0.0298,
        0.0344,
        0.0459,
        0.3240,
        0.4262,
        0.5719,
        0.6528,
        0.7590,
        1.0,
    ]
    catalogue = {f"log.x{n}": _entry(f"log.x{n}", own, finds=own < 0.05) for n, own in enumerate(p)}
    (result,) = run_sets(book(days=[day(0)]), catalogue=catalogue, strict=True)
    assert _codes(result.findings) == {f"log.x{n}" for n in range(4)}
    assert _codes(result.clear) == {f"log.x{n}" for n in range(4, 15)}


def test_what_is_taken_back_is_clear_and_the_answer_follows():
    alone = {"output.x": _entry("output.x", 0.04, finds=True)}
    among = alone | {f"log.y{n}": _entry(f"log.y{n}", 0.5, finds=False, question=Question.LOG) for n in range(9)}
    (held,) = run_sets(book(days=[day(0)]), catalogue=alone, strict=True)
    (gone,) = run_sets(book(days=[day(0)]), catalogue=among, strict=True)
    assert (held.answers[Question.CARRY], gone.answers[Question.CARRY]) == (Answer.DOUBTFUL, Answer.YES)
    assert _codes(gone.clear) == set(among)
    assert not gone.findings


def test_a_finding_that_stands_on_no_test_is_not_touched():
    catalogue = {"output.x": _entry("output.x", None, finds=True), "log.y": _entry("log.y", 0.9, finds=False)}
    (result,) = run_sets(book(days=[day(0)]), catalogue=catalogue, strict=True)
    assert _codes(result.findings) == {"output.x"}


def test_a_second_finding_of_the_code_keeps_it_out_of_clear():
    def two(book, known, limit):
        yield Finding("output.x", Severity.SOON, Question.CARRY, *WHEN, p_value=0.9)
        yield Finding("output.x", Severity.NOTE, Question.CARRY, *WHEN)

    (result,) = run_sets(
        book(days=[day(0)]), catalogue={"output.x": Entry("output.x", Question.CARRY, True, (), (), (), "0.1", two)}
    )
    assert [f.severity for f in result.findings] == [Severity.NOTE]
    assert not result.clear
