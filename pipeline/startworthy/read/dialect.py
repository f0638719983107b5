"""How the text of a log is laid out, told from its first lines: delimiter, header, units row, decimal mark."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from startworthy.problems import InputError, Problem
from startworthy.read.headers import hear, unit_named, words_of
from startworthy.read.layout import NULL_WORDS, Layout
from startworthy.read.stamps import TIME_WORDS, looks_like_time

DELIMITERS = (";", "\t", "|", ",")
LOOK_AT_ROWS = 400
PREAMBLE_ROWS = 80
NEAR_ROWS = 5
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d+)*|[.,]\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True, slots=True)
class Dialect:
    """The frame of a file. `headers` are unique; `body` is the sample's first rows below the header, cells stripped.

    skip_lines: physical lines above the first data row. header_line: line of the header, from 1. width: most cells of
    a row seen in the sample. spaced_quotes: cells have spaces before their quotes, which only the exact way reads.
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
    decimal_char: str
    group_char: str
    spaced_quotes: bool = False
    notes: tuple[str, ...] = ()


def dialect_of(text: str, label: str, given: Layout, whole: bool) -> Dialect:
    """Tell the dialect from the start of a text. `given` decides what it states; `whole`: the text is all there is.

    Raises InputError: file_empty, header_only, no_header.
    """
    lines = text.splitlines()
    if not whole and len(lines) > 1 and not text.endswith(("\n", "\r")):
        lines = lines[:-1]
    if not any(line.strip(" \t\r\n,;|\x00\x1a") for line in lines):
        raise InputError(Problem("file_empty", label))
    lines = lines[: LOOK_AT_ROWS + PREAMBLE_ROWS]
    hint = re.fullmatch(r"sep=(.)", lines[0].strip().strip('"'))
    quote = '"' if given.quote_char is None else given.quote_char
    delimiter = given.delimiter or (hint[1] if hint else _delimiter(lines, quote))
    rows, at, ends = _rows(lines, delimiter, quote)
    header, data = _header_and_data(rows, at, label, given)
    count = given.header_row_count
    has_units = header is not None and (
        count == 2 or (count is None and data - header > 1 and _is_units(rows, header, data))
    )
    units: tuple[str, ...] = ()
    if header is None:
        width = max(len(row) for row in rows[data:])
        names = tuple(f"#{n + 1}" for n in range(width))
        skip_rows, skip_lines, count = at[data] - 1, at[data] - 1, 0
    else:
        names = _unique(rows[header])
        below = next((i for i in range(header + 1, len(rows)) if any(rows[i])), header) if has_units else header
        units = tuple(rows[below]) if has_units else ()
        skip_rows, count = at[header] - 1, 2 if has_units else 1
        skip_lines = ends[below]
    body = tuple(tuple(row) for row, line in zip(rows, at, strict=True) if line > skip_lines and any(row))[
        :LOOK_AT_ROWS
    ]
    decimal, group, notes = _marks(body, delimiter, given)
    spaced = rf"{re.escape(delimiter)}[ \t]+{re.escape(quote)}" if quote else r"(?!)"
    return Dialect(
        delimiter, quote, skip_rows, count, skip_lines, names, units, skip_rows + 1,
        _preamble(rows[: header if header is not None else data], delimiter), body,
        max([len(names), *(len(row) for row in body)]), decimal, group,
        any(re.search(spaced, line) for line in lines[skip_lines:]), notes,
    )  # fmt: skip


