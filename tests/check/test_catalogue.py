"""What holds for every check of the catalogue at once."""

from __future__ import annotations

import ast
import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import startworthy.check
from startworthy.check import CATALOGUE, GROUPS, Entry, run_one, run_set
from startworthy.check.frame import RETIRED, check
from startworthy.findings import Answer, Clear, Finding, NotAssessed, Question, Reason, Severity
from startworthy.limits import LIMITS, Limits
from startworthy.words import Style, check_text, reason_text, texts
from tests.support.books import SET, book, day, empty_book, null_book, one_row_book
from tests.support.cases import all_cases

CODES = {
    "start": "failed retried slow late reliability no_preheat longer_after_rest slow_cranking stalled",
    "battery": "crank_sag crank_sag_growing low_at_rest charger_lost overcharged not_charged_by_engine flat_forecast "
    "bad_joint dead_cell not_recharged standing_drain",
    "exercise": "missed short light_load cold moved",
    "output": "voltage_off frequency_off frequency_hunting load_step droop speed_mismatch no_voltage overspeed "
    "load_not_taken overload",
    "cooling": "overheat declining running_cold heater_off",
    "oil": "low declining slow_to_build",
    "fuel": "low run_out rate_high lost_at_rest part_full autonomy",
    "care": "not_in_auto outage_missed stopped_by_power_cut service_due hours_disagree light_running settings_changed "
    "left_locked_out protection_silent",
    "log": "gap clock_fault value_rejected sensor_stuck sensor_spikes conflict signal_lost",
}
NOT_OF_A_CHECK = {"oil_settle_s", "false_discovery_rate"}
"""Limits that the logbook itself applies; a check that stands on them names them too."""
REMEDIES = {"check", "clean", "replace", "fix", "repair", "test", "charge", "refill", "service", "adjust", "use"}
STATES = {"care.service_due"}
"""Codes in which such a word is no remedy: that a service is due is what is wrong."""

entries = pytest.mark.parametrize("entry", CATALOGUE.values(), ids=str)


def test_the_catalogue_is_whole():
    assert {f"{group}.{name}" for group, names in CODES.items() for name in names.split()} == set(CATALOGUE)
    assert len(CATALOGUE) == 64


@entries
@pytest.mark.parametrize("blank", [empty_book, null_book, one_row_book])
def test_nothing_seen_is_never_clear(entry: Entry, blank):
    outcomes = run_one(entry, blank(), SET, strict=True)
    if (entry.code, blank) == ("exercise.missed", null_book):
        # the runs of this book have no figures but are there, and their days have no coverage: gaps everywhere
        assert outcomes[0].reason is Reason.TOO_SHORT
    assert {type(o) for o in outcomes} == {NotAssessed}
    assert reason_text(outcomes[0], Style())


@entries
def test_names_say_what_is_wrong(entry: Entry):
    assert re.fullmatch(r"[a-z]+\.[a-z]+(_[a-z]+)*", entry.code)
    assert entry.code in STATES or not REMEDIES & set(re.split(r"[._]", entry.code))
    assert entry.code not in RETIRED
    assert json.loads(json.dumps(entry.code)) == entry.code
    assert entry.group in {module.__name__.rsplit(".", 1)[-1] for module in GROUPS}
    assert entry.function.__module__.split(".")[2] == entry.group
    assert entry.function.__doc__


@entries
def test_words_of_every_code(entry: Entry):
    text = check_text(entry.code)
    assert all([text.title, text.computes, text.needs, text.fooled_by])
    own = texts(entry.group)[entry.code]
    assert own["clear"]
    for variant, found in own["found"].items():
        assert set(found) == {"title", "detail", "advice", "cautions"}, variant
        assert found["advice"], variant
        assert set(found["cautions"]) <= set(texts("general")["cautions"]), variant


def test_no_words_without_a_check():
    for module in GROUPS:
        group = module.__name__.rsplit(".", 1)[-1]
        assert set(texts(group)) == {code for code in CATALOGUE if code.startswith(f"{group}.")}


def test_no_limit_without_a_check():
    used = {name for entry in CATALOGUE.values() for name in entry.limits}
    assert {limit.name for limit in LIMITS} - NOT_OF_A_CHECK == used - NOT_OF_A_CHECK


class _Watched(Limits):
    """Limits that remember which of them were asked for."""

    def __init__(self, own):
        super().__init__(own)
        self.asked: set[str] = set()

    def __getitem__(self, name):
        self.asked.add(name)
        return super().__getitem__(name)


