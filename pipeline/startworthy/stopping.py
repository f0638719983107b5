"""SIGINT and SIGTERM: the program ends at once, says so in one line, and leaves no half-written file behind.

A signal is taken up by a thread of its own, through the wake-up descriptor, and not by an exception in the main
thread: that one may be deep in native code for seconds, and an exception could be lost on its way out of a callback.
The thread waits until nothing is being put in place (`undisturbed`), removes what is temporary, and ends the process.

Nothing here is at work unless the command line asks for it (`watching`): who calls the functions of the package has
handlers of his own.
"""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

WAITS_S = 5.0
"""For files that are being put in place; a disk that hangs for longer keeps nobody."""

# by name, as no system has all of them; a break is an interrupt by another key
_CODES = {"SIGINT": 130, "SIGTERM": 143, "SIGHUP": 129, "SIGBREAK": 130}

_busy = threading.RLock()
_temporary: dict[Path, bool] = {}
_handlers: dict[int, Any] = {}
_standing = "nothing was written"
_watching = False
_over = False


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """While the block runs the program is not stopped: for steps of milliseconds that belong together."""
    with _busy:
        yield


def temporary(path: Path, *, folder: bool = False) -> None:
    """Note a file that has to go when the program is stopped; or a folder, if it is empty then."""
    _temporary[path] = folder


def settled(path: Path) -> None:
    """The file (or folder) is no longer temporary: it is in its place, or gone."""
    _temporary.pop(path, None)


def standing(words: str) -> None:
    """What the line says if the program is stopped from now on: "stopped; " and these words."""
    global _standing  # noqa: PLW0603 (the process has one end)
    _standing = words


def stands() -> str:
    """How matters stand, in the words last given to `standing`."""
    return _standing


@contextlib.contextmanager
def watching(*, for_good: bool = False) -> Iterator[None]:
    """While the block runs signals end the program as described above. for_good: afterwards they are ignored.

    A signal that whoever started the program chose to ignore stays ignored. Does nothing outside the main thread.
    """
    global _watching, _over  # noqa: PLW0603
    if _watching or threading.current_thread() is not threading.main_thread():
        yield
        return
    _watching, _over = True, False
    _temporary.clear()
    standing("nothing was written")
    receiver, sender = socket.socketpair()
    sender.setblocking(False)
    before = signal.set_wakeup_fd(sender.fileno(), warn_on_full_buffer=False)
    numbers = {getattr(signal, name): code for name, code in _CODES.items() if hasattr(signal, name)}
    old = {n: signal.getsignal(n) for n in numbers}
    _handlers.update({n: h if h is signal.SIG_IGN else _noted for n, h in old.items()})
    # kept from every thread: polars, as it is loaded, makes an end of the process out of one that is ignored
    unwanted = [number for number, handler in old.items() if handler is signal.SIG_IGN]
    if unwanted and sys.platform != "win32":
        signal.pthread_sigmask(signal.SIG_BLOCK, unwanted)
    threading.Thread(target=_wait, args=(receiver, numbers), daemon=True, name="stopping").start()
    take_again()
    try:
        yield
    finally:
        _handlers.clear()
        # either the thread is ending the program already, and this waits for it, or it will not any more
        with _busy:
            _over = True
        if for_good:
            # the interpreter puts its own handlers aside while it ends, and a signal would kill it half-way
            for number in numbers:
                signal.signal(number, signal.SIG_IGN)
        else:
            for number, handler in old.items():
                signal.signal(number, handler if handler is not None else signal.SIG_DFL)
            if unwanted and sys.platform != "win32":
                signal.pthread_sigmask(signal.SIG_UNBLOCK, unwanted)
            signal.set_wakeup_fd(before)
            sender.close()
            _watching = False


def take_again() -> None:
    """To be called once polars is loaded, which takes SIGINT for itself and makes a KeyboardInterrupt of it, late."""
    for number, handler in _handlers.items():
        signal.signal(number, handler)


def end_if_watching() -> None:
    """End as if SIGINT had come, where a library told of it in a way of its own. Returns if nobody is watching."""
    if _watching and not _over:
        _end(_CODES["SIGINT"])


def _noted(*_: object) -> None:
    """A handler there must be, or the descriptor is not written to; the thread does the work."""


def _wait(receiver: socket.socket, codes: dict[int, int]) -> None:
    with receiver:
        while got := receiver.recv(1):
            if got[0] in codes:
                _end(codes[got[0]])


def _end(code: int) -> None:
    _busy.acquire(timeout=WAITS_S)
    if _over:
        _busy.release()
        return
    for path, folder in reversed(list(_temporary.items())):
        with contextlib.suppress(OSError):
            path.rmdir() if folder else path.unlink()
    if "startworthy.scratch" in sys.modules:
        from startworthy.scratch import clear_all

        clear_all()
    # past the buffers: the main thread may be holding them
    shown = "\r\x1b[K\x1b[?25h" if os.isatty(2) and os.environ.get("TERM", "dumb") != "dumb" else ""
    with contextlib.suppress(OSError):
        os.write(2, f"{shown}stopped; {_standing}\n".encode("utf-8", "replace"))
    os._exit(code)
