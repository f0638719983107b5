"""Packed logs: .gz, and .zip with logs in it, expanded part by part under limits and never to a path of their choosing.

What an archive claims of itself (sizes, counts) is not believed: what comes out is counted as it comes. Where an
archive is cut off, what it holds up to there is read, and that is told; where its content does not match its
checksum, nothing of it is read, as no row shows whether it is one of those that were changed.
"""

from __future__ import annotations

import hashlib
import stat
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from startworthy.problems import InputError, Problem
from startworthy.read.labels import LONGEST_NAME, printable, stem_of
from startworthy.read.packed import CHUNK_BYTES, Entry, Flow, Stopped, entries_found, entries_of, gunzipped, unzipped
from startworthy.read.spool import Spool

if TYPE_CHECKING:
    from startworthy.read.source import Source

LOGS = (".csv", ".csv.gz", ".tsv", ".tsv.gz", ".txt", ".txt.gz", ".log", ".log.gz")
INNER = (".zip", ".gz", ".xlsx", ".parquet", ".7z", ".rar", ".tar", ".tgz")
"""Endings of what holds logs by itself: in an archive it is named as left out, and not unpacked a second time."""


def of_gz(path: Path, label: str) -> Iterator[Source | Problem]:
    """The log that a .gz holds, or its problem; a problem before the log where only a part of it is left.

    Raises OSError.
    """
    flow = Flow(label)
    digest = hashlib.sha256()
    with path.open("rb") as file:
        packed = _hashed(_read(file), digest)
        yield from _expanded(gunzipped(packed, flow), packed, label, stem_of(path.name), digest)


def of_zip(path: Path, label: str) -> Iterator[Source | Problem]:
    """Each log of a .zip, or its problem. Raises OSError."""
    with path.open("rb") as file:
        try:
            entries = entries_of(file, label)
        except (zipfile.BadZipFile, NotImplementedError, ValueError, EOFError) as error:
            entries = entries_found(file, label)
            if not entries:
                yield Problem("archive_broken", label, values={"why": _why(error)})
                return
            yield Problem("archive_cut", label, fatal=False, partial=True)
        logs = [entry for entry in entries if _is_log(entry.name)]
        inner = [entry for entry in entries if not _is_log(entry.name) and _is_inner(entry.name)]
        if not logs and not inner:
            yield Problem("archive_without_log", label)
        yield from (Problem("archive_nested", _label(label, entry.name)) for entry in inner)
        flow = Flow(label)
        seen: Counter[str] = Counter()
        for entry in logs:
            own = _label(label, entry.name)
            seen[own] += 1
            if seen[own] > 1:
                own = f"{own}#{seen[own]}"
            refused = _refused(entry, own)
            if refused is not None:
                yield refused
                continue
            flow.label = own
            yield from _of_entry(file, entry, own, flow)
            if flow.spent:
                # The archive has had its share: what follows is not read, and that is said once
                return


def _of_entry(file: BinaryIO, entry: Entry, label: str, flow: Flow) -> Iterator[Source | Problem]:
    flow.next()
    digest = hashlib.sha256()
    parts = _hashed(unzipped(file, entry, flow), digest)
    if entry.name.casefold().endswith(".gz"):
        parts = gunzipped(parts, flow, inner=True)
    yield from _expanded(parts, (), label, stem_of(entry.name), digest)


def _expanded(
    parts: Iterable[bytes], rest: Iterable[bytes], label: str, stem: str, digest: hashlib._Hash
) -> Iterator[Source | Problem]:
    """The log that the parts make, with what was left of it where they break off.

    rest: what has to be read to its end all the same, as its fingerprint is taken on the way.
    """
    from startworthy.read.source import Source

    spool = Spool(label)
    cut = False
    try:
        for part in parts:
            spool.write(part)
    except InputError as error:
        spool.drop()
        yield from error.problems
        return
    except Stopped as stop:
        if stop.sound is not None:
            spool.cut(min(stop.sound, spool.size))
        if not spool.size:
            spool.drop()
            why = stop.problem.values.get("why", "it ends before its end")
            yield Problem("archive_broken", label, values={"why": why})
            return
        cut = stop.problem.code == "archive_cut_log"
        for _ in rest:
            pass
        yield stop.problem
    except BaseException:
        spool.drop()
        raise
    where, data, held = spool.done()
    try:
        yield Source(label, stem, where, data, digest.hexdigest(), held=held, cut=cut)
    finally:
        if held is not None:
            held.drop()


def _read(file: BinaryIO) -> Iterator[bytes]:
    while part := file.read(CHUNK_BYTES):
        yield part


def _hashed(parts: Iterable[bytes], digest: hashlib._Hash) -> Iterator[bytes]:
    for part in parts:
        digest.update(part)
        yield part


def _refused(entry: Entry, label: str) -> Problem | None:
    """What is not even begun, by what the archive says of the entry."""
    if entry.flags & 0x41:
        return Problem("archive_encrypted", label)
    if stat.S_ISLNK(entry.mode):
        return Problem("archive_link", label)
    if entry.method not in (0, 8, 12):
        return Problem("archive_broken", label, values={"why": f"packed by a method ({entry.method}) not read here"})
    return None


def _bare(name: str) -> str:
    return name.replace("\\", "/").rsplit("/", 1)[-1].casefold()


def _is_ours(name: str) -> bool:
    return bool(_bare(name)) and not _bare(name).startswith(".") and "__MACOSX" not in name


def _is_log(name: str) -> bool:
    return _is_ours(name) and _bare(name).endswith(LOGS)


def _is_inner(name: str) -> bool:
    return _is_ours(name) and _bare(name).endswith(INNER)


def _label(archive: str, name: str) -> str:
    # A member's name is a label and no more: nothing is ever written where it points
    return f"{archive}/{printable(name.lstrip('/'), LONGEST_NAME)}"


def _why(error: BaseException) -> str:
    return (str(error) or "broken").rstrip(".").lower()[:100]
