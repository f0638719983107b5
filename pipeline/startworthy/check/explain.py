"""What a check computes, its limits and where they come from: the text of `startworthy explain`.

All of it is drawn from the catalogue, from limits.py and from words/, so that it cannot drift from the program.
"""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Iterator

from startworthy.check.found import spoken_choice
from startworthy.check.frame import CATALOGUE, Entry
from startworthy.limits import Limit, Limits
from startworthy.words import Style, check_text, texts, unit_ending

WIDTH = 80
_INDENT = 12


def explain(code: str | None = None, *, limits: Limits | None = None, style: Style | None = None) -> str:
    """The text of one check, or the list of all; lines of at most 80 columns but for unbreakable words.

    limits: those in force (a register's own), else the defaults. Raises KeyError for an unknown code; its text
    names the nearest known one.
    """
    if code is None:
        return _catalogue()
    entry = CATALOGUE.get(code)
    if entry is None:
        near = difflib.get_close_matches(code, CATALOGUE, n=1, cutoff=0.4)
        mend = f"did you mean {near[0]}?" if near else "startworthy explain lists them all"
        raise KeyError(f"no check is called '{code}'; {mend}")
    return _of(entry, limits or Limits(), style or Style())


def _catalogue() -> str:
    from startworthy.check import GROUPS

    order = [module.__name__.rsplit(".", 1)[-1] for module in GROUPS]
    wide = max(len(code) for code in CATALOGUE) + 2
    entries = sorted(CATALOGUE.values(), key=lambda entry: order.index(entry.group))
    lines = [f"{entry.code:<{wide}}{check_text(entry.code).title}" for entry in entries]
    return "\n".join([*_wrapped(texts("explain")["lines"]["catalogue"]), "", *lines]) + "\n"


def _of(entry: Entry, limits: Limits, style: Style) -> str:
    text, words, general = check_text(entry.code), texts("explain"), texts("general")
    heads, lines = words["headings"], words["lines"]
    question = lines["carries" if entry.carries else "counts"].format(
        question=general["questions"][entry.question.value]
    )
    parts = [entry.code, text.title, ""]
    parts += _part(heads["question"], question)
    parts += _part(heads["computes"], text.computes)
    parts += _part(heads["needs"], text.needs)
    parts += _part(heads["signals"], _signals(entry) or lines["any_log"])
    if entry.needs:
        parts += _part(heads["columns"], ", ".join(name.replace("|", lines["or"]) for name in entry.needs))
    parts += _part(heads["fooled_by"], text.fooled_by)
    parts += _part(heads["since"], lines["version"].format(since=entry.since))
    parts += ["", heads["limits"]]
    for name in entry.limits:
        parts += _wrapped(limit_line(limits[name], style), first="  ", rest="    ")
    return "\n".join(parts) + "\n"


def limit_line(limit: Limit, style: Style) -> str:
    """One limit in one line: name, side, value with its unit, what it is per, basis and source."""
    words, general = texts("explain"), texts("general")
    lines = words["lines"]
    line: str = lines["limit"].format(
        name=limit.name,
        side=words["sides"][limit.side],
        value=style.number(limit.value, unit_ending(limit.unit), whole=limit.value.is_integer()),
    )
    if limit.per:
        line = lines["per"].format(line=line, per=limit.per)
    line = lines["basis"].format(line=line, basis=general["bases"][limit.basis])
    # what the register says is its own source
    return lines["source"].format(line=line, source=limit.source) if limit.basis == "published" else line


def _signals(entry: Entry) -> str:
    joined = texts("explain")["lines"]["or"]
    return "; ".join(joined.join(spoken_choice(choice)) for choice in entry.signals)


def _part(head: str, body: str) -> list[str]:
    return _wrapped(body, first=f"{head:<{_INDENT}}", rest=" " * _INDENT)


def _wrapped(body: str, first: str = "", rest: str = "") -> list[str]:
    return list(_lines(body, first, rest))


def _lines(body: str, first: str, rest: str) -> Iterator[str]:
    yield from textwrap.wrap(
        body, WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False
    )
