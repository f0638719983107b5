"""Default limits of the checks `log.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("log_gap_h", 24.0, "h", "above", "practice", "", (0.1, 8760.0), "gap"),
    Limit("log_coverage_fraction", 0.9, "1", "below", "practice", "", (0.1, 1.0), "log"),
    Limit("log_refused_fraction", 0.01, "1", "above", "practice", "", (0.0, 0.5), "values of a signal, or rows"),
    Limit("log_refused_carrier_fraction", 0.05, "1", "above", "practice", "", (0.0, 0.9), "values of a signal on which an answer stands, or rows"),
    Limit("log_refused_many_fraction", 0.20, "1", "above", "practice", "", (0.0, 0.9), "values of any signal"),
    Limit("log_refused_least", 10.0, "", "below", "practice", "", (1.0, 1000.0), "values of a signal"),
)
# fmt: on
