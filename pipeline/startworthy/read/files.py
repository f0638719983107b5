"""Which files a path stands for, and what of it cannot be looked at."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from startworthy.problems import Problem
from startworthy.read.labels import printable

ENDINGS = (".csv", ".csv.gz", ".tsv", ".txt", ".txt.gz", ".zip", ".parquet", ".xlsx")
REPORT_MARK = "findings.json"
MOST_FOLDERS = 100_000
"""Folders below one that is named; more are no place where logs lie. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Found:
    """The logs at some paths, each once, in name order; and the folders and entries that could not be looked at."""

    files: tuple[Path, ...]
    problems: tuple[Problem, ...]


def find_logs(paths: Iterable[Path]) -> Found:
    """The logs at the paths, folders expanded with all below them. Never raises.

    A file that is named is taken whatever its ending. In a folder, only the endings of ENDINGS count, and hidden
    files do not. A folder that a link leads to twice is walked once. A report of ours that lies below a folder of logs
    is no log, however much its tables look like one: a folder with a findings.json is passed over. A folder without
    a log is told, and so is one that cannot be listed, a link that leads nowhere, and a pipe or device named as a log.
    """
    found: dict[str, Path] = {}
    problems: list[Problem] = []
    for path in paths:
        if not _is_folder(path):
            found.setdefault(_real(path), path)
            continue
        bare = True
        for entry in _below(path):
            bare = False
            if isinstance(entry, Problem):
                problems.append(entry)
            else:
                found.setdefault(*entry)
        if bare:
            problems.append(Problem("folder_without_log", printable(str(path))))
    return Found(tuple(found.values()), tuple(problems))


def kind_of(path: Path) -> str:
    """What a path is, in a word, where it is no plain file: reading one might wait for ever. Raises OSError."""
    mode = path.stat().st_mode
    kinds = (
        (stat.S_ISREG, ""), (stat.S_ISDIR, "a folder"), (stat.S_ISFIFO, "a pipe"), (stat.S_ISSOCK, "a socket"),
        (stat.S_ISCHR, "a device"), (stat.S_ISBLK, "a device"),
    )  # fmt: skip
    return next((word for is_one, word in kinds if is_one(mode)), "no plain file")


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):
        # Too long a name, or no right to look: the file itself will tell when it is opened
        return False


def _real(path: Path) -> str:
    try:
        return os.path.realpath(path)
    except (OSError, ValueError):
        return str(path)


def _below(top: Path) -> Iterator[tuple[str, Path] | Problem]:
    """Each log below a folder with its real path, or a problem. Folders lie on a heap: they may be nested deeply."""
    walked: set[tuple[int, int]] = set()
    waiting: list[_Folder | tuple[str, Path] | Problem] = [_Folder(str(top), _real(top))]
    while waiting:
        folder = waiting.pop()
        if not isinstance(folder, _Folder):
            yield folder
            continue
        try:
            status = os.stat(folder.path)
            if (status.st_dev, status.st_ino) in walked:
                continue
            if len(walked) >= MOST_FOLDERS:
                yield Problem("too_many_folders", printable(str(top)), values={"most": MOST_FOLDERS})
                return
            walked.add((status.st_dev, status.st_ino))
            with os.scandir(folder.path) as entries:
                listed = sorted(entries, key=lambda entry: entry.name)
        except OSError as error:
            yield _unreadable(folder.path, error)
            continue
        if any(entry.name == REPORT_MARK for entry in listed):
            continue
        # The last one in is the first one out
        waiting += [taken for entry in reversed(listed) if (taken := _taken(entry, folder)) is not None]


@dataclass(frozen=True, slots=True)
class _Folder:
    """A folder to walk: as it was named, and where it really is."""

    path: str
    real: str


def _taken(entry: os.DirEntry[str], folder: _Folder) -> _Folder | tuple[str, Path] | Problem | None:
    """A folder to walk, a log with its real path, a problem, or None for what is neither."""
    if entry.name.startswith("."):
        return None
    path = os.path.join(folder.path, entry.name)
    try:
        if entry.is_dir():
            return _Folder(path, _real(Path(path)) if entry.is_symlink() else os.path.join(folder.real, entry.name))
        if not entry.name.casefold().endswith(ENDINGS):
            return None
        if entry.is_file():
            return (_real(Path(path)) if entry.is_symlink() else os.path.join(folder.real, entry.name)), Path(path)
        if not os.path.exists(path):
            return Problem("link_broken", printable(path))
        return Problem("not_a_file", printable(path), values={"kind": kind_of(Path(path))})
    except OSError as error:
        return _unreadable(path, error)


def _unreadable(path: str, error: OSError) -> Problem:
    why = (error.strerror or str(error) or "unreadable").lower()
    return Problem("file_unreadable", printable(path), values={"why": why})
