"""The bytes of one log: opened without unpacking to disk, fingerprinted, and turned into UTF-8 where they are not."""

from __future__ import annotations

import gzip
import hashlib
import io
import re
import threading
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from startworthy.problems import InputError, Problem

SAMPLE_BYTES = 1 << 18
CHUNK_BYTES = 1 << 20
UNPACKED_LIMIT_BYTES = 8 << 30
"""No log of one set is as large; an archive that claims more is not unpacked."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What one pass over the bytes tells: sha256 of the file as it lies there, lines, and whether all is ASCII."""

    sha256: str
    lines: int
    ascii: bool


@dataclass(frozen=True, slots=True)
class Source:
    """One log. `path` is a plain file that can be scanned where it lies; `data` holds the bytes where it cannot.

    `label` names it to people ("logs.zip/may.csv"); `stem` is its bare name without endings. `kind` is set where the
    text was made from a table of another format (parquet, xlsx).
    """

    label: str
    stem: str
    path: Path | None
    data: bytes | None
    sha256: str | None = None
    kind: str = ""

    def head(self) -> bytes:
        """The first bytes, enough to tell the layout from."""
        if self.data is not None:
            return self.data[:SAMPLE_BYTES]
        assert self.path is not None
        with self.path.open("rb") as file:
            return file.read(SAMPLE_BYTES)

    def bytes(self) -> bytes:
        """All bytes."""
        if self.data is not None:
            return self.data
        assert self.path is not None
        return self.path.read_bytes()

    def scannable(self) -> Path | io.BytesIO:
        """What polars can scan."""
        return self.path if self.data is None and self.path is not None else io.BytesIO(self.data or b"")


