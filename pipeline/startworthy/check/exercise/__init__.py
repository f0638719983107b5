"""Does the set run now and then to stay ready: the checks `exercise.*`."""

from startworthy.check.exercise import kept

__all__ = ["kept"]
