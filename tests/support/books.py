"""Hand-made logbooks of one set: rows with healthy defaults, of which a test changes what it is about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import polars as pl

from startworthy.limits import Limits
from startworthy.logbook.tables import TABLES, empty, in_form
from startworthy.register import SetEntry
from startworthy.results import Known, Logbook, Sampling
from startworthy.signals import BY_NAME

SET = "SET-1"
BEGAN = datetime(2025, 1, 6, tzinfo=UTC)
ALL_SIGNALS = frozenset(BY_NAME)

Row = Mapping[str, Any]


def at(days: float, hours: float = 0.0) -> datetime:
    """Days and hours after the log's first midnight."""
    return BEGAN + timedelta(days=days, hours=hours)


def attempt(day: float, **own: Any) -> Row:
    """A crank of 2 s at 20 C that fired, seen at 1 s."""
    began = own.pop("began_at", at(day, 8))
    row = {
        "set_id": SET, "demand": 1, "attempt": 1, "began_at": began, "ended_at": began + timedelta(seconds=2),
        "crank_s": 2.0, "crank_low_s": 1.5, "crank_high_s": 2.5, "rows": 3, "battery_before_v": 12.8, "battery_min_v": 9.0,
        "battery_mean_v": 10.4, "coolant_before_c": 20.0, "fired": True, "resolution_s": 1.0,
    }  # fmt: skip
    return row | own


def start(day: float, **own: Any) -> Row:
    """A demand met at the first attempt, seen at 1 s."""
    began = own.pop("began_at", at(day, 8))
    row = {
        "set_id": SET, "demand": 1, "began_at": began, "ended_at": began + timedelta(seconds=4), "cause": "exercise",
        "attempts": 1, "attempts_at_least": 1, "started": True, "told_by": "speed", "resolution_s": 1.0, "mode": "automatic",
        "battery_before_v": 12.8, "coolant_before_c": 20.0,
    }  # fmt: skip
    return row | own


def run(day: float, minutes: float = 20.0, **own: Any) -> Row:
    """A whole healthy exercise run at 50 Hz and 230 V, seen at 1 s."""
    began = own.pop("began_at", at(day, 8))
    s = minutes * 60.0
    row = {
        "set_id": SET, "run": 1, "began_at": began, "ended_at": began + timedelta(seconds=s), "running_s": s, "running_low_s": s - 1.0,
        "running_high_s": s + 1.0, "missing_s": 0.0, "start_seen": True, "end_seen": True, "cause": "exercise", "ended_by": "stop",
        "told_by": "speed", "resolution_s": 1.0, "rows": int(s), "steady_s": max(0.0, s - 60.0), "load_fraction_mean": 0.4,
        "voltage_mean_v": 230.0, "frequency_mean_hz": 51.5, "oil_min_kpa": 300.0, "oil_low_s": 0.0, "oil_warm_kpa": 320.0,
        "coolant_max_c": 82.0, "coolant_high_s": 0.0, "ambient_c": 20.0,
    }  # fmt: skip
    return row | own


def day(number: int, **own: Any) -> Row:
    """A whole day at rest in automatic, battery on float, tank three quarters full."""
    row = {
        "set_id": SET, "day": date(2025, 1, 6) + timedelta(days=number), "day_s": 86400.0, "covered_s": 86400.0, "coverage": 1.0,
        "rows": 1440, "running_s": 0.0, "rest_s": 86400.0, "rest_battery_v": 13.6, "rest_battery_low_v": 13.55,
        "rest_battery_high_v": 13.65, "rest_battery_s": 86400.0, "on_charge": True, "rest_fuel_fraction": 0.75,
        "rest_fuel_first_fraction": 0.75, "rest_fuel_last_fraction": 0.75, "rest_fuel_noise_fraction": 0.0, "rest_coolant_c": 20.0,
        "ambient_c": 20.0, "automatic_s": 86400.0, "manual_s": 0.0, "off_s": 0.0, "test_s": 0.0, "mode_unknown_s": 0.0,
    }  # fmt: skip
    return row | own


def battery_day(number: int, volts: float, on_charge: bool | None = False, **own: Any) -> Row:
    """A day at rest with the battery at these volts."""
    row = {
        "rest_battery_v": volts,
        "rest_battery_low_v": volts - 0.02,
        "rest_battery_high_v": volts + 0.02,
        "on_charge": on_charge,
    }
    return day(number, **(row | own))


def fuel_day(number: int, level: float, **own: Any) -> Row:
    """A day at rest with the tank at this level all day."""
    row = {"rest_fuel_fraction": level, "rest_fuel_first_fraction": level, "rest_fuel_last_fraction": level}
    return day(number, **(row | own))


def mark(kind: str, began_at: datetime, ended_at: datetime | None = None, **own: Any) -> Row:
    """An event."""
    return {"set_id": SET, "kind": kind, "began_at": began_at, "ended_at": ended_at} | own


