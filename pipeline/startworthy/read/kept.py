"""The readings of all logs of a run: held while they are few, on disk once they are many."""

from __future__ import annotations

import polars as pl

from startworthy.signals import BY_NAME
from startworthy.spill import Spill, Spilled

HELD_ROWS = 6_000_000
"""Rows that are held: a dozen years of a set at a row a minute, some 1.7 GiB with all that is made of them."""


class Kept:
    """Takes the frame of each log, or of each piece of one, in order."""

    def __init__(self) -> None:
        self._frames: list[pl.DataFrame] = []
        self._rows = 0
        self._spill: Spill | None = None

    def add(self, frame: pl.DataFrame, file: int) -> None:
        """Take the rows of the file of that number. Raises OSError where the disk will not take them."""
        frame = frame.with_columns(file=pl.lit(file, dtype=pl.UInt16))
        if self._spill is not None:
            self._spill.add(frame)
            return
        self._frames.append(frame)
        self._rows += frame.height
        if self._rows > HELD_ROWS:
            self._to_disk()

    def add_piece(self, frame: pl.DataFrame, file: int) -> None:
        """Take a piece of a log too large to be held. Raises OSError where the disk will not take it."""
        if self._spill is None:
            self._to_disk()
        self.add(frame, file)

    def _to_disk(self) -> None:
        self._spill = Spill()
        for held in self._frames:
            self._spill.add(held)
        self._frames = []

    def done(self) -> tuple[pl.DataFrame, Spilled | None]:
        """All readings in one frame, or an empty one and where they lie."""
        if self._spill is not None:
            return _nothing(), self._spill.done()
        if not self._frames:
            return _nothing(), None
        whole = pl.concat(self._frames, how="diagonal") if len(self._frames) > 1 else self._frames[0]
        self._frames = []
        signals = [name for name in BY_NAME if name in whole.columns]
        return whole.select("set_id", "at", *signals, "file", "line"), None


def _nothing() -> pl.DataFrame:
    ends = {"file": pl.UInt16, "line": pl.UInt32}
    return pl.DataFrame(schema={"set_id": pl.Categorical, "at": pl.Datetime("us", "UTC"), **ends})
