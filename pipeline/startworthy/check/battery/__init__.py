"""The starting battery and its charger: the checks `battery.*`."""

from startworthy.check.battery import change, charging, cranking, rest, standing

__all__ = ["change", "charging", "cranking", "rest", "standing"]
