"""One log: where its text lies, and what one pass over its bytes tells. Beside it: encoding.py, archives.py."""

from __future__ import annotations

import hashlib
import io
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from startworthy.problems import InputError, Problem
from startworthy.read.labels import printable, stem_of
from startworthy.read.spool import Held, Spool

__all__ = ["CHUNK_BYTES", "SAMPLE_BYTES", "Facts", "FactsLater", "Source", "facts_of", "open_sources", "stem_of"]

SAMPLE_BYTES = 1 << 18
CHUNK_BYTES = 1 << 20


@dataclass(frozen=True, slots=True)
class Facts:
    """What one pass over the bytes tells: sha256 of the file as it lies there, lines, and whether all is ASCII.

    delimiters: how many of the byte asked for there are. ended: the last line has its end. quoted: it has a quote.
    """

    sha256: str
    lines: int
    ascii: bool
    delimiters: int = 0
    ended: bool = True
    quoted: bool = True


@dataclass(frozen=True, slots=True)
class Source:
    """One log. `path` is a plain file that can be scanned where it lies; `data` holds the bytes where it cannot.

    `label` names it to people ("logs.zip/may.csv"); `stem` is its bare name without endings. `kind` is set where the
    text was made from a table of another format (parquet, xlsx). `held` keeps the temporary file that `path` is, if it
    is one. `cut`: the text is known to break off, so that its last line is no whole one. `seen`: size, time and number
    of the file when it was opened; None for what nobody else can write to. `mixed`: bytes in it that were no UTF-8 were
    taken for Windows-1252.
    """

    label: str
    stem: str
    path: Path | None
    data: bytes | None
    sha256: str | None = None
    kind: str = ""
    held: Held | None = field(default=None, compare=False, repr=False)
    cut: bool = False
    seen: tuple[int, int, int] | None = None
    mixed: bool = False

    def head(self, size: int = SAMPLE_BYTES) -> bytes:
        """The first bytes, enough to tell the layout from."""
        if self.data is not None:
            return self.data[:size]
        assert self.path is not None
        with self.path.open("rb") as file:
            return file.read(size)

    def tail(self, size: int) -> bytes:
        """The last bytes."""
        if self.data is not None:
            return self.data[-size:]
        assert self.path is not None
        with self.path.open("rb") as file:
            file.seek(max(file.seek(0, io.SEEK_END) - size, 0))
            return file.read(size)

    def parts(self) -> Iterator[bytes]:
        """All bytes, in parts that fit a cache."""
        if self.data is not None:
            for at in range(0, len(self.data), CHUNK_BYTES):
                yield self.data[at : at + CHUNK_BYTES]
            return
        assert self.path is not None
        with self.path.open("rb") as file:
            while part := file.read(CHUNK_BYTES):
                yield part

    def bytes(self) -> bytes:
        """All bytes at once: for what is known to be small."""
        if self.data is not None:
            return self.data
        assert self.path is not None
        return self.path.read_bytes()

    def scannable(self) -> Path | io.BytesIO:
        """What polars can scan, with glob=False: the name of a file may have brackets."""
        return self.path if self.data is None and self.path is not None else io.BytesIO(self.data or b"")

    def changed(self) -> bool:
        """Whether the file is another than it was when it was opened. Raises OSError if it went away."""
        return self.seen is not None and self.path is not None and _seen(self.path) != self.seen

    def settled(self) -> Source:
        """A copy of the file as it is now, which nobody writes to; its last line may be half written."""
        assert self.path is not None
        return _copied(self, self.path.stat().st_size)

    def drop(self) -> None:
        """Delete the temporary file, if there is one."""
        if self.held is not None:
            self.held.drop()


def _seen(path: Path) -> tuple[int, int, int]:
    status = path.stat()
    return status.st_size, status.st_mtime_ns, status.st_ino


def _copied(source: Source, size: int) -> Source:
    spool = Spool(source.label)
    digest = hashlib.sha256()
    for part in source.parts():
        kept = part[: size - spool.size]
        digest.update(kept)
        spool.write(kept)
        if spool.size >= size:
            break
    path, data, held = spool.done()
    return Source(source.label, source.stem, path, data, digest.hexdigest(), source.kind, held, cut=True)


