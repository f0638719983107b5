"""Is it looked after: the checks `care.*`."""

from startworthy.check.care import cut, mode, outages, service

__all__ = ["cut", "mode", "outages", "service"]
