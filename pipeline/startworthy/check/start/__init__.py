"""Will it start: the checks `start.*`."""

from startworthy.check.start import cranking, demands, preheat, ready, reliability, rest, speed, stalled

__all__ = ["cranking", "demands", "preheat", "ready", "reliability", "rest", "speed", "stalled"]
