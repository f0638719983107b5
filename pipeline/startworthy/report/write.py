"""Write files aside and rename them into place, so that a reader never sees half a file, nor half a report.

`write_with` writes one file. Within `together` all files are written aside first and put in place at the end, in a
few milliseconds: whatever goes wrong before leaves the folder as it was, and what goes wrong then is taken back.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
from collections.abc import Callable, Iterator
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

from startworthy import stopping

_NO_ROOM = {errno.ENOSPC, errno.EFBIG, errno.EIO, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EMFILE, errno.ENFILE}


class NotWrittenError(OSError):
    """Writing was begun in a folder that can be used, and failed: a full disk, a folder gone, a page held open."""


@dataclass(slots=True)
class _Together:
    """Files that lie aside (the first of each pair), and the folders that were made for them."""

    aside: list[tuple[Path, Path]] = field(default_factory=list)
    folders: list[Path] = field(default_factory=list)


_open: ContextVar[_Together | None] = ContextVar("files written together", default=None)


def require_folder(folder: Path) -> None:
    """Raise OSError now where `folder` is or would be no folder that files can be written in. Makes nothing."""
    path = folder
    while not path.exists():  # a name that is too long, or a loop of links, raises here
        if path.parent == path:
            break
        path = path.parent
    if not path.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(path))
    if not os.access(path, os.W_OK | os.X_OK):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))


@contextlib.contextmanager
def together(last: Path | None = None, *, then: str | None = None) -> Iterator[None]:
    """Put what `write_with` writes in the block in place at its end, all or nothing; `last` after all others.

    then: how matters stand once all is in place, for who stops the program after that.

    If the block or the putting in place fails, the files are as they were before. Raises OSError; NotWrittenError where
    the folder itself can be used.
    """
    work = _Together()
    token = _open.set(work)
    try:
        yield
        work.aside.sort(key=lambda pair: pair[1] == last)
        with stopping.undisturbed():
            _put_in_place(work.aside)
            for path in work.folders:
                stopping.settled(path)
            if then is not None:
                stopping.standing(then)
    except BaseException:
        with stopping.undisturbed():
            for aside, _ in work.aside:
                _drop(aside)
            for path in reversed(work.folders):
                with contextlib.suppress(OSError):
                    path.rmdir()
                stopping.settled(path)
        raise
    finally:
        _open.reset(token)


def write_with(path: Path, fill: Callable[[IO[bytes]], object]) -> Path:
    """Let `fill` write into a new file beside `path`, then put it in its place. Returns `path`.

    The folder is made if it is not there. If anything fails the old file stays as it was. Raises OSError;
    NotWrittenError where the folder itself can be used.
    """
    work = _open.get()
    if work is None:
        with together():
            return write_with(path, fill)
    if path.is_dir():
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    aside = path.with_name(f".{secrets.token_hex(8)}.part")
    try:
        with stopping.undisturbed():
            _make(path.parent, work.folders)
            stream = aside.open("xb")
            stopping.temporary(aside)
            work.aside.append((aside, path))
    except OSError as error:
        raise (_not_written(error) if error.errno in _NO_ROOM else error) from None
    try:
        with stream:
            fill(stream)
    except Exception as error:
        found = error if isinstance(error, OSError) and error.errno else _told_by_the_engine(error)
        if found is None:
            raise
        raise _not_written(found) from None
    return path


def write_text(path: Path, text: str) -> Path:
    """The text as UTF-8. A lone surrogate, which some file names hold, is written as a question mark."""
    data = text.encode("utf-8", "replace")
    return write_with(path, lambda stream: stream.write(data))


def _make(folder: Path, made: list[Path]) -> None:
    if folder.is_dir():
        return
    _make(folder.parent, made)
    try:
        folder.mkdir()
    except FileExistsError:
        if not folder.is_dir():
            raise
        return
    made.append(folder)
    stopping.temporary(folder, folder=True)


def _put_in_place(pairs: list[tuple[Path, Path]]) -> None:
    """Rename all; where one fails, those before it get their old files back, as far as the file system has links."""
    done: list[tuple[Path, Path | None]] = []
    kept: list[Path] = []
    try:
        for aside, path in pairs:
            old = _kept(path) if os.path.lexists(path) else None
            known = old is not None or not os.path.lexists(path)
            kept += [old] if old is not None else []
            os.replace(aside, path)
            stopping.settled(aside)
            # a file of which no second name could be made stays the new one, which is whole
            done += [(path, old)] if known else []
    except OSError as error:
        for path, old in reversed(done):
            with contextlib.suppress(OSError):
                os.replace(old, path) if old is not None else path.unlink()
        raise _not_written(error) from None
    finally:
        for old in kept:
            _drop(old)


def _kept(path: Path) -> Path | None:
    """A second name for a file that is about to be replaced; None where the file system has none to give."""
    old = path.with_name(f".{secrets.token_hex(8)}.part")
    try:
        os.link(path, old, follow_symlinks=os.link not in os.supports_follow_symlinks)
    except (OSError, AttributeError, NotImplementedError):
        return None
    return old


def _drop(path: Path | None) -> None:
    if path is not None:
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)
        stopping.settled(path)


def _not_written(error: OSError) -> NotWrittenError:
    return NotWrittenError(error.errno, error.strerror, error.filename)


def _told_by_the_engine(error: Exception) -> OSError | None:
    """The error of the system behind one of polars', which holds its number in the text only."""
    if not isinstance(error, OSError) and not type(error).__module__.startswith("polars"):
        return None
    number = re.search(r"\(os error (\d+)\)", str(error))
    if number is None:
        return error if isinstance(error, OSError) else None
    return OSError(int(number[1]), os.strerror(int(number[1])))
