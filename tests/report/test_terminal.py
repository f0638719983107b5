import io
import re
import sys
from pathlib import Path

import pytest
from rich.console import Console

from startworthy.report import terminal
from startworthy.report.terminal import MOST_FINDINGS, MOST_SETS, file_progress, print_result
from startworthy.results import Checked
from tests.support import checked as made


def _printed(checked: Checked, **more: object) -> str:
    stream = io.StringIO()
    to = Console(file=stream, width=80, markup=False, highlight=False)
    print_result(checked, [Path("reports/index.html")], to=to, **more)  # type: ignore[arg-type]
    return stream.getvalue()


def _many(count: int) -> Checked:
    ids = [f"SET-{n:03d}" for n in range(count)]
    return made.together(*(made.result(i) for i in ids), logbooks=[made.book("SET-000")], frames=[])


def test_worst_set_first_answers_in_words_report_and_next_step() -> None:
    text = _printed(made.three_sets())
    lines = text.splitlines()
    assert [line.split()[0] for line in lines[2:5]] == ["HILL-01", "BROOK-02", "CREST-03"]
    assert re.search(r"HILL-01 +No +Unknown +Doubtful +Doubtful +Yes", text)
    assert "HILL-01  Urgent: Battery sags to 8.77 V while cranking (battery.crank_sag)" in text
    assert "Report: reports/index.html" in text
    assert lines[-1] == "Next: open the report and see to HILL-01 first."


def test_eighty_columns_are_enough_and_no_colour_is_needed() -> None:
    checked = made.together(made.result("A very long name of a set " * 5), logbooks=[made.book("X")], frames=[])
    text = _printed(checked)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "\x1b" not in text


def test_what_is_cut_says_how_much_there_is_and_verbose_cuts_nothing() -> None:
    checked = _many(MOST_SETS + 1)
    total = 6 * (MOST_SETS + 1)
    short = _printed(checked)
    assert f"{MOST_SETS} of {MOST_SETS + 1} sets shown" in short
    assert f"and {total - MOST_FINDINGS} more of {total}" in short
    long = _printed(checked, verbose=True)
    assert "sets shown" not in long
    assert len(re.findall(r"(?m)^  SET-", long)) == total


def test_nothing_found_is_said_and_what_to_do_next() -> None:
    checked = made.together(made.result("HILL-01", found=()), logbooks=[made.book("HILL-01")], frames=[])
    text = _printed(checked)
    assert "Nothing found." in text
    assert "Next: open the report; it says what to log" in text


def test_a_log_cannot_write_markup_or_control_characters_to_the_terminal() -> None:
    checked = made.together(made.result("[red]x\x1b[2J\n"), logbooks=[made.book("X")], frames=[])
    text = _printed(checked)
    assert "\x1b" not in text
    assert "[red]x" in text


def test_progress_is_shown_on_a_terminal_only(capsys: pytest.CaptureFixture[str]) -> None:
    with file_progress() as on_file:
        on_file("a.csv")
    assert capsys.readouterr() == ("", "")
    with file_progress(verbose=True) as on_file:
        on_file("a.csv\x1b[2J")
    assert capsys.readouterr() == ("", "a.csv\N{REPLACEMENT CHARACTER}[2J\n")
    with file_progress(quiet=True, verbose=True) as on_file:
        on_file("a.csv")
    assert capsys.readouterr() == ("", "")


def test_progress_on_a_terminal_names_the_file(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    shown = Terminal()
    monkeypatch.setattr(sys, "stderr", shown)
    monkeypatch.setattr(terminal, "console", lambda *, stderr: Console(file=shown, force_terminal=True, markup=False))
    with file_progress() as on_file:
        on_file("valley/hut.csv")
    assert "valley/hut.csv" in shown.getvalue()
