"""Reading a TOML file that a person wrote: each fault with its line, its key and the nearest key that is known."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from startworthy.problems import InputError, Problem

if TYPE_CHECKING:
    from pydantic import ValidationError


def read_toml(path: Path, kind: str) -> tuple[dict[str, Any], str]:
    """Content and text of a TOML file. `kind` ("register", "layout") begins the codes of its problems.

    Raises InputError: `<kind>_unreadable`, `<kind>_not_utf8` or `<kind>_not_toml`.
    """
    name = str(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise InputError(Problem(f"{kind}_unreadable", name, values={"why": error.strerror or "unreadable"})) from None
    except UnicodeDecodeError:
        raise InputError(Problem(f"{kind}_not_utf8", name)) from None
    try:
        return tomllib.loads(text), text
    except tomllib.TOMLDecodeError as error:
        at = re.search(r"line (\d+)", str(error))
        why = re.sub(r" \(at .*\)", "", str(error))
        raise InputError(Problem(f"{kind}_not_toml", name, int(at[1]) if at else None, values={"why": why})) from None


def faults(
    name: str, text: str, error: ValidationError, kind: str, known_keys: Callable[[list[str]], list[str]]
) -> list[Problem]:
    """One problem per fault that pydantic found. `known_keys` gives the keys that may stand at a place."""
    found = []
    for fault in error.errors():
        # pydantic adds the branches of a union to the place of a fault; only real keys are of use to a reader
        keys = [str(part) for part in fault["loc"] if not isinstance(part, int) and _is_key(str(part), text)]
        key = keys[-1] if keys else str(fault["loc"][-1])
        line = _line_of(text, keys or [key])
        if fault["type"] == "extra_forbidden":
            near = difflib.get_close_matches(key, known_keys(keys), n=1)
            code, values = f"{kind}_unknown_key", {"near": near[0] if near else ", ".join(known_keys(keys))}
        else:
            why = fault["msg"].removeprefix("Value error, ")
            code, values = f"{kind}_bad_value", {"value": repr(fault.get("input"))[:60], "why": why}
        found.append(Problem(code, name, line, ".".join(keys) or key, values))
    # in the order of the file, so that a reader can go through it once
    return sorted({(p.line, p.column): p for p in found}.values(), key=lambda p: p.line or 0)


def _is_key(part: str, text: str) -> bool:
    return re.search(rf'(?m)(^|[\[.\s"{{,]){re.escape(part)}(["\].=\s]|$)', text) is not None


def _line_of(text: str, keys: list[str]) -> int | None:
    """Line of the last key, looked for below the lines of the keys that lead to it."""
    lines = text.splitlines()
    at, found = 0, None
    for key in keys:
        pattern = re.compile(rf'(^|[\[.\s"{{,]){re.escape(key)}(["\].=\s]|$)')
        for number in range(at, len(lines)):
            if pattern.search(lines[number].split("#")[0] if '"' not in lines[number] else lines[number]):
                at, found = number, number + 1
                break
    return found
