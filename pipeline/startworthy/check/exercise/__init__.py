"""Does the set run now and then to stay ready: the checks `exercise.*`."""

from startworthy.check.exercise import kept, load, moved, warmth

__all__ = ["kept", "load", "moved", "warmth"]
