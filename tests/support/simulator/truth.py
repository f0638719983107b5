"""What really happened to a simulated set: the figures that a report is held against."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from startworthy.register import Register


@dataclass(frozen=True)
class DemandTruth:
    """One demand. Instants in seconds from the log's beginning; attempts as (crank from, to, fired)."""

    asked_at: float
    cause: str
    attempts: tuple[tuple[float, float, bool], ...]
    ran: tuple[float, float] | None
    ended_by: str
    fuel_l: float


@dataclass(frozen=True)
class Truth:
    """Totals over what the log spans. expected: codes that must be found where they can be seen; allowed: what may follow."""

    kind: str
    seed: int
    cadence: str
    set_id: str
    begins: datetime
    days: float
    onset: datetime | None
    expected: frozenset[str]
    allowed: frozenset[str]
    demands: int
    failed_demands: int
    attempts: int
    runs: int
    running_h: float
    fuel_used_l: float
    demand_list: tuple[DemandTruth, ...]
    register: Register
    columns: frozenset[str]
    rest_row_s: float
    run_row_s: float
    notes: tuple[str, ...] = ()
    figures: dict[str, Any] = field(default_factory=dict)
