import json
import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import jsonschema
import pytest

from startworthy.findings import Finding, Question, Severity
from startworthy.report import write_report
from startworthy.report.findings_json import document_text, findings_document, schema_text, utc_text
from startworthy.words import Style
from tests.support import checked as made


def _validator() -> jsonschema.Draft202012Validator:
    schema = json.loads(schema_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())


def _read_back(document: object) -> object:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is not JSON")

    return json.loads(document_text(document), parse_constant=refuse)  # type: ignore[arg-type]


@pytest.mark.parametrize("units", ["si", "us"])
def test_the_document_is_what_its_schema_says(units: str) -> None:
    document = findings_document(made.three_sets(), Style(units))  # type: ignore[arg-type]
    _validator().validate(_read_back(document))
    assert [one["set_id"] for one in document["sets"]] == ["BROOK-02", "CREST-03", "HILL-01"]


def test_the_schema_names_every_key_that_is_written() -> None:
    schema, document = json.loads(schema_text()), findings_document(made.one_set(), Style())
    one = document["sets"][0]
    parts = {"file": document["files"][0], "set": one, "finding": one["findings"][0]}
    for name, part in parts.items():
        assert set(part) == set(schema["$defs"][name]["properties"]) == set(schema["$defs"][name]["required"]), name
    assert set(document) == set(schema["properties"])


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("schema_version",), 2),
        (("generated_at",), "2026-01-01T00:00:00+01:00"),
        (("sets", 0, "answers", "start"), "maybe"),
        (("sets", 0, "findings", 0, "severity"), "bad"),
        (("sets", 0, "findings", 0, "value"), "8.9"),
        (("sets", 0, "not_assessed", 0, "reason"), ""),
        (("files", 0, "rows_read"), -1),
    ],
)
def test_the_schema_refuses_what_a_reader_could_not_use(path: tuple[str | int, ...], value: object) -> None:
    document = _read_back(findings_document(made.one_set(), Style()))
    place = document
    for step in path[:-1]:
        place = place[step]  # type: ignore[index]
    place[path[-1]] = value  # type: ignore[index]
    assert list(_validator().iter_errors(document))


def test_every_code_stands_in_exactly_one_place() -> None:
    one = findings_document(made.one_set(), Style())["sets"][0]
    found, clear = {f["code"] for f in one["findings"]}, set(one["clear"])
    unseen = {o["code"] for o in one["not_assessed"]}
    assert len(found | clear | unseen) == len(found) + len(clear) + len(unseen)


def test_nothing_that_json_lacks_gets_in() -> None:
    odd = Finding(
        "log.gap",
        Severity.NOTE,
        Question.LOG,
        None,
        None,
        value=float("nan"),
        limit=float("inf"),
        evidence={"gap_h": float("nan"), "seen_at": datetime(2026, 1, 2, tzinfo=timezone(timedelta(hours=5)))},
    )
    checked = made.one_set()
    checked = replace(checked, sets=(replace(checked.sets[0], findings=(odd,)),))
    finding = _read_back(findings_document(checked, Style()))["sets"][0]["findings"][0]  # type: ignore[index]
    assert finding["value"] is finding["limit"] is finding["began_at"] is finding["evidence"]["gap_h"] is None
    assert finding["evidence"]["seen_at"] == "2026-01-01T19:00:00Z"


def test_times_are_utc_and_say_so() -> None:
    assert utc_text(datetime(2026, 3, 29, 3, 30, tzinfo=timezone(timedelta(hours=2)))) == "2026-03-29T01:30:00Z"
    assert utc_text(datetime(2026, 3, 29, 1, 30, 0, 250_000, tzinfo=UTC)) == "2026-03-29T01:30:00.250000Z"


def test_what_the_register_overrides_is_told() -> None:
    own = made.known("HILL-01", own_limits={"coolant_high_c": 95.0})
    checked = made.one_set()
    checked = replace(checked, sets=(replace(checked.sets[0], known=own),))
    one = findings_document(checked, Style())["sets"][0]
    assert one["known"]["limits"] == {"coolant_high_c": 95.0}
    assert one["known"]["time_zone"] == "Europe/Zurich"
    assert "rated_frequency_hz" in one["inferred"]
    assert one["sampling"] == {"rest_s": 300.0, "running_s": 10.0, "start_s": 1.0}


NASTY = [
    "</script>\u2028",
    "\x00\x1b[2J\n\r\t",
    "\ud800 \udc80",
    "\ud83d\ude00",
    '"\\',
    "__proto__",
    "x" * 10_000,
    "\uffff\U0010ffff",
]


@pytest.mark.parametrize("text", NASTY, ids=ascii)
def test_whatever_a_text_holds_the_document_is_json_in_utf_8(text: str, tmp_path: Path) -> None:
    checked = made.together(
        made.result(text, site=text, own=made.known(text, text, inferred={"rated_kw": text})),
        logbooks=[made.book(text.encode("utf-8", "replace").decode())],
        frames=[],
        files=(made.file_read((text,), path=text, header=text),),
    )
    write_report(checked, tmp_path, formats={"json"})
    document = json.loads((tmp_path / "findings.json").read_bytes())
    _validator().validate(document)
    wanted = re.sub(r"[\ud800-\udfff]", "\N{REPLACEMENT CHARACTER}", text)
    one, file = document["sets"][0], document["files"][0]
    assert one["set_id"] == one["site"] == one["inferred"]["rated_kw"] == file["path"] == file["sets"][0] == wanted


@pytest.mark.parametrize("value", [float("inf"), float("nan"), -float("inf")])
def test_a_figure_that_json_does_not_have_is_null_wherever_it_stands(value: float) -> None:
    own = replace(made.known("HILL-01"), rated_kw=value)
    one = made.one_set()
    result = replace(one.sets[0], known=own, facts={**one.sets[0].facts, "fuel_used_l": value})
    document = _read_back(findings_document(replace(one, sets=(result,)), Style()))
    assert document["sets"][0]["known"]["rated_kw"] is None  # type: ignore[index]
    assert document["sets"][0]["facts"]["fuel_used_l"] is None  # type: ignore[index]
