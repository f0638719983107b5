"""Every default threshold: value, unit, the side on which it is broken, and where it comes from. Data, not code.

A register may replace any of them by name, for one set, from that set's own manual; the report then says so.
`published` names its source; `practice` is common practice without a source; `memory` is recalled, not re-read.
"""

# A table is read row by row: a limit is one line here, however long.

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, replace

from startworthy.findings import Basis, Side


@dataclass(frozen=True, slots=True)
class Limit:
    """One threshold. A value on the edge itself does not break it. `sane` bounds what a register may put there.

    unit: UCUM; `1` for a share, empty for a count or a multiple. Raises ValueError if `published` comes without a
    source, or the value lies outside `sane`.
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
_BCI = "battery load-test table (BCI), reprinted in service manuals"
_OPEN_CIRCUIT = "open-circuit table, handbook (BCI style): 25 % charged at 26.7 C"
_ISO = "ISO 8528-5 class {} (seen in DGUV Information 203-032)"

# fmt: off
LIMITS: tuple[Limit, ...] = (
    # how far back a fault still counts, and how often it must be seen
    Limit("fault_recent_days", 90.0, "d", "above", "practice", "", (1.0, 3660.0), "age of a fault at the log's end"),
    Limit("fault_good_since", 3.0, "", "below", "practice", "", (1.0, 100.0), "good ones in a row since the fault"),
    Limit("recent_starts", 5.0, "", "above", "practice", "", (2.0, 100.0), "latest starts that are judged"),
    Limit("recent_runs", 5.0, "", "above", "practice", "", (2.0, 100.0), "latest runs that are judged"),
    Limit("recent_repeats", 1.0, "", "above", "practice", "", (0.0, 50.0), "of the latest ones"),
    # start
    Limit("start_failed_demands", 0.0, "", "above", "practice", "", (0.0, 100.0), "demands that led to no run"),
    Limit("start_by_hand_h", 2.0, "h", "above", "practice", "", (0.0, 48.0), "from a failed start by hand to a good one"),
    Limit("start_seen_within_s", 10.0, "s", "above", "practice", "", (1.0, 60.0), "rows around a start"),
    Limit("start_attempts", 1.0, "", "above", "practice", "", (1.0, 10.0), "attempts of one start"),
    Limit("start_retried_share", 0.25, "1", "above", "practice", "", (0.0, 1.0), "starts that needed a second attempt"),
    Limit("start_retried_window", 10.0, "", "above", "practice", "", (2.0, 100.0), "latest starts that are judged"),
    Limit("start_slow_warm_s", 5.0, "s", "above", "memory", "", (1.0, 60.0), "crank, coolant at 5 C or more"),
    Limit("start_slow_cold_s", 10.0, "s", "above", "memory", "", (1.0, 120.0), "crank, coolant below 5 C"),
    Limit("start_cold_c", 5.0, "Cel", "below", "memory", "", (-20.0, 20.0), "coolant before the start"),
    Limit("start_slow_ordinary_cold_s", 6.0, "s", "above", "memory", "", (1.0, 60.0), "crank in the cold, own record"),
    Limit("start_slow_ratio", 2.0, "", "above", "practice", "", (1.2, 10.0), "own record at equal temperature"),
    Limit("start_slow_more_s", 2.0, "s", "above", "practice", "", (0.5, 30.0), "longer than own record"),
    Limit("start_slow_record_c", 10.0, "Cel", "above", "practice", "", (1.0, 30.0), "earlier start colder than this one by"),
    Limit("start_slow_warmer_c", 5.0, "Cel", "above", "practice", "", (0.0, 30.0), "earlier start warmer than this one by"),
    Limit("start_slow_record_least", 5.0, "", "below", "practice", "", (2.0, 100.0), "earlier starts to compare with"),
    Limit("start_slow_seen_within_s", 2.0, "s", "above", "practice", "", (0.1, 10.0), "rows around a start"),
    # battery
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
    Limit("charger_mains_lost_h", 1.0, "h", "above", "practice", "", (0.0, 24.0), "mains away within a day"),
    Limit("charger_run_h", 4.0, "h", "above", "practice", "", (0.0, 24.0), "running within a day"),
    # exercise
    Limit("exercise_missed_intervals", 1.5, "", "above", "practice", "", (1.0, 4.0), "planned interval without any run"),
    Limit("exercise_log_intervals", 2.0, "", "below", "practice", "", (1.0, 10.0), "planned intervals that the log covers"),
    Limit("exercise_good_since", 4.0, "", "below", "practice", "", (1.0, 50.0), "exercises in time since the one missed"),
    Limit("exercise_seen_within_s", 60.0, "s", "above", "practice", "", (1.0, 600.0), "rows at rest, length of exercise not known"),
    Limit("exercise_rows", 3.0, "", "below", "practice", "", (1.0, 20.0), "rows within an exercise"),
    Limit("exercise_short_share", 0.8, "1", "below", "practice", "", (0.1, 1.0), "planned minutes"),
    Limit("exercise_recent", 4.0, "", "above", "practice", "", (2.0, 50.0), "latest exercises that are judged"),
    Limit("exercise_habit_least", 4.0, "", "below", "practice", "", (2.0, 50.0), "earlier exercises that make a habit"),
    Limit("exercise_habit_s", 1800.0, "s", "above", "practice", "", (60.0, 14400.0), "start away from the habit's hour"),
    # output
    Limit("voltage_band_fraction", 0.05, "1", "above", "published", _ISO.format("G1, above 10 kW"), (0.005, 0.2), "rated voltage"),
    Limit("voltage_band_small_fraction", 0.10, "1", "above", "published", _ISO.format("G1, up to 10 kW"), (0.005, 0.2), "rated voltage"),
    Limit("voltage_small_set_kw", 10.0, "kW", "above", "published", _ISO.format("G1"), (1.0, 100.0), "rated power up to which the wider band holds"),
    Limit("voltage_instrument_fraction", 0.015, "1", "above", "practice", "", (0.0, 0.05), "rated voltage"),
    Limit("droop_fraction", 0.08, "1", "above", "published", _ISO.format("G1"), (0.0, 0.15), "rated frequency"),
    Limit("droop_g2_fraction", 0.05, "1", "above", "published", _ISO.format("G2"), (0.0, 0.15), "rated frequency"),
    Limit("droop_g3_fraction", 0.03, "1", "above", "published", _ISO.format("G3"), (0.0, 0.15), "rated frequency"),
    Limit("frequency_band_fraction", 0.025, "1", "above", "published", _ISO.format("G1"), (0.002, 0.1), "rated frequency, peak to peak"),
    Limit("frequency_band_g2_fraction", 0.015, "1", "above", "published", _ISO.format("G2"), (0.002, 0.1), "rated frequency, peak to peak"),
    Limit("frequency_band_g3_fraction", 0.005, "1", "above", "published", _ISO.format("G3"), (0.002, 0.1), "rated frequency, peak to peak"),
    Limit("frequency_instrument_fraction", 0.002, "1", "above", "practice", "", (0.0, 0.02), "rated frequency"),
    Limit("output_far_bands", 2.0, "", "above", "practice", "", (1.0, 5.0), "the band, at which it becomes urgent"),
    Limit("output_dead_fraction", 0.2, "1", "below", "practice", "", (0.02, 0.5), "rated value: no output at all, so nothing to judge"),
    Limit("output_steady_s", 60.0, "s", "below", "practice", "", (10.0, 3600.0), "steady state within a run"),
    Limit("output_coarse_s", 10.0, "s", "above", "practice", "", (1.0, 60.0), "rows while running that count as close"),
    Limit("output_coarse_rows", 5.0, "", "below", "practice", "", (2.0, 100.0), "rows of a run where they are not close"),
    Limit("output_last_run_s", 300.0, "s", "below", "practice", "", (60.0, 3600.0), "steady state of the last run, to count alone"),
    # cooling
    Limit("coolant_high_c", 100.0, "Cel", "above", "practice", "", (80.0, 125.0), "set"),
    Limit("coolant_stop_c", 107.0, "Cel", "above", "published", "US Army TM 9-6115-645-24, 1-12: 225 F", (90.0, 130.0), "set"),
    Limit("coolant_high_for_s", 30.0, "s", "above", "practice", "", (1.0, 600.0), "run"),
    Limit("coolant_run_s", 600.0, "s", "below", "practice", "", (60.0, 7200.0), "run long enough to become warm"),
    # oil
    Limit("oil_low_kpa", 103.0, "kPa", "below", "published", "US Army TM 9-6115-645-24, 1-12: 15 psi, give or take 3", (30.0, 300.0), "set, at rated speed"),
    Limit("oil_warn_kpa", 138.0, "kPa", "below", "practice", "", (50.0, 400.0), "set, at rated speed"),
    Limit("oil_settle_s", 15.0, "s", "above", "practice", "", (5.0, 60.0), "firing"),
    Limit("oil_low_for_s", 5.0, "s", "above", "practice", "", (1.0, 60.0), "spell below the stop limit, rows close"),
    Limit("oil_low_rows", 1.5, "", "above", "practice", "", (1.0, 10.0), "spell below the stop limit, in intervals of rows"),
    Limit("oil_close_rows_s", 10.0, "s", "above", "practice", "", (1.0, 60.0), "rows while running that count as close"),
    Limit("oil_low_lasting_s", 180.0, "s", "above", "practice", "", (60.0, 3600.0), "spell below the stop limit, rows not close"),
    Limit("oil_seen_within_s", 120.0, "s", "above", "practice", "", (10.0, 300.0), "rows while running"),
    # fuel
    Limit("fuel_low_fraction", 0.25, "1", "below", "practice", "", (0.05, 0.9), "tank"),
    Limit("fuel_stop_fraction", 0.10, "1", "below", "practice", "", (0.0, 0.5), "tank"),
    Limit("fuel_near_stop_fraction", 0.05, "1", "above", "practice", "", (0.0, 0.5), "tank, above the low-fuel stop"),
    Limit("fuel_lost_sudden_fraction", 0.05, "1", "above", "practice", "", (0.01, 0.5), "tank, within a day at rest"),
    Limit("fuel_lost_urgent_fraction", 0.20, "1", "above", "practice", "", (0.02, 1.0), "tank, within a day at rest"),
    Limit("fuel_lost_week_fraction", 0.01, "1", "above", "practice", "", (0.001, 0.2), "tank, a week at rest"),
    Limit("fuel_lost_least_fraction", 0.02, "1", "above", "practice", "", (0.002, 0.2), "tank, over the whole fall"),
    Limit("fuel_lost_noise", 3.0, "", "above", "practice", "", (1.0, 10.0), "scatter of the sender, over the whole fall"),
    Limit("fuel_lost_per_c_fraction", 0.001, "1", "above", "practice", "", (0.0, 0.01), "contents, for each degree of cooling"),
    Limit("fuel_lost_days", 14.0, "", "below", "practice", "", (7.0, 366.0), "days at rest"),
    Limit("fuel_lost_window_days", 28.0, "", "above", "practice", "", (14.0, 366.0), "latest days at rest that are judged on their own"),
    Limit("trend_confidence", 0.95, "1", "below", "practice", "", (0.5, 0.999), "interval of a slope"),
    # care
    Limit("not_in_auto_h", 24.0, "h", "above", "practice", "", (0.1, 720.0), "spell out of automatic"),
    Limit("not_in_auto_long_h", 72.0, "h", "above", "practice", "", (0.1, 2160.0), "spell out of automatic that has ended"),
    Limit("not_in_auto_now_h", 1.0, "h", "above", "practice", "", (0.1, 720.0), "spell out of automatic at the log's end"),
    # log
    Limit("log_gap_h", 24.0, "h", "above", "practice", "", (0.1, 8760.0), "gap"),
    Limit("log_coverage_fraction", 0.9, "1", "below", "practice", "", (0.1, 1.0), "log"),
    Limit("log_refused_fraction", 0.01, "1", "above", "practice", "", (0.0, 0.5), "values of a signal, or rows"),
    Limit("log_refused_carrier_fraction", 0.05, "1", "above", "practice", "", (0.0, 0.9), "values of a signal on which an answer stands, or rows"),
    Limit("log_refused_many_fraction", 0.20, "1", "above", "practice", "", (0.0, 0.9), "values of any signal"),
    Limit("log_refused_least", 10.0, "", "below", "practice", "", (1.0, 1000.0), "values of a signal"),
)
# fmt: on

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
