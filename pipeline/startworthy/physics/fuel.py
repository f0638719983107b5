"""Diesel fuel: its volume by temperature, what a set burns by its load, and the energy in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from startworthy.physics.table import Table

if TYPE_CHECKING:
    import polars as pl

BASE_C = 15.0
"""Temperature to which volumes are referred (ASTM D1250-80, table 54B)."""
DIESEL_KG_M3 = 840.0
"""Density of diesel at 15 C where none is known (EN 590: 820 to 845; from memory)."""
ENERGY_KG_M3, ENERGY_MJ_KG = 832.0, 42.8
"""Density and lower heating value on which the energy figures of this package stand."""
MJ_PER_KWH = 3.6
L_PER_US_GAL = 3.785411784

_LIGHTEST_KG_M3, _HEAVIER_KG_M3, _HEAVIEST_KG_M3 = 787.5, 838.5, 1075.0


def expansion_per_c(kg_m3: float = DIESEL_KG_M3) -> float:
    """Coefficient of expansion at 15 C, in 1/C: K0 / rho^2 + K1 / rho (ASTM D1250-80, table 54B).

    kg_m3: density at 15 C. Raises ValueError outside 787.5 to 1075 kg/m3, where the table's diesel and fuel oils end.
    """
    if not _LIGHTEST_KG_M3 <= kg_m3 <= _HEAVIEST_KG_M3:
        raise ValueError(f"fuels of this table weigh 787.5 to 1075 kg/m3 at 15 C, not {kg_m3}")
    k0, k1 = (186.9696, 0.4862) if kg_m3 >= _HEAVIER_KG_M3 else (594.5418, 0.0)
    return k0 / kg_m3**2 + k1 / kg_m3


def volume_correction(celsius: float, kg_m3: float = DIESEL_KG_M3) -> float:
    """Volume at 15 C over volume at this temperature: exp(-a dt (1 + 0.8 a dt)), dt = t - 15 C.

    ASTM D1250-80, table 54B. kg_m3: density at 15 C. Raises ValueError for a density outside the table or a
    temperature that is no number.
    """
    if not math.isfinite(celsius):
        raise ValueError(f"a temperature is wanted, not {celsius}")
    swollen = expansion_per_c(kg_m3) * (celsius - BASE_C)
    return math.exp(-swollen * (1.0 + 0.8 * swollen))


def volume_correction_over(celsius: pl.Expr, kg_m3: float = DIESEL_KG_M3) -> pl.Expr:
    """`volume_correction` over a column of temperatures in C; null stays null."""
    swollen = (celsius - BASE_C) * expansion_per_c(kg_m3)
    return (-swollen * (1.0 + 0.8 * swollen)).exp()


def litres_at_15_c(litres: float, celsius: float, kg_m3: float = DIESEL_KG_M3) -> float:
    """What litres at this temperature would be at 15 C. Raises ValueError below 0 L, and as `volume_correction`."""
    if not litres >= 0.0:
        raise ValueError(f"a volume of 0 L or more is wanted, not {litres}")
    return litres * volume_correction(celsius, kg_m3)


def density_kg_m3(celsius: float, kg_m3: float = DIESEL_KG_M3) -> float:
    """Density at this temperature of a fuel that has `kg_m3` at 15 C. Raises as `volume_correction`."""
    return kg_m3 * volume_correction(celsius, kg_m3)


def specific_gravity(api: float) -> float:
    """Specific gravity at 60 F by API gravity: 141.5 / (131.5 + API). Raises ValueError at -131.5 and below."""
    if not api > -131.5:
        raise ValueError(f"no fuel has {api} degrees API")
    return 141.5 / (131.5 + api)


def kwh_per_l(kg_m3: float = ENERGY_KG_M3, mj_kg: float = ENERGY_MJ_KG) -> float:
    """Energy of a litre of fuel in kWh, by density and heating value. Raises ValueError unless both are above 0."""
    if not (kg_m3 > 0.0 and mj_kg > 0.0):
        raise ValueError("density and heating value are above 0")
    return kg_m3 / 1000.0 * mj_kg / MJ_PER_KWH


def efficiency(l_per_kwh: float, kg_m3: float = ENERGY_KG_M3, mj_kg: float = ENERGY_MJ_KG) -> float:
    """Share of the fuel's energy that comes out, at this use in L/kWh. Raises ValueError unless all are above 0."""
    if not l_per_kwh > 0.0:
        raise ValueError(f"a use above 0 L/kWh is wanted, not {l_per_kwh}")
    return 1.0 / (l_per_kwh * kwh_per_l(kg_m3, mj_kg))


