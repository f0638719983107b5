"""The second stage: raw readings in file order in, clean readings in time order out, with everything refused counted.

What is impossible is refused (one mask per signal, detail only for offending rows), what stands twice is told as
repeated, the clock is judged while the file's own order is still there (see clock/).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

import polars as pl

from startworthy.read.reasons import RefusedReason
from startworthy.results import FileRead, Readings
from startworthy.signals import BY_NAME, Quantity
from startworthy.validate.clock import JUMPS, looks_right, mended, runs_through
from startworthy.validate.models import checked_readings
from startworthy.validate.repeats import without_repeats

if TYPE_CHECKING:
    from startworthy.read import RawReadings

REFUSED: dict[str, Any] = {
    "file": pl.String,
    "line": pl.UInt32,
    "column": pl.String,
    "value": pl.String,
    "reason": pl.String,
    "cost": pl.String,
    "set_id": pl.String,
    "signal": pl.String,
}


def clean(raw: RawReadings, *, now: datetime | None = None) -> Readings:
    """Clean readings: in range, in order, without repeats. Every file's rows still add up.

    now: beyond a day after it a row is in the future (the present, unless given).
    """
    now = now or datetime.now(UTC)
    frame, beyond = _in_range(raw.frame, raw.files)
    told = _with_set(raw.refused, raw.frame, raw.files)
    together, ascending = _blocks(frame)
    ordered = together and ascending
    refused, jumps, notes = [told, beyond], pl.DataFrame(schema=JUMPS), dict[int, list[str]]()
    lost: dict[int, int] = {}
    if not (ordered and looks_right(frame, now)) or runs_through(frame):
        put_right = mended(frame, raw.files, now)
        frame, jumps, notes = put_right.frame, put_right.jumps, put_right.notes
        # a clock put right leaves the rows in order of time as often as not, and a sort costs ten times a look
        ordered = all(_blocks(frame))
        lost = dict(put_right.refused.group_by("file").len().iter_rows())
        refused.append(_rows_refused(put_right.refused, raw.files))
    frame = _in_order(frame, ordered)
    frame, repeated, again = without_repeats(frame, len(raw.files) > 1)
    emptied = dict(beyond.group_by("file").len().iter_rows())
    spans = _spans(frame) if lost or notes else {}
    files = tuple(
        _recounted(f, emptied.get(f.path, 0), repeated.get(n, 0), lost.get(n, 0), tuple(notes.get(n, ())), spans.get(n))
        for n, f in enumerate(raw.files)
    )
    return Readings(checked_readings(frame), pl.concat(refused), pl.concat([jumps, again]), files, raw.problems)


def _recounted(  # noqa: PLR0917
    file: FileRead,
    emptied: int,
    repeated: int,
    lost: int,
    notes: tuple[str, ...],
    span: tuple[datetime, datetime] | None,
) -> FileRead:
    moved = bool(lost or notes)
    return replace(
        file,
        rows_accepted=file.rows_accepted - repeated - lost,
        rows_refused=file.rows_refused + lost,
        rows_repeated=file.rows_repeated + repeated,
        cells_emptied=file.cells_emptied + emptied,
        notes=(*file.notes, *notes),
        first_at=span[0] if moved and span else file.first_at,
        last_at=span[1] if moved and span else file.last_at,
    )


def _spans(frame: pl.DataFrame) -> dict[int, tuple[datetime, datetime]]:
    ends = frame.group_by("file").agg(pl.col("at").min().alias("first"), pl.col("at").max().alias("last"))
    return {int(n): (first, last) for n, first, last in ends.iter_rows()}


def _rows_refused(rows: pl.DataFrame, files: tuple[FileRead, ...]) -> pl.DataFrame:
    """Rows refused for their time, in the form of all that is refused."""
    paths = {n: file.path for n, file in enumerate(files)}
    own = rows.with_columns(
        pl.col("file").replace_strict(paths, return_dtype=pl.String) if rows.height else pl.lit(None).alias("file"),
        pl.lit("row").alias("cost"),
        pl.lit(None).alias("column"),
        pl.lit(None).alias("signal"),
    )
    return own.select(pl.col(c).cast(t) for c, t in REFUSED.items())


def _in_range(frame: pl.DataFrame, files: tuple[FileRead, ...]) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Empty every value outside its signal's physical range; NaN and infinity are outside of every range."""
    numbers = [name for name in frame.columns if name in BY_NAME and BY_NAME[name].quantity is not Quantity.TEXT]
    if not numbers or frame.is_empty():
        return frame, pl.DataFrame(schema=REFUSED)
    masks = {name: ~pl.col(name).is_between(BY_NAME[name].low, BY_NAME[name].high) for name in numbers}
    counts = frame.select(mask.fill_null(False).sum().alias(name) for name, mask in masks.items()).row(0, named=True)
    out = [name for name in numbers if counts[name]]
    if not out:
        return frame, pl.DataFrame(schema=REFUSED)
    headers = {(n, c.signal): c.header for n, file in enumerate(files) for c in file.columns if c.signal}
    paths = {n: file.path for n, file in enumerate(files)}
    parts = []
    for name in out:
        rows = frame.filter(masks[name].fill_null(False)).select(
            "file", "line", pl.col("set_id").cast(pl.String), pl.col(name).cast(pl.String).alias("value")
        )
        parts.append(
            rows.with_columns(
                pl.col("file")
                .replace_strict({n: headers.get((n, name), name) for n in paths}, return_dtype=pl.String)
                .alias("column"),
                pl.col("file").replace_strict(paths, return_dtype=pl.String),
                pl.lit(RefusedReason.OUT_OF_RANGE.value).alias("reason"),
                pl.lit("cell").alias("cost"),
                pl.lit(name).alias("signal"),
            ).select(pl.col(c).cast(t) for c, t in REFUSED.items())
        )
    frame = frame.with_columns(pl.when(masks[name]).then(None).otherwise(pl.col(name)).alias(name) for name in out)
    return frame, pl.concat(parts)


