"""How the values of a column lie: quantiles on some rows of it, while the set runs and at rest apart."""

from __future__ import annotations

from dataclasses import dataclass
from math import gcd

import polars as pl

from startworthy.signals import Quantity, Signal, Unit

SAMPLE_ROWS = 60_000
LEAST_ROWS, LEAST_RUNNING = 30, 30
_WEEK_MIN = 10_080


@dataclass(frozen=True, slots=True)
class Quantiles:
    """5, 25, 50, 75, 95 and 99 % of some values, how many they are, and how many different ones."""

    q05: float
    q25: float
    q50: float
    q75: float
    q95: float
    q99: float
    rows: int
    distinct: int

    def taken_as(self, stated: Unit, other: Unit) -> Quantiles:
        """The same numbers as written, understood in another unit."""

        def again(value: float) -> float:
            return (value / stated.factor - stated.offset + other.offset) * other.factor

        return Quantiles(
            again(self.q05), again(self.q25), again(self.q50), again(self.q75), again(self.q95), again(self.q99),
            self.rows, self.distinct,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Look:
    """How a column lies. run, rest: while the set runs and while it does not; None where too few rows are known so.

    told: whether any other column tells running from rest. power_ratio: power as stated over volts times amperes.
    """

    every: Quantiles
    run: Quantiles | None
    rest: Quantiles | None
    told: bool
    power_ratio: float | None = None
    power_kw: float | None = None

    def taken_as(self, stated: Unit, other: Unit) -> Look:
        """The same look, in another unit."""
        every, run, rest = (q and q.taken_as(stated, other) for q in (self.every, self.run, self.rest))
        assert every is not None
        ratio = None if self.power_ratio is None else self.power_ratio * other.factor / stated.factor
        return Look(every, run, rest, self.told, ratio, self.power_kw)


def stride_of(rows: int) -> int:
    """Every how many-th row makes a sample of at most SAMPLE_ROWS, out of step with days and weeks."""
    stride = max(1, -(-rows // SAMPLE_ROWS))
    while stride > 1 and gcd(stride, _WEEK_MIN) > 1:
        stride += 1
    return stride


def thinned(frame: pl.DataFrame) -> pl.DataFrame:
    """Some rows of a frame, evenly spread."""
    stride = stride_of(frame.height)
    return frame.gather_every(stride) if stride > 1 else frame


def by_set(frame: pl.DataFrame, *, named: bool = False) -> list[tuple[pl.DataFrame, str]]:
    """The rows of each set that has enough of them, with words that name it; a lone set needs none, unless `named`."""
    if "set_id" not in frame.columns or (frame["set_id"].n_unique() == 1 and not named):
        return [(frame, "")]
    return [
        (own, f"set {name[0]}: ")
        for name, own in frame.partition_by("set_id", as_dict=True, maintain_order=True).items()
        if own.height >= LEAST_ROWS
    ]


def running(frame: pl.DataFrame, but: str) -> pl.Series | None:
    """Which rows are of a running set, by the first column that tells and is not the one in question."""
    there = [name for name in frame.columns if name != but and frame[name].dtype == pl.Float64]
    for name, least in _TELLERS:
        if name in there and frame[name].null_count() < frame.height:
            known = frame[name]
            # A column that never tells (another unit, no sensor) leaves it to the next
            if (known > least).any() and not (name in ("speed_rpm",) and (known.max() or 0) < 500):  # type: ignore[operator]
                return (known > least).fill_null(False)
    return None


_TELLERS = (
    ("speed_rpm", 600.0), ("frequency_hz", 20.0), ("voltage_v", 50.0), ("voltage_l1_v", 50.0), ("voltage_l12_v", 50.0),
    ("power_kw", 0.3), ("current_a", 1.0), ("current_l1_a", 1.0), ("oil_kpa", 60.0),
)  # fmt: skip


def look_of(signal: Signal, frame: pl.DataFrame) -> Look | None:
    """How a signal's column lies in a frame of one set; None where it has too few values that say anything."""
    values = frame[signal.name]
    on = running(frame, signal.name)
    awake = values.filter(values != 0) if signal.quantity in _ZERO_AT_REST else values
    every = _quantiles(awake, LEAST_ROWS)
    if every is None:
        return None
    if on is None:
        # Volts and hertz tell by themselves: what is not zero is a set that runs
        own = every if signal.quantity in (Quantity.VOLTAGE, Quantity.FREQUENCY) else None
        return Look(every, None if signal.name not in _TELL_THEMSELVES else own, None, False)
    run, rest = _quantiles(values.filter(on), LEAST_RUNNING), _quantiles(values.filter(~on), LEAST_ROWS)
    ratio, power = (None, None)
    if signal.name in ("power_kw", "load_fraction"):
        ratio, power = _power_figures(frame, on)
    return Look(every, run, rest, True, ratio if signal.name == "power_kw" else None, power)


_ZERO_AT_REST = (Quantity.VOLTAGE, Quantity.FREQUENCY, Quantity.CURRENT, Quantity.POWER, Quantity.PRESSURE)
_TELL_THEMSELVES = ("frequency_hz",)


def _quantiles(values: pl.Series, least: int) -> Quantiles | None:
    known = values.drop_nulls()
    if len(known) < least:
        return None
    points = [known.quantile(q, "nearest") for q in (0.05, 0.25, 0.5, 0.75, 0.95, 0.99)]
    q05, q25, q50, q75, q95, q99 = (float(q or 0.0) for q in points)
    return Quantiles(q05, q25, q50, q75, q95, q99, len(known), known.n_unique())


def _power_figures(frame: pl.DataFrame, on: pl.Series) -> tuple[float | None, float | None]:
    """Median of power over volts times amperes while loaded, and the median power; None where a column lacks."""
    ran = frame.filter(on)
    power = ran["power_kw"].median() if "power_kw" in ran.columns else None
    volts = next((v for v in ("voltage_v", "voltage_l1_v", "voltage_l12_v") if v in ran.columns), None)
    amps = next((a for a in ("current_a", "current_l1_a") if a in ran.columns), None)
    if volts is None or amps is None or "power_kw" not in ran.columns:
        return None, power  # type: ignore[return-value]
    loaded = ran.filter((pl.col(amps) > 1.0) & (pl.col(volts) > 50.0) & (pl.col("power_kw") > 0))
    if loaded.height < LEAST_RUNNING:
        return None, power  # type: ignore[return-value]
    ratio = (loaded["power_kw"] * 1000.0 / (loaded[volts] * loaded[amps])).median()
    return ratio, power  # type: ignore[return-value]
