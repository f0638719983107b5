"""Can the log be trusted: the checks `log.*`."""

from startworthy.check.log import clock, order, rows, sensors

__all__ = ["clock", "order", "rows", "sensors"]
