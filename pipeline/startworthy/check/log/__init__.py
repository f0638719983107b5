"""Can the log be trusted: the checks `log.*`."""

from startworthy.check.log import rows

__all__ = ["rows"]
