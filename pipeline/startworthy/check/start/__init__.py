"""Will it start: the checks `start.*`."""

from startworthy.check.start import cranking, demands, ready, reliability

__all__ = ["cranking", "demands", "ready", "reliability"]
