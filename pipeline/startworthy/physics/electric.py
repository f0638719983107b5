"""The alternator's output: speed and frequency, droop, unbalance, available power, and the count of EN 50160."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import polars as pl

_FOOT_M, _DEG_F = 0.3048, 1.0 / 1.8
_MOST_POLES = 24


def frequency_hz(poles: int, rpm: float) -> float:
    """Frequency by poles and speed: f = p n / 120 (any machines text). Raises ValueError for an odd number of poles."""
    return _poles(poles) * _speed(rpm) / 120.0


def synchronous_rpm(poles: int, hz: float) -> float:
    """Speed by poles and frequency: n = 120 f / p (any machines text). Raises ValueError for an odd number of poles."""
    return 120.0 * _speed(hz) / _poles(poles)


def poles_from(hz: float, rpm: float, within: float = 0.03) -> int | None:
    """The even number of poles that frequency and speed of a running set make; None where none fits within this share.

    Raises ValueError unless both are above 0.
    """
    if not (hz > 0.0 and rpm > 0.0):
        raise ValueError("poles are told of a running set: frequency and speed above 0")
    exact = 120.0 * hz / rpm
    poles = 2 * round(exact / 2.0)
    return poles if 2 <= poles <= _MOST_POLES and abs(exact / poles - 1.0) <= within else None


def _poles(poles: int) -> int:
    if poles < 2 or poles % 2:
        raise ValueError(f"a machine has 2, 4, 6 ... poles, not {poles}")
    return poles


def _speed(value: float) -> float:
    if not 0.0 <= value < math.inf:
        raise ValueError(f"a speed or frequency of 0 or more is wanted, not {value}")
    return value


def droop_fraction(no_load_hz: float, rated_load_hz: float, rated_hz: float) -> float:
    """Droop: no-load minus rated-load frequency, over rated (ISO 8528-5). Raises ValueError unless all are above 0."""
    if not min(no_load_hz, rated_load_hz, rated_hz) > 0.0:
        raise ValueError("frequencies are above 0")
    return (no_load_hz - rated_load_hz) / rated_hz


def hz_on_droop(rated_hz: float, droop: float, load_fraction: float) -> float:
    """Frequency at a load on the droop line of a set that holds rated frequency at rated load: f (1 + d (1 - load)).

    Raises ValueError for a frequency that is not above 0, or a droop or load below 0.
    """
    if not (rated_hz > 0.0 and droop >= 0.0 and load_fraction >= 0.0):
        raise ValueError("a frequency above 0, and a droop and load of 0 or more are wanted")
    return rated_hz * (1.0 + droop * (1.0 - load_fraction))


def hz_on_droop_over(rated_hz: float, droop: float, load_fraction: pl.Expr) -> pl.Expr:
    """`hz_on_droop` over a column of load fractions; null stays null."""
    return (1.0 + (1.0 - load_fraction) * droop) * rated_hz


def load_on_droop_kw(
    load_kw: float, hz: float, new_hz: float, *, rated_kw: float, rated_hz: float, droop: float
) -> float:
    """Load to which a governor goes when the frequency moves from hz to new_hz along its droop line, setting untouched.

    Raises ValueError unless rated figures and droop are above 0: without droop a load has no line.
    """
    if not min(rated_kw, rated_hz, droop) > 0.0:
        raise ValueError("rated power, rated frequency and droop are above 0")
    return load_kw - (new_hz - hz) / (droop * rated_hz) * rated_kw


def unbalance(*volts: float) -> float:
    """Unbalance after NEMA MG 1, a fraction: the largest deviation from the mean, over the mean. Volts or amperes.

    Raises ValueError for fewer than two values, one below 0, or none above it.
    """
    if len(volts) < 2 or not all(0.0 <= v < math.inf for v in volts) or sum(volts) == 0.0:
        raise ValueError("unbalance needs two values or more, none below 0, not all 0")
    mean = sum(volts) / len(volts)
    return max(abs(v - mean) for v in volts) / mean


def unbalance_over(*volts: pl.Expr) -> pl.Expr:
    """`unbalance` over columns, row by row; null where one is null or all are 0."""
    import polars as pl

    mean = pl.sum_horizontal(*volts, ignore_nulls=False) / len(volts)
    return pl.when(mean > 0.0).then(pl.max_horizontal(*((v - mean).abs() for v in volts)) / mean)


def negative_sequence(ab: float, bc: float, ca: float) -> float:
    """Negative over positive sequence of three line-to-line voltages, a fraction: what ISO 8528-5 limits to 1 %.

    From the magnitudes alone: with b = (ab^4 + bc^4 + ca^4) / (ab^2 + bc^2 + ca^2)^2 it is
    sqrt((1 - sqrt(3 - 6 b)) / (1 + sqrt(3 - 6 b))). Raises ValueError where they do not close to a triangle, as
    line-to-line voltages always do (line-to-neutral ones need not).
    """
    a, b, c = sorted((ab, bc, ca))
    if not (a > 0.0 and a + b >= c and c < math.inf):
        raise ValueError(f"{ab}, {bc} and {ca} V are no three line-to-line voltages")
    beta = (a**4 + b**4 + c**4) / (a**2 + b**2 + c**2) ** 2
    # rounding may carry three equal voltages, or three in one line, a last digit over the edge
    root = math.sqrt(min(max(3.0 - 6.0 * beta, 0.0), 1.0))
    return math.sqrt((1.0 - root) / (1.0 + root))


@dataclass(frozen=True, slots=True)
class Derating:
    """What height and heat take off a naturally aspirated engine: shares for each step above a limit."""

    per_height: float
    height_step_m: float
    height_from_m: float
    per_heat: float
    heat_step_c: float
    heat_from_c: float
    source: str

    def factor(self, altitude_m: float = 0.0, ambient_c: float | None = None) -> float:
        """Available over rated power; never above 1, never below 0. Without a temperature only height counts.

        Raises ValueError for a height outside -500 to 6000 m or a temperature outside -60 to 80 C.
        """
        if not -500.0 <= altitude_m <= 6000.0:
            raise ValueError(f"no set runs at {altitude_m} m")
        if ambient_c is not None and not -60.0 <= ambient_c <= 80.0:
            raise ValueError(f"no set runs at {ambient_c} C")
        steps = max(altitude_m - self.height_from_m, 0.0) / self.height_step_m
        heat = max((ambient_c if ambient_c is not None else self.heat_from_c) - self.heat_from_c, 0.0)
        return max(1.0 - self.per_height * steps, 0.0) * max(1.0 - self.per_heat * heat / self.heat_step_c, 0.0)

    def factor_over(self, altitude_m: float, ambient_c: pl.Expr) -> pl.Expr:
        """`factor` over a column of temperatures; null counts as no heat above the limit."""
        heat = (ambient_c.fill_null(self.heat_from_c) - self.heat_from_c).clip(0.0)
        return (1.0 - heat * (self.per_heat / self.heat_step_c)).clip(0.0) * self.factor(altitude_m)


_AGRICULTURAL = (
    "agricultural engineering text, naturally aspirated engines: 3 % for each 1000 ft above 500 ft, "
    "1 % for each {} F above 85 F"
)
DIESEL = Derating(0.03, 1000 * _FOOT_M, 500 * _FOOT_M, 0.01, 5 * _DEG_F, 53 * _DEG_F, _AGRICULTURAL.format(5))
"""The source rounds its feet and Fahrenheit to 305 and 152 m, 2.7 and 29 C: here they are exact."""
SPARK_IGNITION = Derating(0.03, 1000 * _FOOT_M, 500 * _FOOT_M, 0.01, 10 * _DEG_F, 53 * _DEG_F, _AGRICULTURAL.format(10))


@dataclass(frozen=True, slots=True)
class FrequencyCount:
    """Counts of 10 s means of frequency: n valid ones, outside the near band, outside the far one; and the verdict.

    complies is None where there was no valid interval.
    """

    n: int
    outside_near: int
    outside_far: int
    complies: bool | None


def count_10_s_means(mean_hz: pl.Series, rated_hz: float, *, tied: bool) -> FrequencyCount:
    """The counting rule of EN 50160:2010 over 10 s means of frequency; nulls (invalid or partial) are left out.

    Tied to other grids: within 1 % for 99.5 % of the intervals and +4 / -6 % always; not tied, as a set on its own:
    within 2 % for 95 % and 15 % always. The edge itself complies. A year (tied) or a week is the standard's span: a
    shorter one is a count, no verdict by the standard. Raises ValueError unless the rated frequency is above 0.
    """
    if not rated_hz > 0.0:
        raise ValueError("a rated frequency above 0 is wanted")
    near, share, low, high = (0.01, 0.005, 0.06, 0.04) if tied else (0.02, 0.05, 0.15, 0.15)
    # nine digits: a band's edge has no exact binary form
    off = (mean_hz.drop_nulls() / rated_hz - 1.0).round(9)
    n = off.len()
    outside_near = int((off.abs() > near).sum())
    outside_far = int(((off > high) | (off < -low)).sum())
    return FrequencyCount(n, outside_near, outside_far, (outside_near <= share * n and not outside_far) if n else None)
