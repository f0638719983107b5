"""Whether a row of values went from one steady level to another: what somebody does who changes a setting."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import polars as pl

from startworthy.check.care.fingerprints import Fingerprint
from startworthy.check.found import by_nominal, least, middle, most
from startworthy.limits import Limits
from startworthy.results import Known
from startworthy.statistics.ranks import Step, step


@dataclass(frozen=True, slots=True)
class Change:
    """From what to what, and between which events. share: how much of the larger one it is."""

    of: Fingerprint
    before: float
    after: float
    from_at: datetime
    to_at: datetime
    n_before: int
    n_after: int

    @property
    def share(self) -> float:
        """The change over the larger of both values."""
        return abs(self.after - self.before) / max(abs(self.before), abs(self.after))


LIMITS = (
    "settings_events",
    "settings_scatters",
    "settings_rows",
    "settings_share",
    "settings_timer_rows",
    "settings_steady_share",
    "settings_outside_share",
    "settings_hour_h",
    "settings_dst_h",
    "settings_dst_slack_h",
    "settings_temp_c",
    "settings_float_12_v",
    "settings_float_24_v",
)
"""What a check declares that calls `change_in`."""


def change_in(one: Fingerprint, known: Known, limit: Limits) -> Change | None:
    """The change, or None: too small against scatter, rows and 15 %; not steady before or after; or explained.

    Explained by: temperature (levels are held against each other where both were seen at the same temperatures),
    daylight saving (an hour), a timer that vanished (what it drives may be broken), or too few rows within it.
    """
    events = one.events
    found = step(events["value"], least=int(limit.value("settings_events")))
    if found.row is None:
        return None
    before, after = events[: found.row], events[found.row :]
    if "dt" in events.columns:
        # the logger may have been changed at the same time: the wider rows count
        one = replace(one, dt=max(middle(before["dt"]) or 0.0, middle(after["dt"]) or 0.0))
    if not _is_change(one, known, limit, before, after):
        return None
    if "temp_c" in events.columns:
        near_before, near_after = _at_equal_temperature(limit, before, after)
        if not _is_change(one, known, limit, near_before, near_after):
            return None
    first, second = _levels(found)
    return Change(one, first, second, before["at"][-1], after["at"][0], before.height, after.height)


def _levels(found: Step) -> tuple[float, float]:
    return float(found.before or 0.0), float(found.after or 0.0)


def _is_change(one: Fingerprint, known: Known, limit: Limits, before: pl.DataFrame, after: pl.DataFrame) -> bool:
    events = int(limit.value("settings_events"))
    if min(before.height, after.height) < events:
        return False
    old, new = middle(before["value"]) or 0.0, middle(after["value"]) or 0.0
    size = abs(new - old)
    wanted = _wanted(one, known, limit, max(abs(old), abs(new)))
    if size <= wanted:
        return False
    if not _shown(one, limit, old, new):
        return False
    sides = ((before, old), (after, new))
    if any(not _steady(one, limit, side["value"], level, size) for side, level in sides):
        return False
    # at once, not little by little: the nearest events stand on their own sides too
    near = (middle(after["value"][:events]) or 0.0) - (middle(before["value"][-events:]) or 0.0)
    return abs(near) > max(size / 2, wanted) and (near > 0.0) == (new > old)


def _wanted(one: Fingerprint, known: Known, limit: Limits, level: float) -> float:
    """How large a change must be, in the unit of the fingerprint."""
    rows = limit.value("settings_rows") * one.dt
    if one.kind == "hour":
        return max(rows, limit.value("settings_hour_h"))
    if one.kind == "volts":
        if known.battery_nominal_v is None:
            return level
        return by_nominal(limit, "settings_float", known.battery_nominal_v).value
    return max(rows, limit.value("settings_share") * level)


def _shown(one: Fingerprint, limit: Limits, old: float, new: float) -> bool:
    """Whether the rows can show it, and nothing innocent explains it."""
    if one.kind == "hour":
        apart = abs(abs(new - old) - limit.value("settings_dst_h"))
        return apart > limit.value("settings_dst_slack_h") + one.dt
    if one.kind in {"start", "timer"}:
        # a timer that vanishes may be a relay that no longer pulls
        there = min(old, new) > 0.0 or one.kind == "timer"
        return there and max(old, new) >= limit.value("settings_timer_rows") * one.dt
    return True


def _steady(one: Fingerprint, limit: Limits, values: pl.Series, level: float, size: float) -> bool:
    """Nearly all values lie near their own level: timers hardly vary."""
    away = (values - level).abs()
    spread = middle(away) or 0.0
    if limit.value("settings_scatters") * spread > size:
        return False
    near = size / 2 if one.kind in {"volts", "hour"} else max(one.dt, limit.value("settings_steady_share") * level)
    outside = int((away > max(near, size / limit.value("settings_scatters") / 2)).sum())
    return outside <= values.len() * limit.value("settings_outside_share")


def _at_equal_temperature(
    limit: Limits, before: pl.DataFrame, after: pl.DataFrame
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The events of both sides that were seen at temperatures that the other side saw too."""
    known = [side["temp_c"].drop_nulls() for side in (before, after)]
    if any(side.is_empty() for side in known):
        return before, after
    slack = limit.value("settings_temp_c")
    low = max(least(side) or 0.0 for side in known) - slack
    high = min(most(side) or 0.0 for side in known) + slack
    both = pl.col("temp_c").is_between(low, high)
    return before.filter(both), after.filter(both)
