"""The starting battery and its charger: the checks `battery.*`."""

from startworthy.check.battery import charging, cranking, rest

__all__ = ["charging", "cranking", "rest"]
