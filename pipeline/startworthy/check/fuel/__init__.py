"""Will it keep running: fuel: the checks `fuel.*`."""

from startworthy.check.fuel import empty, level, reserve, use

__all__ = ["empty", "level", "reserve", "use"]
