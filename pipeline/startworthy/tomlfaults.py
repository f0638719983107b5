"""What is wrong with the keys of a register or a layout: every fault in plain words, with its line, in file order."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime, time
from itertools import accumulate
from typing import TYPE_CHECKING, Any

from pydantic_core import PydanticCustomError

from startworthy.problems import Problem
from startworthy.tomlfile import Kind, Toml
from startworthy.tomlplaces import Path, dotted

if TYPE_CHECKING:
    from pydantic import ValidationError

MOST_TOLD = 50
"""Faults of one file that are told one by one; the rest is counted."""

LISTED_CHARACTERS = 150

Values = Mapping[str, str | int | float]
Unknown = Callable[[Path, object], tuple[str, Values] | None]
"""Path and value of a key that has no place there, to the code and values that say where it belongs; None: no idea."""

# the validating library's names of faults to our codes; its own words never reach a reader
CODES = {
    "float_type": "setting_wants_number", "float_parsing": "setting_wants_number",
    "int_type": "setting_wants_whole", "int_parsing": "setting_wants_whole", "int_from_float": "setting_wants_whole",
    "int_parsing_size": "setting_out_of_range",
    "string_type": "setting_wants_text", "bool_type": "setting_wants_yes_no", "bool_parsing": "setting_wants_yes_no",
    "date_type": "setting_wants_date", "date_parsing": "setting_wants_date",
    "datetime_type": "setting_wants_time", "datetime_parsing": "setting_wants_time",
    "model_type": "setting_wants_table", "dict_type": "setting_wants_table", "mapping_type": "setting_wants_table",
    "list_type": "setting_wants_list", "tuple_type": "setting_wants_list",
    "literal_error": "setting_one_of", "finite_number": "setting_not_finite",
    "greater_than": "setting_out_of_range", "greater_than_equal": "setting_out_of_range",
    "less_than": "setting_out_of_range", "less_than_equal": "setting_out_of_range",
    "string_too_long": "setting_one_character", "string_too_short": "setting_one_character",
}  # fmt: skip


def setting_fault(code: str, /, **values: str | float) -> PydanticCustomError:
    """The fault of one value, for a validator to raise: the code of its sentence and what the sentence needs.

    code: of words/<language>/problems.toml. `key` in values: the key below the value that is at fault, if not itself.
    """
    return PydanticCustomError(code, "see its code", dict(values))


def several_faults(faults: Sequence[tuple[str, object, str, Values]]) -> PydanticCustomError:
    """The faults of several keys of one table: key, value, code and values of each."""
    return PydanticCustomError("several", "see its faults", {"faults": list(faults)})


def faults(toml: Toml, error: ValidationError, unknown: Unknown) -> list[Problem]:
    """One problem for each fault that the library found, with the line of its key."""
    found = []
    for fault in error.errors(include_url=False):
        code, values, value = fault["type"], dict(fault.get("ctx", {})), fault.get("input")
        # of the place only real keys are of use: the library adds names of its own kinds of value
        path = toml.places.known(tuple(part for part in fault["loc"] if isinstance(part, (str, int))))
        if code == "several":
            found += [problem(toml, (*path, key), own, its, told) for key, its, own, told in values["faults"]]
            continue
        elsewhere = unknown(path, value) if code in ("extra_forbidden", "model_type") else None
        if elsewhere is not None:
            code, values = elsewhere[0], dict(elsewhere[1])
        else:
            code, values = _in_our_words(code, values, value)
        key = values.pop("key", None)
        if key is not None:
            path, value = (*path, str(key)), value.get(key) if isinstance(value, Mapping) else None
        found.append(problem(toml, path, code, value, values))
    return found


def problem(toml: Toml, path: Path, code: str, value: object, values: Values, *, fatal: bool = True) -> Problem:
    """The problem of one key. `values` of its sentence are added to: `value` as TOML writes it, `key`, `table`."""
    # the sentences show how the key is written rightly, so its own name belongs in them
    name = next((part for part in reversed(path) if isinstance(part, str)), "")
    whole = dotted(path)
    number = _number_in(value)
    told: dict[str, str | int | float] = {"value": shown(value), "key": dotted((name,)), "table": whole}
    told |= {"number": number, "whole": number.partition(".")[0], **values}
    return Problem(code, toml.name, toml.places.line_of(path) or 1, whole or None, told, fatal)


def in_file_order(found: Iterable[Problem], kind: Kind) -> list[Problem]:
    """One problem a key, as the file goes, so that a reader can go through it once. Past MOST_TOLD they are counted."""
    told = sorted({(p.line, p.column): p for p in found}.values(), key=lambda p: p.line or 0)
    if len(told) <= MOST_TOLD:
        return told
    more = Problem(f"{kind}_more", told[0].file, told[MOST_TOLD].line, values={"more": len(told) - MOST_TOLD})
    return [*told[:MOST_TOLD], more]


def _in_our_words(code: str, values: dict[str, Any], value: object) -> tuple[str, dict[str, Any]]:
    ours = CODES.get(code, code if code.startswith("setting_") else "setting_bad_value")
    if ours == "setting_one_of":
        return ours, {"choices": str(values.get("expected", "")).replace("'", '"')}
    if ours == "setting_wants_date" and isinstance(value, datetime):
        return "setting_wants_date_alone", {"date": value.date().isoformat()}
    if ours == "setting_wants_number" and isinstance(value, int) and not isinstance(value, bool):
        # more digits than any number of ours takes
        return "setting_bad_bound", {"bound": "far smaller"}
    if ours == "setting_out_of_range" and code != ours:
        return "setting_bad_bound", {"bound": _bound(code, values)}
    return ours, values if code == ours else {}


def _bound(code: str, values: dict[str, Any]) -> str:
    words = {"greater_than": "above", "greater_than_equal": "at least", "less_than": "below"}
    limit = next((values[key] for key in ("gt", "ge", "lt", "le") if key in values), "")
    return f"{words.get(code, 'at most')} {limit}".strip() if limit != "" else "far smaller"


def shown(value: object) -> str:
    """A value as TOML writes it, in few characters."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        text = value if len(value) <= 40 else value[:39] + "…"
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, int):
        # Python will not write a number of thousands of digits
        return str(value) if abs(value) < 10**40 else "a number of more than 40 digits"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, (date, time)):
        return value.isoformat()
    return "this list" if isinstance(value, (list, tuple)) else "this table" if isinstance(value, Mapping) else "this"


def nearest(name: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The known name most like this one, letter case and outer spaces apart; None where none is like it."""
    by_case = {one.casefold(): one for one in known}
    near = difflib.get_close_matches(name[:100].strip().casefold(), by_case, n=1, cutoff=cutoff)
    return by_case[near[0]] if near else None


def listed(names: Iterable[str]) -> str:
    """Names with commas, as many as a line takes, and how many more there are."""
    whole = list(names)
    count = sum(1 for length in accumulate(len(name) + 2 for name in whole) if length <= LISTED_CHARACTERS)
    # one name at the least, however long: a line is cut where it is printed
    count = max(count, 1)
    text = ", ".join(whole[:count])
    return text if count >= len(whole) else f"{text} and {len(whole) - count} more"


def _number_in(value: object) -> str:
    """The number in a text such as "12 kW" or "12,5", as an example of how it is written; else a plain one."""
    found = re.search(r"-?\d+(?:[.,]\d+)?", value) if isinstance(value, str) and len(value) < 100 else None
    return found[0].replace(",", ".") if found else "12"
