import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.problems import Problem
from startworthy.words import Style, problem_line
from startworthy.words.plain import LONGEST, one_line, one_path, visible

UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("HILL-01", "HILL-01"),
        ("Größe 3 \N{NO-BREAK SPACE}°C, 発電機, مولد", "Größe 3 \N{NO-BREAK SPACE}°C, 発電機, مولد"),
        ("a\tb\r\nc\0", "a␉b␍␊c␀"),
        ("\x1b[2J\x7f\x9b2J", "␛[2J␡[U+009B]2J"),
        ("gpj.\u202etxt", "gpj.[U+202E]txt"),
        ("HILL\u200b-01\ufeff", "HILL[U+200B]-01[U+FEFF]"),
        ("\u2028\u2029", "[U+2028][U+2029]"),
        ("\udc80", "[U+DC80]"),
        ("\u3164\u115f\u2800", "[U+3164][U+115F][U+2800]"),
        ("\N{ELECTRIC LIGHT BULB}\N{VARIATION SELECTOR-16}", "\N{ELECTRIC LIGHT BULB}\N{VARIATION SELECTOR-16}"),
    ],
)
def test_what_cannot_be_seen_is_shown_as_what_it_is(text: str, shown: str) -> None:
    assert visible(text) == shown


@given(st.text(st.characters()))
def test_nothing_unseen_is_left_and_what_is_seen_stays(text: str) -> None:
    shown, line = visible(text), one_line(text)
    for result in (shown, line):
        assert not UNSEEN & {unicodedata.category(c) for c in result}
    assert visible(shown) == shown
    assert len(line) <= LONGEST
    if text.isprintable() and len(text) <= LONGEST:
        assert line == text or "\N{REPLACEMENT CHARACTER}" in line
    shown.encode("utf-8")


def test_every_character_that_steers_a_terminal_or_turns_text_round_is_caught() -> None:
    steering = [*range(0x20), *range(0x7F, 0xA0), *range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x61C]
    for code in steering:
        assert chr(code) not in visible(f"a{chr(code)}b") + one_line(f"a{chr(code)}b")
    assert len({visible(chr(code)) for code in range(sys.maxunicode + 1) if code < 0xD800 or code > 0xDFFF}) > 1_100_000


def test_a_long_text_is_cut_and_a_path_keeps_its_end() -> None:
    assert one_line("x" * 10_000) == "x" * 199 + "…"
    assert one_line("x" * 10_000, None) == "x" * 10_000
    assert one_path("a/" * 5000 + "hill.csv").endswith("a/a/hill.csv")
    assert len(one_path("a" * 10_000)) == LONGEST
    assert one_path("logs/hill.csv") == "logs/hill.csv"


def test_the_line_of_a_problem_cannot_be_forged_or_drive_the_terminal() -> None:
    evil = "x\x1b[2J\r\nother.csv:1: all is well\u202e"
    said = problem_line(Problem("no_header", evil * 40, line=12, column=evil))
    assert not set(said) & set("\x1b\r\n\u202e")
    assert f":12: {one_line(evil)}: has no header" in said
    assert said.isprintable()


def test_a_space_of_another_width_is_a_space_on_a_terminal() -> None:
    assert one_line("Batt.\N{NO-BREAK SPACE}V") == "Batt. V"


@pytest.mark.parametrize("value", [float("inf"), -float("inf"), float("nan")])
@pytest.mark.parametrize("unit", ["V", "Cel", "h", "1", "rpm", "x"])
def test_what_is_no_number_is_not_known(value: float, unit: str) -> None:
    assert Style().quantity(value, unit) == Style("us").quantity(value, unit) == "not known"
