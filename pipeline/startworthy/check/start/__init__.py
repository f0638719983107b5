"""Will it start: the checks `start.*`."""

from startworthy.check.start import cranking, demands

__all__ = ["cranking", "demands"]