@entries
def test_a_check_asks_for_no_limit_that_it_does_not_declare_and_declares_none_idly(entry: Entry):
    asked: set[str] = set()
    for case in all_cases():
        if case.code != entry.code:
            continue
        watched = _Watched(case.book.known[SET].entry.limits)
        known = replace(case.book.known[SET], limits=watched)
        run_one(entry, replace(case.book, known={SET: known}), SET, strict=True)
        asked |= watched.asked
    assert asked - set(entry.limits) == set()
    # a limit of one of two batteries or classes may have no case of its own
    alike = {re.sub(r"_(12|24)_v$|_g[23]_fraction$", "", name) for name in asked} | {
        re.sub("_fraction$", "", name) for name in asked
    }
    idle = {
        n
        for n in set(entry.limits) - asked - NOT_OF_A_CHECK
        if re.sub(r"_(12|24)_v$|_g[23]_fraction$", "", n) not in alike
    }
    assert idle == set()


def _numbers(tree: ast.AST) -> list[float]:
    return [
        node.value for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool)
    ]  # fmt: skip


@pytest.mark.parametrize("module", GROUPS, ids=lambda m: m.__name__.rsplit(".", 1)[-1])
def test_a_check_knows_no_default_number(module):
    """Numbers in the code of a check are signs, halves and parts of units; thresholds stand in limits.py."""
    plain = {-1, 0, 1, 2, 0.5, 9, 24, 60, 1000}
    for path in Path(module.__file__).parent.glob("*.py"):
        assert set(_numbers(ast.parse(path.read_text()))) <= plain, path.name


def test_a_failing_check_is_reported_and_the_others_go_on():
    def fails(book, known, limit):
        raise ZeroDivisionError("planted")
        yield

    planted = Entry("start.planted", Question.START, True, (), (), (), "0.1", fails)
    days = book(days=[day(n) for n in range(30)])
    result = run_set(days, SET, catalogue={**CATALOGUE, "start.planted": planted})
    (failed,) = [o for o in result.not_assessed if o.code == "start.planted"]
    assert failed.reason is Reason.INTERNAL_ERROR
    assert failed.evidence == {"what": "ZeroDivisionError"}
    codes = {o.code for o in (*result.findings, *result.clear, *result.not_assessed)}
    assert codes == {*CATALOGUE, "start.planted"}
    assert result.answers[Question.START] is Answer.UNKNOWN
    with pytest.raises(ZeroDivisionError):
        run_set(days, SET, catalogue={"start.planted": planted}, strict=True)


@cache
def whole_runs():
    """The whole catalogue over one case of each code and kind: all cases would take minutes and show no more."""
    some = {(case.code, case.kind): case for case in reversed(all_cases())}
    return [(case, run_set(case.book, SET, strict=True)) for case in some.values()]


def test_every_code_ends_in_exactly_one_place():
    for case, result in whole_runs():
        places = [{o.code for o in kind} for kind in (result.findings, result.clear, result.not_assessed)]
        assert sum(len(place) for place in places) == len(set().union(*places)) == len(CATALOGUE), str(case)


@pytest.mark.parametrize(
    ("given", "what"),
    [
        ({"code": "start.failed"}, "already"),
        ({"signals": ["blood_pressure"]}, "unknown signal"),
        ({"needs": ["days.nothing"]}, "unknown column"),
        ({"limits": ["nothing_low_v"]}, "unknown limit"),
    ],
)
def test_an_entry_that_names_what_is_not_there_is_refused(given, what):
    with pytest.raises(ValueError, match=what):
        check(**({"code": "start.new", "question": Question.START, "since": "0.1"} | given))(lambda b, k, n: ())
    assert "start.new" not in CATALOGUE


def test_answers_follow_findings_and_what_was_looked_at():
    for _, result in whole_runs():
        for question, answer in result.answers.items():
            worst = min((f.severity.rank for f in result.findings if f.question is question), default=9)
            not_made = {o.code for o in result.not_assessed}
            # a check that carries alone has to be made; of those that carry by one name any one will do
            groups = {
                e.carries if isinstance(e.carries, str) else e.code
                for e in CATALOGUE.values()
                if e.carries and e.question is question
            }
            made = {
                e.carries if isinstance(e.carries, str) else e.code
                for e in CATALOGUE.values() if e.carries and e.code not in not_made
            }  # fmt: skip
            unseen = groups - made
            if worst == Severity.URGENT.rank:
                assert answer is Answer.NO
            elif worst == Severity.SOON.rank:
                assert answer is Answer.DOUBTFUL
            else:
                assert answer is (Answer.UNKNOWN if unseen else Answer.YES)


def test_every_question_is_carried():
    assert {entry.question for entry in CATALOGUE.values() if entry.carries} == set(Question)


def test_two_runs_give_the_same():
    for case in all_cases():
        first, again = (run_one(CATALOGUE[case.code], case.book, SET, strict=True) for _ in range(2))
        assert first == again
        assert all(isinstance(o, Finding | NotAssessed | Clear) for o in first)


def test_the_package_names_what_is_public():
    assert set(startworthy.check.__all__) == {"CATALOGUE", "Entry", "run_one", "run_set", "run_sets"}
