"""Write a file aside and rename it into place, so that a reader never sees half a report."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from pathlib import Path
from typing import IO


def write_with(path: Path, fill: Callable[[IO[bytes]], object]) -> Path:
    """Let `fill` write into a new file beside `path`, then put it in its place. Returns `path`.

    The folder is made if it is not there. If anything fails the old file stays as it was. Raises OSError.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_name(f".{secrets.token_hex(8)}.part")
    try:
        with aside.open("xb") as stream:
            fill(stream)
        aside.replace(path)
    except BaseException:
        aside.unlink(missing_ok=True)
        raise
    return path


def write_text(path: Path, text: str) -> Path:
    """The text as UTF-8. A lone surrogate, which some file names hold, is written as a question mark."""
    data = text.encode("utf-8", "replace")
    return write_with(path, lambda stream: stream.write(data))
