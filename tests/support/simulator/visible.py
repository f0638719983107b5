"""What each sampling can show of a fault: yes, partly (with luck, or a lower bound only) or no; after the sampling table."""

from __future__ import annotations

from tests.support.simulator.truth import Truth

# codes that rows further apart than a second or two cannot show at all
_DENSE_ONLY = frozenset(
    [
        "start.slow",
        "start.longer_after_rest",
        "start.no_preheat",
        "start.slow_cranking",
        "battery.crank_sag",
        "battery.crank_sag_growing",
        "battery.bad_joint",
        "output.load_step",
    ]
)
_NOT_AT_60 = frozenset(["start.late", "start.stalled", "oil.slow_to_build"])
_NOT_AT_300 = frozenset(["output.frequency_hunting", "oil.low", "care.protection_silent", "care.stopped_by_power_cut"])
_PARTLY_AT_60 = frozenset(
    [
        "exercise.short",
        "output.voltage_off",
        "output.frequency_off",
        "output.frequency_hunting",
        "output.no_voltage",
        "output.overspeed",
        "output.overload",
        "oil.low",
        "care.protection_silent",
        "fuel.run_out",
        "care.settings_changed",
        "care.stopped_by_power_cut",
        "log.sensor_spikes",
        "start.reliability",
        "start.failed",
        "start.retried",
        "battery.not_charged_by_engine",
    ]
)
_PARTLY_DENSE = frozenset(
    [
        "start.longer_after_rest",
        "battery.crank_sag",
        "battery.crank_sag_growing",
        "battery.bad_joint",
        "start.slow_cranking",
        "output.load_step",
        "output.frequency_hunting",
    ]
)
_WITH_EVENTS = frozenset(["start.failed", "start.retried", "start.reliability"])
_STEADY_ONLY = frozenset(["output.overspeed", "oil.low"])


def can_show(code: str, truth: Truth) -> str:
    """`yes`, `partly` or `no`."""
    if truth.cadence == "dense":
        if code == "output.load_step" and truth.run_row_s > 1:
            return "no"
        return "partly" if code in _PARTLY_DENSE else "yes"
    if code in _DENSE_ONLY:
        return "no"
    if truth.cadence == "10":
        return "partly"  # the span is short: learnt habits and slow trends are seldom seen in it
    if code in _NOT_AT_60:
        return "no"
    if code in _WITH_EVENTS and not truth.columns & {"alarm", "state"}:
        return "no"
    if code in {"start.retried", "start.reliability"}:
        return "no" if code == "start.retried" else "partly"
    if code in _STEADY_ONLY and any(d.ended_by in {"overspeed", "oil"} for d in truth.demand_list):
        return "no"  # the protection stops it before a slow row can show it
    if truth.cadence == "300" and (code in _NOT_AT_300 or max((_length(truth)), default=0) < 900):
        return "no" if code in _NOT_AT_300 else "partly"
    return "partly" if code in _PARTLY_AT_60 else "yes"


def _length(truth: Truth) -> list[float]:
    return [d.ran[1] - d.ran[0] for d in truth.demand_list if d.ran is not None]
