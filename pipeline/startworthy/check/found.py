"""Small helpers that checks share: findings filled from a limit, spells of true rows, days as instants."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl

from startworthy.check.frame import CATALOGUE
from startworthy.findings import Evidence, Finding, NotAssessed, Question, Reason, Severity
from startworthy.limits import Limit, Limits
from startworthy.results import Logbook
from startworthy.signals import BY_NAME, LINE_VOLTAGES, PHASE_VOLTAGES

HOUR_S = 3600.0
DAY_S = 86400.0
MINUTE_S = 60.0
WEEK_DAYS = 7.0

TELLS_RUNNING = "|".join(
    (
        "speed_rpm", "frequency_hz", "voltage_v", *PHASE_VOLTAGES, *LINE_VOLTAGES,
        "power_kw", "oil_kpa", "state", "hour_meter_h",
    )
)  # fmt: skip
"""Any of these tells whether the set runs."""
TELLS_STARTS = "|".join((TELLS_RUNNING, "battery_v", "starts_counter", "alarm"))
"""Any of these tells that it was asked to start."""


def found(
    code: str,
    severity: Severity,
    limit: Limit,
    value: float,
    when: tuple[datetime | None, datetime | None],
    *,
    variant: str = "default",
    question: Question | None = None,
    edge: float | None = None,
    evidence: Mapping[str, Evidence] | None = None,
    p_value: float | None = None,
) -> Finding:
    """A finding that carries all of its limit: name, unit, side, per, basis and source.

    value: in the limit's unit. when: its first and its last instant. edge: the number that the value was held
    against, where that depends on the case (temperature, load). question: where it is not the catalogue's. p_value:
    of the statistical test behind it; it then stands only if it holds among all tests of the run.
    """
    return Finding(
        code=code,
        severity=severity,
        question=question or CATALOGUE[code].question,
        began_at=when[0],
        ended_at=when[1],
        value=float(value),
        unit=limit.unit,
        limit=limit.value if edge is None else float(edge),
        limit_name=limit.name,
        side=limit.side,
        per=limit.per,
        basis=limit.basis,
        source=limit.source,
        variant=variant,
        evidence=dict(evidence or {}),
        p_value=p_value,
    )


def not_assessed(code: str, reason: Reason, **evidence: Evidence) -> NotAssessed:
    """`why` among the evidence picks a sentence of the check's own, where the reason says too little."""
    return NotAssessed(code, reason, evidence)


def eased(severity: Severity) -> Severity:
    """One step less pressing; a note stays a note."""
    steps = list(Severity)
    return steps[min(severity.rank + 1, len(steps) - 1)]


def long_past(limit: Limits, at: datetime, log_ended: datetime, good_since: int) -> bool:
    """A fault that lies far back and was followed by enough good ones in a row."""
    age_days = (log_ended - at).total_seconds() / DAY_S
    return limit["fault_recent_days"].broken_by(age_days) and not limit["fault_good_since"].broken_by(good_since)


def by_nominal(limit: Limits, stem: str, nominal_v: float) -> Limit:
    """The limit of that stem for a 12 V or a 24 V battery: `battery_rest_low` is `battery_rest_low_12_v`."""
    return limit[f"{stem}_{nominal_v:.0f}_v"]


def spells(frame: pl.DataFrame, hit: pl.Expr, *facts: pl.Expr) -> pl.DataFrame:
    """One row per unbroken spell of rows where `hit` holds, with `facts` aggregated over its rows, in order.

    A null in `hit` counts as not hit. `first_row` and `last_row` are the row numbers of the spell's ends.
    """
    return (
        frame.with_row_index("row")
        .with_columns(hit.fill_null(False).alias("hit"))
        .with_columns(pl.col("hit").rle_id().alias("spell"))
        .filter("hit")
        .group_by("spell", maintain_order=True)
        .agg(pl.col("row").first().alias("first_row"), pl.col("row").last().alias("last_row"), *facts)
        .drop("spell")
    )


def least(values: pl.Series) -> float | None:
    """The lowest value; None where there is none."""
    return _number(values.min())


def most(values: pl.Series) -> float | None:
    """The highest value; None where there is none."""
    return _number(values.max())


def middle(values: pl.Series) -> float | None:
    """The median; None where there is none."""
    return _number(values.median())


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def day_begins(day: date, zone: str) -> datetime:
    """The instant (UTC) at which a local day begins."""
    return datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).astimezone(UTC)


def day_ends(day: date, zone: str) -> datetime:
    """The instant (UTC) at which a local day ends."""
    return day_begins(day + timedelta(days=1), zone)


def log_ends(book: Logbook, set_id: str) -> datetime:
    """The last instant that the log of the set covers."""
    return book.span[set_id][1]


def seconds(later: datetime, earlier: datetime) -> float:
    """From one instant to another."""
    return (later - earlier).total_seconds()


def spoken(signal: str) -> str:
    """A signal as a person would say it: `oil_kpa` is the oil pressure, and each phase's volts are the voltage."""
    if signal in PHASE_VOLTAGES or signal in LINE_VOLTAGES:
        return "voltage"
    return BY_NAME[signal].aliases[0] if signal in BY_NAME else signal


def spoken_choice(choice: str) -> tuple[str, ...]:
    """The signals of a choice `a|b` as a person would say them, each once, in order."""
    return tuple(dict.fromkeys(spoken(name) for name in choice.split("|")))
