"""Will it keep running: coolant: the checks `cooling.*`."""

from startworthy.check.cooling import hot

__all__ = ["hot"]
