"""What one threshold is: value, unit, the side on which it is broken, and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

from startworthy.findings import Basis, Side


@dataclass(frozen=True, slots=True)
class Limit:
    """One threshold. A value on the edge itself does not break it. `sane` bounds what a register may put there.

    unit: UCUM; `1` for a share, empty for a count or a multiple. Raises ValueError if `published` comes without a
    source, or the value lies outside `sane`.
    """

    name: str
    value: float
    unit: str
    side: Side
    basis: Basis
    source: str
    sane: tuple[float, float]
    per: str = ""

    def __post_init__(self) -> None:
        if self.basis == "published" and not self.source:
            raise ValueError(f"{self.name}: a published limit names its source")
        if not self.sane[0] <= self.value <= self.sane[1]:
            raise ValueError(f"{self.name}: {self.value} {self.unit} lies outside {self.sane[0]} to {self.sane[1]}")

    def broken_by(self, value: float) -> bool:
        """Whether a value lies beyond the limit, on its side."""
        return value > self.value if self.side == "above" else value < self.value
