"""Whose summer time a step of a clock is: the changes of the IANA zones, held against two face values."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from itertools import islice
from zoneinfo import ZoneInfo

ZONES = (
    "Europe/Berlin", "Europe/London", "Europe/Athens", "Europe/Chisinau", "America/New_York", "America/Chicago",
    "America/Denver", "America/Los_Angeles", "America/Anchorage", "America/Halifax", "America/St_Johns",
    "America/Havana",
    "Australia/Sydney", "Australia/Adelaide", "Australia/Lord_Howe", "Pacific/Auckland", "Pacific/Chatham",
    "America/Santiago", "America/Asuncion", "America/Sao_Paulo", "Asia/Jerusalem", "Asia/Beirut", "Africa/Cairo",
    "Asia/Tehran", "America/Mexico_City", "Africa/Casablanca",
)  # fmt: skip
"""One zone of each rule that is, or lately was, in force, the commonest first. Source: IANA time zone database."""

STEPS_S = (3600.0, 1800.0)
"""By how much clocks are put forward and back."""
_PAIRS_MOST = 500


def summer_time(before: datetime, after: datetime, usual_s: float) -> str | None:
    """The first zone whose clocks were put forward or back between two rows, or None.

    before, after: face values of two rows that follow one another; usual_s: how far apart such rows are. None also
    where the step between them, less the usual interval, is no half or whole hour.
    """
    step_s = (after - before).total_seconds() - usual_s
    slack_s = max(usual_s, 1.0)
    if not any(abs(abs(step_s) - whole) <= slack_s for whole in STEPS_S):
        return None
    for zone in ZONES:
        for edge, moved_s in _changes(zone, before.year, before.month):
            # the last row before the change stands at most one interval before it
            since_s = (edge - before.replace(tzinfo=None)).total_seconds()
            if abs(moved_s - step_s) <= slack_s and -1.0 <= since_s <= 2 * slack_s + 1.0:
                return zone
    return None


def zone_of(pairs: Iterable[tuple[datetime, datetime]], usual_s: float) -> str | None:
    """The zone of the first of these pairs of rows between which a zone's clocks were put forward or back, or None."""
    for before, after in islice(pairs, _PAIRS_MOST):
        zone = summer_time(before, after, usual_s)
        if zone is not None:
            return zone
    return None


def nearest_step(size_s: float) -> float:
    """The step of clocks that lies nearest to a size, in seconds."""
    return min(STEPS_S, key=lambda step: abs(step - abs(size_s)))


@lru_cache(maxsize=1024)
def _changes(zone: str, year: int, month: int) -> tuple[tuple[datetime, float], ...]:
    """Changes from a month's first day to some days beyond its end: face value just before it, and seconds put on."""
    info = ZoneInfo(zone)
    at = datetime(year, month, 1, tzinfo=UTC) - timedelta(days=1)
    found = []
    for _ in range(34):
        low, high = at, at + timedelta(days=1)
        was, now = _offset(low, info), _offset(high, info)
        at = high
        if was == now:
            continue
        while high - low > timedelta(minutes=15):
            middle = low + (high - low) / 2
            low, high = (middle, high) if _offset(middle, info) == was else (low, middle)
        # every change of these rules lies on a quarter hour
        instant = datetime.fromtimestamp(round(high.timestamp() / 900) * 900, UTC)
        if _offset(instant, info) == was:
            instant += timedelta(minutes=15)
        if _offset(instant - timedelta(minutes=15), info) != was:
            instant -= timedelta(minutes=15)
        found.append((instant.replace(tzinfo=None) + was, (now - was).total_seconds()))
    return tuple(found)


def _offset(at: datetime, zone: ZoneInfo) -> timedelta:
    offset = at.astimezone(zone).utcoffset()
    assert offset is not None
    return offset
