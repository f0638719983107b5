"""Will it keep running: oil pressure: the checks `oil.*`."""

from startworthy.check.oil import pressure

__all__ = ["pressure"]