def _with_set(refused: pl.DataFrame, frame: pl.DataFrame, files: tuple[FileRead, ...]) -> pl.DataFrame:
    """Adds the set and the signal to what the reader refused, where its row was accepted."""
    if refused.is_empty():
        return pl.DataFrame(schema=REFUSED)
    index = {file.path: n for n, file in enumerate(files)}
    named = [
        {"file": file.path, "column": c.header, "signal": c.signal} for file in files for c in file.columns if c.signal
    ]
    signals = pl.DataFrame(named, schema={"file": pl.String, "column": pl.String, "signal": pl.String}).unique(
        ["file", "column"]
    )
    texts = [pl.col(name).cast(pl.String) for name in refused.columns if name != "line"]
    told = refused.with_columns(texts).with_columns(
        pl.col("file").replace_strict(index, default=None, return_dtype=pl.UInt16).alias("n"),
        pl.col("line").cast(pl.UInt32),
    )
    sets = (
        frame.select(pl.col("file").alias("n"), "line", pl.col("set_id").cast(pl.String))
        .join(told.select("n", "line").unique(), on=["n", "line"], how="semi")
        .unique(["n", "line"])
    )
    only = {n: file.set_ids[0] for n, file in enumerate(files) if len(file.set_ids) == 1}
    told = told.join(sets, on=["n", "line"], how="left").join(signals, on=["file", "column"], how="left")
    # a refused row has no set of its own; in a file of one set it is that set's
    told = told.with_columns(
        pl.coalesce("set_id", pl.col("n").replace_strict(only, default=None, return_dtype=pl.String)).alias("set_id")
    )
    return told.select(pl.col(c).cast(t) for c, t in REFUSED.items())


def _blocks(frame: pl.DataFrame) -> tuple[bool, bool]:
    """Whether each set's rows stand in one block, and whether they are in order of time there."""
    if frame.is_empty():
        return True, True
    code = pl.col("set_id").to_physical()
    same = code.eq(code.shift(1)).fill_null(False)
    backwards, blocks = frame.select(
        (same & (pl.col("at") < pl.col("at").shift(1))).any(), (~same).sum().alias("n")
    ).row(0)
    heads = frame.filter(~same)["set_id"]
    return heads.n_unique() == blocks, not backwards and heads.cast(pl.String).is_sorted()


def _in_order(frame: pl.DataFrame, ordered: bool) -> pl.DataFrame:
    """By set and time; rows of one instant stay in file order. A frame that is in order already is not sorted again."""
    return frame if ordered else frame.sort(pl.col("set_id").cast(pl.String), "at", maintain_order=True)