def _rows(lines: list[str], delimiter: str, quote: str) -> tuple[list[list[str]], list[int], list[int]]:
    """Cells, first line and last line of each record of the sample."""
    rows: list[list[str]] = []
    ends = [0]
    options: dict[str, Any] = {"quotechar": quote} if quote else {"quoting": csv.QUOTE_NONE}
    # An unclosed quote would take the rest of the sample into one cell: such a sample is read without quotes
    if quote and sum(line.count(quote) for line in lines) % 2:
        options = {"quoting": csv.QUOTE_NONE}
    reader = csv.reader(
        (line.replace("\x00", "") + "\n" for line in lines),
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


def _delimiter(lines: list[str], quote: str) -> str:
    """The delimiter that cuts most lines into the same number of cells, two or more; a comma only if no other does."""
    body = [line for line in lines if line.strip()][-300:]
    best, best_score = ",", 0.0
    for candidate in DELIMITERS:
        rows, _, _ = _rows(body, candidate, quote)
        counts = Counter(len(row) for row in rows if len(row) > 1)
        if not counts or not rows:
            continue
        width, often = counts.most_common(1)[0]
        score = often / len(rows) * (1.0 if width > 2 else 0.9)
        # Decimal commas cut rows evenly too, so a comma has to be clearly better than the others
        if score > best_score + (0.1 if candidate == "," and best_score > 0 else 0.0):
            best, best_score = candidate, score
    return best


def is_number(cell: str) -> bool:
    """A plain number, with either decimal mark."""
    return _NUMBER.fullmatch(cell.replace(" ", "")) is not None


def _header_and_data(rows: list[list[str]], at: list[int], label: str, given: Layout) -> tuple[int | None, int]:
    """Index of the header (None: the layout says that there is none) and of the first data row."""
    if given.skip_rows is not None or given.header_row_count is not None:
        wanted = (given.skip_rows or 0) + 1
        first = next((i for i, line in enumerate(at) if line >= wanted and any(rows[i])), None)
        if first is None:
            raise InputError(Problem("file_empty", label))
        if given.header_row_count == 0:
            return None, first
        if given.skip_rows is not None:
            data = first + (given.header_row_count or 1)
            if data >= len(rows) and given.header_row_count is None:
                raise InputError(Problem("header_only", label, at[first]))
            if given.header_row_count is None and data < len(rows) and _is_units(rows, first, data + 1):
                data += 1
            return first, min(data, len(rows))
    stamped = _stamped(rows)
    first = next((i for i, is_data in enumerate(stamped) if is_data), None)
    header = _header(rows, stamped)
    if header is not None:
        return header, next(i for i in range(header, len(rows)) if stamped[i])
    texts = [i for i, row in enumerate(rows[:first]) if sum(map(bool, row)) >= 2]
    if first is not None and not texts:
        raise InputError(Problem("no_header", label, at[first]))
    if len(texts) < 2 and first is None:
        raise InputError(Problem("header_only", label, at[texts[-1]] if texts else None))
    return (texts[-1], first) if first is not None else (texts[0], texts[1])


def _stamped(rows: list[list[str]]) -> list[bool]:
    """Which rows hold a time where most rows have theirs; without any times, which are rows of numbers."""
    places = [[n for n, cell in enumerate(row) if looks_like_time(cell)] for row in rows]
    usual = Counter(n for own in places for n in own).most_common(1)
    if usual:
        return [usual[0][0] in own for own in places]
    wide = max(2, Counter(sum(map(bool, row)) for row in rows if any(row)).most_common(1)[0][0] // 2)
    return [_is_numbers(row, wide) for row in rows]


def _header(rows: list[list[str]], stamped: list[bool]) -> int | None:
    """The row of texts, not far above data, that holds most known names and most cells; the first of equals.

    Lines above the header may look like one ("Set,PUMP-07") and even like data ("Exported,2024-02-01 10:00"), a
    header may come again between the rows, and a row below it may be broken: so no place alone decides.
    """
    filled = [i for i, row in enumerate(rows[:PREAMBLE_ROWS]) if any(row)]
    best, best_score = None, 0
    for n, i in enumerate(filled):
        cells = [cell for cell in rows[i] if cell]
        if stamped[i] or len(cells) < 2 or sum(map(is_number, cells)) * 2 >= len(cells):
            continue
        if not any(stamped[j] for j in filled[n + 1 : n + 1 + NEAR_ROWS]):
            continue
        score = len(cells) + 2 * sum(_is_known(cell) for cell in cells)
        if score > best_score:
            best, best_score = i, score
    return best


def _is_known(cell: str) -> bool:
    heard = hear(cell)
    return heard.signal is not None or heard.words in TIME_WORDS


def _is_numbers(row: list[str], wide: int) -> bool:
    present = [cell for cell in row if cell]
    numbers = sum(is_number(cell) for cell in present if cell.casefold() not in NULL_WORDS)
    return len(present) >= wide and numbers * 2 >= len(present)


def _is_units(rows: list[list[str]], header: int, data: int) -> bool:
    """The row below the header states units: most of its cells are units, and none is a value."""
    below = next((i for i in range(header + 1, min(data, len(rows))) if any(rows[i])), None)
    if below is None:
        return False
    filled = [cell for cell in rows[below] if cell and cell not in ("-", "--")]
    named = sum(unit_named(cell) is not None and not cell.isdigit() for cell in filled)
    return named >= 1 and named * 2 >= len(filled) - 2 and not any(looks_like_time(cell) for cell in filled)


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


def _marks(body: tuple[tuple[str, ...], ...], delimiter: str, given: Layout) -> tuple[str, str, tuple[str, ...]]:
    """Decimal and thousands mark, from the numbers of the sample; a layout's word goes first."""
    cells = [
        c
        for row in body
        for c in row
        if ("," in c or "." in c) and is_number(c) and not (len(c) > 5 and looks_like_time(c))
    ]
    comma = [c for c in cells if "," in c]
    both = [c for c in comma if "." in c]
    decimal, group = ".", ""
    notes: tuple[str, ...] = ()
    if both:
        decimal, group = (",", ".") if all(c.rfind(",") > c.rfind(".") for c in both) else (".", ",")
    elif comma:
        # 1,234 could be either; a comma followed by other than three digits cannot part thousands
        surely_decimal = any(not re.fullmatch(r"[+-]?[1-9]\d{0,2}(,\d{3})+", c) for c in comma)
        if surely_decimal or delimiter != ",":
            dots = len(cells) - len(comma)
            decimal = "," if len(comma) > dots or (len(comma) == dots and delimiter != ",") else "."
            if not surely_decimal:
                notes = ("each comma stands before three digits: taken as decimal mark",)
        else:
            group = ","
    return given.decimal_char or decimal, given.group_char if given.group_char is not None else group, notes


def set_column_of(headers: tuple[str, ...]) -> str | None:
    """The header that names the set in each row, or None."""
    found = {words_of(header): header for header in reversed(headers)}
    return next((found[words] for words in SET_WORDS if words in found and hear(found[words]).signal is None), None)


SET_WORDS = (
    "set id", "set", "set name", "generating set", "generating set id", "genset id", "genset", "genset name",
    "generator id", "generator set", "generator name", "generator", "asset id", "asset", "asset name", "equipment id",
    "equipment", "unit id", "unit name", "unit no", "unit number", "machine id", "machine", "device id", "device",
    "device name",
)  # fmt: skip
"""What a column or a preamble line may call the set, surest first. Common practice, no source."""
