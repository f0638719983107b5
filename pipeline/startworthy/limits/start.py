"""Default limits of the checks `start.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

# fmt: off
LIMITS: tuple[Limit, ...] = (
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
    Limit("start_late_s", 10.0, "s", "above", "published", "NFPA 110, system of type 10", (1.0, 600.0), "loss of mains or first crank to voltage and frequency in band"),
    Limit("start_late_rows", 3.0, "", "below", "practice", "", (1.0, 20.0), "rows within the time allowed"),
    Limit("start_late_missed_s", 600.0, "s", "above", "practice", "", (30.0, 7200.0), "loss of mains to the first crank: later it was not ready to be asked"),
    Limit("start_reliability_share", 0.95, "1", "below", "memory", "", (0.5, 0.999), "demands met"),
    Limit("start_reliability_least", 10.0, "", "below", "practice", "", (3.0, 100.0), "demands that are judged"),
    Limit("start_interval_share", 0.95, "1", "below", "practice", "", (0.5, 0.999), "interval of a share of failed demands"),
    Limit("start_same_trouble_h", 24.0, "h", "below", "practice", "", (0.0, 168.0), "from one failed demand to the next"),
    Limit("start_short_window", 20.0, "", "above", "memory", "", (5.0, 1000.0), "latest demands, short list"),
    Limit("start_short_failed", 2.0, "", "above", "memory", "", (0.0, 100.0), "failed demands of the short list"),
    Limit("start_middle_window", 50.0, "", "above", "memory", "", (5.0, 1000.0), "latest demands, middle list"),
    Limit("start_middle_failed", 4.0, "", "above", "memory", "", (0.0, 100.0), "failed demands of the middle list"),
    Limit("start_long_window", 100.0, "", "above", "memory", "", (5.0, 1000.0), "latest demands, long list"),
    Limit("start_long_failed", 7.0, "", "above", "memory", "", (0.0, 100.0), "failed demands of the long list"),
)
# fmt: on
