"""How the text of a log is laid out, told from its first lines: delimiter, header, units row, decimal mark."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from startworthy.problems import InputError, Problem
from startworthy.read.delimiter import cut, delimiter_of, hinted, quote_of
from startworthy.read.headers import hear, words_of
from startworthy.read.heading import PREAMBLE_ROWS, find_heading, group_names, is_header
from startworthy.read.layout import Layout
from startworthy.read.marks import Marks
from startworthy.read.names import column_words
from startworthy.read.source import SAMPLE_BYTES, Source
from startworthy.read.stamps import looks_like_time

LOOK_AT_ROWS = 400
WIDEST = 4096
"""Columns of the widest log that is read; a log of one set has a few dozen."""


_LEAST_LINES, _LINE_BYTES, _KEPT_BYTES, _LOOK_ON_BYTES = 20, 1 << 16, 4 << 20, 256 << 20


@dataclass(frozen=True, slots=True)
class Dialect:
    """The frame of a file. `headers` are unique; `body` is the sample's first rows below the header, cells stripped.

    skip_lines: physical lines above the first data row. header_line: line of the header, from 1. width: most cells of
    a row seen in the sample. spaced_quotes: cells have spaces before their quotes, which only the exact way reads.
    header_rows: as written, from the first (groups) to the last (units); the one of names is at `names_at`.
    marks: of its numbers; told later, when it is known which columns hold numbers (markscan.py).
    """

    delimiter: str
    quote_char: str
    skip_rows: int
    header_row_count: int
    skip_lines: int
    headers: tuple[str, ...]
    units_row: tuple[str, ...]
    header_line: int
    preamble: Mapping[str, str]
    body: tuple[tuple[str, ...], ...]
    width: int
    spaced_quotes: bool = False
    notes: tuple[str, ...] = ()
    marks: Marks = field(default_factory=Marks)
    header_rows: tuple[tuple[str, ...], ...] = ()
    names_at: int = 0

    @property
    def decimal_char(self) -> str:
        """Decimal mark of the numbers."""
        return self.marks.decimal

    @property
    def group_char(self) -> str:
        """Thousands mark, "" for none."""
        return self.marks.group


def sample_of(source: Source) -> tuple[bytes, bool]:
    """The first bytes of a log in UTF-8, and whether they are all of it.

    Where lines are so long that the usual sample holds but a few, more is read, and each line is cut: what a log's
    dialect is stands in its first cells.
    """
    head = source.head()
    if len(head) < SAMPLE_BYTES:
        return head, True
    if head.count(b"\n") >= _LEAST_LINES:
        return head, False
    lines: list[bytes] = []
    rest, size = b"", 0
    for part in source.parts():
        size += len(part)
        first, *others = part.split(b"\n")
        rest = (rest + first)[:_LINE_BYTES]
        for other in others:
            lines.append(rest)
            rest = other[:_LINE_BYTES]
        enough = len(lines) > LOOK_AT_ROWS + PREAMBLE_ROWS or sum(map(len, lines)) > _KEPT_BYTES
        if enough or size > _LOOK_ON_BYTES:
            return b"\n".join(lines or [rest, b""]), False
    return b"\n".join([*lines, rest]), True


def dialect_of(text: str, label: str, given: Layout, whole: bool) -> Dialect:
    """Tell the dialect from the start of a text. `given` decides what it states; `whole`: the text is all there is.

    Raises InputError: file_empty, header_only, no_header, too_wide.
    """
    # At line feeds only, as the parser does: str.splitlines would cut at characters that a text may hold
    lines = [line.removesuffix("\r") for line in text.split("\n")]
    if len(lines) > 1 and (not whole or not lines[-1]):
        lines = lines[:-1]
    if not any(line.strip(" \t\r\n,;|\x00\x1a") for line in lines):
        raise InputError(Problem("file_empty", label))
    lines = lines[: LOOK_AT_ROWS + PREAMBLE_ROWS]
    quote = quote_of(lines) if given.quote_char is None else given.quote_char
    delimiter = given.delimiter or hinted(lines[0]) or delimiter_of(lines[given.skip_rows or 0 :], quote) or ","
    rows, at, ends = cut(_whole_records(lines, quote), delimiter, quote)
    heading = find_heading(rows, at, label, given)
    header, units_at, groups_at = heading.header, heading.units, heading.groups
    units: tuple[str, ...] = ()
    if header is None:
        width = max(len(row) for row in rows[heading.data :])
        names = tuple(f"#{n + 1}" for n in range(width))
        skip_rows, skip_lines, count, header_line = at[heading.data] - 1, at[heading.data] - 1, 0, at[heading.data]
    else:
        names = _unique(rows[header] if groups_at is None else group_names(rows[groups_at], rows[header]))
        units = tuple(rows[units_at]) if units_at is not None else ()
        skip_rows = at[header if groups_at is None else groups_at] - 1
        count = 1 + (units_at is not None) + (groups_at is not None)
        header_line = at[header]
        skip_lines = ends[header if units_at is None else units_at]
    placed = [row for row in (groups_at, header, units_at) if row is not None]
    if len(names) > WIDEST:
        raise InputError(Problem("too_wide", label, header_line, values={"most": WIDEST}))
    header_rows = tuple(tuple(rows[row]) for row in placed)
    names_at = int(groups_at is not None)
    body: list[tuple[str, ...]] = []
    for row, line in zip(rows, at, strict=True):
        if line <= skip_lines or not any(row):
            continue
        if len(body) == LOOK_AT_ROWS or (placed and is_header(row, header_rows, names_at) is False):
            # What stands below another header tells nothing of this one's columns
            break
        if len(names) < 3 or _is_of_the_table(row, len(names)):
            body.append(tuple(row[:WIDEST]))
    spaced = rf"(?:^|{re.escape(delimiter)})[ \t]+{re.escape(quote)}" if quote else r"(?!)"
    return Dialect(
        delimiter, quote, skip_rows, count, skip_lines, names, units, header_line,
        _preamble(rows[: next(i for i, line in enumerate(at) if line > skip_rows)], delimiter), tuple(body),
        max([len(names), *(len(row) for row in body if len(row) < WIDEST)]),
        any(re.search(spaced, line) for line in lines[skip_lines:]),
        header_rows=header_rows, names_at=names_at,
    )  # fmt: skip


def _is_of_the_table(row: list[str], columns: int) -> bool:
    """Whether a row tells something of the columns: more than one cell, and half of them or a time."""
    return sum(map(bool, row)) > 1 and (2 * len(row) >= columns or any(map(looks_like_time, row)))


def _whole_records(lines: list[str], quote: str) -> list[str]:
    """The sample without a record at its end whose quote is closed only after it."""
    if not quote or sum(line.count(quote) for line in lines) % 2 == 0:
        return lines
    last = max(n for n, line in enumerate(lines) if line.count(quote) % 2)
    return lines[:last] if last > max(len(lines) - 20, len(lines) // 2) else lines


def _unique(cells: list[str]) -> tuple[str, ...]:
    """Headers as written; "#3" for one without a name, "Name#2" for the second of a name."""
    last = max((i for i, cell in enumerate(cells) if cell), default=-1)
    seen: Counter[str] = Counter()
    names = []
    for index, cell in enumerate(cells[: last + 1]):
        name = cell or f"#{index + 1}"
        seen[name] += 1
        names.append(name if seen[name] == 1 else f"{name}#{seen[name]}")
    return tuple(names)


def _preamble(rows: list[list[str]], delimiter: str) -> dict[str, str]:
    """`key: value`, `key = value` or `key<delimiter>value` lines above the header; keys as plain words."""
    found: dict[str, str] = {}
    for row in rows:
        filled = [cell for cell in row if cell]
        if len(filled) == 2:
            key, value = filled[0].rstrip(":= "), filled[1]
        else:
            pair = re.match(r"[#\s]*([^:=]{1,40}?)\s*[:=]\s*(.+)", delimiter.join(row).rstrip(delimiter))
            if pair is None:
                continue
            key, value = pair[1], pair[2]
        found.setdefault(words_of(key), value.strip().strip('"'))
    return found


def set_column_of(headers: tuple[str, ...]) -> str | None:
    """The header that names the set in each row, or None."""
    found = {words_of(header): header for header in reversed(headers)}
    return next((found[words] for words in SET_WORDS if words in found and hear(found[words]).signal is None), None)


SET_WORDS = (
    "set id", "set", "set name", "generating set", "generating set id", "genset id", "genset", "genset name",
    "generator id", "generator set", "generator name", "generator", "asset id", "asset", "asset name", "equipment id",
    "equipment", "unit id", "unit name", "unit no", "unit number", "machine id", "machine", "device id", "device",
    "device name", *column_words(lambda language: language.sets),
)  # fmt: skip
"""What a column or a preamble line may call the set, surest first. Common practice, no source."""
