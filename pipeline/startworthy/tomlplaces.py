"""Where each key of a TOML file stands: a scanner that follows keys, tables, lists and strings and keeps their lines.

The standard library reads TOML and forgets where things stood. This scanner is not a second parser: it is asked for
places in a text that the library has read, or for how far a text is sound that the library refused. It never raises.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

Part = str | int
Path = tuple[Part, ...]
"""Keys from the top of the file on; a whole number is the place within a list, from 0."""

MOST_PARTS = 32
"""Keys within keys. A register needs four; far more is no register, and costs a parser its time."""

_BLANK = re.compile(r"[ \t]*+")
_BETWEEN = re.compile(r"(?:[ \t\n]++|#[^\n]*+)*+")
_END = re.compile(r"[ \t]*+(?:#[^\n]*+)?+(?:\n|\Z)")
_BARE = re.compile(r"[A-Za-z0-9_-]++")
_BASIC = re.compile(r'"(?:[^"\\\n]++|\\[^\n])*+"')
_LITERAL = re.compile(r"'[^'\n]*+'")
_LONG_BASIC = re.compile(r'"""(?:[^"\\]++|\\.|"{1,2}(?!"))*+"""(?:"{0,2}+)', re.DOTALL)
_LONG_LITERAL = re.compile(r"'''(?:[^']++|'{1,2}(?!'))*+'''(?:'{0,2}+)", re.DOTALL)
_OTHER = re.compile(r"[^,\[\]{}#\n\"'=]++")


@dataclass(frozen=True, slots=True)
class Places:
    """Where things stand in a TOML text. Lines count from 1.

    lines: path to the line that first names it. again: path, its first line and the line that names it once more,
    for keys and tables given twice. sound_until: the line where the statement begins that the scanner could not
    follow, None where it went through to the end. deep: keys are nested more than MOST_PARTS deep.
    """

    lines: Mapping[Path, int]
    again: tuple[tuple[Path, int, int], ...]
    sound_until: int | None
    deep: bool

    def line_of(self, path: Path) -> int | None:
        """Line of the path, or of the nearest one above it that stands in the file; None for the top itself."""
        for length in range(len(path), 0, -1):
            line = self.lines.get(path[:length])
            if line is not None:
                return line
        return None

    def known(self, path: Path) -> Path:
        """The part of the path that stands in the file."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return path[:length]
        return ()


def places(text: str) -> Places:
    """Where each key of the text stands. Lines must end in a line feed alone."""
    return _Scanner(text).scan()


class _StopError(Exception):
    """The text is no TOML from here on."""


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.ends = [match.start() for match in re.finditer("\n", text)]
        self.lines: dict[Path, int] = {}
        self.again: list[tuple[Path, int, int]] = []
        self.headers: set[Path] = set()
        self.lists: dict[Path, int] = {}
        self.deep = False

    def scan(self) -> Places:
        began = 0
        base: Path = ()
        try:
            while True:
                self._skip(_BETWEEN)
                began = self.at
                if began >= len(self.text):
                    return self._places(None)
                if self.text.startswith("[", began):
                    base = self._header()
                else:
                    self._pair(base)
                if not self._skip(_END):
                    raise _StopError
        except _StopError:
            return self._places(self._line(began))

    def _places(self, sound_until: int | None) -> Places:
        return Places(self.lines, tuple(self.again), sound_until, self.deep)

    def _line(self, at: int) -> int:
        return bisect_right(self.ends, at - 1) + 1

    def _skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            return ""
        self.at = match.end()
        # a statement that ends with the file matches with nothing in it
        return match[0] or " "

    def _take(self, mark: str) -> bool:
        if not self.text.startswith(mark, self.at):
            return False
        self.at += len(mark)
        return True

    def _must(self, mark: str) -> None:
        if not self._take(mark):
            raise _StopError

    def _note(self, path: Path, at: int, *, whole: bool) -> None:
        """Keep the line. `whole`: this key is given here, not only passed on the way to a deeper one."""
        line = self._line(at)
        first = self.lines.setdefault(path, line)
        if whole and path in self.headers:
            self.again.append((path, first, line))
        if whole:
            self.headers.add(path)

    def _key(self) -> list[tuple[str, int]]:
        parts = []
        while True:
            self._skip(_BLANK)
            at = self.at
            for pattern in (_BARE, _BASIC, _LITERAL):
                match = pattern.match(self.text, at)
                if match is not None:
                    break
            else:
                raise _StopError
            self.at = match.end()
            parts.append((_name(match[0]), at))
            if len(parts) > MOST_PARTS:
                self.deep = True
                raise _StopError
            self._skip(_BLANK)
            if not self._take("."):
                return parts

    def _header(self) -> Path:
        many = self._take("[[")
        if not many:
            self._must("[")
        parts = self._key()
        self._must("]]" if many else "]")
        path: Path = ()
        for number, (name, at) in enumerate(parts, start=1):
            path = (*path, name)
            last = number == len(parts)
            self._note(path, at, whole=last and not many)
            if last and many:
                self.lists[path] = self.lists.get(path, -1) + 1
            if path in self.lists:
                path = (*path, self.lists[path])
                self._note(path, at, whole=False)
        return path

    def _pair(self, base: Path) -> Path:
        """One `key = value`; gives the path of the key."""
        path = self._named(base)
        self._value(path)
        return path

    def _named(self, base: Path) -> Path:
        parts = self._key()
        path = base
        for number, (name, at) in enumerate(parts, start=1):
            path = (*path, name)
            self._note(path, at, whole=number == len(parts))
        self._must("=")
        if len(path) > MOST_PARTS:
            self.deep = True
            raise _StopError
        return path

    def _value(self, path: Path) -> None:
        """One value. Lists and tables within it are followed with a stack of our own: nesting has no bound in TOML."""
        open_: list[tuple[str, Path, int]] = []
        while True:
            self._skip(_BLANK)
            if self._take("["):
                open_.append(("]", path, 0))
            elif self._take("{"):
                open_.append(("}", path, 0))
            else:
                self._scalar()
                if not open_:
                    return
                if not self._comma(open_):
                    return
            if len(open_) > MOST_PARTS:
                self.deep = True
                raise _StopError
            # what comes next within the innermost list or table: an element, a key, or its end
            while True:
                end, above, number = open_[-1]
                self._skip(_BETWEEN if end == "]" else _BLANK)
                if self._take(end):
                    open_.pop()
                    if not open_:
                        return
                    if not self._comma(open_):
                        return
                    continue
                if end == "]":
                    path = (*above, number)
                    self._note(path, self.at, whole=False)
                else:
                    path = self._named(above)
                open_[-1] = (end, above, number + 1)
                break

    def _comma(self, open_: list[tuple[str, Path, int]]) -> bool:
        """Past a comma, or past the ends of all lists and tables that end here; False when the whole value ends."""
        while open_:
            end = open_[-1][0]
            self._skip(_BETWEEN if end == "]" else _BLANK)
            if self._take(","):
                return True
            self._must(end)
            open_.pop()
        return False

    def _scalar(self) -> None:
        for pattern in (_LONG_BASIC, _LONG_LITERAL, _BASIC, _LITERAL, _OTHER):
            match = pattern.match(self.text, self.at)
            if match is not None and match[0].strip():
                self.at = match.end()
                return
        raise _StopError


@lru_cache(maxsize=1024)
def _name(token: str) -> str:
    """The name that a key's text stands for: quotes taken off, escapes resolved."""
    if token[0] == "'" or (token[0] == '"' and "\\" not in token):
        return token[1:-1]
    if token[0] != '"':
        return token
    try:
        return str(tomllib.loads(f"key = {token}")["key"])
    except tomllib.TOMLDecodeError:
        raise _StopError from None


def dotted(path: Path) -> str:
    """The path as TOML writes a key: parts that need quotes have them, a place in a list counts from 1 as #n."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"#{part + 1}"
        else:
            plain = part if _BARE.fullmatch(part) else '"' + part.replace("\\", "\\\\").replace('"', '\\"') + '"'
            text += ("." if text else "") + plain
    return text