def sensor(number: int, signal: str, **own: Any) -> Row:
    """A day of a signal that is alive: always there, and never quite still."""
    row = {
        "set_id": SET, "day": date(2025, 1, 6) + timedelta(days=number), "signal": signal, "filled": 1.0, "rest_low": 1.0,
        "rest_high": 1.1, "running_low": None, "running_high": None, "spikes": 0,
    }  # fmt: skip
    return row | own


def known(entry: Mapping[str, Any] | None = None, **own: Any) -> Known:
    """A 12 V set of 12 kW at 230 V and 50 Hz; `entry` is what the register says."""
    told = SetEntry.model_validate(entry or {})
    base = Known(
        SET, told, Limits(told.limits), battery_nominal_v=12.0, rated_frequency_hz=50.0, rated_rpm=1500.0, rated_voltage_v=230.0,
        rated_kw=12.0, time_zone="UTC",
    )  # fmt: skip
    return replace(base, **own)


def table(name: str, rows: Iterable[Row]) -> pl.DataFrame:
    """The rows as the table of that name. All tables of all cases are held against their models in one go: see test_cases."""
    given = list(rows)
    # every row names its columns, so that one that stands only in the last is not lost
    unknown = {column for row in given for column in row} - set(TABLES[name].columns)
    assert not unknown, f"{name} has no column {unknown}"
    return in_form(name, pl.DataFrame(given, infer_schema_length=None)) if given else empty(name)


def book(
    *,
    attempts: Iterable[Row] = (),
    starts: Iterable[Row] = (),
    runs: Iterable[Row] = (),
    days: Iterable[Row] = (),
    marks: Iterable[Row] = (),
    sensors: Iterable[Row] = (),
    of: Known | None = None,
    signals: Iterable[str] = ALL_SIGNALS,
    sampling: Sampling | None = None,
    span: tuple[datetime, datetime] | None = None,
    refused: Mapping[str, tuple[int, int]] | None = None,
) -> Logbook:
    """A logbook of one set. The span is that of the days, where it is not given."""
    of_days = table("days", days)
    if span is None:
        span = (BEGAN, at(max(1, of_days.height)))
    return Logbook(
        table("attempts", _numbered(attempts, "demand")), table("starts", _numbered(starts, "demand")),
        table("runs", _numbered(runs, "run")), of_days, table("marks", marks),
        table("sensors", sensors),
        {SET: of or known()}, {SET: frozenset(signals)}, {SET: sampling or Sampling(60.0, 1.0, 1.0)}, {SET: span},
        {SET: dict(refused or {})},
    )  # fmt: skip


def _numbered(rows: Iterable[Row], column: str) -> list[Row]:
    """Rows numbered in order, but for those that a test numbered itself."""
    given = list(rows)
    if any(row[column] != 1 for row in given):
        return given
    return [{**row, column: number} for number, row in enumerate(given, start=1)]


def empty_book() -> Logbook:
    """A log in which nothing was seen."""
    return book(of=_told())


def null_book() -> Logbook:
    """Rows in every table, with nothing in them but what may not be null."""
    keep = {
        "attempts": ("set_id", "demand", "attempt", "began_at", "rows", "fired"),
        "starts": ("set_id", "demand", "began_at", "cause", "attempts_at_least", "started", "told_by"),
        "runs": (
            "set_id",
            "run",
            "began_at",
            "ended_at",
            "start_seen",
            "end_seen",
            "cause",
            "ended_by",
            "told_by",
            "rows",
        ),
        "days": ("set_id", "day", "rows"),
        "marks": ("set_id", "kind", "began_at"),
        "sensors": ("set_id", "day", "signal"),
    }

    def bare(name: str, rows: Iterable[Row]) -> list[Row]:
        return [{column: row[column] for column in keep[name]} for row in rows]

    return book(
        attempts=bare("attempts", [attempt(n) for n in (1, 8, 15)]),
        starts=bare("starts", [start(n) for n in (1, 8, 15)]),
        runs=bare("runs", [run(n) for n in (1, 8, 15)]),
        days=bare("days", [day(n) for n in range(21)]),
        marks=bare("marks", [mark("alarm", at(3))]),
        sensors=bare("sensors", [sensor(n, name) for n in range(21) for name in ("battery_v", "oil_kpa", "fuel_fraction")]),
        of=_told(), sampling=Sampling(None, None, None), signals=ALL_SIGNALS - {"alarm", "state", "starts_counter"},
    )  # fmt: skip


def one_row_book() -> Logbook:
    """What a log of one row gives: one day that nothing covers."""
    lone = day(
        0, covered_s=0.0, coverage=0.0, rows=1, rest_s=0.0, rest_battery_v=None, rest_battery_low_v=None, rest_battery_high_v=None,
        rest_battery_s=0.0, on_charge=None, rest_fuel_fraction=None, rest_fuel_first_fraction=None, rest_fuel_last_fraction=None,
        rest_fuel_noise_fraction=None, automatic_s=0.0,
    )  # fmt: skip
    return book(
        days=[lone], of=_told(), span=(BEGAN, BEGAN), sampling=Sampling(None, None, None), refused={"battery_v": (0, 1)}
    )


def _told() -> Known:
    return known({"exercise": {"every_days": 7, "minutes": 20}, "charger": True})
