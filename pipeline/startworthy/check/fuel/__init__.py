"""Will it keep running: fuel: the checks `fuel.*`."""

from startworthy.check.fuel import level

__all__ = ["level"]
