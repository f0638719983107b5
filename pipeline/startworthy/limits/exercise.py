"""Default limits of the checks `exercise.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("exercise_missed_intervals", 1.5, "", "above", "practice", "", (1.0, 4.0), "planned interval without any run"),
    Limit("exercise_log_intervals", 2.0, "", "below", "practice", "", (1.0, 10.0), "planned intervals that the log covers"),
    Limit("exercise_good_since", 4.0, "", "below", "practice", "", (1.0, 50.0), "exercises in time since the one missed"),
    Limit("exercise_seen_within_s", 60.0, "s", "above", "practice", "", (1.0, 600.0), "rows at rest, length of exercise not known"),
    Limit("exercise_rows", 3.0, "", "below", "practice", "", (1.0, 20.0), "rows within an exercise"),
    Limit("exercise_short_share", 0.8, "1", "below", "practice", "", (0.1, 1.0), "planned minutes"),
    Limit("exercise_recent", 4.0, "", "above", "practice", "", (2.0, 50.0), "latest exercises that are judged"),
    Limit("exercise_habit_least", 4.0, "", "below", "practice", "", (2.0, 50.0), "earlier exercises that make a habit"),
    Limit("exercise_habit_s", 1800.0, "s", "above", "practice", "", (60.0, 14400.0), "start away from the habit's hour"),
    Limit("exercise_load_fraction", 0.3, "1", "below", "published", "NFPA 110 8.4.2", (0.05, 1.0), "rated load, warm-up and cool-down left out"),
    Limit("exercise_load_slack_share", 0.9, "1", "below", "practice", "", (0.5, 1.0), "least load, for what a load varies by itself"),
    Limit("exercise_load_rows", 4.0, "", "below", "practice", "", (2.0, 100.0), "rows in an exercise for a mean load"),
    Limit("exercise_hot_c", 71.0, "Cel", "below", "published", "US Army TM 9-6115-464-12 2-13", (40.0, 95.0), "warmest coolant of a long exercise"),
    Limit("exercise_hot_slack_c", 2.0, "Cel", "below", "practice", "", (0.0, 10.0), "thermostat and sensor"),
    Limit("exercise_hot_coarse_c", 8.0, "Cel", "below", "practice", "", (0.0, 30.0), "what coolant may rise by after the last row, rows minutes apart"),
    Limit("exercise_coolant_rise_c", 10.0, "Cel", "below", "practice", "", (2.0, 40.0), "rise of the coolant that shows a living sensor"),
    Limit("exercise_hot_plan_minutes", 45.0, "min", "below", "practice", "", (10.0, 240.0), "plan that is meant to warm the engine through"),
    Limit("exercise_hot_after_minutes", 30.0, "min", "below", "practice", "", (10.0, 240.0), "exercise that is judged by its coolant"),
    Limit("exercise_moved_h", 2.0, "h", "above", "practice", "", (1.0, 12.0), "hour of the latest exercises away from the habit's"),
    Limit("exercise_moved_days", 0.5, "d", "above", "practice", "", (0.1, 3.0), "weekday of the latest exercises away from the habit's"),
    Limit("exercise_moved_ratio", 1.5, "", "above", "practice", "", (1.1, 10.0), "interval of the latest exercises and the habit's, the longer over the shorter"),
    Limit("exercise_moved_least", 3.0, "", "below", "practice", "", (2.0, 50.0), "exercises that keep to the new time"),
    Limit("exercise_slot_minutes", 90.0, "min", "above", "practice", "", (30.0, 360.0), "from one time of day to the next of the same habit"),
    Limit("exercise_timer_h", 1.0, "h", "above", "practice", "", (0.1, 12.0), "whole interval since a run by hand or in an outage"),
    Limit("exercise_kept_share", 0.75, "1", "below", "practice", "", (0.5, 1.0), "earlier exercises on the habit's weekday"),
    Limit("exercise_like_share", 0.5, "1", "below", "practice", "", (0.1, 1.0), "length of a run that may be an exercise"),
)
# fmt: on
