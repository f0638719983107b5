"""The insides of .gz and .zip: their entries, and their content part by part, counted and checked as it comes.

Formats: RFC 1951 and 1952 (deflate, gzip), PKWARE APPNOTE 6.3 (zip).
"""

from __future__ import annotations

import bz2
import os
import re
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO

from startworthy.problems import InputError, Problem

CHUNK_BYTES = 1 << 20

MOST_LOG_BYTES = 16 << 30
"""What one packed log may expand to: a log of a second's step is some 2 GiB a year. Common practice, no source."""
MOST_ARCHIVE_BYTES = 64 << 30
"""What all logs of one archive may expand to together. Common practice, no source."""
FREE_BYTES = 64 << 20
MOST_RATIO = 300
"""How many times its packed size a log may expand to, once past FREE_BYTES: a log of which nothing but the time changes
packs 17 to 40 times with 13 columns and up to 250 times with 300, a bomb some 1030 times (the most that deflate can
do). Measured on made-up logs; the limit is common practice, no source."""
MOST_ENTRIES = 100_000
MOST_DIRECTORY_BYTES = 16 << 20
"""Entries of one archive, and the length of their list: a file a day for 270 sets over a year. Common practice, no
source."""


class Stopped(Exception):  # noqa: N818  (it is no error where a part of the content can be read)
    """Content that ends before its end. problem: what to tell. sound: bytes that are certain; None: all that came."""

    def __init__(self, problem: Problem, sound: int | None = None) -> None:
        super().__init__(problem.code)
        self.problem, self.sound = problem, sound


def _cut_off(label: str) -> Stopped:
    return Stopped(Problem("archive_cut_log", label, fatal=False, partial=True))


def _damaged(label: str, why: str, sound: int) -> Stopped:
    return Stopped(Problem("archive_damaged", label, values={"why": why}, fatal=False, partial=True), sound)


def _broken(label: str, why: str) -> Stopped:
    return Stopped(Problem("archive_broken", label, values={"why": why}), 0)


def _tail(label: str) -> Stopped:
    return Stopped(Problem("archive_tail", label, fatal=False, partial=True))


@dataclass(slots=True)
class Flow:
    """What went into and came out of an archive, held against the limits. `spent`: its whole share is used."""

    label: str
    packed: int = 0
    expanded: int = 0
    before: int = 0
    spent: bool = False

    def next(self) -> None:
        """Another entry begins."""
        self.before += self.expanded
        self.packed = self.expanded = 0

    def count(self, packed: int, expanded: int) -> None:
        """Add to both sides. Raises InputError (archive_too_large, archive_bomb)."""
        self.packed += packed
        self.expanded += expanded
        if self.before + self.expanded > MOST_ARCHIVE_BYTES:
            self.spent = True
            raise InputError(Problem("archive_too_large", self.label, values={"most_gib": MOST_ARCHIVE_BYTES >> 30}))
        if self.expanded > MOST_LOG_BYTES:
            raise InputError(Problem("archive_too_large", self.label, values={"most_gib": MOST_LOG_BYTES >> 30}))
        if self.expanded > FREE_BYTES and self.expanded > MOST_RATIO * max(self.packed, 1):
            raise InputError(Problem("archive_bomb", self.label, values={"ratio": MOST_RATIO}))


@dataclass(frozen=True, slots=True)
class Entry:
    """A member of a zip as its archive describes it. size, crc: of the packed bytes; None where only its end tells."""

    name: str
    offset: int
    flags: int
    method: int
    mode: int
    size: int | None
    crc: int | None


