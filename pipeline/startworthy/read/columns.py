"""Which column of a file holds which signal, and in which unit: from a layout, else from its header."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass

from startworthy.problems import Problem
from startworthy.read.headers import hear, inner_unit, unit_named
from startworthy.read.layout import UNITLESS, ColumnLayout, Layout
from startworthy.results import ColumnRead
from startworthy.signals import BY_NAME, Signal, Unit


@dataclass(frozen=True, slots=True)
class Wanted:
    """One column that is read. `unit` None: not stated, told from its values later (units.py).

    `sure`: a layout states the unit, or it was settled before; no value speaks against it (contradictions.py).
    """

    position: int
    header: str
    signal: Signal
    unit: Unit | None
    spelling: str
    stated: bool
    why: str = ""
    sure: bool = False


@dataclass(frozen=True, slots=True)
class ColumnPlan:
    """Columns that are read, and what is said about the others."""

    wanted: tuple[Wanted, ...]
    left: tuple[ColumnRead, ...]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Place:
    """The header of one log: where a problem with one of its columns is."""

    label: str
    line: int | None

    def ask(self, code: str, header: str, signal: Signal, **values: str) -> Problem:
        """A column is left alone until a layout says more; the file is still read."""
        said = {"signal": signal.name, "header": header.replace('"', '\\"'), **values}
        return Problem(code, self.label, self.line, header, said, fatal=False)


def plan_columns(
    headers: Sequence[str], units_row: Sequence[str], given: Layout, taken: Sequence[int], place: Place
) -> ColumnPlan:
    """Match each header. `taken`: positions of time, set and the like. One signal is read from one column only."""
    wanted: list[Wanted] = []
    left: list[ColumnRead] = []
    problems: list[Problem] = []
    for position, header in enumerate(headers):
        if position in taken:
            continue
        units = units_row[position] if position < len(units_row) else ""
        column = given.columns.get(header)
        if column is not None:
            if column.signal:
                wanted.append(_from_layout(position, header, units, column))
            else:
                left.append(ColumnRead(header, None, why="left alone by the layout"))
            continue
        bare = header.rpartition("#")[0] if header.rpartition("#")[2].isdigit() else header
        heard = hear(bare, units)
        if heard.clash is not None and heard.unit is not None:
            why = f"{heard.unit_text} is a unit of {heard.unit.quantity}, its name one of {heard.clash.quantity}"
            left.append(ColumnRead(header, None, heard.unit_text, why=why))
            problems.append(place.ask("unit_clash", header, heard.clash, unit=heard.unit_text))
        elif heard.signal is None:
            left.append(ColumnRead(header, None, heard.unit_text, why="no known signal has this name"))
        elif heard.unit_text and heard.unit is None and heard.signal.quantity not in UNITLESS:
            left.append(ColumnRead(header, None, heard.unit_text, why=f"unit {heard.unit_text} is not known"))
            problems.append(place.ask("unit_unknown", header, heard.signal, unit=heard.unit_text))
        else:
            unit = inner_unit(heard.signal) if heard.signal.quantity in UNITLESS else heard.unit
            why = "gal is taken as the US gallon" if heard.unit_text.casefold() in ("gal", "gal/h", "gph") else ""
            wanted.append(Wanted(position, header, heard.signal, unit, heard.unit_text, unit is not None, why))
    kept, doubled = _once_each(wanted, given)
    problems += _not_there(headers, given, place)
    return ColumnPlan(kept, (*left, *doubled), tuple(problems))


def _from_layout(position: int, header: str, units: str, column: ColumnLayout) -> Wanted:
    signal = BY_NAME[column.signal]
    if column.unit:
        return Wanted(position, header, signal, unit_named(column.unit), column.unit, True, sure=True)
    heard = hear(header, units)
    if heard.unit is not None and heard.unit.quantity is signal.quantity:
        return Wanted(position, header, signal, heard.unit, heard.unit_text, True)
    why = "" if signal.quantity in UNITLESS else f"layout names no unit: taken as {signal.unit}"
    return Wanted(position, header, signal, inner_unit(signal), signal.unit if signal.unit != "1" else "", True, why)


def _once_each(wanted: Sequence[Wanted], given: Layout) -> tuple[tuple[Wanted, ...], tuple[ColumnRead, ...]]:
    """The first column of a signal is read, others are said; a layout's word goes before a header's."""
    kept: dict[str, Wanted] = {}
    for column in sorted(wanted, key=lambda w: w.header not in given.columns):
        kept.setdefault(column.signal.name, column)
    doubled = []
    for column in wanted:
        first = kept[column.signal.name]
        if first is not column:
            why = f"{column.signal.name} is read from {first.header}"
            doubled.append(ColumnRead(column.header, None, column.spelling, why=why))
    return tuple(sorted(kept.values(), key=lambda w: w.position)), tuple(doubled)


def _not_there(headers: Sequence[str], given: Layout, place: Place) -> list[Problem]:
    """Columns that the layout names and the file has not, where one of nearly that name is there: a typing error."""
    found = []
    for header in given.columns:
        near = [] if header in headers else difflib.get_close_matches(header, headers, n=1, cutoff=0.6)
        if near and near[0] not in given.columns:
            found.append(Problem("layout_no_such_column", place.label, None, header, {"near": near[0]}, fatal=False))
    return found
