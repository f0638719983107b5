"""Can the log be trusted: signals that fall silent, freeze, or throw wild values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import polars as pl

from startworthy.check.found import (
    HOUR_S,
    day_begins,
    day_ends,
    found,
    least,
    log_ends,
    most,
    not_assessed,
    spoken,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Finding, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_PROTECTS = frozenset({"oil_kpa", "coolant_c", "mains_present", "mains_v"})
"""Without these the set is unprotected, or does not know that it is wanted."""
_OF_AN_ENGINE = ("coolant_c", "oil_kpa", "battery_v")
"""A start moves them, whatever the weather."""


@check(
    "log.signal_lost",
    question=Question.LOG,
    needs=["sensors.filled"],
    limits=[
        "sensor_alive_days",
        "sensor_silent_days",
        "sensor_silent_runs",
        "sensor_several",
        "sensor_run_s",
        "sensor_run_rows",
    ],
    since="0.1",
)
def signal_lost(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Signals that had values for a month and then have none at all, while others go on."""
    days = _with_runs(book, known, limit)
    whole = days.select("day", "ran").unique("day").sort("day")
    alive_days = limit["sensor_alive_days"]
    alive = (pl.col("filled") > 0.0) | pl.col("running_low").is_not_null()
    told = days.with_columns(alive.fill_null(False).alias("alive"))
    last = (
        told.filter("alive")
        .group_by("signal", maintain_order=True)
        .agg(
            # from the first to the last: one that only speaks while the set runs speaks once a week
            ((pl.col("day").max() - pl.col("day").min()).dt.total_days() + 1).alias("days_alive"),
            pl.col("day").max().alias("last_day"),
            (pl.col("filled") > 0.0).any().alias("at_rest"),
        )
        .filter(pl.col("days_alive") >= alive_days.value)
        .sort("signal")
    )
    if last.is_empty():
        yield not_assessed(
            "log.signal_lost",
            Reason.TOO_FEW,
            why="few_days",
            days=whole.height,
            wanted=int(alive_days.value),
        )
        return
    # a signal that only speaks while the set runs has had its chance only where it ran
    since = (
        last.join(whole.rename({"day": "then"}), how="cross")
        .filter(pl.col("then") > pl.col("last_day"))
        .group_by("signal")
        .agg(pl.len().alias("silent_days"), pl.col("ran").sum().alias("silent_runs"))
    )
    last = last.join(since, on="signal", how="left", maintain_order="left").with_columns(
        pl.col("silent_days", "silent_runs").fill_null(0)
    )
    silent_days, silent_runs = limit["sensor_silent_days"], limit["sensor_silent_runs"]
    lost = last.filter(
        pl.when("at_rest")
        .then(pl.col("silent_days") > silent_days.value)
        .otherwise(pl.col("silent_runs") > silent_runs.value)
    )
    if lost.is_empty():
        yield Clear("log.signal_lost", {"signals": last.height, "days": whole.height})
        return
    yield from _told_lost(book, known, limit, lost)


def _told_lost(book: Logbook, known: Known, limit: Limits, lost: pl.DataFrame) -> Iterator[Finding]:
    """One finding a signal; but signals that go at one time have one cause."""
    several = limit["sensor_several"]
    for (last_day,), own in lost.group_by("last_day", maintain_order=True):
        signals = own["signal"].to_list()
        since_at = day_ends(last_day, known.time_zone)
        near = book.marks.filter((pl.col("began_at") - since_at).dt.total_hours().abs() <= 24)
        together = several.broken_by(len(signals))
        guards = [name for name in signals if name in _PROTECTS]
        names = list(dict.fromkeys(spoken(name) for name in (guards or signals)))
        silent_for, silent_runs = most(own["silent_days"]) or 0.0, most(own["silent_runs"]) or 0.0
        yield found(
            "log.signal_lost",
            Severity.URGENT if guards and not together else Severity.SOON,
            limit["sensor_silent_days"] if own["at_rest"][0] else limit["sensor_silent_runs"],
            silent_for if own["at_rest"][0] else silent_runs,
            (since_at, max(since_at, log_ends(book, known.set_id))),
            variant="several" if together else "guard" if guards else "one",
            evidence={
                "signal": ", ".join(names),
                "signals": len(signals),
                "since_date": since_at,
                "silent_days": int(silent_for),
                "gaps": near.filter(pl.col("kind") == "gap").height,
                "modes": near.filter(pl.col("kind") == "mode_change").height,
            },
        )


