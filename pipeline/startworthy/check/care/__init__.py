"""Is it looked after: the checks `care.*`."""

from startworthy.check.care import mode

__all__ = ["mode"]
