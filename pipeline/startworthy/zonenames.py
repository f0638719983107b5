"""Names of time zones as people write them: the IANA name, or what was meant instead."""

from __future__ import annotations

import re
from zoneinfo import ZoneInfo, available_timezones

from startworthy.tomlfaults import nearest, setting_fault, shown


def require_zone(zone: str) -> ZoneInfo:
    """The zone of that IANA name. Raises ValueError that says what is wrong and what would mend it."""
    try:
        # a name that is a path, a folder of the zone tables, or endless, is none
        return ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        from startworthy.words import texts

        code, values = zone_fault(zone)
        told = {"value": shown(zone), **values}
        raise ValueError(texts("problems")["problems"][code].format_map(told)) from None


def check_zone(zone: str) -> None:
    """As `require_zone`, for a validator: raises the fault of the value."""
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        code, values = zone_fault(zone)
        raise setting_fault(code, **values) from None


def zone_fault(zone: str) -> tuple[str, dict[str, str]]:
    """Code and values of the sentence for a name that is no zone."""
    offset = re.fullmatch(r"(?i)\s*(?:utc|gmt)?\s*([+-])\s*0?(\d{1,2})(?::?00)?\s*", zone)
    if offset and int(offset[2]) <= 12:
        # in these names alone west is plus
        turned = "-" if offset[1] == "+" else "+"
        return "setting_zone_offset", {"near": f"Etc/GMT{turned}{int(offset[2])}"}
    near = nearest(zone, available_timezones(), 0.5)
    return ("setting_unknown_zone", {"near": near}) if near else ("setting_unknown_zone_far", {})
