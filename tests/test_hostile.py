"""Hostile text through the whole pipeline, as a log, a file name and a register bring it, and into a real browser."""

from __future__ import annotations

import csv
import json
import os
import re
import subprocess
import sys
import unicodedata
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import startworthy as sw
from startworthy.problems import InputError
from startworthy.read.layout import ColumnLayout, Layout, load_layout
from startworthy.register import Register, SetEntry
from startworthy.report.page import MOST_CHARACTERS
from startworthy.results import Checked
from startworthy.words import problem_line
from startworthy.words.plain import visible
from tests.support.browser import open_page
from tests.support.nasty import NASTY, Apart, any_text

if TYPE_CHECKING:
    from playwright.sync_api import Browser

BEGAN = datetime(2026, 1, 5, tzinfo=UTC)
ROWS = 500
UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
HARMLESS = "harmless"
MOST_PAGES = 6
"""Opened in the browser one by one; the page over all sets holds every name."""


def _write(path: Path, names: list[str], *, alarm: str, header: str, refused: str) -> None:
    """A log of a few days, a row each ten minutes and set: a start, a battery that sinks, an alarm, a refused cell."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        # in quotes, so that a delimiter within is none: how a file without them is understood is told elsewhere
        table = csv.writer(stream, quoting=csv.QUOTE_NONNUMERIC)
        table.writerow(
            ["Set", "Time", "Battery voltage [V]", "Frequency [Hz]", "Coolant [°C]", "Alarm", "Mode", header]
        )
        for name in names:
            for row in range(ROWS):
                hertz = 50.1 if 100 <= row < 103 else 0.0
                volts = 12.7 if row < 200 else 11.4
                coolant = refused if row == 30 else 21.5
                told = alarm if row in {50, 51, 150} else ""
                at = (BEGAN + timedelta(minutes=10 * row)).isoformat()
                table.writerow([name, at, volts, hertz, coolant, told, "auto", row])


def _file_name(text: str) -> str:
    """The text as a file name, as far as a file system takes it."""
    kept = re.sub(r"[/\0]", "_", text).encode("utf-8")[:200].decode("utf-8", "ignore")
    return f"{kept}.csv"


def _report(text: str, folder: Path) -> tuple[Checked, list[Path]]:
    log = folder / _file_name(text)
    _write(log, [text], alarm=text, header=text, refused=text)
    checked = sw.check(log, register=Register(sets={text: SetEntry(site=text)}), strict=True)
    return checked, sw.report(checked, folder / "out")


def _apart(files: list[Path]) -> dict[str, Apart]:
    return {path.name: Apart(path.read_text(encoding="utf-8")) for path in files if path.suffix == ".html"}


@pytest.fixture(scope="module")
def harmless(tmp_path_factory: pytest.TempPathFactory) -> set[tuple[str, tuple[str, ...]]]:
    """Every kind of element that the pages of a log like these have."""
    _, files = _report(HARMLESS, tmp_path_factory.mktemp("harmless"))
    return {kind for page in _apart(files).values() for kind in page.kinds()}


def _holds(text: str, harmless: set[tuple[str, tuple[str, ...]]], folder: Path) -> Checked | None:
    try:
        checked, files = _report(text, folder)
    except InputError as error:
        # what cannot be read at all is told in lines that are fit for a terminal
        for line in map(problem_line, error.problems):
            assert not UNSEEN & {unicodedata.category(c) for c in line}
        return None
    for line in map(problem_line, checked.readings.problems):
        assert not UNSEEN & {unicodedata.category(c) for c in line}
    assert sorted(path.name for path in folder.iterdir()) == sorted([_file_name(text), "out"])
    assert all(path.resolve().parent in {folder / "out", folder / "out" / "logbook"} for path in files)
    pages = _apart(files)
    assert len(pages) == 1 + len(checked.sets)
    shown = "".join(page.text for page in pages.values())
    for page in pages.values():
        assert page.kinds() <= harmless
        assert page.comments == []
        assert not UNSEEN & {unicodedata.category(c) for c in page.text if c != "\n"}
    for result in checked.sets:
        assert visible(result.set_id[:MOST_CHARACTERS]) in shown
    for told in checked.logbook.marks["text"].drop_nulls():
        assert visible(told[:MOST_CHARACTERS]) in shown.replace(" → ", ">")
    document = json.loads((folder / "out" / "findings.json").read_bytes())
    assert [one["set_id"] for one in document["sets"]] == [result.set_id for result in checked.sets]
    for path in files:
        if path.suffix == ".csv":
            with path.open(encoding="utf-8", newline="") as stream:
                cells = [cell for row in csv.reader(stream) for cell in row]
            assert not any(re.match(r"\s*[=@＝＠]", cell) for cell in cells)
    return checked


@pytest.mark.parametrize("text", NASTY, ids=lambda text: ascii(text)[:30])
def test_nasty_text_stays_text_through_the_whole_pipeline(
    text: str, harmless: set[tuple[str, tuple[str, ...]]], tmp_path: Path
) -> None:
    checked = _holds(text, harmless, tmp_path)
    plain = text.isprintable() and text.strip() == text and len(text) < 1000 and text not in {"null", "undefined"}
    if plain:
        assert checked is not None
        assert [result.set_id for result in checked.sets] == [text]


@settings(deadline=None, max_examples=15)
@given(text=st.one_of(any_text(), st.text(st.characters(codec="utf-8"), min_size=1, max_size=60)))
def test_any_text_stays_text_through_the_whole_pipeline(
    text: str, harmless: set[tuple[str, tuple[str, ...]]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    _holds(text, harmless, tmp_path_factory.mktemp("any"))


@pytest.fixture(scope="module")
def nasty_report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One log with all nasty names at once, checked by the command itself."""
    folder = tmp_path_factory.mktemp("nasty")
    names = [HARMLESS, *sorted({text for text in NASTY if text.strip()})]
    _write(folder / "a<img src=x onerror=alert(1)>.csv", names, alarm=NASTY[0], header=NASTY[2], refused=NASTY[8])
    lines = [f"[sets.{_toml(name)}]\nsite = {_toml(name)}\n" for name in names]
    (folder / "sets.toml").write_text("".join(lines), encoding="utf-8")
    words = [sys.executable, "-m", "startworthy", "check", str(folder), "--out", str(folder / "out"), "--verbose"]
    done = subprocess.run(words, capture_output=True, timeout=300, check=False, env={**os.environ, "PYTHONUTF8": "1"})
    said = done.stdout.decode("utf-8") + done.stderr.decode("utf-8")
    assert done.returncode == 0, said[-2000:]
    assert not UNSEEN & {unicodedata.category(c) for c in said if c != "\n"}
    return folder / "out"


