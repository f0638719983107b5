"""Default limits of the checks `cooling.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("coolant_high_c", 100.0, "Cel", "above", "practice", "", (80.0, 125.0), "set"),
    Limit("coolant_stop_c", 107.0, "Cel", "above", "published", "US Army TM 9-6115-645-24, 1-12: 225 F", (90.0, 130.0), "set"),
    Limit("coolant_high_for_s", 30.0, "s", "above", "practice", "", (1.0, 600.0), "run"),
    Limit("coolant_run_s", 600.0, "s", "below", "practice", "", (60.0, 7200.0), "run long enough to become warm"),
)
# fmt: on
