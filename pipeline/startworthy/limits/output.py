"""Default limits of the checks `output.*`: one limit is one line here, however long."""

from __future__ import annotations

from startworthy.limits.record import Limit

_ISO = "ISO 8528-5 class {} (seen in DGUV Information 203-032)"

# fmt: off
LIMITS: tuple[Limit, ...] = (
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
)
# fmt: on
