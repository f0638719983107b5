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
    Limit("fuel_bottom_fraction", 0.05, "1", "below", "practice", "", (0.0, 0.2), "tank, at the end of a run"),
    Limit("fuel_sag_fraction", 0.05, "1", "above", "practice", "", (0.01, 0.5), "speed, sagging and coming back before a stop"),
    Limit("fuel_sag_rows_s", 5.0, "s", "above", "practice", "", (1.0, 30.0), "rows while running that show a sag"),
    Limit("fuel_fastest_share", 0.25, "1", "above", "practice", "", (0.05, 2.0), "tank, burnt in an hour at the most"),
    Limit("fuel_span_share", 0.10, "1", "below", "practice", "", (0.05, 0.5), "tank, used over a stretch of runs"),
    Limit("fuel_span_rest_share", 0.25, "1", "above", "practice", "", (0.05, 0.5), "use of a stretch, lost or won at rest within it"),
    Limit("fuel_run_s", 600.0, "s", "below", "practice", "", (60.0, 7200.0), "run with a flow signal"),
    Limit("fuel_idle_low_share", 0.10, "1", "below", "memory", "", (0.02, 0.5), "fuel at full load, burnt idling, at the least"),
    Limit("fuel_idle_high_share", 0.30, "1", "above", "memory", "", (0.05, 0.6), "fuel at full load, burnt idling, at the most"),
    Limit("fuel_level_noise_fraction", 0.002, "1", "below", "practice", "", (0.0, 0.05), "tank, scatter of one level at the least"),
    Limit("fuel_rate_spans", 2.0, "", "below", "practice", "", (2.0, 50.0), "stretches of runs, before and after each"),
    Limit("fuel_rate_high_times", 1.2, "", "above", "practice", "", (1.05, 5.0), "own use at equal load"),
    Limit("fuel_rate_curve_times", 1.3, "", "above", "practice", "", (1.05, 5.0), "use by the register's curve"),
    Limit("fuel_autonomy_h", 8.0, "h", "below", "practice", "", (0.5, 240.0), "set, at its usual load"),
    Limit("fuel_autonomy_share", 0.5, "1", "below", "practice", "", (0.05, 1.0), "what a full tank gives"),
    Limit("fuel_full_fraction", 0.95, "1", "above", "practice", "", (0.5, 1.0), "tank, when it is called full"),
    Limit("fuel_loaded_fraction", 0.05, "1", "below", "practice", "", (0.0, 0.5), "rated load, for a run to count as loaded"),
    Limit("fuel_least_per_kwh", 0.30, "", "below", "memory", "", (0.15, 1.0), "litres for a kWh, at the least"),
    Limit("fuel_most_per_kwh", 0.40, "", "above", "memory", "", (0.2, 2.0), "litres for a kWh, at the most"),
    Limit("fuel_curve_error_share", 0.10, "1", "above", "practice", "", (0.0, 0.5), "use by the register's curve, either way"),
    Limit("fuel_part_full_fraction", 0.5, "1", "below", "practice", "", (0.1, 0.95), "tank, day after day"),
    Limit("fuel_part_full_days", 30.0, "d", "below", "practice", "", (7.0, 366.0), "tank below half"),
    Limit("fuel_held_c", 1.0, "Cel", "below", "practice", "", (0.0, 5.0), "scatter of the resting coolant that a heater holds"),
    Limit("fuel_part_full_c", 15.0, "Cel", "below", "practice", "", (-20.0, 40.0), "air, for water to gather in a tank"),
)
# fmt: on
