"""Is it looked after: the checks `care.*`."""

from startworthy.check.care import cut, mode, outages

__all__ = ["cut", "mode", "outages"]