def gunzipped(packed: Iterable[bytes], flow: Flow, *, inner: bool = False) -> Iterator[bytes]:
    """The content of a gzip stream of one or more members. Raises Stopped, InputError.

    inner: what was packed is counted already, as the stream comes out of an archive.
    """
    engine = zlib.decompressobj(31)
    members = came = sound = 0
    inside = False
    left = b""
    for part in packed:
        if not inner:
            flow.count(len(part), 0)
        left += part
        while left:
            if not inside and members:
                # Padding of zeros after the end is usual on tapes and cards
                left = left.lstrip(b"\x00")
                if len(left) < 2:
                    break
            if not inside and left[:2] != b"\x1f\x8b"[: len(left)]:
                if members:
                    raise _tail(flow.label)
                raise _broken(flow.label, "not a gzipped file")
            try:
                out = engine.decompress(left, CHUNK_BYTES)
            except zlib.error as error:
                raise _damaged(flow.label, _plain(error), sound) from None
            inside = True
            came += len(out)
            flow.count(0, len(out))
            if out:
                yield out
            if engine.eof:
                left, inside = engine.unused_data, False
                members, sound = members + 1, came
                engine = zlib.decompressobj(31)
            else:
                left = engine.unconsumed_tail
    if inside:
        tail = engine.flush()
        flow.count(0, len(tail))
        if tail:
            yield tail
        raise _cut_off(flow.label)
    if left.strip(b"\x00") and members:
        raise _tail(flow.label)
    if not members:
        raise _broken(flow.label, "empty" if not left else "not a gzipped file")


def _plain(error: Exception) -> str:
    """What zlib says, without its numbers."""
    return str(error).split(": ")[-1].lower()[:80]


def unzipped(file: BinaryIO, entry: Entry, flow: Flow) -> Iterator[bytes]:
    """The content of a member. Raises Stopped, InputError."""
    try:
        crc = 0
        for part in _inflated(_raw(file, entry, flow), entry, flow):
            crc = zlib.crc32(part, crc)
            yield part
    except (zlib.error, OSError, EOFError) as error:
        if isinstance(error, OSError) and error.errno is not None:
            raise
        raise _damaged(flow.label, _plain(error), 0) from None
    if entry.crc is not None and crc != entry.crc:
        raise _damaged(flow.label, "its content does not match its checksum", 0)


def _raw(file: BinaryIO, entry: Entry, flow: Flow) -> Iterator[bytes]:
    """The packed bytes as they lie."""
    file.seek(entry.offset)
    head = file.read(30)
    if len(head) < 30:
        raise _cut_off(flow.label)
    if head[:4] != b"PK\x03\x04":
        raise _broken(flow.label, "its entry is not where its list says")
    begin = entry.offset + 30 + sum(struct.unpack("<HH", head[26:30]))
    file.seek(begin)
    left = entry.size
    while left is None or left > 0:
        part = file.read(CHUNK_BYTES if left is None else min(left, CHUNK_BYTES))
        if not part:
            raise _cut_off(flow.label)
        flow.count(len(part), 0)
        left = None if left is None else left - len(part)
        yield part


def _inflated(raw: Iterator[bytes], entry: Entry, flow: Flow) -> Iterator[bytes]:
    if entry.method == 0:
        for part in raw:
            flow.count(0, len(part))
            yield part
        return
    engine: Any = bz2.BZ2Decompressor() if entry.method == 12 else zlib.decompressobj(-15)
    try:
        for part in raw:
            left = part
            while left or (entry.method == 12 and not engine.needs_input):
                out = engine.decompress(left, CHUNK_BYTES)
                flow.count(0, len(out))
                if out:
                    yield out
                if engine.eof:
                    return
                left = b"" if entry.method == 12 else engine.unconsumed_tail
    except Stopped:
        yield from _rest(engine, flow)
        raise
    yield from _rest(engine, flow)
    if not engine.eof:
        raise _cut_off(flow.label)


def _rest(engine: Any, flow: Flow) -> Iterator[bytes]:
    """What the engine still holds when its input is over."""
    tail = engine.flush() if hasattr(engine, "flush") else b""
    flow.count(0, len(tail))
    if tail:
        yield tail


def entries_of(file: BinaryIO, label: str) -> list[Entry]:
    """The members that the list at a zip's end names. Raises InputError (too many), zipfile.BadZipFile (no list)."""
    _short_list(file, label)
    with zipfile.ZipFile(file) as archive:
        members = archive.infolist()
    entries = [
        Entry(m.filename, m.header_offset, m.flag_bits, m.compress_type, m.external_attr >> 16, m.compress_size, m.CRC)
        for m in members
        if not m.is_dir()
    ]
    if len(entries) > MOST_ENTRIES:
        raise InputError(Problem("archive_crowded", label, values={"most": MOST_ENTRIES}))
    end = 0
    for entry in sorted(entries, key=lambda e: e.offset):
        if entry.offset < end:
            raise InputError(Problem("archive_broken", label, values={"why": "its entries overlap"}))
        end = entry.offset + 30 + (entry.size or 0)
    return entries


