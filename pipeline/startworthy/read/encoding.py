"""Which encoding a log is in, and the same log in UTF-8."""

from __future__ import annotations

import codecs
import hashlib
import re
from dataclasses import replace

from startworthy.problems import InputError, Problem
from startworthy.read.source import SAMPLE_BYTES, Source
from startworthy.read.spool import Spool

_UNDEFINED_1252 = frozenset(b"\x81\x8d\x8f\x90\x9d")
_MAGIC = (b"PK\x03\x04", b"PAR1", b"\x7fELF", b"%PDF", b"\x89PNG", b"SQLi")
_PACKED = (b"7z\xbc\xaf\x27\x1c", b"Rar!", b"BZh", b"\xfd7zXZ", b"\x28\xb5\x2f\xfd")
_CONTROL = bytes(code for code in range(32) if code not in (0, 9, 10, 12, 13, 26))
_LETTER = re.compile(rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")
_OUTWEIGHS = 20
_BEGINNING = 20
"""Lines of text at the beginning that make a file a text, whatever follows."""
_LOOK_BYTES = 4000
MIXED = "startworthy-mixed"
"""Name of the decoding error handler that takes a byte which is no UTF-8 for Windows-1252."""


def encoding_of(sample: bytes, label: str) -> str:
    """Encoding by byte-order mark, else UTF-8 where the bytes allow it, else Windows-1252.

    One bad byte in a text that is UTF-8 elsewhere does not make it Windows-1252, and a stretch of other bytes does not
    make it no text: more than half has to be lines of text. Raises InputError for what is no text.
    """
    if sample.startswith(b"\xef\xbb\xbf"):
        return "utf-8"
    if sample.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if sample.startswith(_PACKED) or sample[257:262] == b"ustar":
        raise InputError(Problem("archive_of_other_kind", label))
    if sample.startswith(_MAGIC) or sample[:2] == b"\x1f\x8b":
        raise InputError(Problem("binary_file", label))
    look = sample[:_LOOK_BYTES]
    even, odd = look[0::2].count(0), look[1::2].count(0)
    if len(look) >= 8 and max(even, odd) > 0.6 * len(look) / 2 and min(even, odd) < 10:
        return "utf-16-le" if odd > even else "utf-16-be"
    control = len(sample) - len(sample.translate(None, _CONTROL))
    if control > 0.01 * len(sample) or sample.count(0) > 0.3 * len(sample):
        sample = _lines_of_text(sample, label)
    return eight_bit_of(sample, label)


def eight_bit_of(sample: bytes, label: str) -> str:
    """UTF-8 or Windows-1252. Raises InputError where the letters beyond ASCII are of neither."""
    text = sample.rstrip(b"\x00")
    try:
        # The sample may end within a character
        text[: max(text.rfind(b"\n"), 0) or len(text)].decode("utf-8")
        return "utf-8"
    except UnicodeDecodeError:
        pass
    high = [byte for byte in sample if byte >= 128]
    odd_bytes = sum(byte in _UNDEFINED_1252 for byte in high)
    if len(high) > 0.3 * len(sample) and odd_bytes > 0.005 * len(sample):
        raise InputError(Problem("binary_file", label))
    letters = _LETTER.findall(sample)
    other = len(high) - sum(map(len, letters))
    # In other encodings such pairs of letters hardly stand by chance: a few of them outweigh many bytes that are none
    return "utf-8" if len(letters) * _OUTWEIGHS >= other else "windows-1252"


def _lines_of_text(sample: bytes, label: str) -> bytes:
    """The lines without control characters, where they are most of what is not NUL, or all of the beginning.

    Raises InputError.
    """
    filled = sample.replace(b"\x00", b"")
    lines = filled.split(b"\n")
    clean = [line for line in lines if len(line) == len(line.translate(None, _CONTROL))]
    text = b"\n".join(clean)
    begins = len(lines) > _BEGINNING and clean[:_BEGINNING] == lines[:_BEGINNING] and all(lines[:_BEGINNING])
    if not text.strip() or (len(text) < 0.5 * len(filled) and not begins):
        raise InputError(Problem("binary_file", label))
    return text


def without_junk(text: str) -> str:
    """A sample with its lines of control characters made blank: they are refused later, and tell nothing."""
    # Bytes are looked through many times faster than characters
    raw = text.encode("utf-8")
    if len(raw.translate(None, _CONTROL)) == len(raw):
        return text
    marks = dict.fromkeys(_CONTROL)
    return "\n".join("" if len(line.translate(marks)) < len(line) else line for line in text.split("\n"))


def later_encoding(source: Source) -> str:
    """The encoding of a log whose first bytes are ASCII, told from its first lines that are not. Raises OSError."""
    beyond: list[bytes] = []
    size = 0
    rest = b""
    for part in source.parts():
        if part.isascii() and rest.isascii():
            rest = part[part.rfind(b"\n") + 1 :][:SAMPLE_BYTES]
            continue
        *lines, rest = (rest + part).split(b"\n")
        own = [line for line in lines if not line.isascii() and len(line) == len(line.translate(None, _CONTROL))]
        beyond += own
        size += sum(map(len, own))
        if size > SAMPLE_BYTES or len(rest) > SAMPLE_BYTES:
            break
    try:
        return eight_bit_of(b"\n".join(beyond)[:SAMPLE_BYTES], source.label)
    except InputError:
        # A stretch of junk in a text: its lines are refused one by one
        return "utf-8"


def _mixed(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeDecodeError):
        raise error
    return error.object[error.start : error.end].decode("windows-1252", errors="replace"), error.end


codecs.register_error(MIXED, _mixed)


def as_utf8(source: Source, encoding: str) -> Source:
    """The same log with its text in UTF-8. Plain UTF-8 is left where it lies; see `mended` for UTF-8 with other bytes.

    In other encodings a bad byte becomes U+FFFD. Raises OSError, InputError (no_room).
    """
    plain = encoding.casefold().replace("_", "-")
    head = source.head()
    old_ends = b"\n" not in head and b"\r" in head
    if plain in ("utf-8", "utf8", "ascii", "us-ascii", "utf-8-sig") and not old_ends:
        return source if _is_utf8(head) else mended(source)
    return _rewritten(source, "utf-8-sig" if plain in ("utf-8", "utf8") else encoding, "replace")


def mended(source: Source) -> Source:
    """A log in UTF-8 whose bytes that are no UTF-8 are taken for Windows-1252: a file that two programs wrote to."""
    return replace(_rewritten(source, "utf-8", MIXED), mixed=True)


def _is_utf8(sample: bytes) -> bool:
    if sample.isascii():
        return True
    try:
        # The sample may end within a character
        sample[: sample.rfind(b"\n") + 1 or len(sample)].decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _rewritten(source: Source, encoding: str, errors: str) -> Source:
    decoder = codecs.getincrementaldecoder(encoding)(errors=errors)
    digest = hashlib.sha256()
    spool = Spool(source.label)
    old_ends: bool | None = None
    first = True
    try:
        for part in source.parts():
            digest.update(part)
            text = decoder.decode(part)
            if old_ends is None and text:
                old_ends = "\n" not in text[:SAMPLE_BYTES] and "\r" in text[:SAMPLE_BYTES]
            spool.write(_as_bytes(text, first=first, old_ends=bool(old_ends)))
            first = first and not text
        spool.write(_as_bytes(decoder.decode(b"", final=True), first=first, old_ends=bool(old_ends)))
    except BaseException:
        spool.drop()
        raise
    path, data, held = spool.done()
    sha = source.sha256 if source.sha256 is not None else digest.hexdigest()
    return replace(source, path=path, data=data, sha256=sha, held=held, seen=None)


def _as_bytes(text: str, *, first: bool, old_ends: bool) -> bytes:
    if first:
        text = text.removeprefix("\ufeff")
    if old_ends:
        text = text.replace("\r", "\n")
    return text.encode("utf-8", errors="replace")
