"""Will it keep running: coolant: the checks `cooling.*`."""

from startworthy.check.cooling import cold, hot, trend

__all__ = ["cold", "hot", "trend"]
