"""One clean log in any dialect: the same readings to the last digit, or a refusal whose reason is true of the file."""

from __future__ import annotations

import os
import tempfile
from dataclasses import fields, replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st

from startworthy.read import RawReadings, read_paths
from tests.support.dialects import CHOICES, DATES, Form, Written, judge, legal, write

FORMS = st.builds(Form, **{f.name: st.sampled_from(list(dict.fromkeys(CHOICES[f.name]))) for f in fields(Form)}).map(
    legal
)


def read(written: Written) -> RawReadings:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "P-1.csv"
        path.write_bytes(written.data)
        return read_paths([path], layout=written.layout, zone_of=lambda _set: "UTC")


@settings(
    max_examples=int(os.environ.get("DIALECT_EXAMPLES", "100")), deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)  # fmt: skip
@given(FORMS, st.integers(min_value=0, max_value=1 << 30))
def test_any_dialect_is_read_right_or_refused_for_what_is_true_of_it(form: Form, seed: int) -> None:
    written = write(form, seed)
    note(repr(written.data[:600]))
    verdict = judge(written, read(written))
    assert verdict.kind != "wrong", verdict.why
    assert verdict.expected or verdict.kind == "right", f"refused: {verdict.why}"


def test_marks_are_looked_for_beyond_a_sample_of_blank_lines() -> None:
    form = Form(delimiter=",", group=",", numbers="whole", blanks="every", begin="late", shape="long", size="many",
                signals="three")  # fmt: skip
    verdict = judge(written := write(form, 39), read(written))
    assert (verdict.kind, verdict.why) == ("refused", "ambiguous_numbers")
    assert verdict.expected


PARTS = [
    (name, value)
    for name in (
        "delimiter", "decimal", "group", "encoding", "end", "quoting", "preamble", "header", "footer", "blanks",
        "restart", "extras", "shape", "null", "words", "padded", "shuffled",
    )
    for value in dict.fromkeys(CHOICES[name])
]  # fmt: skip
ASKED = {("encoding", "windows-1250"), ("words", "polish"), ("restart", "moved")}


@pytest.mark.parametrize(("name", "value"), PARTS, ids=repr)
@pytest.mark.parametrize("delimiter", [",", ";"])
def test_each_part_of_a_form_alone(name: str, value: object, delimiter: str) -> None:
    form = replace(Form(delimiter=delimiter, preamble_lines=5, size="many"), **{name: value})
    written = write(form, 7)
    verdict = judge(written, read(written))
    asked = (name, value) in ASKED and verdict.kind == "refused" and verdict.expected
    assert verdict.kind == "right" or asked, verdict


@pytest.mark.parametrize("date", DATES)
def test_each_form_of_a_date(date: str) -> None:
    written = write(Form(date=date), 7)
    verdict = judge(written, read(written))
    may_ask = "two_digits" in date
    assert verdict.kind == "right" or (may_ask and verdict.expected), verdict
