"""Which column of a file holds which signal, and in which unit: from a layout, else from its header."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass, replace

from startworthy.problems import Problem
from startworthy.read.headers import hear, inner_unit, unit_named
from startworthy.read.layout import UNITLESS, ColumnLayout, Layout
from startworthy.results import ColumnRead
from startworthy.signals import Signal, Unit


@dataclass(frozen=True, slots=True)
class Wanted:
    """One column that is read. `unit` None: not stated, told from its values later (units.py)."""

    position: int
    header: str
    signal: Signal
    unit: Unit | None
    spelling: str
    stated: bool
    why: str = ""


@dataclass(frozen=True, slots=True)
class ColumnPlan:
    """Columns that are read, and what is said about the others."""

    wanted: tuple[Wanted, ...]
    left: tuple[ColumnRead, ...]
    problems: tuple[Problem, ...] = ()


def plan_columns(
    headers: Sequence[str], units_row: Sequence[str], given: Layout, taken: Sequence[int], label: str, header_line: int
) -> ColumnPlan:
    """Match each header. `taken` are the positions of time, set and the like. One signal is read from one column only."""
    wanted: list[Wanted] = []
    left: list[ColumnRead] = []
    problems: list[Problem] = []
    for position, header in enumerate(headers):
        if position in taken:
            continue
        units = units_row[position] if position < len(units_row) else ""
        column = given.columns.get(header)
        if column is not None:
            found = _from_layout(position, header, units, column)
            if found is None:
                left.append(ColumnRead(header, None, why="left alone by the layout"))
                continue
            wanted.append(found)
            continue
        heard = hear(header.split("#")[0] if header.rpartition("#")[2].isdigit() else header, units)
        if heard.clash is not None:
            why = f"{heard.unit_text} is a unit of {heard.unit.quantity if heard.unit else '?'}, its name one of {heard.clash.quantity}"
            left.append(ColumnRead(header, None, heard.unit_text, why=why))
            problems.append(_ask("unit_clash", label, header_line, header, heard.clash, heard.unit_text))
        elif heard.signal is None:
            left.append(ColumnRead(header, None, heard.unit_text, why="no known signal has this name"))
        elif heard.unit_text and heard.unit is None and heard.signal.quantity not in UNITLESS:
            left.append(ColumnRead(header, None, heard.unit_text, why=f"unit {heard.unit_text} is not known"))
            problems.append(_ask("unit_unknown", label, header_line, header, heard.signal, heard.unit_text))
        else:
            unit = inner_unit(heard.signal) if heard.signal.quantity in UNITLESS else heard.unit
            why = "gal is taken as the US gallon" if heard.unit_text.casefold() in ("gal", "gal/h", "gph") else ""
            wanted.append(Wanted(position, header, heard.signal, unit, heard.unit_text, unit is not None, why))
    return _once_each(wanted, left, problems, headers, given, label, header_line)


def _from_layout(position: int, header: str, units: str, column: ColumnLayout) -> Wanted | None:
    from startworthy.signals import BY_NAME

    if not column.signal:
        return None
    signal = BY_NAME[column.signal]
    if column.unit:
        return Wanted(position, header, signal, unit_named(column.unit), column.unit, True)
    heard = hear(header, units)
    if heard.unit is not None and heard.unit.quantity is signal.quantity:
        return Wanted(position, header, signal, heard.unit, heard.unit_text, True)
    why = "" if signal.quantity in UNITLESS else f"layout names no unit: taken as {signal.unit}"
    return Wanted(position, header, signal, inner_unit(signal), signal.unit if signal.unit != "1" else "", True, why)


def _once_each(
    wanted: list[Wanted], left: list[ColumnRead], problems: list[Problem], headers: Sequence[str], given: Layout, label: str, line: int
) -> ColumnPlan:
    """The first column of a signal is read, others are said; a layout's word goes before a header's."""
    by_layout = {w.signal.name for w in wanted if w.header in given.columns}
    kept: dict[str, Wanted] = {}
    for column in wanted:
        name = column.signal.name
        first = kept.get(name)
        if first is None and (name not in by_layout or column.header in given.columns):
            kept[name] = column
        else:
            other = first.header if first is not None else next(w.header for w in wanted if w.signal.name == name and w.header in given.columns)
            left.append(ColumnRead(column.header, None, column.spelling, why=f"{name} is already read from {other}"))
    for header in given.columns:
        if header not in headers:
            near = difflib.get_close_matches(header, headers, n=1, cutoff=0.6)
            if near:
                problems.append(Problem("layout_no_such_column", label, column=header, values={"near": near[0]}, fatal=False))
    return ColumnPlan(tuple(kept.values()), tuple(left), tuple(problems))


def _ask(code: str, label: str, line: int | None, header: str, signal: Signal, unit: str, **values: str) -> Problem:
    return Problem(code, label, line, header, {"signal": signal.name, "unit": unit, "header": header.replace('"', '\\"'), **values}, fatal=False)


def ask_unit(label: str, line: int | None, wanted: Wanted, seen: str, choices: str) -> Problem:
    """The column is left alone: which line of a layout would name its unit."""
    return _ask("unit_not_stated", label, line, wanted.header, wanted.signal, "", seen=seen, choices=choices)


def with_unit(wanted: Wanted, unit: Unit, spelling: str, why: str) -> Wanted:
    """The column with the unit that its values told."""
    return replace(wanted, unit=unit, spelling=spelling, stated=False, why=why)
