"""Tables and laws of the lead-acid starting battery, with their sources."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from startworthy.physics.table import Table

if TYPE_CHECKING:
    import polars as pl

HOURS_A_DAY = 24.0

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


def charge_over(volts: pl.Expr, nominal_v: float, *, higher_v: float = 0.0) -> pl.Expr:
    """Charge (a fraction) over a column of volts at rest, off charge for hours; null stays null.

    higher_v: how much higher than a flooded battery of this voltage this one rests (AGM and gel; limits
    `battery_sealed_higher_12_v`, `battery_sealed_higher_24_v`): the same volts then mean less charge.
    Raises KeyError for another nominal voltage.
    """
    return open_circuit(nominal_v).over(volts - higher_v)


def charge_at(volts: float, nominal_v: float, *, higher_v: float = 0.0) -> float:
    """`charge_over` for one value. Raises ValueError for volts below 0, KeyError for another nominal voltage."""
    if not volts >= 0.0:
        raise ValueError(f"volts of 0 or more are wanted, not {volts}")
    return open_circuit(nominal_v).at(volts - higher_v)


def volts_at_charge(charge: float, nominal_v: float, *, higher_v: float = 0.0) -> float:
    """Volts at rest of a battery with this charge (a fraction): the open-circuit table read the other way.

    Raises ValueError for a charge outside 0 to 1, KeyError for another nominal voltage.
    """
    if not 0.0 <= charge <= 1.0:
        raise ValueError(f"a charge lies within 0 and 1, not {charge}")
    return open_circuit(nominal_v).inverse().at(charge) + higher_v


@dataclass(frozen=True, slots=True)
class FloatBand:
    """The band of float charging: volts at 25 C, and what a degree more takes off both of them."""

    low_25_c_v: float
    high_25_c_v: float
    v_per_c: float
    source: str

    def at(self, celsius: float) -> tuple[float, float]:
        """Lowest and highest volts of a sound float charge at this temperature of the battery.

        Raises ValueError for a temperature that is no number or below -60 C or above 80 C: no battery is charged there.
        """
        if not -60.0 <= celsius <= 80.0:
            raise ValueError(f"no battery is charged at {celsius} C")
        change_v = self.v_per_c * (celsius - 25.0)
        return self.low_25_c_v + change_v, self.high_25_c_v + change_v

    def over(self, celsius: pl.Expr) -> tuple[pl.Expr, pl.Expr]:
        """The band over a column of temperatures: lowest, highest; null stays null."""
        change_v = (celsius - 25.0) * self.v_per_c
        return change_v + self.low_25_c_v, change_v + self.high_25_c_v


_FLOAT = "battery text: 2.25-2.30 V a cell at 25 C, -3 mV a cell and C"
FLOAT_CELL = FloatBand(2.25, 2.30, -0.003, _FLOAT)
FLOAT_12 = FloatBand(13.5, 13.8, -0.018, f"{_FLOAT}; 6 cells")
FLOAT_24 = FloatBand(27.0, 27.6, -0.036, f"{_FLOAT}; 12 cells")


def float_band(nominal_v: float) -> FloatBand:
    """The float band of a 12 V or 24 V battery. Raises KeyError for another nominal voltage."""
    return {12: FLOAT_12, 24: FLOAT_24}[round(nominal_v)]


def days_to_flat(capacity_ah: float, drain_a: float, *, charge: float = 1.0, flat: float = 0.0) -> float:
    """Days until a drain has taken a battery from `charge` to `flat` (fractions of its capacity): Ah / (A x 24 h).

    Self-discharge is not in it, and an old battery holds less than its plate says: it is the longest it may take.
    Raises ValueError unless capacity and drain are above 0 and 0 <= flat <= charge <= 1.
    """
    if not (capacity_ah > 0.0 and drain_a > 0.0):
        raise ValueError("capacity and drain are above 0")
    if not 0.0 <= flat <= charge <= 1.0:
        raise ValueError("the charge goes down from at most 1 to at least 0")
    return capacity_ah * (charge - flat) / (drain_a * HOURS_A_DAY)


def ah_per_day(capacity_ah: float, charge_per_day: float) -> float:
    """Ah a day that a standing battery loses, from the slope of its charge (fraction a day, negative as it falls).

    Raises ValueError unless the capacity is above 0 and the slope a number.
    """
    if not (capacity_ah > 0.0 and math.isfinite(charge_per_day)):
        raise ValueError("a capacity above 0 and a slope are wanted")
    return -capacity_ah * charge_per_day


# Acid: for the report's advice and for reading a hydrometer beside the log, not for a check of the log itself.

_TM_STORED = "US Army TM 9-6140-200-14, 4-8 c: fully charged, good condition, first 10 days of storage"
SELF_DISCHARGE = Table((10.0, 27.0, 38.0), (0.0003, 0.001, 0.0025), "Cel", "1/d", _TM_STORED)
"""Specific gravity that a stored flooded battery loses a day, by its temperature."""

_TRACTOR = "tractor manual: charge by specific gravity"
ACID_TEMPERATE = Table((1.070, 1.170, 1.215, 1.260), (0.0, 0.5, 0.75, 1.0), "1", "1", f"{_TRACTOR}, temperate climate")
ACID_COLD = Table((1.080, 1.180, 1.230, 1.280), (0.0, 0.5, 0.75, 1.0), "1", "1", f"{_TRACTOR}, cold climate")
"""Charge (a fraction) by the specific gravity of the acid at 27 C."""

_TM_COLD = "US Army TM 10-6140-200-14, before 1-9: full charge, specific gravity 1.275-1.295 at 77 F"
COLD_CAPACITY = Table((-18.0, 0.0, 25.0), (0.40, 0.75, 1.0), "Cel", "1", _TM_COLD)
"""Share of its capacity that a fully charged flooded battery still gives, by its temperature."""

_TM_FREEZES = "US Army TM 10-6140-200-14, table 1-1: 1, -31, -62 and -95 F"
_FREEZES = Table((1.160, 1.220, 1.250, 1.280), (-17.2, -35.0, -52.2, -70.6), "1", "Cel", _TM_FREEZES)


def freezing_point_c(gravity: float) -> float | None:
    """Temperature in C at which acid of this specific gravity freezes; None outside the table, 1.160 to 1.280.

    Weaker acid freezes sooner than the table's -17 C. Raises ValueError for less than water (1.0).
    """
    if not gravity >= 1.0:
        raise ValueError(f"acid is no lighter than water, not {gravity}")
    return _FREEZES.at(gravity) if _FREEZES.x[0] <= gravity <= _FREEZES.x[-1] else None


def gravity_at_27_c(read: float, celsius: float) -> float:
    """A hydrometer's reading as it would be at 80 F (26.7 C): 0.004 added for each 10 F above, taken off below.

    Source: car service manual table, tractor manual (-18 to 71 C). Raises ValueError outside -40 to 80 C or for a
    reading of less than water (1.0).
    """
    if not -40.0 <= celsius <= 80.0:
        raise ValueError(f"no acid is read at {celsius} C")
    if not read >= 1.0:
        raise ValueError(f"acid is no lighter than water, not {read}")
    fahrenheit = celsius * 1.8 + 32.0
    return read + 0.004 * (fahrenheit - 80.0) / 10.0
