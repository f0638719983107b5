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
    Limit("clock_back_s", 120.0, "s", "above", "practice", "", (1.0, 7200.0), "step back of the clock"),
    Limit("clock_fell_back_days", 30.0, "d", "above", "practice", "", (1.0, 3660.0), "step back of the clock"),
    Limit("clock_ahead_days", 1.0, "d", "above", "practice", "", (0.1, 366.0), "last row beyond the present"),
    Limit("clock_earliest_year", 1990.0, "", "below", "practice", "", (1970.0, 2030.0), "year of the last row"),
    Limit("clock_beside_s", 60.0, "s", "above", "practice", "", (1.0, 7200.0), "difference of two clocks on one mains"),
    Limit("clock_drift_s", 2.0, "s", "above", "practice", "", (0.1, 600.0), "day, of two clocks on one mains"),
    Limit("log_contradicts_fraction", 0.15, "1", "above", "practice", "", (0.05, 0.5), "figure of the register"),
    Limit("log_two_values", 0.0, "", "above", "practice", "", (0.0, 1000.0), "instants for which two files say different things"),
    Limit("sensor_alive_days", 30.0, "d", "below", "practice", "", (3.0, 366.0), "days with values"),
    Limit("sensor_silent_days", 2.0, "d", "above", "practice", "", (1.0, 60.0), "days without a value since"),
    Limit("sensor_silent_runs", 1.0, "", "above", "practice", "", (0.0, 20.0), "days with a run without a value since"),
    Limit("sensor_several", 2.0, "", "above", "practice", "", (1.0, 20.0), "signals lost at one time"),
    Limit("sensor_run_s", 600.0, "s", "below", "practice", "", (60.0, 3600.0), "run long enough to move a sensor"),
    Limit("sensor_run_rows", 3.0, "", "below", "practice", "", (2.0, 100.0), "rows of a run"),
    Limit("stuck_runs", 2.0, "", "above", "practice", "", (1.0, 20.0), "days with a run, at one and the same value"),
    Limit("stuck_fuel_runs_h", 12.0, "h", "above", "practice", "", (1.0, 200.0), "running at one and the same level, no earlier record"),
    Limit("stuck_fuel_expected_fraction", 0.05, "1", "above", "practice", "", (0.01, 0.5), "tank that running must have used, by the record before"),
    Limit("stuck_air_days", 21.0, "d", "below", "practice", "", (3.0, 366.0), "days at one and the same value"),
    Limit("stuck_air_moves_c", 6.0, "Cel", "above", "practice", "", (1.0, 30.0), "range of the resting engine in that time"),
    Limit("spikes_least", 10.0, "", "above", "practice", "", (1.0, 10000.0), "lone wild values of one signal"),
    Limit("spikes_many", 200.0, "", "above", "practice", "", (2.0, 100000.0), "lone wild values of one signal"),
    Limit("spikes_seen_within_s", 60.0, "s", "above", "practice", "", (1.0, 300.0), "rows at rest"),
)
# fmt: on
