"""Which files a path stands for."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

ENDINGS = (".csv", ".csv.gz", ".tsv", ".txt", ".txt.gz", ".zip", ".parquet", ".xlsx")
REPORT_MARK = "findings.json"


def find_files(paths: Iterable[Path]) -> list[Path]:
    """The logs at the paths, folders expanded with all below them, in name order, each once.

    A file that is named is taken whatever its ending. In a folder, only the endings of ENDINGS count, and hidden
    files do not. A folder that a link leads to twice is walked once. A report of ours that lies below a folder of logs
    is no log, however much its tables look like one: a folder with a findings.json is passed over.
    """
    found: dict[Path, Path] = {}
    for path in paths:
        if path.is_dir():
            for file in _below(path, set()):
                found.setdefault(_real(file), file)
        else:
            found.setdefault(_real(path), path)
    return list(found.values())


def _real(path: Path) -> Path:
    return Path(os.path.realpath(path))


def _below(folder: Path, walked: set[Path]) -> Iterable[Path]:
    real = _real(folder)
    if real in walked:
        return
    walked.add(real)
    try:
        entries = sorted(folder.iterdir())
    except OSError:
        return
    if any(entry.name == REPORT_MARK for entry in entries):
        return
    for entry in entries:
        if entry.name.startswith("."):
            continue
        if entry.is_dir():
            yield from _below(entry, walked)
        elif entry.name.casefold().endswith(ENDINGS) and entry.is_file():
            yield entry
