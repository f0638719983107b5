"""Readings in, logbook out: sets with equal profiles are worked on together, so that no set needs a pass of its own."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime

import polars as pl

from startworthy.logbook import tables
from startworthy.logbook.attempts import attempts_in, windows
from startworthy.logbook.beside import clocks_beside
from startworthy.logbook.details import details, ended_by, running_rows, with_levels
from startworthy.logbook.habit import with_causes, with_habit
from startworthy.logbook.known import Profile, known_and_profiles
from startworthy.logbook.load import load_figures
from startworthy.logbook.marks import conflicts, marks_table
from startworthy.logbook.rest import days_table, quarters, with_battery_at_rest, with_fuel_fraction
from startworthy.logbook.rows import Rows, label
from startworthy.logbook.runs import stretches
from startworthy.logbook.sensors import sensors_table
from startworthy.logbook.starts import starts_and_attempts
from startworthy.logbook.steadiness import steadiness
from startworthy.logbook.usual import with_usual
from startworthy.physics.tank import full_litres
from startworthy.register import Register
from startworthy.results import Known, Logbook, Readings, Sampling
from startworthy.signals import BY_NAME as SIGNALS

SHARE_ROWS = 2_700_000


def build(readings: Readings, register: Register, seen: Seen | None = None) -> Logbook:
    """The logbook of every set in the readings. Tables are checked against their models before they are handed on.

    seen: what the log holds, where the readings are not all of it.
    """
    if readings.spilled is not None:
        from startworthy.logbook.slices import build_spilled

        return build_spilled(readings, readings.spilled, register)
    frame = readings.frame
    if frame.is_empty():
        none = {name: tables.empty(name) for name in tables.TABLES}
        return finished(none, {}, readings, pl.DataFrame(), seen_in(frame))
    known, profiles = known_and_profiles(frame, register)
    work = list(_shares(frame.drop("file", "line"), profiles))

    def one(share: tuple[Profile, pl.DataFrame]) -> tuple[pl.DataFrame, dict[str, pl.DataFrame]]:
        profile, own = share
        rows = label(own, profile)
        members = {s: known[s] for s in own["set_id"].unique().cast(pl.String)}
        return rows.intervals.with_columns(pl.col("set_id").cast(pl.String)), tables_of(rows, readings.jumps, members)

    # much of the work runs outside of Python's lock, so that two shares at a time fill two cores
    with ThreadPoolExecutor(max_workers=min(os.cpu_count() or 1, max(len(work), 1))) as pool:
        done = list(pool.map(one, work))
    intervals, parts = [d[0] for d in done], [d[1] for d in done]
    whole = {name: pl.concat([part[name] for part in parts]) for name in tables.TABLES}
    if len(readings.files) > 1:
        whole["marks"] = pl.concat([whole["marks"], conflicts(frame)])
    return finished(whole, known, readings, pl.concat(intervals), seen or seen_in(frame))


def _shares(frame: pl.DataFrame, profiles: Mapping[str, Profile]) -> Iterator[tuple[Profile, pl.DataFrame]]:
    """The readings in shares of sets with one profile: small sets together, and no share much above SHARE_ROWS.

    So memory stays bounded however large the whole is, and there is work for every core. No set is ever divided.
    """
    blocks = frame["set_id"].rle().struct.unnest().with_columns(pl.col("value").cast(pl.String))
    groups: dict[Profile, list[tuple[int, int]]] = {}
    offset = 0
    for length, set_id in blocks.iter_rows():
        groups.setdefault(profiles[set_id], []).append((offset, length))
        offset += length
    for profile, members in groups.items():
        share: list[tuple[int, int]] = []
        for block in members:
            if share and sum(length for _, length in share) + block[1] > SHARE_ROWS:
                yield profile, _cut(frame, share)
                share = []
            share.append(block)
        yield profile, _cut(frame, share)


def _cut(frame: pl.DataFrame, share: list[tuple[int, int]]) -> pl.DataFrame:
    """These blocks of rows; sets that stand side by side are one slice and cost no copy."""
    whole = sum(length for _, length in share)
    if share[-1][0] + share[-1][1] - share[0][0] == whole:
        return frame.slice(share[0][0], whole).rechunk()
    return pl.concat([frame.slice(offset, length) for offset, length in share], rechunk=True)


@dataclass(frozen=True, slots=True)
class Seen:
    """What the readings hold, by set_id: signals with any value, first and last instant, and values of each signal."""

    signals: dict[str, frozenset[str]]
    span: dict[str, tuple[datetime, datetime]]
    values: dict[str, dict[str, int]]

    def and_later(self, other: Seen) -> Seen:
        """Both together, of stretches that share no row."""
        signals = {s: self.signals.get(s, frozenset()) | own for s, own in other.signals.items()}
        span = {s: (min(self.span[s][0], a), max(self.span[s][1], b)) if s in self.span else (a, b)
                for s, (a, b) in other.span.items()}  # fmt: skip
        values = {}
        for s, own in other.values.items():
            mine = self.values.get(s, {})
            values[s] = {name: mine.get(name, 0) + own.get(name, 0) for name in {**mine, **own}}
        return Seen({**self.signals, **signals}, {**self.span, **span}, {**self.values, **values})


def seen_in(frame: pl.DataFrame) -> Seen:
    """What these readings hold."""
    return Seen(_signals(frame), _span(frame), _values_read(frame))


def finished(
    whole: Mapping[str, pl.DataFrame],
    known: Mapping[str, Known],
    readings: Readings,
    intervals: pl.DataFrame,
    seen: Seen,
) -> Logbook:
    """The logbook of these tables: habit, causes and usual load filled in, every table held against its model."""
    whole = dict(whole)
    sampling = _sampling(intervals, whole["starts"]) if known else {}
    if known:
        known = with_habit(known, whole["starts"], whole["runs"])
        whole["starts"], whole["runs"] = with_causes(whole["starts"], whole["runs"], known)
        known = with_usual(known, whole["runs"])
        beside = clocks_beside(whole["marks"], known, sampling)
        whole["marks"] = pl.concat([whole["marks"], beside]) if beside.height else whole["marks"]
        whole = {name: _validated(name, frame.sort("set_id", *_order(name))) for name, frame in whole.items()}
    return Logbook(
        attempts=whole["attempts"],
        starts=whole["starts"],
        runs=whole["runs"],
        days=whole["days"],
        marks=whole["marks"],
        sensors=whole["sensors"],
        known=known,
        signals=seen.signals,
        sampling=sampling,
        span=seen.span,
        refused=_refused_by_signal(readings, seen),
    )


def tables_of(rows: Rows, jumps: pl.DataFrame, known: Mapping[str, Known]) -> dict[str, pl.DataFrame]:
    """The tables of sets with one profile; causes are still `unknown`."""
    tanks = {s: one.entry for s, one in known.items() if full_litres(one.entry) is not None}
    found = with_fuel_fraction(quarters(rows), tanks)
    days = days_table(found, rows)
    marks = marks_table(rows, found, jumps)
    runs = stretches(rows)
    near = windows(rows, runs)
    seen = attempts_in(near, rows)
    ran = running_rows(rows, runs)
    skeleton = runs
    runs = _before_after(runs, rows).with_columns(pl.col("set_id").cast(pl.String))
    band = rows.profile.frequency_band_fraction
    for figures in (details(ran, rows), load_figures(ran, runs, rows, band), steadiness(ran, rows, band)):
        own = figures.with_columns(pl.col("set_id").cast(pl.String), pl.col("run").cast(runs["run"].dtype))
        runs = runs.join(own, on=["set_id", "run"], how="left", maintain_order="left")
    runs = with_battery_at_rest(runs, found)
    starts, attempts, links = starts_and_attempts(near, seen, runs, marks, rows)
    runs = with_levels(runs, found, tanks).join(links, on=["set_id", "run"], how="left", maintain_order="left")
    alarms, fell_back = (marks.filter(pl.col("kind") == kind) for kind in ("alarm", "clock_jump"))
    runs = ended_by(runs, alarms, rows, fell_back.filter(pl.col("value") < 0))
    runs = runs.with_columns(
        ((pl.col("running_low_s") + pl.col("running_high_s")) / 2 + pl.col("shift_s"))
        .clip("running_low_s", "running_high_s")
        .alias("running_s"),
        pl.lit(rows.profile.tellers.name()).alias("told_by"),
        pl.lit("unknown").alias("cause"),
    )
    return {
        "attempts": attempts,
        "starts": starts,
        "runs": tables.in_form("runs", runs),
        "days": days,
        "marks": marks,
        "sensors": sensors_table(rows, skeleton, ran),
    }


_BEFORE = {"ambient_before_c": "ambient_c", "oil_before_kpa": "oil_kpa"}


def _before_after(runs: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    """Adds coolant, ambient and oil before, and the hour meter on both sides, from the rows next to the run."""
    frame = rows.frame
    before = (pl.col("first_idx").cast(pl.Int64) - 1).clip(0)
    after = (pl.col("last_idx").cast(pl.Int64) + 1).clip(0, max(frame.height - 1, 0))
    if rows.has("coolant_c") and runs.height:
        value = frame["coolant_c"].gather(runs.select(before).to_series())
        runs = runs.with_columns(pl.when(pl.col("before_at").is_not_null()).then(value).alias("coolant_before_c"))
    absent = [name for name, signal in _BEFORE.items() if not (rows.has(signal) and runs.height)]
    runs = runs.with_columns(pl.lit(None, pl.Float64).alias(name) for name in absent)
    for name in _BEFORE.keys() - set(absent):
        value = frame[_BEFORE[name]].gather(runs.select(before).to_series())
        runs = runs.with_columns(pl.when(pl.col("before_at").is_not_null()).then(value).alias(name))
    if rows.has("hour_meter_h") and runs.height:
        meter = frame["hour_meter_h"]
        first, last = meter.gather(runs["first_idx"]), meter.gather(runs["last_idx"])
        at_before, at_after = (
            meter.gather(runs.select(before).to_series()),
            meter.gather(runs.select(after).to_series()),
        )
        runs = runs.with_columns(
            pl.coalesce(pl.when(pl.col("before_at").is_not_null()).then(at_before), first).alias("hours_before_h"),
            pl.coalesce(pl.when(pl.col("after_at").is_not_null()).then(at_after), last).alias("hours_after_h"),
        )
    return runs


def _order(name: str) -> tuple[str, ...]:
    return {
        "attempts": ("demand", "attempt"),
        "starts": ("demand",),
        "runs": ("run",),
        "days": ("day",),
        "marks": ("began_at", "kind"),
        "sensors": ("day", "signal"),
    }[name]


def _validated(name: str, frame: pl.DataFrame) -> pl.DataFrame:
    from pandera.config import ValidationDepth, config_context

    with config_context(validation_enabled=True, validation_depth=ValidationDepth.SCHEMA_AND_DATA):
        checked: pl.DataFrame = tables.TABLES[name].validate(frame)
    return checked


def _signals(frame: pl.DataFrame) -> dict[str, frozenset[str]]:
    """set_id to the signals with any value. Only columns with some nulls need a look at their rows."""
    every = [str(s) for s in frame["set_id"].unique().cast(pl.String)]
    found: dict[str, set[str]] = {set_id: set() for set_id in every}
    for name in frame.columns:
        if name not in SIGNALS or frame[name].null_count() == frame.height:
            continue
        if frame[name].null_count() == 0:
            own = every
        else:
            own = [str(s) for s in frame.filter(pl.col(name).is_not_null())["set_id"].unique().cast(pl.String)]
        for set_id in own:
            found[set_id].add(name)
    return {set_id: frozenset(names) for set_id, names in found.items()}


def _span(frame: pl.DataFrame) -> dict[str, tuple[datetime, datetime]]:
    ends = frame.group_by("set_id").agg(pl.col("at").min().alias("first"), pl.col("at").max().alias("last"))
    return {str(s): (first, last) for s, first, last in ends.with_columns(pl.col("set_id").cast(pl.String)).iter_rows()}


def _sampling(intervals: pl.DataFrame, starts: pl.DataFrame) -> dict[str, Sampling]:
    at_start = starts.group_by("set_id").agg(pl.col("resolution_s").median().alias("start_s"))
    whole = intervals.join(at_start, on="set_id", how="left")
    return {r["set_id"]: Sampling(r["rest_s"], r["running_s"], r["start_s"]) for r in whole.iter_rows(named=True)}


def _refused_by_signal(readings: Readings, seen: Seen) -> dict[str, dict[str, tuple[int, int]]]:
    """set_id to signal (or `row`) to (values refused, values read). A sentinel says 'no value': it is not counted."""
    found = {set_id: {name: (0, n) for name, n in read.items()} for set_id, read in seen.values.items()}
    told = readings.refused.filter((pl.col("reason") != "sentinel") & pl.col("set_id").is_not_null())
    for set_id, signal, n in told.group_by("set_id", "signal").agg(pl.len()).iter_rows():
        own = found.setdefault(set_id, {})
        name = signal or "row"
        own[name] = (n, n + own.get(name, (0, 0))[1])
    return found


def _values_read(frame: pl.DataFrame) -> dict[str, dict[str, int]]:
    """set_id to signal (and `row`) to values there. A column without nulls has as many as there are rows."""
    partly = [name for name in frame.columns if name in SIGNALS and frame[name].null_count()]
    whole = [name for name in frame.columns if name in SIGNALS and name not in partly]
    blocks = frame["set_id"].rle().struct.unnest().rename({"value": "set_id", "len": "row"})
    if partly:
        blocks = blocks.join(frame.group_by("set_id").agg(pl.col(partly).count()), on="set_id")
    return {
        row["set_id"]: {"row": row["row"], **{n: row[n] for n in partly}, **dict.fromkeys(whole, row["row"])}
        for row in blocks.with_columns(pl.col("set_id").cast(pl.String)).iter_rows(named=True)
    }
