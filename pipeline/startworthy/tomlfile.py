"""Reading a TOML file that a person wrote (register, layout): what is wrong with the file as a whole, with its line."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, Literal

from startworthy.problems import InputError, Problem
from startworthy.tomlplaces import Path as KeyPath
from startworthy.tomlplaces import Places, dotted, places

Kind = Literal["register", "layout"]

LARGEST_BYTES = 32 << 20
"""A register of 10 000 sets is about 6 MB."""

OWN_KEYS: dict[Kind, frozenset[str]] = {
    "register": frozenset({"sets", "defaults"}),
    "layout": frozenset(
        {"columns", "delimiter", "encoding", "skip_rows", "header_row_count", "decimal_char", "time_column", "null"}
        | {"date_column", "time_format", "date_order", "quote_char", "name_column", "value_column", "set_column"}
    ),
}
"""Keys of the top that tell one kind of file from the other."""

_LOG_ENDINGS = (".csv", ".tsv", ".txt", ".gz", ".zip", ".parquet", ".xlsx", ".xls", ".ods")
_BINARY = (b"PK\x03\x04", b"\x1f\x8b", b"PAR1", b"%PDF", b"\xd0\xcf\x11\xe0", b"\x7fELF", b"\x89PNG")

# the library's own words to ours, in the order in which they are tried
_NOT_TOML = (
    (r"Cannot overwrite|Cannot declare|Duplicate|Cannot redefine|Cannot mutate|already exists", "twice"),
    (r"Expected '=' after a key", "no_equals"),
    (r"Expected '\]", "header"),
    (r"Invalid initial character for a key part|Invalid statement", "key"),
    (r"Unescaped '\\|Invalid hex|Escaped character", "backslash"),
    (r"Illegal character|Found invalid character|Unterminated string|Expected ['\"]", "text"),
    (r"Unclosed|Expected newline or end of document", "rest"),
    (r"Invalid date or datetime", "date"),
    (r"Invalid value", "value"),
    (r"Exceeds the limit", "digits"),
)


@dataclass(frozen=True)
class Toml:
    """A TOML file that was read. name: of the file, for people."""

    name: str
    text: str
    data: dict[str, Any]

    @cached_property
    def places(self) -> Places:
        """Where each key stands; found when it is first asked for."""
        return places(self.text)


def read_toml(path: Path, kind: Kind) -> Toml:
    """Content of a TOML file.

    Raises InputError, its codes beginning with `kind`: `_missing`, `_unreadable`, `_is_folder`, `_too_large`,
    `_empty`, `_not_utf8`, `_not_toml`, `_given_twice`, `_too_deep`, `_is_log` (a log given in its place), and
    `register_is_layout` or `layout_is_register`.
    """
    name = str(path)
    text = _text_of(path, name, kind)
    try:
        if any(line.count(".") > 200 for line in text.split("\n")) and places(text).deep:
            # nested so deep, the library would take hours over it
            raise RecursionError
        data = tomllib.loads(text)
    except RecursionError:
        found = places(text)
        raise InputError(Problem(f"{kind}_too_deep", name, found.sound_until or 1)) from None
    except ValueError as error:  # TOMLDecodeError is one; so is a number of more digits than Python takes
        raise InputError(_not_toml(name, text, str(error), kind)) from None
    _require_kind(name, data, kind)
    toml = Toml(name, text, data)
    _require_short_numbers(toml, kind)
    return toml


def _require_short_numbers(toml: Toml, kind: Kind) -> None:
    """Whole numbers in the bases of 2 pass the library at any length, and nothing after it can even print them."""
    if re.search(r"[0-9A-Fa-f_]{300}", toml.text) is None:
        return
    left: list[tuple[KeyPath, object]] = [((), toml.data)]
    while left:
        path, value = left.pop()
        if isinstance(value, int) and abs(value) >= 1 << 64:
            told = {"why": _why("digits", "")}
            raise InputError(Problem(f"{kind}_not_toml", toml.name, toml.places.line_of(path), dotted(path), told))
        items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        left += [((*path, part), inner) for part, inner in items]


def _text_of(path: Path, name: str, kind: Kind) -> str:
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise InputError(Problem(f"{kind}_missing", name)) from None
    except IsADirectoryError:
        raise InputError(Problem(f"{kind}_is_folder", name)) from None
    except (OSError, ValueError) as error:
        why = (error.strerror if isinstance(error, OSError) else None) or "its name cannot be a file's"
        raise InputError(Problem(f"{kind}_unreadable", name, values={"why": why.lower()})) from None
    if raw.startswith(_BINARY):
        raise InputError(Problem(f"{kind}_is_log", name))
    if len(raw) > LARGEST_BYTES:
        raise InputError(Problem(f"{kind}_too_large", name, values={"most_mib": LARGEST_BYTES >> 20}))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        wide = raw.startswith((b"\xff\xfe", b"\xfe\xff"))
        line = None if wide else raw.count(b"\n", 0, error.start) + 1
        raise InputError(Problem(f"{kind}_not_utf8", name, line)) from None
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.strip():
        raise InputError(Problem(f"{kind}_empty", name))
    return text


def _not_toml(name: str, text: str, message: str, kind: Kind) -> Problem:
    lines = text.split("\n")
    if _looks_like_log(name, lines):
        return Problem(f"{kind}_is_log", name)
    at = re.search(r"\(at line (\d+), column \d+\)$", message)
    digits = re.search(r"[\d_]{4000}", text)
    if at is not None:
        line = int(at[1])
    else:
        # at the end of the document, or a number too long: no place is given
        line = text.count("\n", 0, digits.start()) + 1 if digits and "digits" in message else len(lines)
    how = next((how for pattern, how in _NOT_TOML if re.match(pattern, message)), "other")
    found = places(text)
    if how == "twice":
        again = [(path, first, second) for path, first, second in found.again if second <= line]
        if again:
            path, first, second = again[-1]
            return Problem(f"{kind}_given_twice", name, second, dotted(path), {"first": first})
    began = found.sound_until
    if began is not None and began < line and how != "twice":
        # a quote or bracket left open swallows what follows: the fault is where it was opened
        return Problem(f"{kind}_not_toml", name, began, values={"why": _why("open", lines[began - 1])})
    line = min(max(line, 1), len(lines))
    return Problem(f"{kind}_not_toml", name, line, values={"why": _why(how, lines[line - 1])})


def _why(how: str, line: str) -> str:
    from startworthy.words import texts

    if how in ("rest", "value"):
        value = line.partition("=")[2].strip()
        how = next((named for pattern, named in _SLIPS if re.match(pattern, value)), how)
    return str(texts("problems")["not_toml"][how])


_SLIPS = (
    (r"[+-]?\d+,\d+\s*(#.*)?$", "decimal_comma"),
    (r"\d{1,2}[./-]\d{1,2}[./-]\d{2,4}\b|\d{4}[./]\d", "date"),
    (r"(?i)(true|false|yes|no|on|off)\b", "yes_no"),
    (r"[+-]?[\d.,]+\s*[^\W\d]", "unit"),
    (r"[+-]?(\.\d|\d+\.(\s|$)|0\d)", "number"),
    (r"(#.*)?$", "no_value"),
    (r"[^\W\d]", "no_quotes"),
)


def _looks_like_log(name: str, lines: list[str]) -> bool:
    """Whether a file that is no TOML is a log: by its ending, or a first line of cells."""
    if name.casefold().endswith(_LOG_ENDINGS):
        return True
    first = next((line.strip() for line in lines if line.strip()), "")
    return "=" not in first and not first.startswith(("#", "[")) and any(mark in first for mark in ",;\t|")


def _require_kind(name: str, data: dict[str, Any], kind: Kind) -> None:
    """A register given as layout, or the other way round, is told as such and not key by key."""
    other: Kind = "layout" if kind == "register" else "register"
    if OWN_KEYS[other].intersection(data) and not OWN_KEYS[kind].intersection(data):
        if kind == "register":
            raise InputError(Problem("register_is_layout", name))
        raise InputError(Problem("layout_is_register", name))
