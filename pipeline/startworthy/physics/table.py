"""Points of a published table, read on the straight line between two of them."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import polars as pl


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
        # written so that a NaN is refused as well
        if not self.x or len(self.x) != len(self.y) or not all(a < b for a, b in pairwise(self.x)):
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

    def over(self, x: pl.Expr) -> pl.Expr:
        """The table's value at each x of a column; null stays null."""
        import polars as pl

        # each piece adds its share of the way: no join, no loop over rows
        pieces = [
            (x.clip(x0, x1) - x0) * ((y1 - y0) / (x1 - x0))
            for (x0, x1), (y0, y1) in zip(pairwise(self.x), pairwise(self.y), strict=True)
        ]
        if not pieces:
            return x * 0.0 + self.y[0]
        return pl.sum_horizontal(pieces, ignore_nulls=False) + self.y[0]

    def inverse(self) -> Table:
        """The table read the other way. Raises ValueError if y turns: then it has no one answer."""
        if self.y[0] > self.y[-1]:
            return Table(self.y[::-1], self.x[::-1], self.y_unit, self.x_unit, self.source)
        return Table(self.y, self.x, self.y_unit, self.x_unit, self.source)
