"""Decimal and thousands marks, told from the numbers of a log: "1,234" alone may be either, so it takes evidence.

One file has one decimal mark. What tells it: a number that can be read in one way only ("12,6", "1.234,5",
"1 234"), a whole number of four digits beside it in the column, or a reading that the signal cannot have.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from startworthy.read.headers import hear, unit_named
from startworthy.read.layout import Layout
from startworthy.signals import BY_NAME, Quantity, Signal, Unit

Cells = Mapping[str, Mapping[str, int]]
"""By the header of a column: its cells, and how often each was seen."""

Known = Mapping[str, tuple[Signal, Unit | None]]
"""By the header of a column: the signal that it holds, and its unit where it is stated."""

SPACES = " \u00a0\u202f\u2009"
APOSTROPHES = "'\u2019"
_NUMBER = re.compile(r"[+-]?(?P<body>[\d.,'\u2019 \u00a0\u202f\u2009]*\d[.,]?)(?:[eE][+-]?\d{1,3})?")
_PARTED = {mark: re.compile(rf"[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+") for mark in (",", ".")}
_SPACED = re.compile(
    rf"[1-9]\d{{0,2}}(?:(?P<mark>[{SPACES}{APOSTROPHES}])\d{{3}})(?:(?P=mark)\d{{3}})*(?P<tail>[.,]\d+)?"
)


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks of a file. seen: some number has told the decimal mark.

    open: header and cell that can be read in two ways, where nothing tells which.
    """

    decimal: str = "."
    group: str = ""
    seen: bool = False
    open: tuple[str, str] | None = None


@dataclass(slots=True)
class _Votes:
    """How many cells tell each mark; `open` are the cells of each mark that tell nothing by themselves, by column."""

    decimal: dict[str, int] = field(default_factory=lambda: {",": 0, ".": 0})
    group: dict[str, int] = field(default_factory=dict)
    open: dict[str, dict[str, dict[str, int]]] = field(default_factory=lambda: {",": {}, ".": {}})
    whole: dict[str, int] = field(default_factory=dict)
    """By column, the digits of the longest whole number that is written without marks."""

    def count(self, header: str, cell: str, often: int) -> None:
        """Take in one cell."""
        found = _NUMBER.fullmatch(cell)
        if found is None:
            return
        body = found["body"].strip()
        if body.isdigit():
            self.whole[header] = max(self.whole.get(header, 0), len(body))
            return
        spaced = _SPACED.fullmatch(body)
        if spaced is not None:
            self._add(self.group, spaced["mark"], often)
            if spaced["tail"]:
                self._add(self.decimal, spaced["tail"][0], often)
            return
        for mark, other in ((",", "."), (".", ",")):
            whole, found_other, part = body.rpartition(other)
            if mark in whole and found_other and part.isdigit() and _PARTED[mark].fullmatch(whole):
                self._add(self.group, mark, often)
                self._add(self.decimal, other, often)
                return
            if other in body or mark not in body:
                continue
            if _PARTED[mark].fullmatch(body):
                if body.count(mark) > 1:
                    self._add(self.group, mark, often)
                else:
                    cells = self.open[mark].setdefault(header, {})
                    cells[cell] = cells.get(cell, 0) + often
            elif body.count(mark) == 1:
                self._add(self.decimal, mark, often)

    @staticmethod
    def _add(votes: dict[str, int], mark: str, often: int) -> None:
        votes[mark] = votes.get(mark, 0) + often

    def unparted(self, header: str, cells: Iterable[str]) -> bool:
        """Whether "1500" stands beside "1,234" in a column: whoever parts thousands parts all of that length."""
        return self.whole.get(header, 0) >= min(sum(map(str.isdigit, cell)) for cell in cells)

    def weigh_open(self, known: Known) -> None:
        """Let the cells that are open by themselves vote by what stands beside them, and by what a signal can be."""
        for mark, columns in self.open.items():
            for header, cells in columns.items():
                often = sum(cells.values())
                if self.unparted(header, cells):
                    self._add(self.decimal, mark, often)
                    continue
                signal, unit = known.get(header, (None, None))
                if signal is None or (unit is None and signal.quantity is not Quantity.COUNT):
                    continue
                factor, offset = (unit.factor, unit.offset) if unit is not None else (1.0, 0.0)
                decimal = sum(n for c, n in cells.items() if _fits(c.replace(mark, "."), signal, factor, offset))
                parted = sum(n for c, n in cells.items() if _fits(c.replace(mark, ""), signal, factor, offset))
                if signal.quantity is Quantity.COUNT:
                    decimal = 0
                if parted * 2 < often <= decimal:
                    self._add(self.decimal, mark, often)
                elif decimal * 2 < often <= parted:
                    self._add(self.group, mark, often)

    def first_open(self) -> tuple[str, str] | None:
        """A cell that is open, with its header."""
        for columns in self.open.values():
            for header, cells in columns.items():
                return header, next(iter(cells))
        return None


