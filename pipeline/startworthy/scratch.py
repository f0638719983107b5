"""Files that live only while the program works: each in a folder of its own, all gone when it ends or is stopped."""

from __future__ import annotations

import atexit
import shutil
import tempfile
import weakref
from pathlib import Path

from startworthy import stopping

_folders: set[Path] = set()


class Scratch:
    """A folder for temporary files, removed with its last holder, at the end of the program, or by `clear_all`.

    Names in it are given by the program, never by a log. Raises OSError where no folder can be made.
    """

    def __init__(self) -> None:
        with stopping.undisturbed():
            self.path = Path(tempfile.mkdtemp(prefix="startworthy-"))
            _folders.add(self.path)
        self._finalizer = weakref.finalize(self, _remove, self.path)

    def remove(self) -> None:
        """Remove the folder and all in it now."""
        self._finalizer()


def clear_all() -> None:
    """Remove every folder still there: for a program that is being stopped."""
    for path in tuple(_folders):
        _remove(path)


def _remove(path: Path) -> None:
    _folders.discard(path)
    shutil.rmtree(path, ignore_errors=True)


atexit.register(clear_all)
