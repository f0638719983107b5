"""Texts that are made while reading (unpacked, or turned into UTF-8): in memory while small, else in a file aside.

Such a file has a name of its own making, is readable by its owner only, and goes when the reading of its log is over,
on an error too. Nothing that stands in a log or an archive ever chooses a path.
"""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
import weakref
from pathlib import Path
from typing import BinaryIO

from startworthy import stopping
from startworthy.problems import InputError, Problem

HELD_BYTES = 64 << 20
"""A text longer than this lies in a file while it is read. Common practice, no source."""


class Held:
    """A temporary file, deleted when it is dropped, when nothing points to it any more, or when the process ends."""

    __slots__ = ("__weakref__", "_delete", "path")

    def __init__(self, path: Path) -> None:
        self.path = path
        stopping.temporary(path)
        self._delete = weakref.finalize(self, _unlink, str(path), os.getpid())

    def drop(self) -> None:
        """Delete the file now; harmless when it is gone."""
        self._delete()


def _unlink(path: str, owner: int) -> None:
    # A process that was forked off has the object and not the file
    if os.getpid() == owner:
        with contextlib.suppress(OSError):
            os.unlink(path)
        stopping.settled(Path(path))


class Spool:
    """Takes a text part by part. label: the log that it is for, as its problem names it."""

    def __init__(self, label: str) -> None:
        self.label = label
        self.size = 0
        self._file: BinaryIO = io.BytesIO()
        self._held: Held | None = None

    def write(self, part: bytes | memoryview) -> int:
        """Add a part. Raises InputError (`no_room`) where the disk has none."""
        self.size += len(part)
        try:
            if self._held is None and self.size > HELD_BYTES:
                self._to_disk()
            return self._file.write(part)
        except OSError as error:
            self.drop()
            why = (error.strerror or str(error)).lower()
            raise InputError(Problem("no_room", self.label, values={"why": why})) from None

    def cut(self, size: int) -> None:
        """Forget all after the first `size` bytes."""
        self._file.seek(size)
        self._file.truncate()
        self.size = size

    def done(self) -> tuple[Path | None, bytes | None, Held | None]:
        """Where the text is: a path and what holds it, or the bytes."""
        if self._held is None:
            assert isinstance(self._file, io.BytesIO)
            return None, self._file.getvalue(), None
        try:
            self._file.close()
        except OSError as error:
            self.drop()
            why = (error.strerror or str(error)).lower()
            raise InputError(Problem("no_room", self.label, values={"why": why})) from None
        return self._held.path, None, self._held

    def drop(self) -> None:
        """Give all up."""
        with contextlib.suppress(OSError):
            self._file.close()
        if self._held is not None:
            self._held.drop()

    def _to_disk(self) -> None:
        with stopping.undisturbed():
            number, name = tempfile.mkstemp(prefix="startworthy-", suffix=".csv")
            self._held = Held(Path(name))
        assert isinstance(self._file, io.BytesIO)
        kept = self._file.getbuffer()
        self._file = os.fdopen(number, "wb")
        self._file.write(kept)
