"""What a figure of the register can be: bounds that only a slip of the pen or of the unit passes.

They refuse what would switch checks off or turn them wild in silence, not what is unusual. Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Strict

from startworthy.tomlfaults import setting_fault


@dataclass(frozen=True, slots=True)
class Slip:
    """A unit in which a figure is given by mistake: times `factor` it is the figure that was meant."""

    unit: str
    factor: float


@dataclass(frozen=True, slots=True)
class Figure:
    """Least and most that a figure can be, in its unit, and the units that it is mistaken for."""

    low: float
    high: float
    unit: str
    slips: tuple[Slip, ...] = ()

    def _unit(self) -> str:
        return f" {self.unit}" if self.unit else ""

    def checked(self, value: float) -> float:
        """The value itself. Raises the fault of a value out of bounds, with the figure that may have been meant."""
        if self.low <= value <= self.high:
            return value
        for slip in self.slips:
            meant = value * slip.factor
            if self.low <= meant <= self.high:
                raise setting_fault(
                    "setting_other_unit", low=self.low, high=self.high, unit=self._unit(), other=slip.unit, meant=meant
                )
        raise setting_fault("setting_out_of_range", low=self.low, high=self.high, unit=self._unit())


FIGURES = {
    "rated_kw": Figure(0.5, 2000.0, "kW", (Slip("W", 1e-3),)),
    "rated_voltage_v": Figure(50.0, 1000.0, "V", (Slip("kV", 1e3),)),
    "rated_rpm": Figure(500.0, 5000.0, "rpm", (Slip("turns a second", 60.0),)),
    "battery_ah": Figure(5.0, 5000.0, "Ah", (Slip("mAh", 1e-3),)),
    "tank_litres": Figure(1.0, 100_000.0, "litres", (Slip("cubic metres", 1e3),)),
    "altitude_m": Figure(-500.0, 6000.0, "m", (Slip("feet", 0.3048),)),
    "every_days": Figure(0.25, 400.0, "days"),
    "minutes": Figure(1.0, 1440.0, "minutes", (Slip("seconds", 1 / 60),)),
    "min_load_fraction": Figure(0.0, 1.5, "", (Slip("per cent", 0.01),)),
    "every_hours": Figure(5.0, 20_000.0, "hours"),
    "every_months": Figure(0.25, 240.0, "months"),
    "last_hours": Figure(0.0, 500_000.0, "hours", (Slip("seconds", 1 / 3600),)),
}
"""By key of the register."""

EARLIEST = date(1950, 1, 1)


def _within(key: str) -> AfterValidator:
    check: Callable[[float], float] = FIGURES[key].checked
    return AfterValidator(check)


def _from_text(value: object) -> object:
    """A date in quotes has one reading where it is written as ISO 8601 has it, and no other way."""
    if not isinstance(value, str):
        return value
    try:
        return date.fromisoformat(value) if re.fullmatch(r"\d{4}-\d\d-\d\d", value) else value
    except ValueError:
        return value


def _seen(day: date) -> date:
    # the day of the reader's own clock is what the message shows; somewhere it is tomorrow already
    today = date.today()
    if day > today + timedelta(days=1):
        raise setting_fault("setting_in_future", today=today.isoformat())
    if day < EARLIEST:
        raise setting_fault("setting_too_early", earliest=EARLIEST.isoformat())
    return day


Yes = Annotated[bool, Strict()]
Text = Annotated[str, Strict()]
PastDay = Annotated[date, Strict(), BeforeValidator(_from_text), AfterValidator(_seen)]
RatedKw = Annotated[float, Strict(), _within("rated_kw")]
RatedVoltage = Annotated[float, Strict(), _within("rated_voltage_v")]
RatedSpeed = Annotated[float, Strict(), _within("rated_rpm")]
BatteryAh = Annotated[float, Strict(), _within("battery_ah")]
TankLitres = Annotated[float, Strict(), _within("tank_litres")]
Altitude = Annotated[float, Strict(), _within("altitude_m")]
EveryDays = Annotated[float, Strict(), _within("every_days")]
Minutes = Annotated[float, Strict(), _within("minutes")]
LoadFraction = Annotated[float, Strict(), _within("min_load_fraction")]
EveryHours = Annotated[float, Strict(), _within("every_hours")]
EveryMonths = Annotated[float, Strict(), _within("every_months")]
LastHours = Annotated[float, Strict(), _within("last_hours")]
