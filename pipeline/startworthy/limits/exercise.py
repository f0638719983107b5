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
)
# fmt: on
