"""The logbook of readings too many to hold: share by share, one very long set thinned at rest, else slice by slice.

A slice ends at a midnight at which the set is at rest, and is worked on with some days of context on both sides, of
which nothing is kept: so each run, day and event falls whole into one slice, and what it needs to know of its
surroundings is there. What is told from all cranks of a set (its usual preheat), or from its hour meter over all
runs, is told from those of a slice then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import polars as pl

from startworthy.logbook import tables
from startworthy.logbook.build import Seen, build, finished, seen_in, tables_of
from startworthy.logbook.known import Profile, known_and_profiles
from startworthy.logbook.marks import conflicts
from startworthy.logbook.rows import label
from startworthy.logbook.starts import with_rest
from startworthy.logbook.thin import NEAR_S, every_s, thinned
from startworthy.register import Register
from startworthy.results import Known, Logbook, Readings
from startworthy.spill import SHARE_ROWS, Spilled

BEFORE, AFTER = timedelta(days=2), timedelta(days=1)
"""Context of a slice: longer than any window that the tables look through, the day before a run being the longest."""
QUIET = timedelta(hours=2)
LEAD_IN = timedelta(seconds=2 * NEAR_S)
_SAMPLE_ROWS = 500_000
_EVERY = 1_000
_TRIED_DAYS = 60
_GOES_ON = ("alarm", "mains_lost", "mode_change")
"""Marks that last until the next change, however far away it is."""


def build_spilled(readings: Readings, spilled: Spilled, register: Register, most: int = SHARE_ROWS) -> Logbook:
    """The logbook of every set, with about `most` of the readings in memory at a time."""
    rows = spilled.rows()
    books = []
    for names in spilled.shares(most):
        own = replace(readings, refused=_of(readings.refused, names), jumps=_of(readings.jumps, names))
        if len(names) == 1 and rows[names[0]] > most:
            books.append(_of_long(own, spilled, names[0], register, most))
        else:
            books.append(build(replace(own, frame=spilled.frame(names), spilled=None), register))
    return _together(books)


def _of(table: pl.DataFrame, names: Sequence[str]) -> pl.DataFrame:
    return table.filter(pl.col("set_id").is_in(list(names)))


def _together(books: Sequence[Logbook]) -> Logbook:
    """Logbooks of different sets as one."""
    if len(books) == 1:
        return books[0]
    whole = {name: pl.concat([getattr(book, name) for book in books]) for name in tables.TABLES}
    return Logbook(
        **whole,
        known={s: one for book in books for s, one in book.known.items()},
        signals={s: one for book in books for s, one in book.signals.items()},
        sampling={s: one for book in books for s, one in book.sampling.items()},
        span={s: one for book in books for s, one in book.span.items()},
        refused={s: one for book in books for s, one in book.refused.items()},
    )


@dataclass(frozen=True, slots=True)
class _Slice:
    """The tables of one slice, what began in it alone; and marks that were there already when its rows begin."""

    tables: dict[str, pl.DataFrame]
    running_on: pl.DataFrame
    intervals: pl.DataFrame
    seen: Seen
    twice: pl.DataFrame
    rows: int


def _of_long(readings: Readings, spilled: Spilled, name: str, register: Register, most: int) -> Logbook:
    """The logbook of one set of more than a share: of what is left without most of its rest, if that can be held."""
    sample = spilled.frame([name], every=max(1, spilled.rows()[name] // _SAMPLE_ROWS))
    profile = known_and_profiles(sample, register)[1][name]
    some = spilled.instants(name, _EVERY)
    every = every_s((some[-1] - some[0]).total_seconds(), most)
    kept: list[pl.DataFrame] = []
    seen: Seen | None = None
    for since, until in spilled.windows(name, most):
        frame = spilled.frame([name], since and since - LEAD_IN, until and until + LEAD_IN)
        inside = _within(frame, since, until)
        seen = seen_in(inside) if seen is None else seen.and_later(seen_in(inside))
        kept.append(_within(thinned(label(frame, profile), every), since, until).rechunk())
        if sum(own.height for own in kept) > most:
            return by_slices(readings, spilled, name, register, most)
    return build(replace(readings, frame=pl.concat(kept), spilled=None), register, seen)


def _within(frame: pl.DataFrame, since: datetime | None, until: datetime | None) -> pl.DataFrame:
    low = frame["at"].search_sorted(since) if since else 0
    return frame[low : frame["at"].search_sorted(until) if until else frame.height]


def by_slices(readings: Readings, spilled: Spilled, name: str, register: Register, most: int) -> Logbook:
    """The logbook of one set, of slices of about `most` rows."""
    sample = spilled.frame([name], every=max(1, spilled.rows()[name] // _SAMPLE_ROWS))
    known, profiles = known_and_profiles(sample, register)
    profile = replace(profiles[name], highest_kw=spilled.highest(name, "power_kw"))
    edges = _edges(spilled, name, profile, most)
    done = [
        _one(readings, spilled, known, profile, since=since, until=until)
        for since, until in zip([None, *edges], [*edges, None], strict=True)
    ]
    whole = {table: pl.concat([one.tables[table] for one in done]) for table in tables.TABLES if table != "marks"}
    whole = _renumbered(whole, done)
    whole["marks"] = _marks(done)
    whole["starts"] = with_rest(whole["starts"].drop("rest_h"), whole["runs"], whole["marks"])
    whole["starts"] = tables.in_form("starts", whole["starts"])
    seen = done[0].seen
    for one in done[1:]:
        seen = seen.and_later(one.seen)
    usual = pl.concat([one.intervals for one in done]).group_by("set_id").agg(pl.all().median())
    return finished(whole, known, readings, usual, seen)


def _one(
    readings: Readings,
    spilled: Spilled,
    known: dict[str, Known],
    profile: Profile,
    *,
    since: datetime | None,
    until: datetime | None,
) -> _Slice:
    name = next(iter(known))
    frame = spilled.frame([name], since and since - BEFORE, until and until + AFTER)
    rows = label(frame.drop("file", "line"), profile)
    jumps = readings.jumps
    made = tables_of(rows, jumps, known)
    own = pl.lit(True)
    of_day = pl.lit(True)
    zone = ZoneInfo(profile.time_zone)
    if since is not None:
        own, of_day = own & (pl.col("began_at") >= since), of_day & (pl.col("day") >= since.astimezone(zone).date())
    if until is not None:
        own, of_day = own & (pl.col("began_at") < until), of_day & (pl.col("day") < until.astimezone(zone).date())
    kept = {table: made[table].filter(of_day if table in ("days", "sensors") else own) for table in made}
    at_head = made["marks"].filter(pl.col("began_at") == frame["at"][0]) if since is not None else made["marks"].clear()
    inside = _within(frame, since, until)
    twice = conflicts(inside) if len(readings.files) > 1 else tables.empty("marks")
    intervals = rows.intervals.with_columns(pl.col("set_id").cast(pl.String))
    return _Slice(kept, at_head, intervals, seen_in(inside), twice, inside.height)


def _renumbered(whole: dict[str, pl.DataFrame], done: Sequence[_Slice]) -> dict[str, pl.DataFrame]:
    """Runs and demands numbered through: in each slice they began at one, context included."""
    starts, runs, attempts = [], [], []
    run, demand = 0, 0
    for one in done:
        own = one.tables
        first_run: int = own["runs"]["run"].min() or 1  # type: ignore[assignment]
        first_demand: int = own["starts"]["demand"].min() or 1  # type: ignore[assignment]
        moved_run = (pl.col("run") + (run + 1 - first_run)).cast(pl.Int32)
        moved_demand = (pl.col("demand") + (demand + 1 - first_demand)).cast(pl.Int32)
        runs.append(own["runs"].with_columns(moved_run, moved_demand))
        starts.append(own["starts"].with_columns(moved_run, moved_demand))
        attempts.append(own["attempts"].with_columns(moved_demand))
        run += own["runs"].height
        demand += own["starts"].height
    return {**whole, "runs": pl.concat(runs), "starts": pl.concat(starts), "attempts": pl.concat(attempts)}


def _marks(done: Sequence[_Slice]) -> pl.DataFrame:
    """All marks; those that outlast their slice end where the slices after it say."""
    parts = []
    for n, one in enumerate(done):
        marks = one.tables["marks"]
        open_ended = marks["ended_at"].is_null() & marks["kind"].is_in(_GOES_ON)
        if open_ended.any() and n + 1 < len(done):
            ends = [_end_of(row, done[n + 1 :]) for row in marks.filter(open_ended).iter_rows(named=True)]
            closed = marks.filter(open_ended).with_columns(pl.Series("ended_at", ends, dtype=marks["ended_at"].dtype))
            lasted = (pl.col("ended_at") - pl.col("began_at")).dt.total_microseconds() / 1e6
            closed = closed.with_columns(
                pl.when(pl.col("kind") == "mains_lost").then(lasted).otherwise("value").alias("value")
            )
            marks = pl.concat([marks.filter(~open_ended), closed])
        parts.append(marks)
    whole = pl.concat(parts)
    twice = pl.concat([one.twice for one in done])
    if twice.height:
        rows = sum(one.rows for one in done)
        joined = twice.group_by("set_id", "kind").agg(
            pl.col("began_at").min(), pl.col("ended_at").max(), pl.col("value").sum()
        )
        joined = joined.with_columns((pl.col("value") / rows).alias("before"))
        whole = pl.concat([whole, tables.in_form("marks", joined)])
    return whole


def _end_of(mark: dict[str, object], later: Sequence[_Slice]) -> datetime | None:
    """The end of a mark that lasts beyond its slice."""
    for one in later:
        if mark["kind"] == "mode_change":
            found = one.tables["marks"].filter(pl.col("kind") == "mode_change")["began_at"].min()
            if found is not None:
                return found  # type: ignore[return-value]
            continue
        same = pl.col("kind").eq(mark["kind"]) & pl.col("text").eq_missing(mark["text"])
        going_on = one.running_on.filter(same & pl.col("signal").eq_missing(mark["signal"]))
        if going_on.is_empty():
            # it ended in the context of the slice before, or with its last row
            return None
        if going_on["ended_at"][0] is not None:
            return going_on["ended_at"][0]  # type: ignore[no-any-return]
    return None


def _edges(spilled: Spilled, name: str, profile: Profile, most: int) -> list[datetime]:
    """Midnights of the set's zone at which it rests, with rows on both sides, about a share of rows apart."""
    every = max(1, min(_EVERY, most // 10))
    some = spilled.instants(name, every)
    step = most // every
    edges: list[datetime] = []
    zone = ZoneInfo(profile.time_zone)
    for target in some[step::step]:
        if edges and target <= edges[-1]:
            continue
        day = target.astimezone(zone).date()
        for _ in range(_TRIED_DAYS):
            day += timedelta(days=1)
            edge = datetime.combine(day, time(), zone).astimezone(target.tzinfo)
            if edge >= some[-1]:
                return edges
            if _rests(spilled, name, profile, edge):
                edges.append(edge)
                break
    return edges


def _rests(spilled: Spilled, name: str, profile: Profile, edge: datetime) -> bool:
    near = spilled.frame([name], edge - QUIET, edge + QUIET)
    if near.is_empty() or near["at"][0] >= edge or near["at"][-1] < edge:
        return False
    rows = label(near.drop("file", "line"), profile)
    return not rows.frame["running"].any() and not rows.frame["gap"].any()
