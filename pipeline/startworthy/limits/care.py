"""Default limits of the checks `care.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("not_in_auto_h", 24.0, "h", "above", "practice", "", (0.1, 720.0), "spell out of automatic"),
    Limit("not_in_auto_long_h", 72.0, "h", "above", "practice", "", (0.1, 2160.0), "spell out of automatic that has ended"),
    Limit("not_in_auto_now_h", 1.0, "h", "above", "practice", "", (0.1, 720.0), "spell out of automatic at the log's end"),
    Limit("by_hand_runs", 3.0, "", "below", "practice", "", (1.0, 50.0), "runs of a set that was never seen in automatic"),
    Limit("outage_missed_s", 60.0, "s", "above", "practice", "", (5.0, 86400.0), "loss of mains"),
    Limit("outage_rows", 3.0, "", "above", "practice", "", (1.0, 20.0), "loss of mains, in intervals of rows"),
    Limit("outage_delays", 2.0, "", "above", "practice", "", (1.0, 10.0), "loss of mains, in usual start delays of the set"),
    Limit("outage_unlearnt_s", 300.0, "s", "above", "practice", "", (5.0, 86400.0), "loss of mains, start delay not known"),
)
# fmt: on
