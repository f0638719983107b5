"""Many tests at once: how many of them would have come out by chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Discoveries:
    """Which of many tests stand. Both rows are as long as the p-values given.

    rejected: True where the test stands (its null hypothesis is rejected), False also where there was no p.
    adjusted: p-values to hold against the rate, null where there was none. n: how many p-values there were.
    """

    rejected: tuple[bool, ...]
    adjusted: tuple[float | None, ...]
    rate: float
    n: int
    method: str
    why: str = ""

    @property
    def count(self) -> int:
        """How many stand."""
        return sum(self.rejected)


def benjamini_hochberg(p_values: Sequence[float | None], rate: float) -> Discoveries:
    """Hold the share of false findings among all to `rate` (Benjamini and Hochberg 1995, J. R. Stat. Soc. B 57).

    p_values: each 0 to 1; None = this test gave no p, it is left out and counts for nothing. rate: a fraction, such as
    0.05. It holds for tests that are independent or hang together positively. Raises ValueError for a p that cannot be.
    """
    known = [p for p in p_values if p is not None]
    if not all(0.0 <= p <= 1.0 for p in known):
        raise ValueError("a p-value lies between 0 and 1")
    if not known:
        nothing = tuple(None for _ in p_values)
        return Discoveries(tuple(False for _ in p_values), nothing, rate, 0, "benjamini-hochberg", "no p-values")
    from scipy.stats import false_discovery_control

    found = iter(false_discovery_control(known, method="bh").tolist())
    adjusted = tuple(None if p is None else float(next(found)) for p in p_values)
    rejected = tuple(p is not None and p <= rate for p in adjusted)
    return Discoveries(rejected, adjusted, rate, len(known), "benjamini-hochberg")
