"""Names of files and of what lies in archives, made fit to be printed: they come from outside like all else."""

from __future__ import annotations

import re
import unicodedata

LONGEST_LABEL = 1000
LONGEST_NAME = 200


def printable(name: str, longest: int = LONGEST_LABEL) -> str:
    """A name in one line: bytes that are no text, control and direction characters as escapes; its middle cut out
    where it is too long.
    """
    if not name.isascii() or not name.isprintable():
        name = "".join(_shown(char) for char in name)
    if len(name) > longest:
        kept = (longest - 1) // 2
        name = f"{name[:kept]}…{name[-kept:]}"
    return name


def _shown(char: str) -> str:
    kind = unicodedata.category(char)
    code = ord(char)
    if 0xDC80 <= code <= 0xDCFF:
        # A byte of a file name that is not UTF-8
        return f"\\x{code - 0xDC00:02x}"
    if kind in ("Cc", "Cf", "Cs", "Zl", "Zp"):
        return f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
    return char


def stem_of(name: str) -> str:
    """A bare file name without .gz, .csv and the like: it names the set where nothing else does."""
    bare = re.split(r"[/\\]", name)[-1]
    bare = re.sub(r"\.gz$", "", bare, flags=re.IGNORECASE)
    bare = re.sub(r"\.(csv|txt|tsv|log|parquet|xlsx)$", "", bare, flags=re.IGNORECASE).strip()
    return printable(bare, LONGEST_NAME) or "log"