def test_every_set_of_a_nasty_log_has_its_own_page(nasty_report: Path) -> None:
    document = json.loads((nasty_report / "findings.json").read_bytes())
    pages = sorted(path.name for path in nasty_report.glob("*.html"))
    assert len(document["sets"]) > 60
    assert len(pages) == len(document["sets"]) + 1
    assert all(re.fullmatch(r"[A-Za-z0-9_][A-Za-z0-9._-]{0,85}", name) for name in pages)
    assert {path.name for path in nasty_report.parent.iterdir()} >= {"out", "sets.toml"}
    assert len(list(nasty_report.parent.iterdir())) == 3
    shown = [_text(nasty_report / name) for name in pages]
    for one in document["sets"]:
        assert sum(visible(one["set_id"][:MOST_CHARACTERS]) in text for text in shown) >= 2, "its own, and that of all"


@pytest.mark.browser
def test_in_a_browser_nasty_names_are_text_and_nothing_more(browser: Browser, nasty_report: Path) -> None:
    names = {one["set_id"] for one in json.loads((nasty_report / "findings.json").read_bytes())["sets"]}
    wanted = {visible(name[:MOST_CHARACTERS]) for name in names}
    with open_page(browser, nasty_report / "index.html") as opened:
        links = opened.page.locator(".fleet th a")
        told = {text.split("… (")[0] for text in links.all_inner_texts()}
        assert {_spaced(text) for text in told} == {_spaced(text) for text in wanted}
        assert {text.split("… (")[0] for text in opened.page.locator(".fleet th a bdi").all_text_contents()} == wanted
        places = links.evaluate_all("links => links.map((link) => link.href)")
        assert len(set(places)) == len(names)
        assert opened.complaints == []
        assert opened.requests == [(nasty_report / "index.html").as_uri()]
    seen = set()
    for place in places[:MOST_PAGES]:
        with open_page(browser, Path(nasty_report / place.rsplit("/", 1)[1])) as opened:
            opened.draw_all()
            seen.add(opened.page.locator("h1 bdi").first.text_content().split("… (")[0])
            assert opened.page.locator("h1 bdi").count() == 2, "the site stands beside the name, as text"
            assert opened.page.locator("img, iframe, object, embed, form, base, link").count() == 0
            assert opened.complaints == [], "no dialog, no error, nothing that the policy had to stop"
            assert opened.requests == [place]
    assert len(seen) == MOST_PAGES
    assert seen <= wanted


