"""Limits that stand one within the other: where the first is put above the second, neither means anything any more."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

ORDER: tuple[tuple[str, str], ...] = (
    ("battery_crank_low_12_v", "battery_rest_low_12_v"),
    ("battery_crank_low_24_v", "battery_rest_low_24_v"),
    ("battery_rest_flat_12_v", "battery_rest_low_12_v"),
    ("battery_rest_flat_24_v", "battery_rest_low_24_v"),
    ("battery_rest_low_12_v", "battery_float_low_12_v"),
    ("battery_rest_low_24_v", "battery_float_low_24_v"),
    ("battery_float_low_12_v", "battery_over_12_v"),
    ("battery_float_low_24_v", "battery_over_24_v"),
    ("battery_running_flat_12_v", "battery_running_low_12_v"),
    ("battery_running_flat_24_v", "battery_running_low_24_v"),
    ("battery_cell_least_v", "battery_cell_most_v"),
    ("battery_drain_to_fraction", "battery_drain_from_fraction"),
    ("running_cold_c", "coolant_high_c"),
    ("coolant_high_c", "coolant_stop_c"),
    ("oil_low_kpa", "oil_warn_kpa"),
    ("fuel_stop_fraction", "fuel_low_fraction"),
    ("fuel_low_fraction", "fuel_full_fraction"),
    ("fuel_idle_low_share", "fuel_idle_high_share"),
    ("fuel_least_per_kwh", "fuel_most_per_kwh"),
    ("fuel_lost_sudden_fraction", "fuel_lost_urgent_fraction"),
    ("light_running_h", "light_running_long_h"),
    ("light_running_fraction", "burnt_clean_fraction"),
    ("no_load_fraction", "usual_load_fraction"),
    ("log_refused_fraction", "log_refused_many_fraction"),
    ("start_rest_short_from_h", "start_rest_short_to_h"),
    ("start_short_window", "start_middle_window"),
    ("start_middle_window", "start_long_window"),
)
"""(the lower, the higher), by name. That the defaults keep to it is tested."""


def crossed(values: Mapping[str, float]) -> Iterator[tuple[str, str]]:
    """The pairs of ORDER whose lower limit lies above the higher one. values: every limit's, by name."""
    return ((low, high) for low, high in ORDER if values[low] > values[high])
