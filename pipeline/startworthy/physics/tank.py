"""From the level in a tank to what it holds, by the tank's shape, and back.

A level is a share of the depth, as a float or a pressure at the bottom shows it. Where the gauge already tells the
share of the contents, the tank is to be given as rectangular: level and contents are then one.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from startworthy.physics.table import Table

if TYPE_CHECKING:
    import polars as pl

    from startworthy.register import SetEntry

_FULL_PER_CENT = 100.0


def cylinder_fraction(depth: float) -> float:
    """Share of a horizontal cylinder with flat ends that is filled to this share of its depth.

    V / V_full = (t - sin t cos t) / pi with cos t = 1 - 2h, the segment of a circle (any mensuration text).
    Raises ValueError outside 0 to 1.
    """
    if not 0.0 <= depth <= 1.0:
        raise ValueError(f"a depth lies within 0 and 1, not {depth}")
    # the arc sine of the root keeps its digits at both ends, where the arc cosine of 1 - 2h loses them
    half_angle = 2.0 * math.asin(math.sqrt(depth))
    return (half_angle - math.sin(half_angle) * math.cos(half_angle)) / math.pi


def cylinder_depth(fraction: float) -> float:
    """Share of the depth at which a horizontal cylinder holds this share: the inverse of `cylinder_fraction`, to 1e-12.

    Raises ValueError outside 0 to 1.
    """
    if not 0.0 <= fraction <= 1.0:
        raise ValueError(f"a share of a tank lies within 0 and 1, not {fraction}")
    low, high = 0.0, 1.0
    for _ in range(44):  # 2^-44 < 1e-13
        middle = (low + high) / 2.0
        low, high = (middle, high) if cylinder_fraction(middle) < fraction else (low, middle)
    return (low + high) / 2.0


def strapping(points: Sequence[tuple[float, float]], full_l: float | None = None) -> Table:
    """A strapping (dip) table: level as a fraction to litres, straight between its points.

    points: (level in %, litres), both rising. A table that begins above 0 % begins at no litres, and one that stops
    short of 100 % ends at `full_l` where that is known and more. Raises ValueError for fewer than two points, a level
    outside 0 to 100 %, or one of both that does not rise: then a level has no one answer.
    """
    if len(points) < 2:
        raise ValueError("a strapping table needs two points or more")
    if any(not 0.0 <= level <= _FULL_PER_CENT or not 0.0 <= litres < math.inf for level, litres in points):
        raise ValueError("a strapping table gives the level in % (0 to 100) and litres of 0 or more")
    if not all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(points)):
        raise ValueError("a strapping table must rise from point to point, in level and in litres")
    whole = list(points)
    if whole[0][0] > 0.0 and whole[0][1] > 0.0:
        whole.insert(0, (0.0, 0.0))
    if full_l is not None and whole[-1][0] < _FULL_PER_CENT and full_l > whole[-1][1]:
        whole.append((_FULL_PER_CENT, full_l))
    levels, litres = zip(*whole, strict=True)
    return Table(
        tuple(level / _FULL_PER_CENT for level in levels), tuple(litres), "1", "l", "register: strapping table"
    )


def full_litres(entry: SetEntry) -> float | None:
    """Litres of the full tank: the register's figure, else what its strapping table ends with; None without either."""
    if entry.tank_litres is None and isinstance(entry.tank_shape, list):
        return strapping(entry.tank_shape).y[-1]
    return entry.tank_litres


def litres_at(entry: SetEntry, level: float | None) -> float | None:
    """Litres in the set's tank at a level (a share of its depth), through the tank's shape.

    None where the register does not tell the tank, the level is not known, or it lies above a strapping table that
    stops short of full. A sender may show a little more than full: a rectangular tank is taken on in a straight line,
    so that what is used from there is told; the other shapes stay full.
    Raises ValueError for a strapping table that does not rise.
    """
    if level is None:
        return None
    share = min(max(level, 0.0), 1.0)
    if isinstance(entry.tank_shape, list):
        table = strapping(entry.tank_shape, entry.tank_litres)
        return table.at(share) if share <= table.x[-1] else None
    if entry.tank_litres is None:
        return None
    if entry.tank_shape == "horizontal_cylinder":
        return entry.tank_litres * cylinder_fraction(share)
    return entry.tank_litres * max(level, 0.0)


