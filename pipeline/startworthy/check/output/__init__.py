"""Will it carry the load: voltage, frequency and load: the checks `output.*`."""

from startworthy.check.output import level

__all__ = ["level"]
