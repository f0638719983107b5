"""Which lines of a log are its header: names, a row of units below them, a row of groups above them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from startworthy.problems import InputError, Problem
from startworthy.read.delimiter import is_known, is_number
from startworthy.read.headers import hear, unit_named
from startworthy.read.layout import NULL_WORDS, Layout
from startworthy.read.stamps import looks_like_time

PREAMBLE_ROWS = 80
NEAR_ROWS = 5
_WIDE = 200
"""Cells of a row that are looked at to tell what kind of row it is; a log of one set has far fewer."""
_BARE = frozenset(
    {
        "voltage", "volts", "current", "amps", "frequency", "freq", "power", "load", "level", "speed", "rpm",
        "temperature", "temp", "pressure", "hours", "run hours", "running hours", "state", "status", "mode", "hz", "v",
        "a", "kw", "l1", "l2", "l3", "l1 n", "l2 n", "l3 n", "l1 l2", "l2 l3", "l3 l1", "volume", "consumption",
    }
)  # fmt: skip
"""Names that say nothing of what they belong to: below a group they mean that group's. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Heading:
    """Indices of rows: header (None: the layout says that there is none), units below it, groups above it, and the
    first row of data.
    """

    header: int | None
    data: int
    units: int | None = None
    groups: int | None = None


def find_heading(rows: Sequence[Sequence[str]], at: Sequence[int], label: str, given: Layout) -> Heading:
    """The header of a log. `at`: line of each row, from 1. Raises InputError: file_empty, header_only, no_header."""
    header, data = _header_and_data(rows, at, label, given)
    if header is None:
        return Heading(None, data)
    count = given.header_row_count
    groups = None
    if given.skip_rows is not None:
        # The first line that a layout leaves is the header's first: of two it may hold the groups of the second
        below = _next(rows, header)
        units_below = _are_units(rows, header, len(rows))
        if count in (2, 3) and below is not None and not units_below and _are_groups(rows, header, below):
            groups, header = header, below
            return Heading(header, data, _next(rows, header) if count > 2 else None, groups)
    else:
        above = header - 1
        groups = above if above >= 0 and count != 1 and _are_groups(rows, above, header) else None
    has_units = count == (3 if groups is not None else 2) or (
        count is None and data - header > 1 and _are_units(rows, header, data)
    )
    return Heading(header, data, _next(rows, header) if has_units else None, groups)


def _next(rows: Sequence[Sequence[str]], row: int) -> int | None:
    return next((i for i in range(row + 1, len(rows)) if any(rows[i])), None)


def _header_and_data(
    rows: Sequence[Sequence[str]], at: Sequence[int], label: str, given: Layout
) -> tuple[int | None, int]:
    """Index of the header and of the first data row."""
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
            if given.header_row_count is None and data < len(rows) and _are_units(rows, first, data + 1):
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


