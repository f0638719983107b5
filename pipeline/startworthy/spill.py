"""Readings too many to hold: kept in parquet files beside the program, and read back a share or a window at a time.

A part is one file, its rows sorted by set and else in the order in which they came. What lies where is known without
opening it, so that a share of the sets, or a window of one, is read and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

import polars as pl

from startworthy.scratch import Scratch
from startworthy.signals import BY_NAME

SHARE_ROWS = 750_000
"""Rows of one share or window: what is worked on at once. Each costs some 300 bytes in all that is made of it."""
PART_ROWS = 500_000
_GROUP_ROWS = 65_536
_SAMPLE_EVERY = 1_000
_TURNING = {"frequency_hz": 40.0, "speed_rpm": 1200.0}
_ENDS: dict[str, Any] = {"set_id": pl.Categorical, "at": pl.Datetime("us", "UTC")}


@dataclass(frozen=True, slots=True)
class Block:
    """The rows of one set in one part: where they begin, how many, their first and last instant."""

    offset: int
    rows: int
    first_at: datetime
    last_at: datetime


@dataclass(frozen=True, slots=True)
class Part:
    """One file of readings."""

    path: Path
    columns: tuple[str, ...]
    blocks: Mapping[str, Block]


@dataclass(frozen=True, slots=True)
class Spilled:
    """Readings on disk. Columns as in `Readings.frame`; rows of one set in the order in which they were added.

    since, until: instants outside of which rows are left out. The files go with the last holder of `scratch`.
    """

    scratch: Scratch
    parts: tuple[Part, ...]
    since: datetime | None = None
    until: datetime | None = None

    def rows(self) -> dict[str, int]:
        """Rows of each set, by name (before `since` and `until`)."""
        found: dict[str, int] = {}
        for part in self.parts:
            for name, block in part.blocks.items():
                found[name] = found.get(name, 0) + block.rows
        return dict(sorted(found.items()))

    def shares(self, most: int = SHARE_ROWS) -> Iterator[tuple[str, ...]]:
        """All sets, in shares of no more than `most` rows each; a larger set stands alone."""
        share: list[str] = []
        filled = 0
        for name, rows in self.rows().items():
            if share and filled + rows > most:
                yield tuple(share)
                share, filled = [], 0
            share.append(name)
            filled += rows
        if share:
            yield tuple(share)

    def frame(
        self, names: Sequence[str], since: datetime | None = None, until: datetime | None = None, every: int = 1
    ) -> pl.DataFrame:
        """The rows of these sets from `since` until before `until`, set by set. every: one row in so many."""
        low = max((t for t in (since, self.since) if t is not None), default=None)
        high = min((t for t in (until, self.until) if t is not None), default=None)
        found = [self._of_part(part, set(names), low, high, every) for part in self.parts]
        frames = [frame for frame in found if frame is not None]
        if not frames:
            return pl.DataFrame(schema={**_ENDS, "file": pl.UInt16, "line": pl.UInt32})
        whole = pl.concat(frames, how="diagonal")
        signals = [name for name in BY_NAME if name in whole.columns]
        whole = whole.select("set_id", "at", *signals, "file", "line")
        several = len(names) > 1 and len(frames) > 1
        return whole.sort(pl.col("set_id").cast(pl.String), maintain_order=True) if several else whole

    def instants(self, name: str, every: int) -> pl.Series:
        """Every so many-th instant of a set, sorted."""
        found = [
            pl.scan_parquet(part.path, glob=False)
            .slice(block.offset, block.rows)
            .select("at")
            .gather_every(every)
            .collect()["at"]
            for part in self.parts
            if (block := part.blocks.get(name)) is not None
        ]
        return pl.concat(found).sort()

    def windows(self, name: str, most: int = SHARE_ROWS) -> list[tuple[datetime | None, datetime | None]]:
        """The time of a set cut into windows (since, until) of about `most` rows; the outer ends are open."""
        every = max(1, min(_SAMPLE_EVERY, most // 10))
        some = self.instants(name, every)
        step = most // every
        edges = sorted(set(some[step:-1:step].to_list()))
        return list(zip([None, *edges], [*edges, None], strict=True))

    def highest(self, name: str, signal: str) -> float | None:
        """The highest value of a signal of a set while it turns; None where there is none."""
        found = []
        for part in self.parts:
            block = part.blocks.get(name)
            if block is None or signal not in part.columns:
                continue
            turns = [pl.col(s) > least for s, least in _TURNING.items() if s in part.columns]
            rows = pl.scan_parquet(part.path, glob=False).slice(block.offset, block.rows)
            rows = rows.filter(pl.all_horizontal(turns).fill_null(False)) if turns else rows
            found.append(rows.select(pl.col(signal).max()).collect().item())
        return max((value for value in found if value is not None), default=None)

    def between(self, since: datetime | None, until: datetime | None) -> Spilled:
        """The same, cut to a time."""
        return replace(self, since=since, until=until)

    def _of_part(
        self, part: Part, names: set[str], low: datetime | None, high: datetime | None, every: int
    ) -> pl.DataFrame | None:
        own = [block for name, block in part.blocks.items() if name in names]
        own = [b for b in own if (low is None or b.last_at >= low) and (high is None or b.first_at < high)]
        if not own:
            return None
        scan = pl.scan_parquet(part.path, glob=False)
        pieces = [scan.slice(offset, rows) for offset, rows in _side_by_side(own)]
        rows = pl.concat(pieces) if len(pieces) > 1 else pieces[0]
        if every > 1:
            rows = rows.gather_every(every)
        if low is not None and any(b.first_at < low for b in own):
            rows = rows.filter(pl.col("at") >= low)
        if high is not None and any(b.last_at >= high for b in own):
            rows = rows.filter(pl.col("at") < high)
        return rows.collect()


def _side_by_side(blocks: Sequence[Block]) -> list[tuple[int, int]]:
    """Blocks as stretches of rows, neighbours as one."""
    found: list[tuple[int, int]] = []
    for block in sorted(blocks, key=lambda b: b.offset):
        if found and found[-1][0] + found[-1][1] == block.offset:
            found[-1] = (found[-1][0], found[-1][1] + block.rows)
        else:
            found.append((block.offset, block.rows))
    return found


class Spill:
    """Takes readings and writes them out, part by part. Raises OSError where the disk will not take them."""

    def __init__(self) -> None:
        self.part_rows = PART_ROWS
        self._scratch = Scratch()
        self._parts: list[Part] = []
        self._waiting: list[pl.DataFrame] = []
        self._rows = 0

    def add(self, frame: pl.DataFrame) -> None:
        """Take these rows; small frames wait until a part is full."""
        if frame.is_empty():
            return
        self._waiting.append(frame)
        self._rows += frame.height
        if self._rows >= self.part_rows:
            self._write()

    def done(self) -> Spilled:
        """All that was added."""
        self._write()
        return Spilled(self._scratch, tuple(self._parts))

    def _write(self) -> None:
        if not self._waiting:
            return
        frame = pl.concat(self._waiting, how="diagonal") if len(self._waiting) > 1 else self._waiting[0]
        self._waiting, self._rows = [], 0
        ends = _blocks(frame)
        if ends["set_id"].n_unique() < ends.height or not ends["set_id"].is_sorted():
            frame = frame.sort(pl.col("set_id").cast(pl.String), maintain_order=True)
            ends = _blocks(frame)
        path = self._scratch.path / f"{len(self._parts):06d}.parquet"
        frame.write_parquet(path, compression="lz4", row_group_size=_GROUP_ROWS)
        blocks = {row["set_id"]: Block(row["offset"], row["rows"], row["first_at"], row["last_at"])
                  for row in ends.iter_rows(named=True)}  # fmt: skip
        self._parts.append(Part(path, tuple(frame.columns), blocks))


def _blocks(frame: pl.DataFrame) -> pl.DataFrame:
    """Each stretch of rows of one set."""
    spell = pl.col("set_id").rle_id()
    return (
        frame.lazy()
        .select("set_id", "at", spell.alias("spell"))
        .with_row_index("offset")
        .group_by("spell", maintain_order=True)
        .agg(
            pl.col("set_id").first().cast(pl.String),
            pl.col("offset").first(),
            pl.len().alias("rows"),
            pl.col("at").min().alias("first_at"),
            pl.col("at").max().alias("last_at"),
        )
        .collect()
    )
