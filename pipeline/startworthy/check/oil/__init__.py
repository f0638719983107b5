"""Will it keep running: oil pressure: the checks `oil.*`."""

from startworthy.check.oil import building, pressure, trend

__all__ = ["building", "pressure", "trend"]