def level_at(entry: SetEntry, litres: float | None) -> float | None:
    """The level (a share of the depth) at which the set's tank holds these litres: the inverse of `litres_at`.

    None where the tank or the litres are not known, or they lie beyond a strapping table that stops short of full.
    """
    if litres is None:
        return None
    held = max(litres, 0.0)
    if isinstance(entry.tank_shape, list):
        table = strapping(entry.tank_shape, entry.tank_litres)
        return table.inverse().at(held) if held <= table.y[-1] or table.x[-1] >= 1.0 else None
    if entry.tank_litres is None:
        return None
    share = held / entry.tank_litres
    return cylinder_depth(min(share, 1.0)) if entry.tank_shape == "horizontal_cylinder" else share


def litres_over(entries: Mapping[str, SetEntry], level: pl.Expr) -> pl.Expr:
    """`litres_at` over a column of levels, the sets told apart by the column `set_id`; null where that gives None.

    One pass for each shape of tank, not for each set.
    """
    import polars as pl

    set_id, share = pl.col("set_id"), level.clip(0.0, 1.0)
    plain = {one: entry for one, entry in entries.items() if not isinstance(entry.tank_shape, list)}
    full = {one: entry.tank_litres for one, entry in plain.items() if entry.tank_litres is not None}
    lying = [one for one in full if entries[one].tank_shape == "horizontal_cylinder"]
    found = pl.lit(None, pl.Float64)
    if full:
        half_angle = 2.0 * share.sqrt().arcsin()
        segment = (half_angle - half_angle.sin() * half_angle.cos()) / math.pi
        held = pl.when(set_id.is_in(lying)).then(segment).otherwise(level.clip(0.0)) if lying else level.clip(0.0)
        found = held * set_id.replace_strict(full, default=None, return_dtype=pl.Float64)
    for one, entry in entries.items():
        if isinstance(entry.tank_shape, list):
            table = strapping(entry.tank_shape, entry.tank_litres)
            litres = pl.when(share <= table.x[-1]).then(table.over(share))
            found = pl.when(set_id == one).then(litres).otherwise(found)
    return found


def levels_over(entries: Mapping[str, SetEntry], litres: pl.Expr) -> pl.Expr:
    """`level_at` over a column of litres, the sets told apart by the column `set_id`; null where that gives None.

    A lying cylinder is read from a line through 2001 points: 1e-6 of the depth or better.
    """
    import polars as pl

    set_id, held = pl.col("set_id"), litres.clip(0.0)
    plain = {one: entry for one, entry in entries.items() if not isinstance(entry.tank_shape, list)}
    full = {one: entry.tank_litres for one, entry in plain.items() if entry.tank_litres is not None}
    lying = [one for one in full if entries[one].tank_shape == "horizontal_cylinder"]
    found = pl.lit(None, pl.Float64)
    if full:
        share = held / set_id.replace_strict(full, default=None, return_dtype=pl.Float64)
        depth = share.clip(0.0, 1.0).map_batches(_depths, pl.Float64)
        found = pl.when(set_id.is_in(lying)).then(depth).otherwise(share) if lying else share
    for one, entry in entries.items():
        if isinstance(entry.tank_shape, list):
            table = strapping(entry.tank_shape, entry.tank_litres)
            level = table.inverse().over(held)
            level = level if table.x[-1] >= 1.0 else pl.when(held <= table.y[-1]).then(level)
            found = pl.when(set_id == one).then(level).otherwise(found)
    return found


def _depths(fraction: pl.Series) -> pl.Series:
    """Depths of a lying cylinder: a line through points that are dense at both ends, where the curve is steep."""
    import numpy as np
    import polars as pl

    half_angle = np.linspace(0.0, np.pi, 2001)
    held = (half_angle - np.sin(half_angle) * np.cos(half_angle)) / np.pi
    depths = np.interp(fraction.to_numpy(), held, (1.0 - np.cos(half_angle)) / 2.0)
    return pl.Series(fraction.name, depths, nan_to_null=True)
