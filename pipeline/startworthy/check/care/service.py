"""When is the next service due, by hours or by months?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import polars as pl

from startworthy.check.care.meter import jumps, readings
from startworthy.check.found import DAY_S, HOUR_S, day_begins, found, log_ends, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.statistics.trend import Z_95

_CODE = "care.service_due"


@dataclass(frozen=True, slots=True)
class _Hours:
    """Running hours since the last service, hours between services, and when they will be reached."""

    since_h: float
    every_h: float
    meets: datetime | None
    earliest: datetime | None
    latest: datetime | None


@dataclass(frozen=True, slots=True)
class _Months:
    """The last service, months between services, and the day on which they are over."""

    last: date
    every: float
    due: datetime


@check(
    _CODE,
    question=Question.CARE,
    needs=["days"],
    limits=[
        "hours_rounding_h",
        "service_after_h",
        "service_after_months",
        "service_near_fraction",
        "service_near_days",
        "service_usage_days",
        "service_far_days",
    ],
    since="0.1",
)
def service_due(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Hours and months since the last service in the register against its plan, whichever comes first.

    Without a plan the usual ones stand in; without a last service nothing can be said. The forecast takes the
    set's running hours a day over the log, with the scatter of days that run now and then (95 %).
    """
    plan, ended = known.entry.service, log_ends(book, known.set_id)
    if plan.last_hours is None and plan.last_date is None:
        yield not_assessed(_CODE, Reason.NOT_IN_REGISTER, key="service.last_hours or service.last_date")
        return
    hours, months = _by_hours(book, known, limit), _by_months(known, limit)
    if hours is None and months is None:
        why = "meter_faulty" if _meter_faulty(book, known, limit) else "no_meter"
        yield not_assessed(_CODE, Reason.CONFLICT if why == "meter_faulty" else Reason.NOTHING_SEEN, why=why)
        return
    evidence = {
        "since_h": hours.since_h if hours else None,
        "every_h": hours.every_h if hours else None,
        "last_date": day_begins(months.last, known.time_zone) if months else None,
        "every_months": months.every if months else None,
        "meets_date": hours.meets if hours else None,
        "earliest_date": hours.earliest if hours else None,
        "latest_date": hours.latest if hours else None,
        "due_date": months.due if months else None,
    }
    near = timedelta(days=limit.value("service_near_days"))
    began = day_begins(months.last, known.time_zone) if months else book.span[known.set_id][0]
    when = (min(began, ended), ended)
    if hours and hours.since_h > hours.every_h:
        yield found(
            _CODE, Severity.SOON, limit["service_after_h"], hours.since_h, when, variant="hours", edge=hours.every_h,
            evidence=evidence,
        )  # fmt: skip
    elif months and ended > months.due:
        yield found(
            _CODE, Severity.SOON, limit["service_after_months"], _elapsed(months, known, ended), when, variant="months",
            edge=months.every, evidence=evidence,
        )  # fmt: skip
    elif hours and (
        limit["service_near_fraction"].broken_by(1.0 - hours.since_h / hours.every_h)
        or (hours.meets is not None and hours.meets < ended + near)
    ):
        yield found(
            _CODE, Severity.NOTE, limit["service_after_h"], hours.since_h, when, variant="near_hours",
            edge=hours.every_h, evidence=evidence,
        )  # fmt: skip
    elif months and months.due < ended + near:
        yield found(
            _CODE, Severity.NOTE, limit["service_after_months"], _elapsed(months, known, ended), when,
            variant="near_months", edge=months.every, evidence=evidence,
        )  # fmt: skip
    else:
        yield Clear(_CODE, evidence)


def _by_hours(book: Logbook, known: Known, limit: Limits) -> _Hours | None:
    plan = known.entry.service
    every = plan.every_hours
    if every is None and plan.every_months is None:
        every = limit.value("service_after_h")
    since = _since_h(book, known, limit)
    if every is None or since is None:
        return None
    ended = log_ends(book, known.set_id)
    low, rate, high = _usage(book, limit)
    left, far_days = max(0.0, every - since), limit.value("service_far_days")

    def meets(per_day: float) -> datetime | None:
        days = left / per_day if per_day > 0.0 else far_days
        return ended + timedelta(days=days) if days < far_days else None

    return _Hours(since, every, meets(rate), meets(high), meets(low))


def _since_h(book: Logbook, known: Known, limit: Limits) -> float | None:
    """Hours run since the last service: by the meter, else by the runs where the log reaches back so far."""
    plan, ended = known.entry.service, log_ends(book, known.set_id)
    if plan.last_date is not None and day_begins(plan.last_date, known.time_zone) > ended:
        return 0.0
    meter = readings(book)
    if meter.height and not _meter_faulty(book, known, limit):
        now = float(meter["hour_meter_h"][-1])
        if plan.last_hours is not None:
            return now - plan.last_hours
        then = meter.filter(pl.col("day") <= plan.last_date)
        return now - float(then["hour_meter_h"][-1]) if then.height else None
    if plan.last_date is None or day_begins(plan.last_date, known.time_zone) < book.span[known.set_id][0]:
        return None
    return float(book.days.filter(pl.col("day") >= plan.last_date)["running_s"].sum() or 0.0) / HOUR_S


def _meter_faulty(book: Logbook, known: Known, limit: Limits) -> bool:
    """The meter jumped within the log, or stands below what it showed at the last service."""
    plan = known.entry.service
    meter = readings(book)
    jumped = jumps(book, limit)
    if plan.last_date is not None:
        jumped = jumped.filter(pl.col("began_at") > day_begins(plan.last_date, known.time_zone))
    below = meter.height > 0 and plan.last_hours is not None and float(meter["hour_meter_h"][-1]) < plan.last_hours
    return below or jumped.height > 0


def _by_months(known: Known, limit: Limits) -> _Months | None:
    plan = known.entry.service
    every = plan.every_months
    if every is None and plan.every_hours is None:
        every = limit.value("service_after_months")
    if every is None or plan.last_date is None:
        return None
    due = pl.Series([plan.last_date]).dt.offset_by(f"{max(1, round(every))}mo")[0]
    return _Months(plan.last_date, every, day_begins(due, known.time_zone))


def _elapsed(months: _Months, known: Known, ended: datetime) -> float:
    """Months since the last service, as shares of the interval."""
    last = day_begins(months.last, known.time_zone)
    return months.every * ((ended - last) / (months.due - last))


def _usage(book: Logbook, limit: Limits) -> tuple[float, float, float]:
    """Running hours a day over the log, with the ends of its 95 % interval between them: low, rate, high.

    Days that run come now and then, each with its own hours: the variance of their sum is the sum of squares. A log
    too short for it gives zeros.
    """
    covered_days = float(book.days["covered_s"].sum() or 0.0) / DAY_S
    if limit["service_usage_days"].broken_by(covered_days):
        return 0.0, 0.0, 0.0
    ran_h = book.days["running_s"].fill_null(0.0) / HOUR_S
    spread = Z_95 * float((ran_h**2).sum()) ** 0.5
    total = float(ran_h.sum())
    return max(0.0, total - spread) / covered_days, total / covered_days, (total + spread) / covered_days
