"""Tables of the lead-acid starting battery, with their sources."""

from __future__ import annotations

from startworthy.physics.table import Table

_LOAD_TEST = "battery load-test table (BCI), reprinted in service manuals"
_OPEN_CIRCUIT = "open-circuit table, handbook (BCI style), at 26.7 C"

LOAD_TEST_12 = Table(
    (-18.0, -12.0, -7.0, -1.0, 4.0, 10.0, 16.0, 20.0),
    (8.5, 8.7, 8.9, 9.1, 9.3, 9.4, 9.5, 9.6),
    "Cel", "V", _LOAD_TEST,
)  # fmt: skip
"""Lowest volts of a sound 12 V battery after 15 s at half its cold-cranking amperes, by its temperature."""

LOAD_TEST_24 = Table(
    (-18.0, -12.0, -7.0, -1.0, 4.0, 10.0, 16.0, 20.0),
    (17.0, 17.4, 17.8, 18.2, 18.6, 18.8, 19.0, 19.2),
    "Cel", "V", f"{_LOAD_TEST}; two 12 V units in series",
)  # fmt: skip

OPEN_CIRCUIT_12 = Table((11.89, 12.06, 12.24, 12.45, 12.65), (0.0, 0.25, 0.5, 0.75, 1.0), "V", "1", _OPEN_CIRCUIT)
"""Charge of a flooded 12 V battery (a fraction) by its volts at rest, no charge or load for hours."""

OPEN_CIRCUIT_24 = Table(
    (23.78, 24.12, 24.48, 24.90, 25.30), (0.0, 0.25, 0.5, 0.75, 1.0),
    "V", "1", f"{_OPEN_CIRCUIT}; two 12 V units in series",
)  # fmt: skip


def load_test(nominal_v: float) -> Table:
    """The load-test table of a 12 V or 24 V battery. Raises KeyError for another nominal voltage."""
    return {12: LOAD_TEST_12, 24: LOAD_TEST_24}[round(nominal_v)]


def open_circuit(nominal_v: float) -> Table:
    """The open-circuit table of a 12 V or 24 V battery. Raises KeyError for another nominal voltage."""
    return {12: OPEN_CIRCUIT_12, 24: OPEN_CIRCUIT_24}[round(nominal_v)]
