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
    Limit("oil_fall_kpa", 40.0, "kPa", "above", "practice", "", (10.0, 300.0), "warm pressure at equal temperature and load, over the log"),
    Limit("oil_fall_runs", 15.0, "", "below", "practice", "", (8.0, 200.0), "warm runs"),
    Limit("oil_follows_air_share", 0.5, "1", "above", "practice", "", (0.0, 1.0), "warming of the air, by which the sump warms"),
    Limit("oil_thinning_share", 0.5, "1", "above", "practice", "", (0.1, 1.0), "power of the viscosity with which pressure goes"),
    Limit("oil_forecast_days", 1095.0, "d", "above", "practice", "", (30.0, 3660.0), "furthest date that is foretold"),
    Limit("oil_build_s", 15.0, "s", "above", "practice", "", (5.0, 120.0), "run, from firing to the stop limit"),
    Limit("oil_build_cold_s", 20.0, "s", "above", "practice", "", (5.0, 180.0), "run begun in hard frost"),
    Limit("oil_build_coarse_s", 20.0, "s", "above", "practice", "", (10.0, 180.0), "run, rows not close"),
    Limit("oil_build_rows_s", 5.0, "s", "above", "practice", "", (1.0, 10.0), "rows while running that count as close"),
    Limit("oil_build_coarse_rows_s", 12.0, "s", "above", "practice", "", (5.0, 20.0), "rows while running, at the most"),
    Limit("oil_build_frost_c", -10.0, "Cel", "below", "practice", "", (-30.0, 10.0), "coolant or air before a run in hard frost"),
)
# fmt: on
