"""The unit of a column that states none: told from its values only where one reading alone is possible.

Judged on all values of the column, sentinels left out, by its 1 % and 99 % quantiles, so that a spike decides
nothing. The bounds are common practice, no source: what a small diesel set can show in one unit and cannot in
another. Where two readings are possible nothing is inferred: the column is left alone and asked about.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from startworthy.read.headers import inner_unit
from startworthy.signals import SENTINELS, UNITS, Quantity, Signal, Unit

if TYPE_CHECKING:
    import polars as pl


_LEAST_SENTINEL = min(s for s in SENTINELS if s > 0)
_TOP_NEGATIVE_SENTINEL = max(s for s in SENTINELS if s < 0)


@dataclass(frozen=True, slots=True)
class Spread:
    """How the values of a column lie: 1 % quantile, 99 % quantile of those not 0, whether any is between 0 and 1."""

    low: float
    high: float
    between: bool


@dataclass(frozen=True, slots=True)
class Inferred:
    """A unit and the evidence for it; `unit` None: not to be told, and `choices` says what it could be."""

    unit: Unit | None
    spelling: str
    why: str
    choices: str = ""


def spread_of(values: pl.Series) -> Spread | None:
    """None where a column has no value besides sentinels."""
    known = values.drop_nulls()
    if known.is_empty():
        return None
    if known.max() >= _LEAST_SENTINEL or known.min() <= _TOP_NEGATIVE_SENTINEL:  # type: ignore[operator]
        known = known.filter(~known.is_in(SENTINELS))
        if known.is_empty():
            return None
    # A set rests for most of a year: its zeros say nothing about the unit
    awake = known.filter(known != 0)
    low, high = known.quantile(0.01, "lower"), (known if awake.is_empty() else awake).quantile(0.99, "higher")
    assert low is not None
    assert high is not None
    return Spread(low, high, bool(((known > 0) & (known < 1)).any()))


def infer_unit(signal: Signal, spread: Spread | None) -> Inferred:
    """The only possible unit of a signal's values, or what to ask."""
    if signal.quantity in (Quantity.COUNT, Quantity.FLAG, Quantity.TEXT):
        return Inferred(UNITS["1"], "", "needs no unit")
    if spread is None:
        return Inferred(None, "", "no values to tell it from", _CHOICES[signal.quantity])
    if spread.low == spread.high == 0 and signal.quantity in _SAME_AT_ZERO:
        inner = inner_unit(signal)
        return Inferred(inner, signal.unit, "0 in every row, which is 0 in every unit")
    rule = _RULES.get(signal.name) or _BY_QUANTITY.get(signal.quantity)
    found = rule(spread) if rule is not None else None
    if found is None:
        seen = f"values from {spread.low:g} to {spread.high:g}"
        return Inferred(None, "", seen, _CHOICES[signal.quantity])
    spelling, evidence = found
    return Inferred(UNITS[spelling.casefold()], spelling, evidence)


Rule = Callable[[Spread], tuple[str, str] | None]

_CHOICES = {
    Quantity.VOLTAGE: "V, mV or kV", Quantity.CURRENT: "A or mA", Quantity.FREQUENCY: "Hz", Quantity.SPEED: "rpm",
    Quantity.PRESSURE: "kPa, bar or psi", Quantity.TEMPERATURE: "Cel or degF", Quantity.FRACTION: "% or 1 (a fraction)",
    Quantity.VOLUME: "L, [gal_us] or [gal_br]", Quantity.FLOW: "L/h or gal/h", Quantity.POWER: "kW or W",
    Quantity.DURATION: "h, min or s", Quantity.COUNT: "", Quantity.FLAG: "", Quantity.TEXT: "",
}  # fmt: skip


def _within(unit: str, low: float, high: float, floor: float = 0.0) -> Rule:
    """The unit holds where the highest values lie in [low, high] and none lies under `floor`."""

    def rule(spread: Spread) -> tuple[str, str] | None:
        if spread.low >= floor and low <= spread.high <= high:
            return unit, f"values up to {spread.high:g} can only be {unit}"
        return None

    return rule


def _fraction(spread: Spread) -> tuple[str, str] | None:
    if 1.5 < spread.high <= 110.0 and spread.low >= 0.0:
        return "%", f"values up to {spread.high:g} can only be %"
    if spread.high <= 1.0 and spread.low >= 0.0 and spread.between:
        return "fraction", f"values between 0 and {spread.high:g} can only be a fraction"
    return None


def _load(spread: Spread) -> tuple[str, str] | None:
    if 2.0 < spread.high <= 200.0 and spread.low >= -10.0:
        return "%", f"values up to {spread.high:g} can only be %"
    return None


def _pressure(spread: Spread) -> tuple[str, str] | None:
    # Warm oil stands at 2 to 7 bar, 30 to 100 psi, 200 to 700 kPa: up to 130 two readings stay possible
    if 2.0 <= spread.high <= 10.0:
        return "bar", f"values up to {spread.high:g} can only be bar"
    if 130.0 < spread.high <= 1500.0:
        return "kPa", f"values up to {spread.high:g} can only be kPa"
    return None


def _fahrenheit_above(top: float, floor: float) -> Rule:
    """Hotter than the thing can be in Celsius, and possible in Fahrenheit. Celsius itself can never be shown so."""

    def rule(spread: Spread) -> tuple[str, str] | None:
        if top < spread.high <= top * 1.8 + 32 and spread.low >= floor:
            return "degF", f"values up to {spread.high:g} can only be degF"
        return None

    return rule


def _power(spread: Spread) -> tuple[str, str] | None:
    # Up to 2000 a set of this size may be logged in W, or a larger one in kW
    return ("W", f"values up to {spread.high:g} can only be W") if 2000.0 < spread.high <= 2.0e6 else None


_SAME_AT_ZERO = (Quantity.VOLTAGE, Quantity.CURRENT, Quantity.FREQUENCY, Quantity.PRESSURE, Quantity.POWER)
_RULES: dict[str, Rule] = {
    "battery_v": _within("V", 8.0, 40.0),
    "charger_v": _within("V", 8.0, 60.0),
    "charge_alternator_v": _within("V", 8.0, 60.0),
    "charger_a": _within("A", 1.0, 200.0, floor=-200.0),
    "coolant_c": _fahrenheit_above(160.0, -58.0),
    "oil_c": _fahrenheit_above(200.0, -58.0),
    "ambient_c": _fahrenheit_above(80.0, -76.0),
    "enclosure_c": _fahrenheit_above(120.0, -76.0),
    "load_fraction": _load,
    "fuel_fraction": _fraction,
}
_BY_QUANTITY: dict[Quantity, Rule] = {
    Quantity.FREQUENCY: _within("Hz", 40.0, 70.0),
    Quantity.SPEED: lambda _: ("rpm", "values of a speed can only be rpm"),
    Quantity.VOLTAGE: _within("V", 90.0, 520.0),
    Quantity.CURRENT: _within("A", 1.0, 1000.0, floor=-1000.0),
    Quantity.PRESSURE: _pressure,
    Quantity.POWER: _power,
}