def _short_list(file: BinaryIO, label: str) -> None:
    """Hold the length of the list against its limit before it is loaded (APPNOTE 4.3.14 to 4.3.16)."""
    size = file.seek(0, os.SEEK_END)
    file.seek(max(size - (1 << 16) - 98, 0))
    tail = file.read()
    at = len(tail) - 22 if tail[-22:-18] == b"PK\x05\x06" and tail[-2:] == b"\x00\x00" else tail.rfind(b"PK\x05\x06")
    if at < 0 or len(tail) < at + 22:
        raise zipfile.BadZipFile("its list of contents is missing")
    length = struct.unpack("<L", tail[at + 12 : at + 16])[0]
    wide = tail.rfind(b"PK\x06\x06", 0, at)
    if wide >= 0 and len(tail) >= wide + 48:
        length = max(length if length != 0xFFFFFFFF else 0, struct.unpack("<Q", tail[wide + 40 : wide + 48])[0])
    file.seek(0)
    if length > MOST_DIRECTORY_BYTES and length <= size:
        raise InputError(Problem("archive_crowded", label, values={"most": MOST_ENTRIES}))


def entries_found(file: BinaryIO, label: str) -> list[Entry]:
    """The members of a zip whose list is missing, found one after the other from its beginning."""
    found: list[Entry] = []
    at = 0
    while len(found) < MOST_ENTRIES:
        file.seek(at)
        head = file.read(30)
        if len(head) < 30 or head[:4] != b"PK\x03\x04":
            return found
        flags, method = struct.unpack("<HH", head[6:10])
        crc, packed, _ = struct.unpack("<LLL", head[14:26])
        name_length, extra = struct.unpack("<HH", head[26:30])
        name = file.read(name_length).decode("utf-8" if flags & 0x800 else "cp437", errors="replace")
        begin = at + 30 + name_length + extra
        streamed = bool(flags & 8) or packed == 0xFFFFFFFF
        entry = Entry(name, at, flags, method, 0, None if streamed else packed, None if streamed else crc)
        if not name.endswith("/"):
            found.append(entry)
        if not streamed:
            at = begin + packed
            continue
        at = _end_of(file, begin, label) if method == 8 else _mark_after(file, begin)
        if at < 0 or name.endswith("/"):
            return found
        size = None if method == 8 else at - begin
        found[-1:] = [Entry(name, entry.offset, flags, method, 0, size, _crc_after(file, at))]
        at = _next_after(file, at)
    return found


def _end_of(file: BinaryIO, begin: int, label: str) -> int:
    """Where a deflated stream of unknown length ends; -1 where it does not."""
    flow = Flow(label)
    file.seek(begin)
    engine = zlib.decompressobj(-15)
    try:
        while part := file.read(CHUNK_BYTES):
            begin += len(part)
            flow.count(len(part), 0)
            left = part
            while left and not engine.eof:
                flow.count(0, len(engine.decompress(left, CHUNK_BYTES)))
                left = engine.unconsumed_tail
            if engine.eof:
                return begin - len(engine.unused_data)
    except (zlib.error, InputError):
        pass
    return -1


def _mark_after(file: BinaryIO, begin: int) -> int:
    """Where content of unknown length that is not packed ends: at the next mark of an archive; -1 without one."""
    file.seek(begin)
    rest = b""
    while part := file.read(CHUNK_BYTES):
        found = re.search(rb"PK(?:\x07\x08|\x03\x04|\x01\x02)", rest + part)
        if found is not None:
            return begin - len(rest) + found.start()
        begin += len(part)
        rest = part[-3:]
    return -1


def _crc_after(file: BinaryIO, at: int) -> int | None:
    """The checksum behind a stream (APPNOTE 4.3.9); its mark may be missing."""
    file.seek(at)
    behind = file.read(8)
    if len(behind) < 8:
        return None
    return int(struct.unpack("<L", behind[4:8] if behind[:4] == b"PK\x07\x08" else behind[:4])[0])


def _next_after(file: BinaryIO, at: int) -> int:
    """The next entry, past what stands behind a stream."""
    file.seek(at)
    behind = file.read(64)
    step = behind.find(b"PK\x03\x04")
    return at + step if step >= 0 else at + len(behind)