def _with_runs(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """The sensors table with `ran`: a run of that day was long enough, and had rows enough, to move a sensor."""
    long = (pl.col("running_s") >= limit.value("sensor_run_s")) & (pl.col("rows") >= limit.value("sensor_run_rows"))
    ran = (
        book.runs.filter(long.fill_null(False))
        .select(pl.col("began_at").dt.convert_time_zone(known.time_zone).dt.date().alias("day"))
        .unique()
        .with_columns(pl.lit(True).alias("ran"))
    )
    return (
        book.sensors.join(ran, on="day", how="left").with_columns(pl.col("ran").fill_null(False)).sort("signal", "day")
    )


@dataclass(frozen=True, slots=True)
class _Stuck:
    """A signal that stood still while what drives it moved, on the last days of the log."""

    signal: str
    value: float
    days: pl.DataFrame
    runs: int


@check(
    "log.sensor_stuck",
    question=Question.LOG,
    needs=["sensors.rest_low|sensors.running_low"],
    limits=[
        "sensor_run_s",
        "sensor_run_rows",
        "stuck_runs",
        "stuck_fuel_runs_h",
        "stuck_fuel_expected_fraction",
        "stuck_air_days",
        "stuck_air_moves_c",
    ],
    since="0.1",
)
def sensor_stuck(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Coolant, oil and battery that a start does not move; fuel that running does not; air that is one for weeks."""
    days = _with_runs(book, known, limit)
    looked, stuck = [], []
    for name in _OF_AN_ENGINE:
        own = days.filter((pl.col("signal") == name) & pl.col("ran"))
        if own.height > limit.value("stuck_runs") and own["running_low"].null_count() < own.height:
            looked.append(name)
            stuck += _still_in_runs(name, own, limit)
    fuel = "fuel_fraction" if "fuel_fraction" in days["signal"] else "fuel_l"
    for name, told in ((fuel, _fuel_still), ("ambient_c", _air_still)):
        seen = told(book, days.filter(pl.col("signal") == name), limit)
        if seen is not None:
            looked.append(name)
            stuck += seen
    if stuck:
        yield from (_told_stuck(book, known, limit, one) for one in stuck)
    elif looked:
        yield Clear("log.sensor_stuck", {"signals": ", ".join(dict.fromkeys(spoken(name) for name in looked))})
    else:
        yield not_assessed("log.sensor_stuck", Reason.NOTHING_SEEN, why="nothing_moved")


def _still_in_runs(name: str, own: pl.DataFrame, limit: Limits) -> list[_Stuck]:
    """The last days with a run, on all of which the signal had one and the same value at rest and running."""
    now = own["running_low"][-1]
    if now is None:
        return []
    one = (pl.col("running_low") == pl.col("running_high")) & (
        pl.col("rest_low").is_null()
        | ((pl.col("rest_low") == pl.col("rest_high")) & (pl.col("rest_low") == pl.col("running_low")))
    )
    same = own.with_columns((one & (pl.col("running_low") == now)).fill_null(False).alias("still"))
    last = same.filter(pl.col("still").reverse().cum_min().reverse())
    if last.height <= limit.value("stuck_runs"):
        return []
    return [_Stuck(name, float(now), last, last.height)]


def _fuel_still(book: Logbook, own: pl.DataFrame, limit: Limits) -> list[_Stuck] | None:
    """The level has not moved by one step since running that must have used fuel. None: it cannot be told."""
    own = own.filter(pl.col("rest_low").is_not_null())
    hours = book.days.select("day", (pl.col("running_s") / HOUR_S).alias("ran_h"))
    own = own.join(hours, on="day", how="left", maintain_order="left").with_columns(pl.col("ran_h").fill_null(0.0))
    if own.is_empty():
        return None
    # litres become a share of the most that was ever seen
    full = (most(own["rest_high"]) or 1.0) if own["signal"][0] == "fuel_l" else 1.0
    own = own.with_columns(pl.col("rest_low") / full, pl.col("rest_high") / full)
    level = own["rest_high"][-1]
    same = ((pl.col("rest_low") == level) & (pl.col("rest_high") == level)).fill_null(False)
    last = own.filter(same.reverse().cum_min().reverse())
    before = own.head(own.height - last.height)
    rate = _fall_per_hour(before)
    hours_still = float(last["ran_h"].sum())
    # without an earlier record only a long time of running tells
    if rate is not None and before.height:
        expected = rate * hours_still
        if expected > limit.value("stuck_fuel_expected_fraction"):
            return [_Stuck("fuel_fraction", float(level), last, int((last["ran_h"] > 0).sum()))]
        return []
    if hours_still > limit.value("stuck_fuel_runs_h"):
        return [_Stuck("fuel_fraction", float(level), last, int((last["ran_h"] > 0).sum()))]
    return None if not before.height else []


def _fall_per_hour(own: pl.DataFrame) -> float | None:
    """What an hour of running took off the level, over the days before; refuels left out. None where it never ran."""
    fall = own.select((pl.col("rest_low").shift(1) - pl.col("rest_low")).clip(0.0).sum()).item()
    hours = float(own["ran_h"].sum())
    return float(fall) / hours if hours > 0.0 and fall else None


def _air_still(book: Logbook, own: pl.DataFrame, limit: Limits) -> list[_Stuck] | None:
    """The air was one and the same for weeks in which the resting engine followed some weather."""
    rest = book.days.select("day", "rest_coolant_c")
    own = own.join(rest, on="day", how="left", maintain_order="left").filter(pl.col("rest_low").is_not_null())
    if own.height < limit.value("stuck_air_days") or own["rest_coolant_c"].null_count() == own.height:
        return None
    value = own["rest_high"][-1]
    same = ((pl.col("rest_low") == value) & (pl.col("rest_high") == value)).fill_null(False)
    last = own.filter(same.reverse().cum_min().reverse())
    warmest, coldest = most(last["rest_coolant_c"]), least(last["rest_coolant_c"])
    if last.height < limit.value("stuck_air_days") or warmest is None or coldest is None:
        return []
    if warmest - coldest <= limit.value("stuck_air_moves_c"):
        return []
    return [_Stuck("ambient_c", float(value), last, 0)]


def _told_stuck(book: Logbook, known: Known, limit: Limits, one: _Stuck) -> Finding:
    began_at = day_begins(one.days["day"][0], known.time_zone)
    guard = one.signal in _PROTECTS
    variant = "guard" if guard else "fuel" if one.signal == "fuel_fraction" else "air" if not one.runs else "one"
    name = "stuck_air_days" if variant == "air" else "stuck_runs"
    return found(
        "log.sensor_stuck",
        Severity.NOTE if variant == "air" else Severity.SOON,
        limit[name],
        float(one.days.height if variant == "air" else one.runs),
        (began_at, min(day_ends(one.days["day"][-1], known.time_zone), log_ends(book, known.set_id))),
        variant=variant,
        evidence={
            "signal": spoken(one.signal),
            "since_date": began_at,
            "days": one.days.height,
            "runs": one.runs,
            "still": one.value,
        },
    )


@check(
    "log.sensor_spikes",
    question=Question.LOG,
    needs=["sensors.spikes"],
    limits=["spikes_least", "spikes_many", "spikes_seen_within_s"],
    since="0.1",
)
def sensor_spikes(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Lone rows far from both neighbours, which agree: no quantity of a set does that."""
    sampling = book.sampling[known.set_id]
    within = limit["spikes_seen_within_s"]
    interval_s = sampling.rest_s or sampling.running_s
    if interval_s is None or within.broken_by(interval_s):
        yield not_assessed("log.sensor_spikes", Reason.TOO_COARSE, interval_s=interval_s, wanted_s=within.value)
        return
    few, many = limit["spikes_least"], limit["spikes_many"]
    by_signal = (
        book.sensors.filter(pl.col("spikes") > 0)
        .group_by("signal")
        .agg(pl.col("spikes").sum(), pl.col("day").min().alias("first"), pl.col("day").max().alias("last"))
        .sort("spikes", "signal")
    )
    bad = by_signal.filter(pl.col("spikes") > few.value)
    if bad.is_empty():
        yield Clear(
            "log.sensor_spikes",
            {"signals": book.sensors["signal"].n_unique(), "spikes": int(by_signal["spikes"].sum())},
        )
        return
    worst = bad.row(-1, named=True)
    lots = many.broken_by(worst["spikes"])
    yield found(
        "log.sensor_spikes",
        Severity.SOON if lots else Severity.NOTE,
        many if lots else few,
        float(worst["spikes"]),
        (day_begins(worst["first"], known.time_zone), day_ends(worst["last"], known.time_zone)),
        variant="many" if lots else "some",
        evidence={
            "signal": spoken(worst["signal"]),
            "spikes": worst["spikes"],
            "more": bad.height - 1,
        },
    )