def _fits(text: str, signal: Signal, factor: float, offset: float) -> bool:
    value = (float(text) + offset) * factor
    return (signal.low is None or value >= signal.low) and (signal.high is None or value <= signal.high)


def marks_of(cells: Cells, signals: Known, given: Layout) -> Marks:
    """The marks that the numbers of a log show; what a layout states goes before.

    signals: of the columns whose signal is known; they are heard first, other columns only where those tell nothing.
    """
    known = _votes({h: c for h, c in cells.items() if h in signals}, signals, given)
    decimal, group = _decide(known, given)
    if decimal is None:
        others = _votes({h: c for h, c in cells.items() if h not in signals and len(c) > 2}, {}, given)
        decimal, other_group = _decide(others, given)
        group = group or other_group
    if decimal is None:
        at = known.first_open()
        return Marks(given.decimal_char or ".", _given(given, group or ""), False, at)
    if group is None:
        other = "." if decimal == "," else ","
        # The decimal mark is known, so the other one parts thousands, unless it does not in the same column
        parts = known.open[other] and not known.decimal[other]
        group = other if parts else ""
    return Marks(given.decimal_char or decimal, _given(given, group), True)


def _given(given: Layout, group: str) -> str:
    return group if given.group_char is None else given.group_char


def _votes(cells: Cells, signals: Known, given: Layout) -> _Votes:
    votes = _Votes()
    for header, own in cells.items():
        for cell, often in own.items():
            votes.count(header, cell, often)
    if given.decimal_char is None:
        votes.weigh_open(signals)
    return votes


def _decide(votes: _Votes, given: Layout) -> tuple[str | None, str | None]:
    """Decimal and thousands mark; None where no cell tells it."""
    comma, dot = votes.decimal[","], votes.decimal["."]
    groups = {mark: n for mark, n in votes.group.items() if n}
    decimal = given.decimal_char
    if decimal is None and (comma or dot):
        decimal = "," if comma > dot else "."
    if decimal is None:
        # What parts thousands is no decimal mark
        decimal = "," if groups.get(".", 0) > groups.get(",", 0) else "." if groups.get(",") else None
    groups = {mark: n for mark, n in groups.items() if mark != decimal}
    group = max(groups, key=lambda mark: groups[mark]) if groups else None
    if decimal is None and not votes.open[","] and not votes.open["."]:
        # Nothing but whole numbers so far, parted by spaces or not at all
        return None, group
    return decimal, group


def signals_of(
    headers: Iterable[str], units_row: Sequence[str], given: Layout
) -> dict[str, tuple[Signal, Unit | None]]:
    """The signals that headers name, of those that hold numbers."""
    found: dict[str, tuple[Signal, Unit | None]] = {}
    for place, header in enumerate(headers):
        column = given.columns.get(header)
        heard = hear(header, units_row[place] if place < len(units_row) else "")
        signal = heard.signal if column is None else BY_NAME.get(column.signal)
        unit = unit_named(column.unit) if column is not None and column.unit else heard.unit
        if signal is not None and signal.quantity not in (Quantity.TEXT, Quantity.FLAG):
            found[header] = signal, unit
    return found
