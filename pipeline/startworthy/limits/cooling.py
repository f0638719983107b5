"""Default limits of the checks `cooling.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("coolant_high_c", 100.0, "Cel", "above", "practice", "", (80.0, 125.0), "set"),
    Limit("coolant_stop_c", 107.0, "Cel", "above", "published", "US Army TM 9-6115-645-24, 1-12: 225 F", (90.0, 130.0), "set"),
    Limit("coolant_high_for_s", 30.0, "s", "above", "practice", "", (1.0, 600.0), "run"),
    Limit("coolant_run_s", 600.0, "s", "below", "practice", "", (60.0, 7200.0), "run long enough to become warm"),
    Limit("warm_run_s", 900.0, "s", "below", "practice", "", (600.0, 7200.0), "run that is warm through"),
    Limit("warm_run_coarse_s", 1800.0, "s", "below", "practice", "", (900.0, 14400.0), "run that is warm through, rows far apart"),
    Limit("warm_rows_s", 120.0, "s", "above", "practice", "", (10.0, 300.0), "rows while running that count as far apart"),
    Limit("air_enclosed_c", 5.0, "Cel", "above", "practice", "", (2.0, 30.0), "warming of the ambient sensor by a run, for one in the enclosure"),
    Limit("air_rest_h", 8.0, "h", "below", "practice", "", (4.0, 48.0), "rest before a run, for a cold engine to have the air's temperature"),
    Limit("alike_load_fraction", 0.05, "1", "above", "practice", "", (0.01, 0.3), "rated load, between runs that are called alike"),
    Limit("alike_length_times", 2.0, "", "above", "practice", "", (1.0, 10.0), "length of a run, between runs that are called alike"),
    Limit("coolant_rise_c", 5.0, "Cel", "above", "practice", "", (2.0, 40.0), "coolant at equal load and air, over the log"),
    Limit("coolant_rise_runs", 12.0, "", "below", "practice", "", (8.0, 200.0), "warm runs"),
    Limit("coolant_hot_day_c", 35.0, "Cel", "above", "practice", "", (10.0, 55.0), "air of a hot day, at the least"),
    Limit("coolant_forecast_days", 1095.0, "d", "above", "practice", "", (30.0, 3660.0), "furthest date that is foretold"),
    Limit("running_cold_c", 60.0, "Cel", "below", "practice", "", (40.0, 80.0), "coolant, settled, half an hour under load"),
    Limit("running_cold_under_own_c", 10.0, "Cel", "above", "practice", "", (4.0, 30.0), "coolant, below the set's own of as easy runs"),
    Limit("running_cold_settled_c", 5.0, "Cel", "above", "practice", "", (1.0, 20.0), "highest coolant over that of the last third, for it to be settled"),
    Limit("running_cold_run_s", 1800.0, "s", "below", "practice", "", (900.0, 14400.0), "run under load"),
    Limit("running_cold_load_fraction", 0.30, "1", "below", "practice", "", (0.1, 0.9), "rated load"),
    Limit("running_cold_air_c", 0.0, "Cel", "below", "practice", "", (-20.0, 30.0), "air"),
    Limit("running_cold_alike", 3.0, "", "below", "practice", "", (1.0, 50.0), "earlier runs that were as easy"),
    Limit("heater_least_c", 32.0, "Cel", "below", "published", "NFPA 110 (1999), 5-6.7: 90 F", (10.0, 60.0), "jacket water at rest, of a set with a heater"),
    Limit("heater_over_air_c", 10.0, "Cel", "above", "practice", "", (4.0, 40.0), "coolant at rest over the air, of a heated day"),
    Limit("heater_fallen_c", 8.0, "Cel", "above", "practice", "", (3.0, 30.0), "coolant at rest, below its usual"),
    Limit("heater_known_days", 21.0, "d", "below", "practice", "", (7.0, 366.0), "heated days, for a heater to be known by them"),
    Limit("heater_off_days", 3.0, "d", "below", "practice", "", (1.0, 60.0), "days at rest without heat, up to the last"),
    Limit("heater_warm_season_c", 15.0, "Cel", "above", "practice", "", (0.0, 40.0), "air, in which a heater may be off on purpose"),
)
# fmt: on
