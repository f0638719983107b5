"""Oil: viscosity by temperature, and the pressure that it would have at another temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import polars as pl

ZERO_C_K = 273.15
_SHIFT_CST = 0.7


@dataclass(frozen=True, slots=True)
class Walther:
    """The line of an oil's viscosity: log10 log10(v + 0.7) = a - b log10 T, v in cSt (mm2/s), T in K (ASTM D341).

    It holds above about 2 cSt. zero_c_k: 0 C in K. Raises ValueError unless b is above 0: oil thins as it warms.
    """

    a: float
    b: float
    zero_c_k: float = ZERO_C_K

    def __post_init__(self) -> None:
        if not (self.b > 0.0 and math.isfinite(self.a)):
            raise ValueError("oil thins as it warms: b is above 0")

    def cst(self, celsius: float) -> float:
        """Kinematic viscosity in cSt. Raises ValueError at absolute zero and below."""
        kelvin = celsius + self.zero_c_k
        if not kelvin > 0.0:
            raise ValueError(f"there is no temperature of {celsius} C")
        return float(10.0**10.0 ** (self.a - self.b * math.log10(kelvin)) - _SHIFT_CST)

    def cst_over(self, celsius: pl.Expr) -> pl.Expr:
        """Kinematic viscosity in cSt over a column of temperatures; null stays null."""
        import polars as pl

        exponent = self.a - self.b * (celsius + self.zero_c_k).log10()
        return pl.lit(10.0) ** (pl.lit(10.0) ** exponent) - _SHIFT_CST


def walther(cst: float, celsius: float, other_cst: float, other_celsius: float, zero_c_k: float = ZERO_C_K) -> Walther:
    """The viscosity line through two points, usually those at 40 and 100 C of an oil's data sheet (ASTM D341).

    zero_c_k: 273.15; some worked examples take 273. Raises ValueError for one temperature twice, a viscosity of
    0.3 cSt or less (the line ends there), or an oil that does not thin as it warms.
    """
    if not min(cst, other_cst) > 1.0 - _SHIFT_CST:
        raise ValueError("the viscosity line needs more than 0.3 cSt")
    if not min(celsius, other_celsius) + zero_c_k > 0.0 or celsius == other_celsius:
        raise ValueError("two different temperatures above absolute zero are wanted")
    upper, lower = (math.log10(math.log10(v + _SHIFT_CST)) for v in (cst, other_cst))
    x, other_x = (math.log10(t + zero_c_k) for t in (celsius, other_celsius))
    b = (upper - lower) / (other_x - x)
    return Walther(upper + b * x, b, zero_c_k)


ORDINARY_OIL = walther(105.0, 40.0, 14.5, 100.0)
"""A 15W-40 engine oil, where none is known: about 105 cSt at 40 C and 14.5 at 100 C; from memory."""


def pressure_at(kpa: float, celsius: float, reference_c: float, oil: Walther = ORDINARY_OIL) -> float:
    """Oil pressure in kPa as it would be at the reference temperature, at the same speed.

    p_ref = p v(ref) / v(t). Assumes that the pump's flow is that of its speed, that it leaves through bearing gaps in
    laminar flow, so that pressure goes with viscosity, and that the relief valve stays shut: so it holds for a warm
    engine and a few tens of degrees, and overstates what cold oil would show. The coolant of an engine that is warm
    through may stand in for its oil. Raises ValueError for a pressure below 0 or a temperature that cannot be.
    """
    if not kpa >= 0.0:
        raise ValueError(f"a pressure of 0 kPa or more is wanted, not {kpa}")
    return kpa * oil.cst(reference_c) / oil.cst(celsius)


def pressure_at_over(kpa: pl.Expr, celsius: pl.Expr, reference_c: float, oil: Walther = ORDINARY_OIL) -> pl.Expr:
    """`pressure_at` over columns of pressure in kPa and temperature in C; null where either is."""
    return kpa * oil.cst(reference_c) / oil.cst_over(celsius)