class FactsLater:
    """Counts lines and takes the sha256 in a thread of its own, beside the parser, which leaves a core half idle."""

    def __init__(self, source: Source, delimiter: str = "", quote: str = "") -> None:
        self._source, self._delimiter, self._quote = source, delimiter, quote
        self._facts: Facts | None = None
        self._error: BaseException | None = None
        self._thread = threading.Thread(target=self._work, daemon=True)
        self._thread.start()

    def _work(self) -> None:
        try:
            self._facts = facts_of(self._source, self._delimiter, self._quote)
        except BaseException as error:
            self._error = error

    def get(self) -> Facts:
        """Wait for the facts. Raises OSError if the file went away."""
        self._thread.join()
        if self._error is not None:
            raise self._error
        assert self._facts is not None
        return self._facts


def facts_of(source: Source, delimiter: str = "", quote: str = "") -> Facts:
    """One pass in chunks that fit a cache. delimiter: one ASCII character to count, quote: one to look for; or none."""
    digest = hashlib.sha256()
    lines, ascii_only, last, delimiters = 0, True, b"\n", 0
    mark = ord(delimiter) if delimiter and delimiter.isascii() else -1
    quoted, sign = False, quote.encode()
    stream: io.BytesIO | io.FileIO
    if source.data is not None:
        stream = io.BytesIO(source.data)
    else:
        assert source.path is not None
        stream = io.FileIO(source.path)
    buffer = bytearray(CHUNK_BYTES)
    view = memoryview(buffer)
    with stream:
        while size := stream.readinto(buffer):
            part = view[:size]
            if source.sha256 is None:
                digest.update(part)
            array = np.frombuffer(part, np.uint8)
            lines += int(np.count_nonzero(array == 10))
            if mark >= 0:
                delimiters += int(np.count_nonzero(array == mark))
            quoted = quoted or (bool(sign) and buffer.find(sign, 0, size) >= 0)
            ascii_only = ascii_only and int(array.max()) < 128
            last = bytes(part[-1:])
    ended = last == b"\n"
    return Facts(source.sha256 or digest.hexdigest(), lines + (not ended), ascii_only, delimiters, ended, quoted)


def open_sources(path: Path) -> Iterator[Source | Problem]:
    """The logs in a file, one at a time: itself, what a .gz holds, each log of a .zip; or what is wrong with it.

    A temporary file that a log lies in is gone when the next one is asked for, or the iterator is closed.
    """
    label = printable(str(path))
    try:
        yield from _opened(path, label)
    except FileNotFoundError:
        yield Problem("file_missing", label)
    except (OSError, ValueError) as error:
        yield Problem("file_unreadable", label, values={"why": why_not(error)})
    except InputError as error:
        yield from error.problems


def why_not(error: Exception) -> str:
    """Why a file cannot be read, in a few words."""
    said = error.strerror if isinstance(error, OSError) else None
    return (said or str(error).split("\n")[0] or "unreadable").lower()[:100]


def _opened(path: Path, label: str) -> Iterator[Source | Problem]:
    from startworthy.read.files import kind_of

    kind = kind_of(path)
    if kind:
        # Opened for reading, a pipe waits for a writer and a device may never end
        yield Problem("not_a_file", label, values={"kind": kind})
        return
    lower = path.name.casefold()
    if lower.endswith(".zip"):
        from startworthy.read.archives import of_zip

        yield from of_zip(path, label)
    elif lower.endswith(".gz"):
        from startworthy.read.archives import of_gz

        yield from of_gz(path, label)
    elif lower.endswith((".parquet", ".xlsx")):
        from startworthy.read.tables import table_source

        made = table_source(path, path.suffix.lower(), label)
        yield made
        if isinstance(made, Source):
            made.drop()
    else:
        with path.open("rb"):
            pass
        source = Source(label, stem_of(path.name), path, None, seen=_seen(path))
        if not str(path).isprintable() and _no_utf8(path):
            # The parser takes no name that is not UTF-8
            source = _copied(source, path.stat().st_size)
        yield source
        source.drop()


def _no_utf8(path: Path) -> bool:
    try:
        str(path).encode("utf-8")
    except UnicodeEncodeError:
        return True
    return False
