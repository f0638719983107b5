"""The starting battery and its charger: the checks `battery.*`."""

from startworthy.check.battery import cranking, rest

__all__ = ["cranking", "rest"]
