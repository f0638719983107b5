"""Will it carry the load: voltage, frequency and load: the checks `output.*`."""

from startworthy.check.output import carried, governor, hunting, level, speed, steps

__all__ = ["carried", "governor", "hunting", "level", "speed", "steps"]
