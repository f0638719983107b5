"""Every problem and every reason that the package can name has its sentence, and no sentence is left over."""

from __future__ import annotations

import re
from pathlib import Path

import startworthy
from startworthy.read.reasons import RefusedReason
from startworthy.words import texts

SOURCES = "\n".join(p.read_text(encoding="utf-8") for p in Path(startworthy.__file__).parent.rglob("*.py"))
NAMED = set(re.findall(r'(?:Problem|\.refuse|\.ask)\(\s*"([a-z_]+)"', SOURCES))
OF_KINDS = {
    f"{kind}{end}"
    for kind in ("register", "layout")
    for end in ("_unreadable", "_not_utf8", "_not_toml", "_unknown_key", "_bad_value")
}


def test_codes_and_sentences_match_one_to_one() -> None:
    assert set(texts("problems")["problems"]) == NAMED | OF_KINDS


def test_reasons_and_sentences_match_one_to_one() -> None:
    assert set(texts("problems")["refused"]) == {reason.value for reason in RefusedReason}


def test_sentences_are_one_line_without_a_full_stop() -> None:
    for sentence in texts("problems")["problems"].values():
        assert "\n" not in sentence
        assert not sentence.endswith(".")
