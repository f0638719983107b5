"""The second stage: what is impossible is refused and counted, what is left is held against a model."""

from startworthy.validate.clean import clean
from startworthy.validate.models import checked_readings, readings_model

__all__ = ["checked_readings", "clean", "readings_model"]
