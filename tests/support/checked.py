"""Results made by hand for the tests of the report: invented figures, they prove no value."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import polars as pl

from startworthy.findings import Answer, Clear, Finding, NotAssessed, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.logbook import tables
from startworthy.register import ExercisePlan, SetEntry
from startworthy.results import Checked, ColumnRead, FileRead, Known, Logbook, Readings, Sampling, SetResult

BEGAN = datetime(2025, 11, 3, 0, 0, tzinfo=UTC)
DAYS = 120
ZONE = "Europe/Zurich"

INJECTED = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'&{{7*7}}"
"""What a log might hold to break out of a page, a template or a chart."""

WORDS = {
    "battery.crank_sag": "Battery sags to {battery_min_v} while cranking",
    "battery.low_at_rest": "Battery rests at {rest_battery_v}",
    "cooling.overheat": "Coolant reached {coolant_max_c}",
    "fuel.lost_at_rest": "Fuel fell by {lost_fraction} while the set stood",
    "care.not_in_auto": "Left out of automatic for {spell_h}",
    "output.voltage_off": "Voltage at {voltage_mean_v}",
    "log.gap": "No rows for {gap_h}",
    "start.failed": "A demand to start failed",
    "exercise.missed": "An exercise was missed",
    "oil.low": "Oil pressure low",
    "start.retried": "Needs more than one attempt",
}


def check_words(code: str) -> dict[str, object]:
    """Words of a check, in the form of words/<language>/<group>.toml."""
    title = WORDS[code]
    found = {
        "title": title,
        "detail": f"{title}; this sentence stands for what the check tells.",
        "advice": [
            "Load-test the battery at its own temperature.",
            "Clean and tighten the clamps and the ground strap.",
        ],
        "cautions": ["start", "battery"],
    }
    return {
        "title": code.replace(".", ": ").replace("_", " "),
        "computes": "",
        "needs": "",
        "fooled_by": "",
        "found": {"default": found},
        "clear": "Looked at {seen} of them.",
    }


def _entry(site: str | None, **more: object) -> SetEntry:
    return SetEntry(
        site=site,
        time_zone=ZONE,
        rated_kw=12,
        battery_nominal_v=12,
        exercise=ExercisePlan(every_days=7, minutes=20),
        **more,
    )  # type: ignore[arg-type]


def known(
    set_id: str,
    site: str | None = "Hill pump station",
    own_limits: dict[str, float] | None = None,
    **more: object,
) -> Known:
    return Known(
        set_id=set_id,
        entry=_entry(site, limits=own_limits or {}),
        limits=Limits(own_limits),
        battery_nominal_v=12.0,
        rated_frequency_hz=50.0,
        rated_rpm=1500.0,
        rated_voltage_v=230.0,
        rated_kw=12.0,
        time_zone=ZONE,
        exercise_every_days=7.0,
        exercise_minutes=20.0,
        exercise_weekday=1,
        exercise_minute_of_day=600,
        **{"inferred": {"rated_frequency_hz": "50.1 Hz while running (median)"}, **more},
    )


def readings_frame(set_id: str, *, days: int = DAYS, gap_day: int | None = 60) -> pl.DataFrame:
    """Rows every 5 min at rest, every second around each weekly run's start and every 10 s in it; one day without rows."""
    rng = np.random.default_rng(7)
    rest = np.arange(0, days * 86400, 300)
    parts = [rest]
    run_starts = [d * 86400 + 9 * 3600 + 137 for d in range(1, days, 7)]
    for start in run_starts:
        parts += [np.arange(start - 60, start + 60), np.arange(start + 60, start + 1260, 10)]
    seconds = np.unique(np.concatenate(parts))
    if gap_day is not None:
        seconds = seconds[(seconds < gap_day * 86400) | (seconds >= (gap_day + 1) * 86400 + 7200)]
    since = seconds - np.array([max((s for s in run_starts if s <= t), default=-(10**9)) for t in seconds])
    running = (since >= 3) & (since < 1200)
    cranking = (since >= 0) & (since < 3)
    season = np.cos((seconds / 86400 - 60) / 365 * 2 * np.pi)
    ambient = 8 - 10 * season + 4 * np.sin(seconds / 86400 * 2 * np.pi)
    battery = np.where(cranking, 9.9 - seconds / 86400 / 100, np.where(running, 14.1, 13.4)) + rng.normal(
        0, 0.01, seconds.size
    )
    coolant = np.where(running, ambient + (84 - ambient) * (1 - np.exp(-np.clip(since, 0, None) / 300)), ambient + 2)
    fuel = (
        0.9
        - seconds / 86400 / days * 0.25
        - np.where(seconds > 80 * 86400, 0.15, 0)
        + rng.normal(0, 0.002, seconds.size)
    )
    at = pl.Series([BEGAN]).dt.epoch("us")[0] + seconds.astype(np.int64) * 1_000_000
    mode = np.where((seconds > 90 * 86400) & (seconds < 94 * 86400), "off", "automatic")
    return pl.DataFrame(
        {
            "set_id": pl.Series([set_id] * seconds.size, dtype=pl.Categorical),
            "at": pl.Series(at).cast(pl.Datetime("us", "UTC")),
            "battery_v": battery.round(3),
            "coolant_c": coolant.round(1),
            "ambient_c": ambient.round(1),
            "fuel_fraction": fuel.round(4),
            "frequency_hz": np.where(running, 50.2 + rng.normal(0, 0.05, seconds.size), 0.0).round(2),
            "voltage_v": np.where(running, 231 + rng.normal(0, 0.5, seconds.size), 0.0).round(1),
            "oil_kpa": np.where(running, 320.0, 0.0),
            "power_kw": np.where(running, 3.5, 0.0),
            "mode": pl.Series(mode.tolist(), dtype=pl.Categorical),
            "file": pl.Series([0] * seconds.size, dtype=pl.UInt16),
            "line": pl.Series(range(2, seconds.size + 2), dtype=pl.UInt32),
        }
    )