@pytest.mark.browser
@pytest.mark.parametrize(
    "planted",
    [
        "<script>window.ran = 1</script>",
        "<img src=x onerror='window.ran = 1'>",
        "<svg onload='window.ran = 1'></svg>",
        "<a id=planted href='javascript:window.ran = 1'>x</a>",
        "<iframe srcdoc='<script>parent.ran = 1</script>'></iframe>",
        "<object data='data:text/html,<script>parent.ran = 1</script>'></object>",
        "<script src='data:text/javascript,window.ran = 1'></script>",
        "<style>body { display: none }</style>",
        "<p style='position: fixed; inset: 0'>x</p>",
        "<img src='http://example.org/x.png'>",
        "<link rel=stylesheet href='http://example.org/x.css'>",
        "<form id=planted action='http://example.org'><input type=submit></form>",
    ],
)
def test_what_got_in_all_the_same_is_stopped_by_the_policy(
    browser: Browser, nasty_report: Path, tmp_path: Path, planted: str
) -> None:
    page = (nasty_report / "harmless.html").read_text(encoding="utf-8")
    assert page.count("<main>") == 1
    file = tmp_path / "tampered.html"
    file.write_text(page.replace("<main>", f"<main>{planted}"), encoding="utf-8")
    with open_page(browser, file) as opened:
        for link in opened.page.locator("#planted").all():
            link.evaluate("one => one.submit ? one.submit() : one.click()")
        opened.page.wait_for_timeout(300)
        assert opened.page.evaluate("window.ran") is None
        assert opened.page.locator("body").is_visible()
        asked = [url for url in opened.requests if url.startswith("http")]
        assert {opened.stopped.get(url) for url in asked} <= {"csp"}, "nothing goes out"
        assert any("Content Security Policy" in said for said in opened.complaints)


@pytest.mark.parametrize("text", [*NASTY, "\U000e0041x", "\x1b[2J", "\x7f"], ids=lambda text: ascii(text)[:30])
def test_a_layout_that_is_printed_drives_no_terminal_and_reads_back(text: str, tmp_path: Path) -> None:
    layout = Layout(set_id=text, time_column=text, columns={text: ColumnLayout(signal="battery_v", unit="V")})
    printed = layout.to_toml()
    assert not UNSEEN & {unicodedata.category(c) for c in printed if c != "\n"}
    (tmp_path / "mine.toml").write_text(printed, encoding="utf-8")
    assert load_layout(tmp_path / "mine.toml") == layout


@pytest.mark.parametrize("named", [True, False], ids=["named", "in a folder"])
def test_a_pipe_is_told_and_not_waited_for(tmp_path: Path, named: bool) -> None:
    _write(tmp_path / "HILL.csv", ["HILL"], alarm="", header="x", refused="")
    os.mkfifo(tmp_path / "pipe.csv")
    place = tmp_path / "pipe.csv" if named else tmp_path
    words = [sys.executable, "-m", "startworthy", "check", str(place), "--out", str(tmp_path / "out"), "--quiet"]
    done = subprocess.run(words, capture_output=True, timeout=120, check=False, text=True)
    assert done.returncode == (4 if named else 3)
    assert re.fullmatch(rf"{tmp_path}/pipe.csv: .*a pipe.*\n", done.stderr)


def _spaced(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def _text(path: Path) -> str:
    return Apart(path.read_text(encoding="utf-8")).text


def _toml(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
