"""The sample fleet through the whole pipeline: each planted fault is found, and the healthy sets stay silent."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

import startworthy as sw
from startworthy.findings import Answer, Question, Severity
from startworthy.results import Checked, SetResult

REPOSITORY = Path(__file__).resolve().parent.parent
TRUTH = json.loads((REPOSITORY / "tests" / "sample_truth.json").read_text(encoding="utf-8"))
SETS = sorted(TRUTH)


@pytest.fixture(scope="module")
def checked() -> Checked:
    return sw.check(REPOSITORY / "sample_logs", strict=True)


def one(checked: Checked, set_id: str) -> SetResult:
    return next(s for s in checked.sets if s.set_id == set_id)


def test_every_log_reads_without_a_word_of_help(checked: Checked) -> None:
    assert [s.set_id for s in checked.sets] == SETS
    assert checked.readings.problems == ()
    for file in checked.readings.files:
        assert file.rows_refused == file.rows_repeated == 0, file.path
    assert sum(f.rows_read for f in checked.readings.files) == sum(t["rows"] for t in TRUTH.values())


@pytest.mark.parametrize("set_id", SETS)
def test_each_fault_is_found_and_nothing_else(checked: Checked, set_id: str) -> None:
    truth, got = TRUTH[set_id], one(checked, set_id)
    found = {f.code for f in got.findings if f.severity is not Severity.NOTE}
    expected = {e["code"] for e in truth["expected"]}
    assert expected <= found
    assert found <= expected | set(truth.get("allowed_with_it", []))
    if truth["healthy"]:
        assert got.findings == ()
        assert got.answers[Question.START] is got.answers[Question.CARRY] is Answer.YES


@pytest.mark.parametrize("set_id", [s for s in SETS if TRUTH[s]["expected"]])
def test_a_finding_says_when(checked: Checked, set_id: str) -> None:
    for expected in TRUTH[set_id]["expected"]:
        (finding,) = (f for f in one(checked, set_id).findings if f.code == expected["code"])
        begins, ends = (datetime.fromisoformat(expected[k]).replace(tzinfo=UTC) for k in ("from", "to"))
        assert finding.began_at is not None
        assert (begins - finding.began_at).days <= 30
        assert finding.began_at <= ends
        assert (finding.ended_at or finding.began_at) >= begins


@pytest.mark.parametrize("set_id", SETS)
def test_the_logbook_is_that_of_the_truth(checked: Checked, set_id: str) -> None:
    truth, facts = TRUTH[set_id], one(checked, set_id).facts
    assert facts["demands"] == truth["demands"]
    assert facts["failed_demands"] == truth["failed_demands"]
    assert facts["runs"] == truth["runs"]
    assert facts["running_h"] == pytest.approx(truth["running_h"], rel=0.005)
    assert facts["attempts"] == truth["attempts"]
    if facts["fuel_used_l"] is not None:
        assert abs(facts["fuel_used_l"] - truth["fuel_used_l"]) <= max(
            0.05 * truth["fuel_used_l"], facts["fuel_used_error_l"]
        )
