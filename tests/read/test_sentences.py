"""Every problem and every reason that the package can name has its sentence, and no sentence is left over."""

from __future__ import annotations

import re
from pathlib import Path

import startworthy
from startworthy import tomlfaults, tomlfile
from startworthy.read.reasons import RefusedReason
from startworthy.words import texts

SOURCES = "\n".join(p.read_text(encoding="utf-8") for p in Path(startworthy.__file__).parent.rglob("*.py"))
NAMED = set(re.findall(r'(?:Problem|\.refuse|\.ask)\(\s*"([a-z_]+)"', SOURCES))
OF_KINDS = {
    f"{kind}{end}"
    for kind in ("register", "layout")
    for end in (
        *("_missing", "_unreadable", "_is_folder", "_empty", "_too_large", "_not_utf8", "_not_toml", "_too_deep"),
        *("_given_twice", "_is_log", "_unknown_key", "_no_such_key", "_more"),
    )
}
OF_SETTINGS = set(re.findall(r'"((?:setting|register|layout)_[a-z_]+|set_id_unlike_log|no_set_in_logs)"', SOURCES))


def test_codes_and_sentences_match_one_to_one() -> None:
    assert set(texts("problems")["problems"]) == NAMED | OF_KINDS | OF_SETTINGS


def test_each_slip_of_toml_has_its_sentence() -> None:
    named = {how for _, how in tomlfile._NOT_TOML} | {how for _, how in tomlfile._SLIPS} | {"open", "other"}
    assert set(texts("problems")["not_toml"]) == named


def test_what_the_validating_library_finds_is_told_in_our_words() -> None:
    assert set(tomlfaults.CODES.values()) <= set(texts("problems")["problems"])


def test_reasons_and_sentences_match_one_to_one() -> None:
    assert set(texts("problems")["refused"]) == {reason.value for reason in RefusedReason}


def test_sentences_are_one_line_without_a_full_stop() -> None:
    for sentence in texts("problems")["problems"].values():
        assert "\n" not in sentence
        assert not sentence.endswith(".")
