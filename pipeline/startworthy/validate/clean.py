"""The second stage: raw readings in file order in, clean readings in time order out, with everything refused counted.

What is impossible is refused (one mask per signal, detail only for offending rows), what stands twice is told as
repeated, steps of the clock are noted while the file's own order is still there.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import polars as pl

from startworthy.read.reasons import RefusedReason
from startworthy.results import FileRead, Readings
from startworthy.signals import BY_NAME, Quantity
from startworthy.validate.models import checked_readings

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
NOT_IN_ORDER, NOT_A_FEW = 0.05, 20
"""Share, and count, of a file's rows that step back in time, above which it is in no order, or reversed. Practice."""
JUMPS: dict[str, Any] = {
    "set_id": pl.String,
    "before_at": pl.Datetime("us", "UTC"),
    "at": pl.Datetime("us", "UTC"),
    "step_s": pl.Float64,
    "file": pl.UInt16,
    "line": pl.UInt32,
}


def clean(raw: RawReadings) -> Readings:
    """Clean readings: in range, in order, without repeats. Every file's rows still add up."""
    frame, beyond = _in_range(raw.frame, raw.files)
    told = _with_set(raw.refused, raw.frame, raw.files)
    together, ascending = _blocks(frame)
    jumps = pl.DataFrame(schema=JUMPS) if together and ascending else _clock_steps(frame, together)
    frame = _in_order(frame, together and ascending)
    frame, repeated = _without_repeats(frame)
    refused = pl.concat([told, beyond])
    emptied = dict(beyond.group_by("file").len().iter_rows())
    files = tuple(_recounted(f, emptied.get(f.path, 0), repeated.get(n, 0)) for n, f in enumerate(raw.files))
    return Readings(checked_readings(frame), refused, jumps, files, raw.problems)


def _recounted(file: FileRead, emptied: int, repeated: int) -> FileRead:
    return replace(
        file,
        rows_accepted=file.rows_accepted - repeated,
        rows_repeated=file.rows_repeated + repeated,
        cells_emptied=file.cells_emptied + emptied,
    )


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


def _clock_steps(frame: pl.DataFrame, together: bool) -> pl.DataFrame:
    """Instants at which the clock runs backwards from one row of a set to its next in the same file.

    together: each set's rows stand in one block, so that the row before is that of the same set.
    """
    if frame.is_empty():
        return pl.DataFrame(schema=JUMPS)
    at, file = pl.col("at").shift(1), pl.col("file").shift(1)
    code = pl.col("set_id").to_physical()
    same = code.eq(code.shift(1))
    before = (at, file) if together else (at.over("set_id"), file.over("set_id"))
    there = frame.lazy().with_columns(before[0].alias("before_at"), before[1].alias("file_before"), same.alias("same"))
    back = (pl.col("at") < pl.col("before_at")) & (pl.col("file") == pl.col("file_before"))
    step = (pl.col("at") - pl.col("before_at")).dt.total_microseconds() / 1e6
    found = (
        there.filter(back & pl.col("same") if together else back)
        .select(pl.col("set_id").cast(pl.String), "before_at", "at", step.alias("step_s"), "file", "line")
        .collect()
    )
    # a file that is not in order of time at all says nothing of its clock
    rows = frame.group_by("file").agg(pl.len().alias("rows"))
    disordered = found.group_by("file").agg(pl.len().alias("steps")).join(rows, on="file")
    disordered = disordered.filter(
        pl.col("steps") > pl.max_horizontal(NOT_IN_ORDER * pl.col("rows"), pl.lit(NOT_A_FEW))
    )
    return found.filter(~pl.col("file").is_in(disordered["file"].implode()))


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


def _without_repeats(frame: pl.DataFrame) -> tuple[pl.DataFrame, dict[int, int]]:
    """Leave out rows that say again, to the letter, what a row of that set and instant said. Returns counts by file."""
    if frame.height < 2:
        return frame, {}
    code = pl.col("set_id").to_physical()
    twin = code.eq(code.shift(1)) & (pl.col("at") == pl.col("at").shift(1))
    together = twin | twin.shift(-1)
    if not frame.select(twin.any()).item():
        return frame, {}
    numbered = frame.with_row_index("row")
    twins = numbered.filter(together.fill_null(False))
    said = [name for name in frame.columns if name not in {"file", "line"}]
    again = twins.filter(~pl.struct(said).is_first_distinct())
    if again.is_empty():
        return frame, {}
    kept = numbered.filter(~pl.col("row").is_in(again["row"].implode())).drop("row")
    return kept, dict(again.group_by("file").len().iter_rows())
