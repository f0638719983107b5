"""The starting battery and its charger: the checks `battery.*`."""

from startworthy.check.battery import cell, change, charging, cranking, rest, standing

__all__ = ["cell", "change", "charging", "cranking", "rest", "standing"]