def book(set_id: str, *, days: int = DAYS, alarm: str = "Low battery voltage", marks: int = 4) -> Logbook:
    """A logbook with one run a week and one attempt each; the last attempt of all does not fire."""
    starts_at = [BEGAN + timedelta(days=d, hours=9, seconds=137) for d in range(1, days, 7)]
    n = len(starts_at)
    cold = [8 - 10 * float(np.cos((d - 60) / 365 * 2 * np.pi)) for d in range(1, days, 7)]
    lowest = [9.9 - d / 100 for d in range(1, days, 7)]
    numbers = list(range(1, n + 1))
    attempts = tables.in_form(
        "attempts",
        pl.DataFrame(
            {
                "set_id": set_id,
                "demand": numbers,
                "attempt": 1,
                "began_at": starts_at,
                "ended_at": [t + timedelta(seconds=3) for t in starts_at],
                "crank_s": 2.5,
                "crank_low_s": 2.0,
                "crank_high_s": 3.0,
                "rows": 3,
                "battery_before_v": 13.3,
                "battery_min_v": lowest,
                "battery_mean_v": [v + 0.4 for v in lowest],
                "coolant_before_c": [c + 2 for c in cold],
                "ambient_c": cold,
                "fired": [True] * (n - 1) + [False],
                "resolution_s": 1.0,
            }
        ),
    )
    starts = tables.in_form(
        "starts",
        pl.DataFrame(
            {
                "set_id": set_id,
                "demand": numbers,
                "began_at": starts_at,
                "ended_at": [t + timedelta(seconds=3) for t in starts_at],
                "cause": ["exercise"] * (n - 1) + ["outage"],
                "attempts": [1] * (n - 1) + [None],
                "attempts_at_least": 1,
                "started": [True] * (n - 1) + [False],
                "run": numbers,
                "crank_s": 2.5,
                "battery_before_v": 13.3,
                "battery_min_v": lowest,
                "coolant_before_c": [c + 2 for c in cold],
                "ambient_c": cold,
                "mode": "automatic",
                "told_by": "frequency",
                "resolution_s": 1.0,
            }
        ),
    )
    runs = tables.in_form(
        "runs",
        pl.DataFrame(
            {
                "set_id": set_id,
                "run": numbers,
                "demand": numbers,
                "began_at": starts_at,
                "ended_at": [t + timedelta(seconds=1200) for t in starts_at],
                "running_s": [1195.0 if i % 5 else 700.0 for i in range(n)],
                "running_low_s": 1190.0,
                "running_high_s": 1205.0,
                "missing_s": 0.0,
                "start_seen": True,
                "end_seen": True,
                "cause": ["exercise"] * (n - 1) + ["outage"],
                "ended_by": "stop",
                "told_by": "frequency",
                "resolution_s": 10.0,
                "rows": 200,
                "load_kw_mean": 3.5,
                "load_fraction_mean": [0.29 + 0.01 * (i % 4) for i in range(n)],
                "load_fraction_max": 0.33,
                "steady_s": 1100.0,
                "voltage_mean_v": 231.2,
                "frequency_mean_hz": 50.2,
                "coolant_before_c": [c + 2 for c in cold],
                "coolant_max_c": [84.0 + i % 3 for i in range(n)],
                "coolant_warm_c": [82.0 + i % 3 for i in range(n)],
                "ambient_c": cold,
                "oil_min_kpa": 310.0,
                "battery_running_v": 14.1,
                "fuel_used_l": 1.1,
            }
        ),
    )
    local = [date(2025, 11, 3) + timedelta(days=d) for d in range(days)]
    gap = 60 if days > 61 else None
    days_table = tables.in_form(
        "days",
        pl.DataFrame(
            {
                "set_id": set_id,
                "day": local,
                "day_s": 86400.0,
                "covered_s": 86400.0,
                "coverage": [0.0 if d == gap else 1.0 for d in range(days)],
                "rows": 300,
                "running_s": 0.0,
                "rest_s": 86000.0,
                "rest_battery_v": [
                    None if d == gap else 13.4 - (0.02 * (d - 80) if d > 80 else 0) for d in range(days)
                ],
                "rest_battery_low_v": [
                    None if d == gap else 13.3 - (0.02 * (d - 80) if d > 80 else 0) for d in range(days)
                ],
                "rest_battery_high_v": [
                    None if d == gap else 13.5 - (0.02 * (d - 80) if d > 80 else 0) for d in range(days)
                ],
                "on_charge": [d <= 82 for d in range(days)],
                "rest_fuel_fraction": [
                    None if d == gap else 0.9 - d / days * 0.25 - (0.15 if d > 80 else 0) for d in range(days)
                ],
                "ambient_c": 8.0,
            }
        ),
    )
    event_at = [BEGAN + timedelta(days=60 + i, hours=3) for i in range(marks)]
    kinds = ["gap", "alarm", "fuel_loss", "mode_change"]
    marks_table = tables.in_form(
        "marks",
        pl.DataFrame(
            {
                "set_id": set_id,
                "kind": [kinds[i % 4] for i in range(marks)],
                "began_at": event_at,
                "ended_at": [t + timedelta(hours=26) for t in event_at],
                "signal": ["battery_v", "alarm", "fuel_fraction", "mode"] * (marks // 4)
                + ["battery_v", "alarm", "fuel_fraction", "mode"][: marks % 4],
                "value": [93600.0 if i % 4 == 0 else 0.15 for i in range(marks)],
                "before": 0.7,
                "after": 0.55,
                "text": [alarm if i % 4 == 1 else "automatic>off" if i % 4 == 3 else None for i in range(marks)],
            }
        ),
    )
    return Logbook(
        attempts,
        starts,
        runs,
        days_table,
        marks_table,
        tables.empty("sensors"),
        {set_id: known(set_id)},
        {set_id: frozenset({"battery_v", "fuel_fraction"})},
        {set_id: Sampling(300.0, 10.0, 1.0)},
        {set_id: (BEGAN, BEGAN + timedelta(days=days))},
    )


def findings() -> tuple[Finding, ...]:
    """Findings of all severities, with and without a moment, value and limit."""
    day = timedelta(days=1)
    return (
        Finding(
            "battery.crank_sag",
            Severity.URGENT,
            Question.START,
            BEGAN + 113 * day + timedelta(hours=9, seconds=137),
            BEGAN + 113 * day + timedelta(hours=9, seconds=140),
            value=8.77,
            unit="V",
            limit=9.1,
            limit_name="battery_rest_low_12_v",
            side="below",
            per="12 V battery, at -2 °C",
            basis="published",
            source="battery load-test table (BCI)",
            evidence={"battery_min_v": 8.77, "ambient_c": -2.0},
        ),
        Finding(
            "battery.low_at_rest",
            Severity.SOON,
            Question.START,
            BEGAN + 104 * day,
            BEGAN + 119 * day,
            value=12.31,
            unit="V",
            limit=12.4,
            limit_name="battery_rest_low_12_v",
            side="below",
            per="12 V battery",
            basis="practice",
            evidence={"rest_battery_v": 12.31},
        ),
        Finding(
            "care.not_in_auto",
            Severity.SOON,
            Question.CARE,
            BEGAN + 90 * day,
            BEGAN + 94 * day,
            value=96.0,
            unit="h",
            limit=24.0,
            limit_name="not_in_auto_h",
            side="above",
            basis="register",
            source="register",
            evidence={"spell_h": 96.0},
        ),
        Finding(
            "cooling.overheat",
            Severity.SOON,
            Question.KEEP_RUNNING,
            BEGAN + 8 * day + timedelta(hours=9, seconds=137),
            BEGAN + 8 * day + timedelta(hours=9, minutes=22),
            value=101.5,
            unit="Cel",
            limit=100.0,
            limit_name="coolant_high_c",
            side="above",
            per="set",
            basis="practice",
            evidence={"coolant_max_c": 101.5},
        ),
        Finding(
            "fuel.lost_at_rest",
            Severity.SOON,
            Question.KEEP_RUNNING,
            BEGAN + 80 * day,
            BEGAN + 80 * day + timedelta(minutes=5),
            value=0.15,
            unit="1",
            limit=0.05,
            limit_name="fuel_lost_sudden_fraction",
            side="above",
            per="tank, within a day at rest",
            basis="practice",
            evidence={"lost_fraction": 0.15},
        ),
        Finding(
            "log.gap",
            Severity.NOTE,
            Question.LOG,
            BEGAN + 60 * day,
            BEGAN + 61 * day + timedelta(hours=2),
            value=26.0,
            unit="h",
            limit=24.0,
            limit_name="log_gap_h",
            side="above",
            per="gap",
            basis="practice",
            evidence={"gap_h": 26.0},
        ),
    )


def result(
    set_id: str,
    *,
    site: str | None = "Hill pump station",
    found: tuple[Finding, ...] | None = None,
    days: int = DAYS,
    own: Known | None = None,
) -> SetResult:
    shown = findings() if found is None else found
    answers = dict.fromkeys(Question, Answer.YES) | {Question.CARRY: Answer.UNKNOWN}
    for finding in reversed(shown):
        answers[finding.question] = {Severity.URGENT: Answer.NO, Severity.SOON: Answer.DOUBTFUL}.get(
            finding.severity, Answer.YES
        )
    return SetResult(
        set_id,
        own or known(set_id, site),
        Sampling(300.0, 10.0, 1.0),
        BEGAN,
        BEGAN + timedelta(days=days),
        answers,
        {
            "demands": 17,
            "failed_demands": 1,
            "attempts": None,
            "attempts_at_least": 17,
            "runs": 17,
            "running_h": 5.4,
            "fuel_used_l": 18.7,
            "coverage": 0.991,
            "days": days,
            "rows": 38000,
        },
        shown,
        (Clear("start.failed", {"seen": 17}), Clear("exercise.missed", {"seen": 17})),
        (
            NotAssessed("output.voltage_off", Reason.SIGNAL_MISSING, {"signals": "voltage"}),
            NotAssessed("oil.low", Reason.TOO_COARSE, {"interval_s": 60.0, "wanted_s": 10.0}),
        ),
    )


def file_read(
    set_ids: tuple[str, ...], *, path: str = "logs/hill.csv", header: str = "Battery [V]", columns: int = 0
) -> FileRead:
    taken = (
        ColumnRead(header, "battery_v", "V"),
        ColumnRead("Coolant", "coolant_c", "Cel", unit_stated=False, why="32 to 84 can only be degrees Celsius here"),
        ColumnRead("Alarms", "alarm"),
        ColumnRead("Spare 1", None, why="no known signal"),
    )
    more = tuple(ColumnRead(f"Spare {n}", None, why="no known signal") for n in range(columns))
    return FileRead(
        path,
        "ab" * 32,
        "comma, UTF-8, one header row, ISO 8601 times",
        100,
        97,
        2,
        1,
        5,
        BEGAN,
        BEGAN + timedelta(days=DAYS),
        set_ids,
        taken + more,
        ("times without an offset were read in Europe/Zurich",),
    )


def refused_frame(path: str = "logs/hill.csv", *, value: str = "65535") -> pl.DataFrame:
    return pl.DataFrame(
        {
            "file": [path, path, path],
            "line": [12, 40, 41],
            "column": ["Battery [V]", "Coolant", "time"],
            "value": [value, "-9999", "31/31/2025"],
            "reason": ["a sentinel, not a value", "below what is possible", "not a time"],
            "cost": ["cell", "cell", "row"],
        },
        schema_overrides={"line": pl.UInt32},
    )


JUMPS = pl.DataFrame(
    schema={
        "set_id": pl.String,
        "before_at": tables.UTC_TIME,
        "at": tables.UTC_TIME,
        "step_s": pl.Float64,
        "file": pl.UInt16,
        "line": pl.UInt32,
    }
)


def together(
    *sets: SetResult,
    logbooks: list[Logbook],
    frames: list[pl.DataFrame],
    files: tuple[FileRead, ...] | None = None,
    refused: pl.DataFrame | None = None,
) -> Checked:
    """One result of several sets."""
    whole = Logbook(
        *(pl.concat([getattr(b, name) for b in logbooks]) for name in tables.TABLES),
        {k: v for b in logbooks for k, v in b.known.items()},
        {k: v for b in logbooks for k, v in b.signals.items()},
        {k: v for b in logbooks for k, v in b.sampling.items()},
        {k: v for b in logbooks for k, v in b.span.items()},
    )
    ids = tuple(s.set_id for s in sets)
    frame = pl.concat(frames) if frames else readings_frame("x", days=2, gap_day=None).clear()
    read = Readings(
        frame,
        refused if refused is not None else refused_frame(),
        JUMPS,
        files if files is not None else (file_read(ids),),
    )
    return Checked(sets, whole, read, BEGAN + timedelta(days=DAYS, hours=6), "0.1.0")


def one_set(set_id: str = "HILL-01", **more: object) -> Checked:
    """One set with all kinds of findings."""
    return together(result(set_id), logbooks=[book(set_id)], frames=[readings_frame(set_id)], **more)  # type: ignore[arg-type]


def three_sets() -> Checked:
    """A bad set, a healthy one and one that nothing is known of, in the order of their names."""
    healthy = result("BROOK-02", site="Brook lodge", found=())
    empty = result("CREST-03", site=None, found=())
    bad = result("HILL-01")
    ids = ("BROOK-02", "CREST-03", "HILL-01")
    return together(healthy, empty, bad, logbooks=[book(i) for i in ids], frames=[readings_frame(i) for i in ids])
