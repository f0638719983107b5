"""The table of threats in DEVELOPERS.md names the test of each defence: a test that goes takes its row's proof with it."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
NAMED = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")


def _rows() -> list[tuple[str, str, str]]:
    """Threat, defence and tests of each row; headings within the table have neither of the last."""
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = page[page.index("\n## Threats\n") :]
    section = section[: section.index("\n## ", 1)]
    lines = [line for line in section.splitlines() if line.startswith("|")][2:]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    assert all(len(row) == 3 for row in rows)
    return [(threat, defence, tests) for threat, defence, tests in rows if not threat.startswith("**")]


ROWS = _rows()


@cache
def _tests_of(file: str) -> dict[str, list[str]]:
    """The tests in a file, each with its decorators as they are written."""
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
    found = [node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")]
    return {node.name: [ast.unparse(one) for one in node.decorator_list] for node in found}


def test_the_table_covers_what_comes_from_outside() -> None:
    told = " ".join(threat for threat, _, _ in ROWS)
    for word in ("archive", "link", "device", "any size", "terminal", "markup", "JSON", "chart", "formula", "path", "register", "interrupt", "full disk"):  # fmt: skip
        assert word in told


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0][:40])
def test_each_defence_has_a_test_that_is_there_and_runs(row: tuple[str, str, str]) -> None:
    threat, defence, tests = row
    assert defence
    named = NAMED.findall(tests)
    assert named, f"no test for: {threat}"
    assert re.sub(r"[\s,]", "", NAMED.sub("", tests)) == "", "the last column holds tests and nothing else"
    for file, name in named:
        assert (ROOT / file).is_file(), file
        assert name in _tests_of(file), f"{file}::{name}"
        assert not any(re.search(r"\bskip\b|xfail", one) for one in _tests_of(file)[name])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0][:40])
def test_each_module_named_is_there(row: tuple[str, str, str]) -> None:
    for module in re.findall(r"`((?:\w+/)*\w+\.py)`", row[1]):
        places = [ROOT / module, ROOT / "pipeline" / "startworthy" / module]
        assert any(place.is_file() for place in places), module
