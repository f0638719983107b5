"""The starting battery and its charger: the checks `battery.*`."""

from startworthy.check.battery import charging, cranking, rest, standing

__all__ = ["charging", "cranking", "rest", "standing"]
