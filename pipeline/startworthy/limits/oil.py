"""Default limits of the checks `oil.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("oil_low_kpa", 103.0, "kPa", "below", "published", "US Army TM 9-6115-645-24, 1-12: 15 psi, give or take 3", (30.0, 300.0), "set, at rated speed"),
    Limit("oil_warn_kpa", 138.0, "kPa", "below", "practice", "", (50.0, 400.0), "set, at rated speed"),
    Limit("oil_settle_s", 15.0, "s", "above", "practice", "", (5.0, 60.0), "firing"),
    Limit("oil_low_for_s", 5.0, "s", "above", "practice", "", (1.0, 60.0), "spell below the stop limit, rows close"),
    Limit("oil_low_rows", 1.5, "", "above", "practice", "", (1.0, 10.0), "spell below the stop limit, in intervals of rows"),
    Limit("oil_close_rows_s", 10.0, "s", "above", "practice", "", (1.0, 60.0), "rows while running that count as close"),
    Limit("oil_low_lasting_s", 180.0, "s", "above", "practice", "", (60.0, 3600.0), "spell below the stop limit, rows not close"),
    Limit("oil_seen_within_s", 120.0, "s", "above", "practice", "", (10.0, 300.0), "rows while running"),
)
# fmt: on
