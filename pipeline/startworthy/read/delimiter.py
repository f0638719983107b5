"""What stands between cells and around them, told from the first lines of a log."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from startworthy.read.headers import hear
from startworthy.read.stamps import TIME_WORDS, looks_like_time

DELIMITERS = (";", "\t", "|", ",")
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d+)*|[.,]\d+)([eE][+-]?\d+)?")
_HINT = re.compile(r"sep=(.)")
_NAMES_IN = 12
"""Rows looked through for names of signals: those with most cells that are no numbers, equal ones once."""
_NO_CONTROL = {code: None for code in range(32) if code not in (9, 10, 28, 29, 30, 31)}
_LONGEST_LINE = 100_000
"""Characters of a line of the sample that are looked at; the csv module takes no cell of more than 131,072."""

_TIMES_IN = 60
"""Rows looked through for times, the last ones."""


def cut(lines: Sequence[str], delimiter: str, quote: str) -> tuple[list[list[str]], list[int], list[int]]:
    """Cells, first line and last line of each record of the sample."""
    rows: list[list[str]] = []
    ends = [0]
    options: dict[str, Any] = {"quotechar": quote} if quote else {"quoting": csv.QUOTE_NONE}
    # An unclosed quote would take the rest of the sample into one cell: such a sample is read without quotes
    if quote and sum(line.count(quote) for line in lines) % 2:
        options = {"quoting": csv.QUOTE_NONE}
    reader = csv.reader(
        # A carriage return within a line, or a cell of junk without end, would end the reading of the sample;
        # lines of control characters alone are blank
        (line.translate(_NO_CONTROL)[:_LONGEST_LINE] + "\n" for line in lines),
        delimiter=delimiter,
        skipinitialspace=True,
        strict=False,
        **options,
    )
    try:
        for row in reader:
            rows.append([" ".join(cell.strip(" \t" + quote).split("\n")) for cell in row])
            ends.append(reader.line_num)
    except csv.Error:
        pass
    return rows, [end + 1 for end in ends[: len(rows)]], ends[1:]


def hinted(line: str) -> str | None:
    """The delimiter that a first line "sep=;" states."""
    found = _HINT.fullmatch(line.strip(" \r\n").strip('"'))
    return found[1] if found else None


def delimiter_of(lines: Sequence[str], quote: str) -> str | None:
    """The delimiter that cuts the lines into a log; None where none of DELIMITERS cuts any.

    Where several cut lines evenly (a decimal comma does), the one whose header holds most known names and whose rows
    hold times; then the one that cuts most lines into the same number of cells, a comma only if clearly better.
    """
    full = [line for line in lines if line.strip()]
    body = full[-300:]
    even: dict[str, float] = {}
    there = [candidate for candidate in DELIMITERS if any(candidate in line for line in body)]
    if len(there) < 2:
        return there[0] if there else None
    for candidate in there:
        rows, _, _ = cut(body, candidate, quote)
        counts = Counter(len(row) for row in rows if len(row) > 1)
        if counts:
            width, often = counts.most_common(1)[0]
            even[candidate] = often / len(rows) * (1.0 if width > 2 else 0.9)
    if not even:
        return None
    if len(even) == 1:
        return next(iter(even))
    named = {candidate: _names(full, candidate, quote) for candidate in even}
    best, best_score = ",", (0, -1.0)
    for candidate in DELIMITERS:
        if candidate not in even:
            continue
        score = (named[candidate], even[candidate])
        if score[0] > best_score[0] or (
            score[0] == best_score[0]
            and score[1] > best_score[1] + (0.1 if candidate == "," and best_score[1] > 0 else 0.0)
        ):
            best, best_score = candidate, score
    return best


def _names(lines: Sequence[str], delimiter: str, quote: str) -> int:
    """Known names in the row that has most, and one more where rows hold times."""
    rows, _, _ = cut(lines, delimiter, quote)
    wordy = sorted(
        dict.fromkeys(tuple(row[:200]) for row in rows if len(row) > 1),
        key=lambda row: -sum(bool(cell) and not is_number(cell) for cell in row),
    )
    known = max((sum(map(is_known, row)) for row in wordy[:_NAMES_IN]), default=0)
    timed = sum(any(looks_like_time(cell) for cell in row[:200]) for row in rows[-_TIMES_IN:] if len(row) > 1)
    return known + (timed > 2 and 5 * timed > len(rows[-_TIMES_IN:]))


def quote_of(lines: Sequence[str]) -> str:
    """The quote character: a single quote where many lines begin and end with one, and none does with a double one."""
    full = [line.strip() for line in lines if line.strip()]
    single = sum(len(line) > 1 and line[0] == line[-1] == "'" for line in full)
    double = any(line[0] == '"' or line[-1] == '"' for line in full)
    return "'" if single > 2 and 4 * single > len(full) and not double else '"'


def is_number(cell: str) -> bool:
    """A plain number, with either decimal mark."""
    return _NUMBER.fullmatch(re.sub(r"[ \u00a0\u202f\u2009'\u2019]", "", cell)) is not None


@lru_cache(maxsize=4096)
def is_known(cell: str) -> bool:
    """Whether a cell names a signal or a time."""
    if not cell or len(cell) > 100 or is_number(cell):
        return False
    heard = hear(cell)
    return heard.signal is not None or heard.words in TIME_WORDS
