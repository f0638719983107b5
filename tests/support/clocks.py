"""Clean logs whose clock is then disturbed: what a logger writes when it loses supply, is set, or is sent twice."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Any

import polars as pl

import startworthy as sw
from startworthy.read import RawReadings
from startworthy.register import Register
from startworthy.results import FileRead, Readings
from startworthy.validate import clean
from startworthy.validate.clean import REFUSED
from startworthy.validate.clock import EVIDENCE
from tests.support.simulator import Truth, simulate

NOW = datetime(2026, 11, 1, tzinfo=UTC)
RESET = datetime(2000, 1, 1, tzinfo=UTC)
COUNTS = ("demands", "failed_demands", "attempts", "runs")


@lru_cache(maxsize=16)
def simulated(seed: int, cadence: str = "60", days: float = 60.0, kind: str = "healthy") -> tuple[pl.DataFrame, Truth]:
    """A simulated set in the order in which its rows were written."""
    return simulate(kind, seed, cadence=cadence, days=days)


def raw_of(
    *uploads: pl.DataFrame, layout: str = "comma-separated utf-8, time %Y in UTC, set from column"
) -> RawReadings:
    """Readings as files hold them: each frame is a file, its rows numbered anew in their order."""
    parts = [
        one.with_columns(file=pl.lit(n, pl.UInt16), line=pl.int_range(2, pl.len() + 2, dtype=pl.UInt32))
        for n, one in enumerate(uploads)
    ]
    frame = pl.concat(parts, how="diagonal")
    frame = frame.select([c for c in frame.columns if c not in {"file", "line"}] + ["file", "line"])
    files = tuple(
        FileRead(f"log{n}.csv", "0" * 64, layout, one.height, one.height, 0, 0, 0, None, None, ("A",), ())
        for n, one in enumerate(uploads)
    )
    columns = ("file", "line", "column", "value", "reason", "cost")
    return RawReadings(frame, pl.DataFrame(schema={c: REFUSED[c] for c in columns}), files, ())


def cleaned(*uploads: pl.DataFrame, now: datetime = NOW, **own: Any) -> Readings:
    """The uploads, validated; every row of every file is accounted for."""
    done = clean(raw_of(*uploads, **own), now=now)
    for file, one in zip(done.files, uploads, strict=True):
        assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated == one.height
    assert sum(f.rows_accepted for f in done.files) == done.frame.height
    rows = done.refused.filter(pl.col("cost") == "row")
    assert rows.height == sum(f.rows_refused for f in done.files)
    assert done.frame["at"].is_sorted()
    assert {text.split()[0] for text in done.jumps["text"].drop_nulls()} <= set(EVIDENCE)
    return done


def counts(readings: Readings, register: Register | None = None) -> dict[str, float]:
    """Demands, failed demands, attempts, runs and running hours of the one set."""
    facts = sw.check(readings, register=register or Register(), strict=True).sets[0].facts
    return {name: facts[name] for name in (*COUNTS, "running_h")}


def moved(frame: pl.DataFrame, first: int, until: int | None, by: timedelta) -> pl.DataFrame:
    """The clock shows other times from row `first` until before row `until` (to the end if None)."""
    row = pl.int_range(pl.len())
    inside = (row >= first) & (row < (frame.height if until is None else until))
    return frame.with_columns(at=pl.when(inside).then(pl.col("at") + by).otherwise("at"))


def reset(frame: pl.DataFrame, first: int, until: int | None, *, lost: int = 0, to: datetime = RESET) -> pl.DataFrame:
    """Supply is lost before row `first` (`lost` rows are never written), the clock runs on from `to` until it is set."""
    left = pl.concat([frame[:first], frame[first + lost :]])
    end = left.height if until is None else until - lost
    return moved(left, first, end, to - left["at"][first] + timedelta(seconds=20))


def kinds(readings: Readings) -> list[tuple[str, str | None]]:
    """What was told of the clock: kind and evidence."""
    return readings.jumps.select("kind", "text").rows()
