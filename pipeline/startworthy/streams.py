"""The command line as a process: standard streams that may be closed, full or not Unicode, and signals."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from collections.abc import Sequence
from typing import Any, TextIO, cast

import click

from startworthy import stopping
from startworthy.problems import Exit


class OutputLostError(Exception):
    """Standard output takes no more: a closed pipe, a full disk. Not an OSError, which libraries have ways with."""

    def __init__(self, error: OSError) -> None:
        super().__init__(str(error))
        self.why = (error.strerror or "unwritable").lower()
        # a pipe that was closed by its reader is told in another way on one system
        self.closed = isinstance(error, BrokenPipeError) or (os.name == "nt" and error.errno == errno.EINVAL)


def load_libraries() -> None:
    """Load what takes long, so that it neither keeps the signals for itself nor speaks on our standard error.

    What libraries log and warn of is kept from the program's, where each line is one of ours.
    """
    import polars as pl

    assert pl
    stopping.take_again()
    if not isinstance(sys.stderr, _Guarded):
        return
    import logging
    import warnings

    logging.lastResort = logging.NullHandler()
    warnings.simplefilter("ignore")


class Program(click.Group):
    """The command group. Run as the program itself (without arguments given) it also owns the process."""

    def main(self, args: Sequence[str] | None = None, *rest: Any, **options: Any) -> Any:
        """As click's. Signals end the program as startworthy.stopping says; a lost output ends it in one line."""
        if args is not None:
            return super().main(args, *rest, **options)
        _open_all()
        sys.stdout = cast("TextIO", _Guarded(sys.stdout))
        sys.stderr = cast("TextIO", _Guarded(sys.stderr, silent=True))
        with stopping.watching(for_good=True):
            try:
                try:
                    return super().main(args, *rest, **options)
                finally:
                    sys.stdout.flush()
            except OutputLostError as lost:
                _give_up(lost)

    def invoke(self, context: click.Context) -> Any:
        """As click's, which would tell of an interrupt in words and with a code of its own."""
        try:
            return super().invoke(context)
        except KeyboardInterrupt:
            stopping.end_if_watching()
            raise


class _Guarded:
    """A text stream whose failures are told as OutputLostError, or (`silent`) not at all; all else is its own."""

    def __init__(self, stream: TextIO, *, silent: bool = False) -> None:
        self._stream = stream
        self._silent = silent

    def write(self, text: str) -> int:
        try:
            self._stream.write(text)
        except OSError as error:
            self._lost(error)
        return len(text)

    def flush(self) -> None:
        try:
            self._stream.flush()
        except OSError as error:
            self._lost(error)

    def writelines(self, lines: Any) -> None:
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def _lost(self, error: OSError) -> None:
        if not self._silent:
            raise OutputLostError(error) from None


def _open_all() -> None:
    """Put something behind each of the three streams, so that no file of ours gets its number; replace what a
    terminal's alphabet lacks.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115 (as long as the process)
        stream = getattr(sys, name)
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace" if name == "stderr" else "replace")


def _give_up(lost: OutputLostError) -> None:
    """End without another try to write what is still in the buffer."""
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    if lost.closed:
        sys.exit(int(Exit.PIPE_CLOSED))
    click.echo(f"standard output could not be written ({lost.why}); {stopping.stands()}", err=True)
    sys.exit(int(Exit.NOT_WRITTEN))
