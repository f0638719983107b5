"""Can the log be trusted: the checks `log.*`."""

from startworthy.check.log import order, rows, sensors

__all__ = ["order", "rows", "sensors"]