_CHART = "published chart of diesel generating sets, approximate; US gal/h at 1/2, 3/4 and full load"


def _chart(half: float, three_quarters: float, full: float) -> Table:
    gal_h = (half, three_quarters, full)
    return Table((0.5, 0.75, 1.0), tuple(value * L_PER_US_GAL for value in gal_h), "1", "l/h", _CHART)


CHARTS: dict[float, Table] = {
    8.0: _chart(0.39, 0.54, 0.69),
    15.0: _chart(0.69, 0.94, 1.22),
    20.0: _chart(0.9, 1.3, 1.6),
}
"""Fuel in L/h by load fraction, for sets of 8, 15 and 20 kW: context, where neither the set nor its register tells."""


def fuel_curve(points: Sequence[tuple[float, float]]) -> Table:
    """A set's own curve: load as a fraction to L/h, straight between its points and held at its ends.

    Raises ValueError for no point, a load that does not rise, a use that falls, or a figure that is not above 0
    (a load of 0 is idling).
    """
    if not points or any(not 0.0 <= load < math.inf or not 0.0 < lph < math.inf for load, lph in points):
        raise ValueError("a fuel curve gives load fractions of 0 or more and L/h above 0")
    loads, rates = zip(*points, strict=True)
    if any(later < earlier for earlier, later in pairwise(rates)):
        raise ValueError("a fuel curve does not fall with the load")
    try:
        return Table(tuple(loads), tuple(rates), "1", "l/h", "register: fuel curve")
    except ValueError:
        raise ValueError("the load fractions of a fuel curve must rise") from None


def chart_lph(rated_kw: float, load_fraction: float) -> float | None:
    """L/h that published charts give for a set of this size, straight between the charts of 8, 15 and 20 kW.

    None outside 8 to 20 kW or half to full load: the charts say nothing there.
    """
    sizes = tuple(CHARTS)
    if not sizes[0] <= rated_kw <= sizes[-1] or not 0.5 <= load_fraction <= 1.0:
        return None
    return Table(sizes, tuple(chart.at(load_fraction) for chart in CHARTS.values()), "kW", "l/h", _CHART).at(rated_kw)


Method = Literal["least squares", "theil-sen"]


@dataclass(frozen=True, slots=True)
class FuelLine:
    """L/h = a + b P: idling in L/h, L for each kWh above it, and the scatter about the line in L/h (n - 2).

    Null where the points are too few or lie at one load: then `why` says so.
    """

    idle_lph: float | None
    l_per_kwh: float | None
    scatter_lph: float | None
    n: int
    method: Method
    why: str = ""

    def at(self, kw: float) -> float | None:
        """L/h at this power; None where there is no line."""
        if self.idle_lph is None or self.l_per_kwh is None:
            return None
        return self.idle_lph + self.l_per_kwh * kw


def fuel_line(kw: pl.Series, lph: pl.Series, method: Method = "least squares") -> FuelLine:
    """The straight line of fuel over power through points or runs: by least squares, or robust to a few wild ones.

    kw, lph: as many values each; pairs with a null are left out. `theil-sen`: median slope between all pairs, and the
    median of what is left as idling. Fewer than three pairs, or all at one power, give no line.
    Raises ValueError if the lengths differ.
    """
    import numpy as np
    import polars as pl

    if kw.len() != lph.len():
        raise ValueError("power and fuel must have as many values each")
    pairs = pl.DataFrame({"x": kw.cast(pl.Float64), "y": lph.cast(pl.Float64)}).drop_nulls()
    n = pairs.height
    if n < 3 or pairs["x"].n_unique() < 2:
        return FuelLine(None, None, None, n, method, "too few points, or all at one load")
    x, y = pairs["x"].to_numpy(), pairs["y"].to_numpy()
    if method == "theil-sen":
        first, second = np.triu_indices(n, 1)
        apart = x[second] != x[first]
        slope = float(np.median((y[second] - y[first])[apart] / (x[second] - x[first])[apart]))
        idle = float(np.median(y - slope * x))
    else:
        off = x - x.mean()
        slope = float(off @ (y - y.mean()) / (off @ off))
        idle = float(y.mean() - slope * x.mean())
    left = y - idle - slope * x
    return FuelLine(idle, slope, float(np.sqrt(left @ left / (n - 2))), n, method)
