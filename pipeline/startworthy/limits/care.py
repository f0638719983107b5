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
    Limit("power_cuts", 0.0, "", "above", "practice", "", (0.0, 100.0), "runs ended by taking the supply away"),
    Limit("power_cut_rows_s", 60.0, "s", "above", "practice", "", (1.0, 300.0), "rows while running that show a break"),
    Limit("power_cut_close_rows_s", 10.0, "s", "above", "practice", "", (1.0, 60.0), "rows while running that show a cool-down"),
    Limit("power_cut_clock_days", 1.0, "d", "above", "practice", "", (0.1, 36500.0), "step back of the clock"),
    Limit("power_cut_gap_steps", 2.0, "", "above", "practice", "", (1.0, 20.0), "gap after the run, in steps of the hour meter"),
    Limit("power_cut_unloaded_s", 60.0, "s", "below", "practice", "", (1.0, 600.0), "time without load before the last row"),
    Limit("power_cut_no_cool_down", 3.0, "", "below", "practice", "", (2.0, 20.0), "runs that break off under load"),
    Limit("hours_rounding_h", 0.1, "h", "above", "practice", "", (0.001, 1.0), "step of the hour meter, where its values are not whole"),
    Limit("service_after_h", 250.0, "h", "above", "practice", "", (10.0, 5000.0), "running since the last service"),
    Limit("service_after_months", 12.0, "mo", "above", "practice", "", (1.0, 120.0), "the last service"),
    Limit("service_near_fraction", 0.1, "1", "below", "practice", "", (0.0, 0.5), "hours between services that are left"),
    Limit("service_near_days", 30.0, "d", "below", "practice", "", (0.0, 365.0), "time until the service is due"),
    Limit("service_usage_days", 30.0, "d", "below", "practice", "", (7.0, 3660.0), "covered days that tell the usage"),
    Limit("service_far_days", 3660.0, "d", "above", "practice", "", (365.0, 36600.0), "forecast that is no date any more"),
    Limit("hours_rows", 3.0, "", "above", "practice", "", (1.0, 10.0), "error of running time that rows apart may make"),
    Limit("hours_disagree_fraction", 0.1, "1", "above", "practice", "", (0.01, 1.0), "running time"),
    Limit("hours_stopped_steps", 3.0, "", "above", "practice", "", (1.0, 50.0), "running time without advance, in steps of the hour meter"),
    Limit("hours_least_runs", 5.0, "", "below", "practice", "", (1.0, 100.0), "whole runs with the hour meter known"),
    Limit("hours_at_rest_h", 1.0, "h", "above", "practice", "", (0.1, 100.0), "advance of the hour meter at rest"),
    Limit("hours_at_rest_times", 1.0, "", "above", "practice", "", (0.1, 100.0), "advance of the hour meter at rest, in hours run"),
    Limit("light_running_fraction", 0.3, "1", "below", "published", "NFPA 110, 8.4.2", (0.05, 0.8), "rated load, mean of a run"),
    Limit("light_running_rows", 4.0, "", "below", "practice", "", (1.0, 100.0), "rows of a run"),
    Limit("light_running_share", 0.5, "1", "above", "practice", "", (0.0, 1.0), "hours with load known since it was last burnt clean"),
    Limit("light_running_h", 10.0, "h", "above", "practice", "", (1.0, 1000.0), "light running since it was last burnt clean"),
    Limit("light_running_long_h", 100.0, "h", "above", "practice", "", (1.0, 10000.0), "light running since it was last burnt clean"),
    Limit("burnt_clean_fraction", 0.5, "1", "below", "published", "NFPA 110, 8.4.2.3, editions from 2010", (0.3, 1.0), "rated load, mean of a run"),
    Limit("burnt_clean_s", 1800.0, "s", "below", "published", "NFPA 110, 8.4.2.3, editions from 2010", (600.0, 14400.0), "run at that load"),
    Limit("protection_silent_s", 30.0, "s", "above", "practice", "", (5.0, 600.0), "spell beyond the stop limit"),
    Limit("protection_silent_rows", 3.0, "", "above", "practice", "", (1.0, 20.0), "spell beyond the stop limit, in intervals of rows"),
    Limit("protection_rows_s", 60.0, "s", "above", "practice", "", (1.0, 300.0), "rows while running"),
    Limit("protection_overspeed_fraction", 1.15, "1", "above", "practice", "", (1.02, 1.3), "rated speed, reached by two rows in a row"),
    Limit("protection_still_kpa", 10.0, "kPa", "below", "practice", "", (1.0, 50.0), "oil pressure while running, from that at rest"),
    Limit("protection_still_c", 1.0, "Cel", "below", "practice", "", (0.1, 10.0), "coolant while running, from that before"),
    Limit("protection_cold_c", 60.0, "Cel", "above", "practice", "", (20.0, 90.0), "coolant before a run that has to warm it"),
    Limit("protection_warm_run_s", 900.0, "s", "below", "practice", "", (300.0, 7200.0), "run that has to warm the coolant"),
    Limit("protection_least_runs", 3.0, "", "below", "practice", "", (2.0, 50.0), "runs that show whether a value answers"),
)
# fmt: on