class FactsLater:
    """Counts lines and takes the sha256 in a thread of its own, beside the parser, which leaves a core half idle."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._facts: Facts | None = None
        self._error: OSError | None = None
        self._thread = threading.Thread(target=self._work, daemon=True)
        self._thread.start()

    def _work(self) -> None:
        try:
            self._facts = facts_of(self._source)
        except OSError as error:
            self._error = error

    def get(self) -> Facts:
        """Wait for the facts. Raises OSError if the file went away."""
        self._thread.join()
        if self._error is not None:
            raise self._error
        assert self._facts is not None
        return self._facts


def facts_of(source: Source) -> Facts:
    """One pass in chunks that fit a cache."""
    digest = hashlib.sha256()
    lines, ascii_only, last = 0, True, b"\n"
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
            ascii_only = ascii_only and int(array.max()) < 128
            last = bytes(part[-1:])
    return Facts(source.sha256 or digest.hexdigest(), lines + (last != b"\n"), ascii_only)


def open_sources(path: Path) -> Iterator[Source | Problem]:
    """The logs in a file, one at a time: itself, what a .gz holds, each CSV of a .zip; or its problem."""
    name = str(path)
    lower = path.name.casefold()
    try:
        if lower.endswith(".zip"):
            yield from _of_zip(path)
        elif lower.endswith(".gz"):
            raw = path.read_bytes()
            yield Source(name, stem_of(path.name), None, _gunzip(raw, name), hashlib.sha256(raw).hexdigest())
        elif lower.endswith((".parquet", ".xlsx")):
            from startworthy.read.tables import table_source

            yield table_source(path, path.suffix.lower())
        else:
            with path.open("rb"):
                pass
            yield Source(name, stem_of(path.name), path, None)
    except FileNotFoundError:
        yield Problem("file_missing", name)
    except OSError as error:
        yield Problem("file_unreadable", name, values={"why": _why(error)})
    except InputError as error:
        yield from error.problems


def _why(error: OSError) -> str:
    return (error.strerror or str(error) or "unreadable").lower()


def stem_of(name: str) -> str:
    """A bare file name without .gz, .csv and the like: it names the set where nothing else does."""
    bare = re.split(r"[/\\]", name)[-1]
    bare = re.sub(r"\.gz$", "", bare, flags=re.IGNORECASE)
    return re.sub(r"\.(csv|txt|tsv|log|parquet|xlsx)$", "", bare, flags=re.IGNORECASE).strip() or "log"


def _gunzip(raw: bytes, name: str) -> bytes:
    out = io.BytesIO()
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(raw)) as packed:
            while part := packed.read(CHUNK_BYTES):
                out.write(part)
                if out.tell() > UNPACKED_LIMIT_BYTES:
                    raise InputError(Problem("archive_too_large", name))
    except (OSError, EOFError, zlib.error) as error:
        raise InputError(Problem("archive_broken", name, values={"why": str(error).rstrip(".").lower()})) from None
    return out.getvalue()


def _of_zip(path: Path) -> Iterator[Source | Problem]:
    name = str(path)
    try:
        with zipfile.ZipFile(path) as archive:
            members = [m for m in archive.infolist() if not m.is_dir() and _is_log(m.filename)]
            if not members:
                yield Problem("archive_without_log", name)
            for member in members:
                yield _of_member(archive, member, name)
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError) as error:
        yield Problem("archive_broken", name, values={"why": str(error).rstrip(".").lower()})


def _is_log(member: str) -> bool:
    bare = re.split(r"[/\\]", member)[-1].casefold()
    return bare.endswith((".csv", ".csv.gz", ".txt", ".tsv")) and not bare.startswith(".") and "__MACOSX" not in member


def _of_member(archive: zipfile.ZipFile, member: zipfile.ZipInfo, name: str) -> Source | Problem:
    # A member's name is a label and no more: nothing is ever written where it points
    label = f"{name}/{member.filename.lstrip('/')}"
    if member.flag_bits & 1:
        return Problem("archive_encrypted", label)
    if member.file_size > UNPACKED_LIMIT_BYTES:
        return Problem("archive_too_large", label)
    try:
        raw = archive.read(member)
        sha = hashlib.sha256(raw).hexdigest()
        if label.casefold().endswith(".gz"):
            raw = _gunzip(raw, label)
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError) as error:
        return Problem("archive_broken", label, values={"why": str(error).rstrip(".").lower()})
    except InputError as error:
        return error.problems[0]
    return Source(label, stem_of(member.filename), None, raw, sha)


_UNDEFINED_1252 = frozenset(b"\x81\x8d\x8f\x90\x9d")


def encoding_of(sample: bytes, label: str) -> str:
    """Encoding by byte-order mark, else UTF-8 where the bytes allow it, else Windows-1252.

    One bad byte in a text that is UTF-8 elsewhere does not make it Windows-1252. Raises InputError for what is no text.
    """
    if sample.startswith(b"\xef\xbb\xbf"):
        return "utf-8"
    if sample.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if sample[:4] in (b"PK\x03\x04", b"PAR1", b"\x7fELF", b"%PDF", b"\x89PNG", b"SQLi") or sample[:2] == b"\x1f\x8b":
        raise InputError(Problem("binary_file", label))
    even, odd = sample[0:4000:2].count(0), sample[1:4000:2].count(0)
    if min(len(sample), 4000) >= 8 and max(even, odd) > 0.6 * min(len(sample), 4000) / 2 and min(even, odd) < 10:
        return "utf-16-le" if odd > even else "utf-16-be"
    control = sum(sample.count(bytes([code])) for code in range(32) if code not in (0, 9, 10, 12, 13, 26))
    if control > 0.01 * len(sample) or sample.count(0) > 0.3 * len(sample):
        raise InputError(Problem("binary_file", label))
    text = sample.rstrip(b"\x00")
    try:
        # The sample may end within a character
        text[: max(text.rfind(b"\n"), 0) or len(text)].decode("utf-8")
        return "utf-8"
    except UnicodeDecodeError:
        pass
    high = [byte for byte in sample if byte >= 128]
    good = len(re.findall(rb"[\xc2-\xf4][\x80-\xbf]{1,3}", sample))
    odd_bytes = sum(byte in _UNDEFINED_1252 for byte in high)
    if len(high) > 0.3 * len(sample) and odd_bytes > 0.005 * len(sample):
        raise InputError(Problem("binary_file", label))
    return "utf-8" if good * 2 >= len(high) - good * 2 else "windows-1252"


def as_utf8(source: Source, encoding: str) -> Source:
    """The same log with its text in UTF-8. Plain UTF-8 is left where it lies; a bad byte becomes U+FFFD."""
    plain = encoding.casefold().replace("_", "-")
    head = source.head()
    old_ends = b"\n" not in head and b"\r" in head
    if plain in ("utf-8", "utf8", "ascii", "us-ascii", "utf-8-sig") and not old_ends:
        return source
    raw = source.bytes()
    text = raw.decode("utf-8-sig" if plain in ("utf-8", "utf8") else encoding, errors="replace")
    if old_ends or "\n" not in text[:SAMPLE_BYTES]:
        text = text.replace("\r", "\n")
    sha = source.sha256 or hashlib.sha256(raw).hexdigest()
    return Source(source.label, source.stem, None, text.encode("utf-8").removeprefix(b"\xef\xbb\xbf"), sha)
