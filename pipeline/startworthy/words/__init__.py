"""Every sentence that a person reads, by language, and how values are put into it.

Texts are TOML under words/<language>/: a file per group of checks, `problems` for bad input, `general` for the
rest. A place in a sentence is the name of a value, `{battery_min_v}`; the name's ending gives its unit, and the
reader's choice of units (`si` or `us`) and zone how it is printed.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any, Literal
from zoneinfo import ZoneInfo

from startworthy.findings import Clear, Evidence, Finding, NotAssessed
from startworthy.problems import Problem
from startworthy.words.plain import one_line, one_path

Units = Literal["si", "us"]
LANGUAGE = "en"


@cache
def texts(name: str, language: str = LANGUAGE) -> Mapping[str, Any]:
    """The table of texts of that name. Raises FileNotFoundError if there is none."""
    return tomllib.loads((files(__package__) / language / f"{name}.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True)
class Style:
    """How values are printed: unit system and the zone of times."""

    units: Units = "si"
    zone: str = "UTC"

    def value(self, name: str, value: Evidence) -> str:
        """A value as text with its unit, by the ending of its name. None is printed as 'not known'."""
        if value is None:
            return "not known"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, datetime):
            local = value.astimezone(ZoneInfo(self.zone))
            return f"{local:%Y-%m-%d}" if name.endswith("_date") else f"{local:%Y-%m-%d %H:%M}"
        if isinstance(value, str):
            return value
        return self.number(float(value), _ending(name), whole=isinstance(value, int))

    def number(self, value: float, unit: str, *, whole: bool = False) -> str:
        """A number in the inner unit `unit` (the ending of a signal's name), in the reader's units, rounded."""
        if not math.isfinite(value):
            return "not known"
        if unit in {"s", "h"}:
            return _duration(value * (3600.0 if unit == "h" else 1.0))
        if self.units == "us" and unit in _US:
            factor, offset, unit = _US[unit]
            value = value * factor + offset
        if unit in {"fraction", "share"}:
            return f"{_plain(value * 100, 1 if abs(value) < 0.1 else 0)} %"
        if unit not in _PRINTED:
            return _plain(value, 0 if whole else 2)
        printed, digits = _PRINTED[unit]
        if unit in {"v", "vpc"} and abs(value) >= 60:
            digits = 0 if value == round(value) else 1
        text = _plain(value, digits)
        return f"{text} day" if (text, printed) == ("1", "days") else f"{text} {printed}"

    def scale(self, unit: str) -> tuple[float, float, str]:
        """Factor and offset from the inner unit `unit` to the printed one, and its name: what an axis needs.

        Shares become per cent; a duration keeps its unit. An unknown unit is returned as it is.
        """
        if unit in {"fraction", "share"}:
            return 100.0, 0.0, "%"
        factor, offset, printed = _US[unit] if self.units == "us" and unit in _US else (1.0, 0.0, unit)
        return factor, offset, _PRINTED[printed][0] if printed in _PRINTED else printed

    def quantity(self, value: float | None, unit: str) -> str:
        """A number in a unit as limits and findings state it (`V`, `Cel`, `1`), as text; 'not known' for None."""
        if value is None:
            return "not known"
        return self.number(value, unit_ending(unit), whole=float(value).is_integer())

    def fill(self, template: str, values: Mapping[str, Evidence]) -> str:
        """The template with its places filled. Raises KeyError if a place has no value: that is a fault in words/."""
        return template.format_map({name: self.value(name, value) for name, value in values.items()})


_US: dict[str, tuple[float, float, str]] = {
    "c": (1.8, 32.0, "degf"), "dc": (1.8, 0.0, "ddegf"), "kpa": (0.14503773773020923, 0.0, "psi"),
    "l": (0.26417205235814845, 0.0, "gal"), "lph": (0.26417205235814845, 0.0, "galph"),
}  # fmt: skip
_PRINTED: dict[str, tuple[str, int]] = {
    "v": ("V", 2), "a": ("A", 1), "hz": ("Hz", 2), "rpm": ("rpm", 0), "kpa": ("kPa", 0), "psi": ("psi", 0),
    "c": ("°C", 0), "dc": ("°C", 1), "degf": ("°F", 0), "ddegf": ("°F", 1), "l": ("L", 1), "gal": ("US gal", 1),
    "lph": ("L/h", 2), "galph": ("US gal/h", 2), "kw": ("kW", 1), "ah": ("Ah", 0), "days": ("days", 0),
    "minutes": ("min", 0), "m": ("m", 0), "months": ("months", 0), "lpkwh": ("L/kWh", 2),
}  # fmt: skip
_ENDINGS = {"fraction", "share", "s", "h", *_PRINTED}
_UNIT_ENDINGS = {"1": "fraction", "Cel": "c", "L/h": "lph", "A.h": "ah", "d": "days", "min": "minutes", "mo": "months"}


def unit_ending(unit: str) -> str:
    """The ending of names in that unit: `Cel` to `c`, `1` to `fraction`; others in lower case."""
    return _UNIT_ENDINGS.get(unit, unit.lower())


def _ending(name: str) -> str:
    last = name.rsplit("_", 1)[-1]
    return last if last in _ENDINGS else ""


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    if "." in text and digits > 1:
        whole, rest = text.split(".")
        text = f"{whole}.{rest[0]}{rest[1:].rstrip('0')}"
    return "0" + text[2:] if text.startswith("-0") and float(text) == 0 else text


def _duration(seconds: float) -> str:
    if abs(seconds) < 10:
        return f"{_plain(seconds, 1)} s"
    if abs(seconds) < 120:
        return f"{seconds:.0f} s"
    if abs(seconds) < 7200:
        return f"{seconds / 60:.0f} min"
    if abs(seconds) < 48 * 3600:
        return f"{_plain(seconds / 3600, 1)} h"
    return f"{_plain(seconds / 86400, 1 if abs(seconds) < 864000 else 0)} days"


@dataclass(frozen=True, slots=True)
class FindingText:
    """A finding in words."""

    title: str
    detail: str
    advice: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckText:
    """What `explain` prints of a check besides its catalogue entry."""

    title: str
    computes: str
    needs: str
    fooled_by: str


def finding_text(finding: Finding, style: Style) -> FindingText:
    """Title, detail, advice and cautions of a finding."""
    found = _check(finding.code)["found"][finding.variant]
    values = _values(finding)

    def fill(template: str) -> str:
        return style.fill(template, values)

    cautions = texts("general")["cautions"]
    return FindingText(
        fill(found["title"]),
        fill(found["detail"]),
        tuple(fill(line) for line in found.get("advice", [])),
        tuple(cautions[key] for key in found.get("cautions", [])),
    )


def reason_text(outcome: NotAssessed, style: Style) -> str:
    """Why a check could not be made, in one sentence. A check's own sentence goes before the general one."""
    own = _check(outcome.code).get("not_assessed", {})
    template = (
        own.get(outcome.evidence.get("why", ""), own.get(outcome.reason.value))
        or texts("general")["reasons"][outcome.reason.value]
    )
    return style.fill(template, outcome.evidence)


def clear_text(outcome: Clear, style: Style) -> str:
    """At what a check looked before it said that nothing was found."""
    if outcome.evidence.get("by_chance"):
        return str(texts("general")["by_chance"])
    template = _check(outcome.code).get("clear") or texts("general")["clear"]
    return style.fill(template, outcome.evidence) if outcome.evidence else texts("general")["clear"]


def check_text(code: str) -> CheckText:
    """Title, computation, needs and look-alikes of a check. Raises KeyError for an unknown code."""
    entry = _check(code)
    return CheckText(entry["title"], entry["computes"], entry["needs"], entry["fooled_by"])


def problem_line(problem: Problem) -> str:
    """`file:line: column: what is wrong; what would mend it`, leaving out what is not known."""
    # a log must not write over the terminal; the line's number stays, however long the path
    place = one_path(problem.file) + (f":{problem.line}" if problem.line is not None else "")
    column = f" {one_line(problem.column)}:" if problem.column else ""
    values = {name: one_line(value) if isinstance(value, str) else value for name, value in problem.values.items()}
    return f"{place}:{column} {texts('problems')['problems'][problem.code].format_map(values)}"


def _check(code: str) -> Mapping[str, Any]:
    entry: Mapping[str, Any] = texts(code.split(".", maxsplit=1)[0])[code]
    return entry


def _values(finding: Finding) -> dict[str, Evidence]:
    ending = unit_ending(finding.unit)
    values: dict[str, Evidence] = dict(finding.evidence)
    values |= {"began_at": finding.began_at, "ended_at": finding.ended_at}
    style_names = {"value": finding.value, "limit": finding.limit}
    return values | {f"{name}_{ending}" if ending else name: number for name, number in style_names.items()}
