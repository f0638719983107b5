"""Text from outside in every place of a report: the pages stay the pages that they are with a harmless name."""

from __future__ import annotations

import io
import re
import unicodedata
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from startworthy import words
from startworthy.report import write_report
from startworthy.report.page import MOST_CHARACTERS
from startworthy.report.terminal import print_result
from startworthy.results import Checked
from startworthy.words.plain import visible, without_surrogates
from tests.support import checked as made
from tests.support.nasty import ESCAPES, NASTY, Apart, any_text

HARMLESS = "harmless"
DAYS = 30
UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def _checked(text: str) -> Checked:
    """A result with that text as set id, site, alarm, path, header, refused value and evidence. Tables hold UTF-8."""
    table = without_surrogates(text)
    own = made.known(table, text, inferred={"rated_kw": text})
    return made.together(
        made.result(table, own=own, days=DAYS),
        logbooks=[made.book(table, days=DAYS, alarm=table)],
        frames=[],
        files=(made.file_read((table,), path=text, header=text),),
        refused=made.refused_frame(table, value=table),
    )


def _pages(text: str, folder: Path) -> dict[str, Apart]:
    with patch.object(words, "_check", made.check_words):
        written = write_report(_checked(text), folder, formats={"html"})
    pages = {path.name: Apart(path.read_text(encoding="utf-8")) for path in written if path.suffix == ".html"}
    return {"index" if name == "index.html" else "set": page for name, page in pages.items()}


@pytest.fixture(scope="module")
def harmless(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Apart]:
    return _pages(HARMLESS, tmp_path_factory.mktemp("harmless"))


def _holds(text: str, harmless: dict[str, Apart], folder: Path) -> None:
    out = folder / "out"
    pages = _pages(text, out)
    assert [path.name for path in folder.iterdir()] == ["out"]
    assert all(path.resolve().is_relative_to(out.resolve()) for path in out.rglob("*"))
    assert set(pages) == {"index", "set"}
    for name, page in pages.items():
        assert page.skeleton() == harmless[name].skeleton()
        assert page.ends == harmless[name].ends
        assert page.comments == []
        assert list(page.figures()) == list(harmless[name].figures()), "no text of a log gets into a chart"
        assert visible(text[:MOST_CHARACTERS]) in page.text
        assert not UNSEEN & {unicodedata.category(c) for c in page.text if c != "\n"}
    assert pages["set"].scripts[""] == harmless["set"].scripts[""], "the page's own script is the same"


@pytest.mark.parametrize("text", NASTY + ESCAPES, ids=lambda text: ascii(text)[:30])
def test_nasty_text_changes_no_element_and_no_attribute(text: str, harmless: dict[str, Apart], tmp_path: Path) -> None:
    _holds(text, harmless, tmp_path)


@settings(deadline=None, max_examples=30)
@given(text=st.one_of(any_text(), st.text(min_size=1, max_size=60)).filter(bool))
def test_any_text_changes_no_element_and_no_attribute(
    text: str, harmless: dict[str, Apart], tmp_path_factory: pytest.TempPathFactory
) -> None:
    _holds(text, harmless, tmp_path_factory.mktemp("any"))


def test_a_text_without_end_is_cut_and_says_how_long_it_is(tmp_path: Path) -> None:
    pages = _pages("x" * 10_000, tmp_path)
    for page in pages.values():
        assert f"{'x' * MOST_CHARACTERS}… (10000 characters in all)" in page.text
        assert "x" * (MOST_CHARACTERS + 1) not in page.text


@pytest.mark.parametrize("text", NASTY + ESCAPES, ids=lambda text: ascii(text)[:30])
def test_nasty_text_does_not_drive_the_terminal(text: str) -> None:
    stream = io.StringIO()
    print_result(_checked(text), [Path("reports/index.html")], to=Console(file=stream, width=80, markup=False))
    said = stream.getvalue()
    assert not UNSEEN & {unicodedata.category(c) for c in said if c != "\n"}
    assert len(said.splitlines()) <= 24, "a name takes its line and no more"
    assert max(cell_len(line) for line in said.splitlines()) <= 80


@pytest.mark.parametrize("name", ["index.html", "set.html", "parts.html"])
def test_no_template_takes_text_as_it_is(name: str) -> None:
    from importlib.resources import files

    source = (files("startworthy.report") / "templates" / name).read_text(encoding="utf-8")
    assert not re.search(r"\|\s*safe|autoescape|\bMarkup\b|\bon\w+\s*=", source)
    assert not re.findall(r"=\{\{", source), "every attribute stands in quotes"
    scripts = re.findall(r"<script[^>]*>(.*?)</script>", source, flags=re.S)
    assert set(scripts) <= {"{{ view.figure | script_json }}", "{{ dark }}", "{{ packed }}", "{{ script }}"}
