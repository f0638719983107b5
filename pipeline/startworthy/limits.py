"""Every default threshold: value, unit, the side on which it is broken, and where it comes from. Data, not code.

A register may replace any of them by name, for one set, from that set's own manual; the report then says so.
`published` names its source; `practice` is common practice without a source; `memory` is recalled, not re-read.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, replace

from startworthy.findings import Basis, Side


@dataclass(frozen=True, slots=True)
class Limit:
    """One threshold. A value on the edge itself does not break it. `sane` bounds what a register may put there.

    Raises ValueError if `published` comes without a source, or the value lies outside `sane`.
    """

    name: str
    value: float
    unit: str
    side: Side
    basis: Basis
    source: str
    sane: tuple[float, float]
    per: str = ""

    def __post_init__(self) -> None:
        if self.basis == "published" and not self.source:
            raise ValueError(f"{self.name}: a published limit names its source")
        if not self.sane[0] <= self.value <= self.sane[1]:
            raise ValueError(f"{self.name}: {self.value} {self.unit} lies outside {self.sane[0]} to {self.sane[1]}")

    def broken_by(self, value: float) -> bool:
        """Whether a value lies beyond the limit, on its side."""
        return value > self.value if self.side == "above" else value < self.value


_12V = "12 V battery"
_24V = "24 V battery"

LIMITS: tuple[Limit, ...] = (
    # start
    Limit("start_slow_warm_s", 5.0, "s", "above", "memory", "", (1.0, 60.0), "crank, coolant at 5 C or more"),
    Limit("start_slow_cold_s", 10.0, "s", "above", "memory", "", (1.0, 120.0), "crank, coolant below 5 C"),
    Limit("start_slow_ratio", 2.0, "1", "above", "practice", "", (1.2, 10.0), "own record at equal temperature"),
    Limit("start_retried_share", 0.25, "1", "above", "practice", "", (0.0, 1.0), "starts that needed a second attempt"),
    # battery
    Limit("battery_rest_low_12_v", 12.4, "V", "below", "practice", "", (11.5, 13.2), _12V),
    Limit("battery_rest_low_24_v", 24.8, "V", "below", "practice", "", (23.0, 26.4), _24V),
    Limit("battery_rest_flat_12_v", 12.06, "V", "below", "published", "open-circuit table, handbook (BCI style): 25 % charged at 26.7 C", (11.0, 12.6), _12V),
    Limit("battery_rest_flat_24_v", 24.12, "V", "below", "published", "open-circuit table, handbook (BCI style): 25 % charged at 26.7 C, two 12 V units", (22.0, 25.2), _24V),
    Limit("battery_float_low_12_v", 13.1, "V", "below", "practice", "", (12.6, 14.0), _12V),
    Limit("battery_float_low_24_v", 26.2, "V", "below", "practice", "", (25.2, 28.0), _24V),
    # exercise
    Limit("exercise_missed_intervals", 1.5, "1", "above", "practice", "", (1.0, 4.0), "planned interval without any run"),
    Limit("exercise_short_share", 0.8, "1", "below", "practice", "", (0.1, 1.0), "planned minutes"),
    # output
    Limit("voltage_band_fraction", 0.05, "1", "above", "published", "ISO 8528-5 class G1, above 10 kW (seen in DGUV Information 203-032)", (0.005, 0.2), "rated voltage"),
    Limit("voltage_band_small_fraction", 0.10, "1", "above", "published", "ISO 8528-5 class G1, up to 10 kW (seen in DGUV Information 203-032)", (0.005, 0.2), "rated voltage"),
    Limit("voltage_instrument_fraction", 0.015, "1", "above", "practice", "", (0.0, 0.05), "rated voltage"),
    Limit("droop_fraction", 0.08, "1", "above", "published", "ISO 8528-5 class G1 (seen in DGUV Information 203-032)", (0.0, 0.15), "rated frequency"),
    Limit("frequency_band_fraction", 0.025, "1", "above", "published", "ISO 8528-5 class G1, peak to peak (seen in DGUV Information 203-032)", (0.002, 0.1), "rated frequency"),
    # cooling
    Limit("coolant_high_c", 100.0, "Cel", "above", "practice", "", (80.0, 125.0), "set"),
    Limit("coolant_stop_c", 107.0, "Cel", "above", "published", "US Army TM 9-6115-645-24, 1-12: 225 F", (90.0, 130.0), "set"),
    Limit("coolant_high_for_s", 30.0, "s", "above", "practice", "", (1.0, 600.0), "run"),
    # oil
    Limit("oil_low_kpa", 103.0, "kPa", "below", "published", "US Army TM 9-6115-645-24, 1-12: 15 psi, give or take 3", (30.0, 300.0), "set, at rated speed"),
    Limit("oil_warn_kpa", 138.0, "kPa", "below", "practice", "", (50.0, 400.0), "set, at rated speed"),
    Limit("oil_settle_s", 15.0, "s", "above", "practice", "", (5.0, 60.0), "firing"),
    # fuel
    Limit("fuel_low_fraction", 0.25, "1", "below", "practice", "", (0.05, 0.9), "tank"),
    Limit("fuel_stop_fraction", 0.10, "1", "below", "practice", "", (0.0, 0.5), "tank"),
    Limit("fuel_lost_sudden_fraction", 0.05, "1", "above", "practice", "", (0.01, 0.5), "tank, within a day at rest"),
    Limit("fuel_lost_week_fraction", 0.01, "1", "above", "practice", "", (0.001, 0.2), "tank, a week at rest"),
    Limit("fuel_lost_least_fraction", 0.02, "1", "above", "practice", "", (0.002, 0.2), "tank, over the whole fall"),
    # care
    Limit("not_in_auto_h", 24.0, "h", "above", "practice", "", (0.1, 720.0), "spell out of automatic"),
    Limit("not_in_auto_urgent_h", 72.0, "h", "above", "practice", "", (0.1, 2160.0), "spell out of automatic"),
    # log
    Limit("log_gap_h", 24.0, "h", "above", "practice", "", (0.1, 8760.0), "gap"),
    Limit("log_coverage_fraction", 0.9, "1", "below", "practice", "", (0.1, 1.0), "log"),
    Limit("log_refused_fraction", 0.01, "1", "above", "practice", "", (0.0, 0.5), "values of a signal, or rows"),
)

BY_NAME: dict[str, Limit] = {limit.name: limit for limit in LIMITS}


class Limits:
    """The limits in force for one set: the defaults, with the register's own values put in their place."""

    def __init__(self, own: Mapping[str, float] | None = None) -> None:
        """`own`: limit name to value, from the register. Raises KeyError for an unknown name, ValueError for an insane value."""
        self._own = dict(own or {})
        for name, value in self._own.items():
            if name not in BY_NAME:
                near = difflib.get_close_matches(name, BY_NAME, n=1)
                raise KeyError(f"{name}" + (f": did you mean {near[0]}?" if near else ""))
            replace(BY_NAME[name], value=value)

    def __getitem__(self, name: str) -> Limit:
        limit = BY_NAME[name]
        if name in self._own:
            return replace(limit, value=self._own[name], basis="register", source="register")
        return limit

    def value(self, name: str) -> float:
        """The number alone."""
        return self[name].value
