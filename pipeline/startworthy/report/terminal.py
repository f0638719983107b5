"""What the terminal says when the work is done: sets and answers, the worst findings, where the report is, what next.

rich is loaded only when something is written. Everything from a log is shown as text: no markup, no control
characters.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from startworthy.findings import Answer, Evidence, Question, Severity
from startworthy.report.order import own_style, standing
from startworthy.results import Checked, SetResult
from startworthy.words import Style, Units, finding_text, texts
from startworthy.words.plain import one_line, one_path

if TYPE_CHECKING:
    from rich.console import Console

WIDTH = 80
MOST_SETS = 25
MOST_FINDINGS = 8
LONGEST_NAME = 60

OnFile = Callable[[str], None]
"""Called with the name of each file as it is read."""


def console(*, stderr: bool = False) -> Console:
    """A console for this terminal, without markup; in colour only where that is wanted (NO_COLOR), else 80 wide."""
    from rich.console import Console

    stream = sys.stderr if stderr else sys.stdout
    width = None if stream.isatty() else WIDTH
    return Console(file=stream, markup=False, emoji=False, highlight=False, width=width)


def print_result(
    checked: Checked, written: Sequence[Path], *, units: Units = "si", verbose: bool = False, to: Console | None = None
) -> None:
    """Print the table of sets and answers, the worst findings, the report's place and the next step.

    written: what `write_report` returned. verbose: print every finding. to: where; standard output if not given.
    """
    to, style = to or console(), Style(units=units)
    ordered = sorted(checked.sets, key=lambda result: (standing(result), result.set_id))
    most = len(ordered) if verbose else MOST_SETS
    _write_answers(ordered[:most], to)
    if len(ordered) > most:
        values: dict[str, Evidence] = {"shown": most, "total": len(ordered)}
        to.print(style.fill(texts("report")["terminal"]["more_sets"], values))
    to.print()
    _write_findings(ordered, to, style, most=None if verbose else MOST_FINDINGS)
    to.print()
    if written:
        # a path is printed whole, whatever the width: it is there to be copied
        line = style.fill(texts("report")["terminal"]["open"], {"path": str(written[0])})
        to.print(one_line(line, None), soft_wrap=True)
    to.print(one_line(_next(ordered, style)))


def _write_answers(ordered: list[SetResult], to: Console) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.table import Table
    from rich.text import Text

    words, answers, short = texts("report"), texts("general")["answers"], texts("report")["short_questions"]
    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
    table.add_column(words["columns"]["set_id"], overflow="ellipsis", no_wrap=True, ratio=1)
    for question in Question:
        table.add_column(short[question.value], no_wrap=True)
    for result in ordered:
        cells = [Text(one_line(result.set_id, LONGEST_NAME))]
        for question in Question:
            answer = result.answers[question]
            cells.append(Text(answers[answer.value], style=_STYLES[answer]))
        table.add_row(*cells)
    to.print(table)


# weight, not colour: the words carry the meaning
_STYLES = {Answer.NO: "reverse bold", Answer.DOUBTFUL: "bold underline", Answer.UNKNOWN: "italic", Answer.YES: ""}


def _write_findings(ordered: list[SetResult], to: Console, style: Style, *, most: int | None) -> None:
    from rich.padding import Padding
    from rich.text import Text

    words, severities = texts("report")["terminal"], texts("general")["severities"]
    found = [(result, finding) for result in ordered for finding in result.findings]
    found.sort(key=lambda pair: pair[1].severity.rank)
    if not found:
        to.print(words["nothing"])
        return
    to.print(Text(words["worst"], style="bold"))
    for result, finding in found[:most]:
        text = finding_text(finding, own_style(style, result))
        name = one_line(result.set_id, LONGEST_NAME)
        line = f"{name}  {severities[finding.severity.value]}: {text.title} ({finding.code})"
        to.print(Padding(Text(one_line(line)), (0, 0, 0, 2), expand=False))
    if most is not None and len(found) > most:
        values: dict[str, Evidence] = {"more": len(found) - most, "total": len(found)}
        to.print(Padding(Text(style.fill(words["worst_more"], values)), (0, 0, 0, 2), expand=False))


def _next(ordered: list[SetResult], style: Style) -> str:
    words = texts("report")["terminal"]
    worst = ordered[0] if ordered else None
    if worst is not None and worst.findings:
        for severity, key in ((Severity.URGENT, "next_urgent"), (Severity.SOON, "next_soon")):
            if worst.findings[0].severity is severity:
                return style.fill(words[key], {"set_id": one_line(worst.set_id, LONGEST_NAME)})
    unknown = any(Answer.UNKNOWN in result.answers.values() for result in ordered)
    return str(words["next_unknown" if unknown else "next_clear"])


@contextmanager
def file_progress(*, quiet: bool = False, verbose: bool = False) -> Iterator[OnFile]:
    """While the block runs show on stderr which file is being read, and for how long. Yields what to call with it.

    On a terminal only, and not if `quiet`. verbose: print a line a file instead, on any stderr.
    """
    if verbose and not quiet:
        to = console(stderr=True)
        yield lambda name: to.print(one_path(name), soft_wrap=True)
        return
    if quiet or not sys.stderr.isatty():
        yield lambda _name: None
        return
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn("line"), TextColumn("{task.description}", markup=False), TimeElapsedColumn())
    with Progress(*columns, console=console(stderr=True), transient=True) as shown:
        task = shown.add_task("", total=None)
        yield lambda name: shown.update(task, description=one_path(name))
