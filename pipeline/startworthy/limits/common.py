"""How far back a fault still counts, how often it must be seen, and how sure a slope must be."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("fault_recent_days", 90.0, "d", "above", "practice", "", (1.0, 3660.0), "age of a fault at the log's end"),
    Limit("fault_good_since", 3.0, "", "below", "practice", "", (1.0, 100.0), "good ones in a row since the fault"),
    Limit("recent_starts", 5.0, "", "above", "practice", "", (2.0, 100.0), "latest starts that are judged"),
    Limit("recent_runs", 5.0, "", "above", "practice", "", (2.0, 100.0), "latest runs that are judged"),
    Limit("recent_repeats", 1.0, "", "above", "practice", "", (0.0, 50.0), "of the latest ones"),
    Limit("trend_confidence", 0.95, "1", "below", "practice", "", (0.5, 0.999), "interval of a slope"),
    Limit("false_discovery_rate", 0.05, "1", "above", "published", "Benjamini and Hochberg (1995)", (0.001, 0.5), "statistical findings of a whole run that may be chance"),
)
# fmt: on
