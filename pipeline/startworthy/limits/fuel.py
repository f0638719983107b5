"""Default limits of the checks `fuel.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("fuel_low_fraction", 0.25, "1", "below", "practice", "", (0.05, 0.9), "tank"),
    Limit("fuel_stop_fraction", 0.10, "1", "below", "practice", "", (0.0, 0.5), "tank"),
    Limit("fuel_near_stop_fraction", 0.05, "1", "above", "practice", "", (0.0, 0.5), "tank, above the low-fuel stop"),
    Limit("fuel_lost_sudden_fraction", 0.05, "1", "above", "practice", "", (0.01, 0.5), "tank, within a day at rest"),
    Limit("fuel_lost_urgent_fraction", 0.20, "1", "above", "practice", "", (0.02, 1.0), "tank, within a day at rest"),
    Limit("fuel_lost_week_fraction", 0.01, "1", "above", "practice", "", (0.001, 0.2), "tank, a week at rest"),
    Limit("fuel_lost_least_fraction", 0.02, "1", "above", "practice", "", (0.002, 0.2), "tank, over the whole fall"),
    Limit("fuel_lost_noise", 3.0, "", "above", "practice", "", (1.0, 10.0), "scatter of the sender, over the whole fall"),
    Limit("fuel_lost_per_c_fraction", 0.001, "1", "above", "practice", "", (0.0, 0.01), "contents, for each degree of cooling"),
    Limit("fuel_lost_days", 14.0, "", "below", "practice", "", (7.0, 366.0), "days at rest"),
    Limit("fuel_lost_window_days", 28.0, "", "above", "practice", "", (14.0, 366.0), "latest days at rest that are judged on their own"),
)
# fmt: on
