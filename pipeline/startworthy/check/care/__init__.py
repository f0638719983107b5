"""Is it looked after: the checks `care.*`."""

from startworthy.check.care import mode, outages

__all__ = ["mode", "outages"]
