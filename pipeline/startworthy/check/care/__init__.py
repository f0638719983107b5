"""Is it looked after: the checks `care.*`."""

from startworthy.check.care import cut, hours, mode, outages, service

__all__ = ["cut", "hours", "mode", "outages", "service"]