def _stamped(rows: Sequence[Sequence[str]]) -> list[bool]:
    """Which rows hold a time where most rows have theirs; without any times, which are rows of numbers."""
    # The shortest date has six characters ("1/1/24"): most cells need no closer look
    places = [
        [n for n, cell in enumerate(row[:_WIDE]) if (len(cell) > 5 or ":" in cell) and looks_like_time(cell)]
        for row in rows
    ]
    usual = Counter(n for own in places for n in own)
    most = max(usual.values(), default=0)
    # Lines above the header may hold dates where rows hold numbers: the lower half is what counts
    half = len(rows) // 2
    filled, timed = sum(any(row) for row in rows[half:]), sum(map(bool, places[half:]))
    if most and (timed * 4 > filled or len(rows) < 20):
        # Below a header that comes again with its columns in another order, the time stands elsewhere
        often = {n for n, count in usual.items() if count == most or count * 5 > most + 10}
        return [not often.isdisjoint(own) for own in places]
    wide = max(2, Counter(sum(map(bool, row)) for row in rows if any(row)).most_common(1)[0][0] // 2)
    return [_is_numbers(row[:_WIDE], wide) for row in rows]


def _header(rows: Sequence[Sequence[str]], stamped: Sequence[bool]) -> int | None:
    """The row of texts, not far above data, that holds most known names and most cells; the first of equals.

    Lines above the header may look like one ("Set,PUMP-07") and even like data ("Exported,2024-02-01 10:00"), a
    header may come again between the rows, and a row below it may be broken: so no place alone decides.
    """
    filled = [i for i, row in enumerate(rows[:PREAMBLE_ROWS]) if any(row)]
    best, best_score = None, 0.0
    width = Counter(len(row) for row, is_data in zip(rows, stamped, strict=True) if is_data).most_common(1)
    wide = width[0][0] if width else 0
    for n, i in enumerate(filled):
        cells = [cell for cell in rows[i][:_WIDE] if cell]
        if stamped[i] or len(cells) < 2 or sum(map(is_number, cells)) * 2 >= len(cells):
            continue
        if not any(stamped[j] for j in filled[n + 1 : n + 1 + NEAR_ROWS]):
            continue
        score = min(len(cells), wide) + 2 * sum(map(is_known, cells)) + (wide / 2 if len(rows[i]) == wide else 0)
        if score > best_score:
            best, best_score = i, score
    return best


def _is_numbers(row: Sequence[str], wide: int) -> bool:
    present = [cell for cell in row if cell]
    numbers = sum(is_number(cell) for cell in present if cell.casefold() not in NULL_WORDS)
    return len(present) >= wide and numbers * 2 >= len(present)


def _are_units(rows: Sequence[Sequence[str]], header: int, data: int) -> bool:
    """The row below the header states units: most of its cells are units, and none is a value."""
    below = next((i for i in range(header + 1, min(data, len(rows))) if any(rows[i])), None)
    if below is None:
        return False
    filled = [cell for cell in rows[below] if cell and cell not in ("-", "--")]
    named = sum(unit_named(cell) is not None and not cell.isdigit() for cell in filled)
    return named >= 1 and named * 2 >= len(filled) - 2 and not any(looks_like_time(cell) for cell in filled)


def _are_groups(rows: Sequence[Sequence[str]], above: int, header: int) -> bool:
    """The row above the names holds groups: as wide as they, texts over some of them, and they mean more together."""
    over, names = rows[above], rows[header]
    filled = [cell for cell in over if cell]
    if len(over) != len(names) or not filled or any(map(is_number, filled)) or any(map(looks_like_time, filled)):
        return False
    joined = group_names(over, names)
    changed = [new for new, name in zip(joined, names, strict=True) if new != name]
    if any(hear(new).signal is not None for new in changed):
        return True
    # Groups in words that are not known: more than one, and not the two cells of a pair
    return len(changed) > 1 and len(filled) > 1 and any(over[2:]) and not any(map(has_digit, filled))


def group_names(over: Sequence[str], names: Sequence[str]) -> list[str]:
    """Names with the group that stands above them or to the left, where both mean more than the name alone.

    A bare name ("Voltage") below a group that is not known together with it is nobody's: it keeps both, and is left
    to the user.
    """
    found: list[str] = []
    group = ""
    for above, name in zip(over, names, strict=False):
        group = above or group
        whole = f"{group} {name}".strip()
        alone, both = hear(name), hear(whole)
        if not group or not name or alone.words == both.words:
            found.append(name)
        elif (both.signal is not None and (alone.signal is None or alone.words in _BARE)) or (
            alone.words in _BARE and above_is_word(group)
        ):
            found.append(whole)
        else:
            found.append(name)
    return found


def has_digit(cell: str) -> bool:
    """Whether a text holds a digit."""
    return any(map(str.isdigit, cell))


def above_is_word(group: str) -> bool:
    """Whether a group can be one: a short text without the marks of a title or of a pair."""
    return len(group) <= 40 and not any(mark in group for mark in ":=#")


def is_header(row: Sequence[str], own: Sequence[Sequence[str]], names_at: int) -> bool | None:
    """Whether a row between the data is the log's own header (True) or another one (False); None if it is none.

    own: the rows of the log's header, the one of names at `names_at`.
    """
    names = set(own[names_at]) - {""}
    if names.isdisjoint(row):
        return None
    cells = _bare(row)
    rows = [_bare(header) for header in own]
    if cells in rows:
        return True if cells == rows[names_at] else None
    filled = [cell for cell in cells if cell]
    known = sum(cell in names or is_known(cell) for cell in filled)
    if len(filled) < 2 or known * 2 <= len(filled) or any(map(looks_like_time, filled)):
        return None
    return False


def _bare(cells: Sequence[str]) -> tuple[str, ...]:
    """Cells without the empty ones at the end."""
    last = max((n for n, cell in enumerate(cells) if cell), default=-1)
    return tuple(cells[: last + 1])
