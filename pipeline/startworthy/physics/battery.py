"""Tables of the lead-acid starting battery, with their sources."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Table:
    """Points of a published table, read on the straight line between two of them.

    Beyond its ends it stays at the end value: a table says nothing further out. x ascending, y as many; units
    in `x_unit`, `y_unit`. Raises ValueError if x does not ascend or the lengths differ.
    """

    x: tuple[float, ...]
    y: tuple[float, ...]
    x_unit: str
    y_unit: str
    source: str

    def __post_init__(self) -> None:
        if len(self.x) != len(self.y) or any(b <= a for a, b in zip(self.x, self.x[1:], strict=False)):
            raise ValueError("a table needs as many y as x, and x ascending")

    def at(self, x: float) -> float:
        """The table's value at x."""
        if x <= self.x[0]:
            return self.y[0]
        if x >= self.x[-1]:
            return self.y[-1]
        right = bisect_right(self.x, x)
        x0, x1, y0, y1 = self.x[right - 1], self.x[right], self.y[right - 1], self.y[right]
        return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


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
