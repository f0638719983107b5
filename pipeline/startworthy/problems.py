"""What is wrong with an input: a code, a place and the values that its sentence needs. Sentences stand in words/."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum


class Exit(IntEnum):
    """The exit codes of the command line, as the README documents them."""

    DONE = 0
    FINDINGS = 1
    USAGE = 2
    SOME_UNREADABLE = 3
    NOTHING_READ = 4
    NOT_WRITTEN = 5
    HUNG_UP = 129
    INTERRUPTED = 130
    PIPE_CLOSED = 141
    TERMINATED = 143


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong, nearest cause first. `fatal`: the file (or register, or layout) could not be used at all.

    `code` is a key of words/<language>/problems.toml; `values` fills its places. `line` counts from 1, as an
    editor does; `column` is the header as written, or a key of a TOML file.
    """

    code: str
    file: str
    line: int | None = None
    column: str | None = None
    values: Mapping[str, str | int | float] = field(default_factory=dict)
    fatal: bool = True
    partial: bool = False
    """Part of the file could not be read; the rest was."""


class InputError(Exception):
    """A file that cannot be used. Carries at least one problem; never reaches the user as a traceback."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__("; ".join(f"{p.file}: {p.code}" for p in problems))
        self.problems = problems
