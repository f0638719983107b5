"""Default limits of the checks `care.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("not_in_auto_h", 24.0, "h", "above", "practice", "", (0.1, 720.0), "spell out of automatic"),
    Limit("not_in_auto_long_h", 72.0, "h", "above", "practice", "", (0.1, 2160.0), "spell out of automatic that has ended"),
    Limit("not_in_auto_now_h", 1.0, "h", "above", "practice", "", (0.1, 720.0), "spell out of automatic at the log's end"),
    Limit("by_hand_runs", 3.0, "", "below", "practice", "", (1.0, 50.0), "runs of a set that was never seen in automatic"),
)
# fmt: on
