"""Clean readings of logs too large to be held: as `clean`, a share of the sets or a window of one at a time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl

from startworthy.results import FileRead, Readings
from startworthy.spill import SHARE_ROWS, Spill, Spilled

if TYPE_CHECKING:
    from startworthy.read import RawReadings


def clean_spilled(raw: RawReadings, spilled: Spilled, most: int = SHARE_ROWS) -> Readings:
    """Clean readings, on disk, in order of set and time. A set of more than a share is cleaned window by window.

    Within one window a clock that steps back is told as in any log; across two it only shows as rows out of order.
    """
    from startworthy.validate.clean import clean

    out = Spill()
    files = raw.files
    refused, jumps = [], []
    waiting = raw.refused.with_columns(pl.col("file").cast(pl.String))
    index = pl.DataFrame(
        {"file": [f.path for f in files], "n": range(len(files))}, schema={"file": pl.String, "n": pl.UInt16}
    ).unique("file")
    waiting = waiting.join(index, on="file", how="left", maintain_order="left")
    for frame in _frames(spilled, most):
        place = frame.select(pl.col("file").alias("n"), "line")
        own = waiting.join(place, on=["n", "line"], how="semi") if waiting.height else waiting
        waiting = waiting.join(place, on=["n", "line"], how="anti") if own.height else waiting
        done = clean(replace(raw, frame=frame, refused=own.select(raw.refused.columns), spilled=None))
        out.add(done.frame)
        refused.append(done.refused)
        jumps.append(done.jumps)
        files = tuple(
            _with(so_far, before, after) for so_far, before, after in zip(files, raw.files, done.files, strict=True)
        )
    last = clean(replace(raw, frame=raw.frame, refused=waiting.select(raw.refused.columns), spilled=None))
    refused.append(last.refused)
    long = {name for name, rows in spilled.rows().items() if rows > most}
    files = tuple(_with_note(file, long) for file in files)
    return Readings(raw.frame, pl.concat(refused), pl.concat([*jumps, last.jumps]), files, raw.problems, out.done())


def _with(so_far: FileRead, before: FileRead, after: FileRead) -> FileRead:
    """The figures of a file with what one share of its rows has moved in them."""
    moved = {
        name: getattr(so_far, name) + getattr(after, name) - getattr(before, name)
        for name in ("rows_accepted", "rows_refused", "rows_repeated", "cells_emptied")
    }
    return replace(so_far, **moved, notes=tuple(dict.fromkeys((*so_far.notes, *after.notes))))


def _with_note(file: FileRead, long: set[str]) -> FileRead:
    """Says of which sets the logbook cannot be built from every row."""
    own = sorted(long.intersection(file.set_ids))
    if not own:
        return file
    said = f"{', '.join(own[:3])}: too many rows to hold; at rest the logbook is built from a row every minute or few"
    return replace(file, notes=(*file.notes, said))


def _frames(spilled: Spilled, most: int) -> Iterator[pl.DataFrame]:
    rows = spilled.rows()
    for names in spilled.shares(most):
        if len(names) > 1 or rows[names[0]] <= most:
            yield spilled.frame(names)
            continue
        for since, until in spilled.windows(names[0], most):
            yield spilled.frame(names, since, until)
