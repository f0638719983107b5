"""Is it looked after: the checks `care.*`."""

from startworthy.check.care import cut, hours, load, locked, mode, outages, protection, service, settings

__all__ = ["cut", "hours", "load", "locked", "mode", "outages", "protection", "service", "settings"]
