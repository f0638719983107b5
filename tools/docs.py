"""Write the generated parts of README.md and DEVELOPERS.md, or check that they are current.

    python -m tools.docs [--check]

What the program knows is printed from the same entries that it works by, so that the pages cannot drift from it.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable
from pathlib import Path

from click.testing import CliRunner

ROOT = Path(__file__).resolve().parent.parent


def checks() -> str:
    """The catalogue as a table."""
    from startworthy.check import CATALOGUE
    from startworthy.words import check_text, texts

    questions = texts("general")["questions"]
    rows = [
        f"| `{code}` | {check_text(code).title} | {questions[entry.question.value]} |"
        for code, entry in CATALOGUE.items()
    ]
    return "\n".join(["| check | what is wrong | question |", "|---|---|---|", *rows])


def help_text() -> str:
    """The help of the commands, as the program prints it."""
    from startworthy.cli import main

    parts = []
    for command in ([], ["check"], ["layout"], ["explain"]):
        result = CliRunner().invoke(main, [*command, "--help"], prog_name="startworthy", terminal_width=100)
        parts.append(result.output.rstrip())
    return "```text\n" + "\n\n\n".join(parts) + "\n```"


def tables() -> str:
    """Every column of the five tables."""
    from startworthy.logbook.tables import TABLES, documented

    parts = []
    for name in TABLES:
        rows = [f"| `{column}` | {kind} | {what} |" for column, kind, what in documented(name)]
        parts.append("\n".join([f"### {name}", "", "| column | type | meaning |", "|---|---|---|", *rows]))
    return "\n\n".join(parts)


def limits() -> str:
    """Every default limit with its basis and source."""
    from startworthy.limits import LIMITS

    rows = [f"| `{x.name}` | {x.side} {x.value:g} {x.unit} | {x.per} | {x.basis} | {x.source} |" for x in LIMITS]
    return "\n".join(["| limit | broken | per | basis | source |", "|---|---|---|---|---|", *rows])


PARTS: dict[str, dict[str, Callable[[], str]]] = {
    "README.md": {"checks": checks, "help": help_text},
    "DEVELOPERS.md": {"tables": tables, "limits": limits},
}


def current(page: str) -> tuple[str, str]:
    """The page as it is, and as it should be."""
    text = (ROOT / page).read_text(encoding="utf-8")
    fresh = text
    for name, make in PARTS[page].items():
        begin, end = f"<!-- begin: {name} -->", f"<!-- end: {name} -->"
        if begin not in fresh or end not in fresh:
            raise SystemExit(f"{page}: no part named {name}")
        made = f"{begin}\n{make()}\n{end}"
        fresh = re.sub(f"{re.escape(begin)}.*?{re.escape(end)}", lambda _, made=made: made, fresh, flags=re.S)
    return text, fresh


def main() -> None:
    """Write, or with --check say what is stale and exit with 1."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    only_check = parser.parse_args().check
    stale = []
    for page in PARTS:
        text, fresh = current(page)
        if text != fresh:
            stale.append(page)
            if not only_check:
                (ROOT / page).write_text(fresh, encoding="utf-8")
    if stale and only_check:
        sys.exit(f"{', '.join(stale)}: out of date; run python -m tools.docs")


if __name__ == "__main__":
    main()
