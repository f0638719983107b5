"""The third stage: readings in, the five tables of the logbook out."""

from startworthy.callable_stage import make_callable

make_callable(__name__)
