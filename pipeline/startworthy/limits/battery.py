"""Default limits of the checks `battery.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

_12V = "12 V battery"
_24V = "24 V battery"
_BCI = "battery load-test table (BCI), reprinted in service manuals"
_TRAINING = "workshop training text: 13.5-15.0 V (12 V), 27-29 V (24 V) while running, below 26.5 V not charged, above 30 V overcharged"
_OPEN_CIRCUIT = "open-circuit table, handbook (BCI style): 25 % charged at 26.7 C"

# fmt: off
LIMITS: tuple[Limit, ...] = (
    Limit("battery_crank_low_12_v", 9.6, "V", "below", "published", _BCI, (6.0, 12.0), f"{_12V} at 20 C, lower in the cold by the table"),
    Limit("battery_crank_low_24_v", 19.2, "V", "below", "published", f"{_BCI}, two 12 V units", (12.0, 24.0), f"{_24V} at 20 C, lower in the cold by the table"),
    Limit("battery_crank_rows", 3.0, "", "below", "practice", "", (1.0, 100.0), "rows seen cranking"),
    Limit("battery_crank_few_starts", 10.0, "", "below", "practice", "", (3.0, 100.0), "starts with fewer rows each"),
    Limit("battery_crank_seen_within_s", 2.0, "s", "above", "practice", "", (0.1, 10.0), "rows around a start"),
    Limit("battery_coolant_c", 45.0, "Cel", "above", "practice", "", (20.0, 80.0), "coolant that stands in for the battery's temperature"),
    Limit("battery_rest_low_12_v", 12.4, "V", "below", "practice", "", (11.5, 13.2), _12V),
    Limit("battery_rest_low_24_v", 24.8, "V", "below", "practice", "", (23.0, 26.4), _24V),
    Limit("battery_rest_flat_12_v", 12.06, "V", "below", "published", _OPEN_CIRCUIT, (11.0, 12.6), _12V),
    Limit("battery_rest_flat_24_v", 24.12, "V", "below", "published", f"{_OPEN_CIRCUIT}, two 12 V units", (22.0, 25.2), _24V),
    Limit("battery_near_flat_12_v", 0.05, "V", "above", "practice", "", (0.0, 0.5), f"{_12V}, above flat"),
    Limit("battery_near_flat_24_v", 0.1, "V", "above", "practice", "", (0.0, 1.0), f"{_24V}, above flat"),
    Limit("battery_sealed_higher_12_v", 0.15, "V", "above", "memory", "", (0.0, 0.5), f"{_12V}, AGM or gel over flooded at rest"),
    Limit("battery_sealed_higher_24_v", 0.3, "V", "above", "memory", "", (0.0, 1.0), f"{_24V}, AGM or gel over flooded at rest"),
    Limit("battery_float_low_12_v", 13.1, "V", "below", "practice", "", (12.6, 14.0), _12V),
    Limit("battery_float_low_24_v", 26.2, "V", "below", "practice", "", (25.2, 28.0), _24V),
    Limit("battery_rest_days", 3.0, "", "below", "practice", "", (1.0, 60.0), "days at rest in a row"),
    Limit("battery_rest_least_h", 6.0, "h", "below", "practice", "", (1.0, 24.0), "rest of a day that is judged"),
    Limit("charger_float_days", 3.0, "", "below", "practice", "", (1.0, 60.0), "days on float before"),
    Limit("charger_lost_days", 1.0, "", "below", "practice", "", (1.0, 30.0), "whole days off float"),
    Limit("charger_whole_day_h", 18.0, "h", "below", "practice", "", (6.0, 24.0), "rest of a day that counts as whole"),
    Limit("charger_mains_lost_h", 1.0, "h", "above", "practice", "", (0.0, 24.0), "mains away within a day"),
    Limit("charger_run_h", 4.0, "h", "above", "practice", "", (0.0, 24.0), "running within a day"),
    Limit("battery_float_over_12_v", 0.4, "V", "above", "practice", "", (0.1, 2.0), f"{_12V}, above the float band at its temperature"),
    Limit("battery_float_over_24_v", 0.8, "V", "above", "practice", "", (0.2, 4.0), f"{_24V}, above the float band at its temperature"),
    Limit("battery_float_over_days", 7.0, "", "below", "practice", "", (2.0, 60.0), "days at rest in a row"),
    Limit("battery_over_12_v", 15.0, "V", "above", "published", _TRAINING, (14.4, 17.0), f"{_12V} at rest"),
    Limit("battery_over_24_v", 30.0, "V", "above", "published", _TRAINING, (28.8, 34.0), f"{_24V} at rest"),
    Limit("battery_over_h", 1.0, "h", "above", "practice", "", (0.1, 24.0), "a day at rest, with the battery far above float"),
    Limit("battery_over_good_days", 3.0, "", "below", "practice", "", (1.0, 60.0), "days at rest since"),
    Limit("battery_heated_c", 30.0, "Cel", "above", "practice", "", (15.0, 60.0), "coolant at rest that a heater may hold up"),
    Limit("battery_running_low_12_v", 13.0, "V", "below", "practice", "", (12.0, 14.0), f"{_12V}, engine running"),
    Limit("battery_running_low_24_v", 26.5, "V", "below", "published", _TRAINING, (24.0, 28.0), f"{_24V}, engine running"),
    Limit("battery_running_flat_12_v", 12.6, "V", "below", "practice", "", (11.5, 13.5), f"{_12V}, engine running, and falling"),
    Limit("battery_running_flat_24_v", 25.2, "V", "below", "practice", "", (23.0, 27.0), f"{_24V}, engine running, and falling"),
    Limit("battery_running_rise_12_v", 0.2, "V", "below", "practice", "", (0.05, 1.0), f"{_12V}, engine running, above float"),
    Limit("battery_running_rise_24_v", 0.4, "V", "below", "practice", "", (0.1, 2.0), f"{_24V}, engine running, above float"),
    Limit("battery_running_recovers_12_v", 0.05, "V", "above", "practice", "", (0.0, 0.5), f"{_12V}, last third of a run above its median"),
    Limit("battery_running_recovers_24_v", 0.1, "V", "above", "practice", "", (0.0, 1.0), f"{_24V}, last third of a run above its median"),
    Limit("battery_running_minutes", 10.0, "min", "below", "practice", "", (6.0, 120.0), "run that is judged"),
    Limit("battery_running_rows", 4.0, "", "below", "practice", "", (2.0, 20.0), "rows within a run that is judged"),
    Limit("battery_not_recharged_12_v", 0.1, "V", "above", "practice", "", (0.02, 1.0), f"{_12V}, rest before a run over rest after it"),
    Limit("battery_not_recharged_24_v", 0.2, "V", "above", "practice", "", (0.04, 2.0), f"{_24V}, rest before a run over rest after it"),
    Limit("battery_not_recharged_in_all_12_v", 0.2, "V", "above", "practice", "", (0.05, 2.0), f"{_12V}, over runs of which none gained"),
    Limit("battery_not_recharged_in_all_24_v", 0.4, "V", "above", "practice", "", (0.1, 4.0), f"{_24V}, over runs of which none gained"),
    Limit("battery_not_recharged_runs", 2.0, "", "below", "practice", "", (2.0, 20.0), "runs in a row"),
    Limit("battery_not_recharged_long_runs", 3.0, "", "below", "practice", "", (2.0, 50.0), "runs in a row of which none gained"),
    Limit("battery_half_fraction", 0.5, "1", "below", "practice", "", (0.2, 0.9), "charge that is waited for"),
    Limit("battery_flat_forecast_days", 30.0, "d", "below", "practice", "", (1.0, 366.0), "until about half charged"),
    Limit("battery_flat_horizon_days", 180.0, "d", "above", "practice", "", (30.0, 1000.0), "until about half charged: further off says nothing"),
    Limit("battery_flat_dates_days", 1000.0, "d", "above", "practice", "", (100.0, 4000.0), "from the log's end to a date of the interval"),
    Limit("battery_flat_window_days", 28.0, "", "above", "practice", "", (8.0, 366.0), "latest days off charge"),
    Limit("battery_flat_fit_days", 8.0, "", "below", "practice", "", (8.0, 60.0), "days off charge"),
    Limit("battery_flat_fall_fraction", 0.15, "1", "above", "practice", "", (0.02, 0.5), "charge, over the days that are judged"),
    Limit("battery_standby_ah", 1.2, "A.h", "above", "practice", "", (0.1, 20.0), "a day: a controller left on draws about 0.05 A"),
    Limit("battery_drain_ah", 2.5, "A.h", "above", "practice", "", (0.5, 50.0), "a day off charge and at rest"),
    Limit("battery_drain_days", 7.0, "", "below", "practice", "", (4.0, 60.0), "days off charge"),
    Limit("battery_drain_fit_days", 5.0, "", "below", "practice", "", (4.0, 60.0), "days off charge without a run, with a charge that volts can tell"),
    Limit("battery_drain_window_days", 14.0, "", "above", "practice", "", (7.0, 366.0), "latest of these days"),
    Limit("battery_drain_from_fraction", 0.95, "1", "above", "practice", "", (0.5, 1.0), "charge: above it volts say little"),
    Limit("battery_drain_to_fraction", 0.20, "1", "below", "practice", "", (0.0, 0.5), "charge: below it volts say little"),
    Limit("battery_cell_least_v", 1.8, "V", "above", "memory", "", (1.0, 2.2), "battery of 12 or 24 V: one cell is about 2.1 V"),
    Limit("battery_cell_most_v", 2.3, "V", "above", "memory", "", (2.0, 4.0), "battery of 12 or 24 V: one cell is about 2.1 V"),
    Limit("battery_cell_spread_v", 0.3, "V", "above", "practice", "", (0.05, 1.0), "days after the fall, highest less lowest"),
    Limit("battery_cell_fell_h", 48.0, "h", "above", "practice", "", (24.0, 168.0), "fall"),
    Limit("battery_cell_least_days", 5.0, "", "below", "practice", "", (4.0, 60.0), "days off charge"),
)
# fmt: on
