"""What each sampling can show, code by code, and one log thinned to each: the contract that the checks are held to."""

from __future__ import annotations

import polars as pl

RATES_S = (1, 10, 60, 300)
EVENTS = frozenset({"alarm", "state", "starts_counter"})
"""Columns that tell of what lay between two rows."""

# yes: it can be seen. partly: a lower bound, or only what lasts. no: rows so far apart cannot show it.
# "no+e": no, but for the columns that tell of events.
_Y, _P, _N, _E = "yes", "partly", "no", "no+e"
TABLE: dict[str, tuple[str, str, str, str]] = {
    "start.failed": (_Y, _P, _E, _E),
    "start.retried": (_Y, _P, _E, _E),
    "start.slow": (_P, _E, _E, _E),
    "start.longer_after_rest": (_P, _E, _E, _E),
    "start.late": (_Y, _P, _N, _N),
    "start.reliability": (_Y, _P, _P, _P),
    "start.stalled": (_Y, _Y, _N, _N),
    "start.no_preheat": (_Y, _N, _N, _N),
    "start.slow_cranking": (_P, _N, _N, _N),
    "battery.crank_sag": (_P, _N, _N, _N),
    "battery.crank_sag_growing": (_P, _N, _N, _N),
    "battery.bad_joint": (_P, _N, _N, _N),
    "battery.low_at_rest": (_Y, _Y, _Y, _Y),
    "battery.charger_lost": (_Y, _Y, _Y, _Y),
    "battery.overcharged": (_Y, _Y, _Y, _Y),
    "battery.flat_forecast": (_Y, _Y, _Y, _Y),
    "battery.dead_cell": (_Y, _Y, _Y, _Y),
    "battery.standing_drain": (_Y, _Y, _Y, _Y),
    "battery.not_recharged": (_Y, _Y, _Y, _Y),
    "battery.not_charged_by_engine": (_Y, _Y, _Y, _P),
    "exercise.missed": (_Y, _Y, _Y, _P),
    "exercise.moved": (_Y, _Y, _Y, _P),
    "exercise.short": (_Y, _Y, _P, _P),
    "exercise.light_load": (_Y, _Y, _Y, _P),
    "care.light_running": (_Y, _Y, _Y, _P),
    "exercise.cold": (_Y, _Y, _Y, _P),
    "cooling.running_cold": (_Y, _Y, _Y, _P),
    "output.load_not_taken": (_Y, _Y, _Y, _P),
    "output.voltage_off": (_Y, _Y, _P, _P),
    "output.frequency_off": (_Y, _Y, _P, _P),
    "output.overload": (_Y, _Y, _P, _P),
    "output.frequency_hunting": (_P, _P, _P, _N),
    "output.load_step": (_P, _N, _N, _N),
    "output.droop": (_Y, _Y, _Y, _P),
    "output.speed_mismatch": (_Y, _Y, _Y, _P),
    "output.no_voltage": (_Y, _Y, _P, _P),
    "output.overspeed": (_Y, _P, _P, _P),
    "cooling.overheat": (_Y, _Y, _Y, _P),
    "cooling.declining": (_Y, _Y, _Y, _P),
    "oil.declining": (_Y, _Y, _Y, _P),
    "cooling.heater_off": (_Y, _Y, _Y, _Y),
    "oil.low": (_Y, _Y, _P, _N),
    "care.protection_silent": (_Y, _Y, _P, _N),
    "oil.slow_to_build": (_Y, _P, _N, _N),
    "fuel.low": (_Y, _Y, _Y, _Y),
    "fuel.part_full": (_Y, _Y, _Y, _Y),
    "fuel.autonomy": (_Y, _Y, _Y, _Y),
    "fuel.lost_at_rest": (_Y, _Y, _Y, _Y),
    "fuel.rate_high": (_Y, _Y, _Y, _Y),
    "fuel.run_out": (_Y, _P, _P, _P),
    "care.not_in_auto": (_Y, _Y, _Y, _Y),
    "care.left_locked_out": (_Y, _Y, _Y, _Y),
    "care.service_due": (_Y, _Y, _Y, _Y),
    "care.settings_changed": (_Y, _P, _P, _P),
    "care.outage_missed": (_Y, _Y, _P, _P),
    "care.stopped_by_power_cut": (_Y, _Y, _P, _P),
    "care.hours_disagree": (_Y, _Y, _Y, _P),
    "log.gap": (_Y, _Y, _Y, _Y),
    "log.clock_fault": (_Y, _Y, _Y, _Y),
    "log.value_rejected": (_Y, _Y, _Y, _Y),
    "log.conflict": (_Y, _Y, _Y, _Y),
    "log.signal_lost": (_Y, _Y, _Y, _Y),
    "log.sensor_stuck": (_Y, _Y, _Y, _Y),
    "log.sensor_spikes": (_Y, _Y, _P, _N),
}


def can_be_seen(code: str, rate_s: int, columns: frozenset[str]) -> str:
    """`yes`, `partly` or `no`, for rows that far apart in a log with those columns."""
    cell = TABLE[code][RATES_S.index(rate_s)]
    if cell == _E:
        return _P if columns & EVENTS else _N
    return cell


def thinned(frame: pl.DataFrame, rate_s: int, offset_s: int = 0) -> pl.DataFrame:
    """The first row of every `rate_s` seconds, counted from offset_s: what a slower logger would have written."""
    slot = (pl.col("at").dt.epoch("s") - offset_s) // rate_s
    return frame.filter(slot.ne_missing(slot.shift(1)))
