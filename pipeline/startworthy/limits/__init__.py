"""Every default threshold: value, unit, the side on which it is broken, and where it comes from. Data, not code.

A register may replace any of them by name, for one set, from that set's own manual; the report then says so.
`published` names its source; `practice` is common practice without a source; `memory` is recalled, not re-read.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import replace

from startworthy.limits import battery, care, common, cooling, exercise, fuel, log, oil, output, start
from startworthy.limits.record import Limit

__all__ = ["BY_NAME", "LIMITS", "Limit", "Limits"]

LIMITS: tuple[Limit, ...] = tuple(
    limit
    for group in (common, start, battery, exercise, output, cooling, oil, fuel, care, log)
    for limit in group.LIMITS
)

BY_NAME: dict[str, Limit] = {limit.name: limit for limit in LIMITS}


class Limits:
    """The limits in force for one set: the defaults, with the register's own values put in their place."""

    def __init__(self, own: Mapping[str, float] | None = None) -> None:
        """`own`: limit name to value, from the register. Raises KeyError for an unknown name, ValueError for an insane value."""
        self._own = dict(own or {})
        for name, value in self._own.items():
            if name not in BY_NAME:
                near = difflib.get_close_matches(name, BY_NAME, n=1)
                raise KeyError(f"{name}" + (f": did you mean {near[0]}?" if near else ""))
            replace(BY_NAME[name], value=value)

    def __getitem__(self, name: str) -> Limit:
        limit = BY_NAME[name]
        if name in self._own:
            return replace(limit, value=self._own[name], basis="register", source="register")
        return limit

    def value(self, name: str) -> float:
        """The number alone."""
        return self[name].value
