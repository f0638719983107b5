"""The register: what no log can tell about a set (nameplate, tank, battery, exercise plan, service plan), from TOML.

Every key is optional. A key that is not known is refused with the nearest known one: a typing error must not
switch a check off in silence.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Annotated, Any, Literal, get_args
from zoneinfo import ZoneInfo, available_timezones

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from startworthy.limits import BY_NAME as LIMITS_BY_NAME
from startworthy.limits import Limits
from startworthy.physics.fuel import fuel_curve
from startworthy.physics.tank import strapping
from startworthy.problems import InputError
from startworthy.tomlfile import faults, read_toml

Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Fraction = Annotated[float, Field(ge=0, le=1.5)]


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class ExercisePlan(_Entry):
    """How often the set runs by itself to stay ready, for how long and how loaded."""

    every_days: Positive | None = None
    minutes: Positive | None = None
    min_load_fraction: Fraction | None = None


class ServicePlan(_Entry):
    """When the set is serviced next, by hours or months, whichever comes first."""

    every_hours: Positive | None = None
    every_months: Positive | None = None
    last_hours: Annotated[float, Field(ge=0)] | None = None
    last_date: date | None = None


class SetEntry(_Entry):
    """One set. Units stand in the names; fractions are 0 to 1 but for the strapping table, which is in per cent."""

    site: str | None = None
    time_zone: str | None = None
    rated_kw: Positive | None = None
    rated_voltage_v: Positive | None = None
    rated_frequency_hz: Literal[50, 60] | None = None
    rated_rpm: Positive | None = None
    battery_nominal_v: Literal[12, 24] | None = None
    battery_ah: Positive | None = None
    battery_type: Literal["flooded", "agm", "gel"] | None = None
    charger: bool | None = None
    tank_litres: Positive | None = None
    tank_shape: Literal["rectangular", "horizontal_cylinder"] | list[tuple[float, float]] | None = None
    coolant_heater: bool | None = None
    air_cooled: bool | None = None
    preheat: bool | None = None
    fuel_curve: list[tuple[float, float]] | None = None
    altitude_m: Annotated[float, Field(ge=-500, le=6000)] | None = None
    governor_class: Literal["G1", "G2", "G3"] | None = None
    type_10: bool | None = None
    commissioned: date | None = None
    exercise: ExercisePlan = ExercisePlan()
    service: ServicePlan = ServicePlan()
    limits: dict[str, float] = Field(default_factory=dict)

    @field_validator("time_zone")
    @classmethod
    def _zone_is_known(cls, zone: str | None) -> str | None:
        if zone is not None:
            require_zone(zone)
        return zone

    @field_validator("tank_shape")
    @classmethod
    def _strapping_rises(cls, shape: str | list[tuple[float, float]] | None) -> str | list[tuple[float, float]] | None:
        if isinstance(shape, list):
            strapping(shape)
        return shape

    @field_validator("fuel_curve")
    @classmethod
    def _curve_rises(cls, points: list[tuple[float, float]] | None) -> list[tuple[float, float]] | None:
        if points is not None:
            fuel_curve(points)
        return points

    @field_validator("limits")
    @classmethod
    def _limits_are_known(cls, own: dict[str, float]) -> dict[str, float]:
        try:
            Limits(own)
        except KeyError as error:
            raise ValueError(f"unknown limit {error.args[0]}") from None
        return own


class Register(_Entry):
    """All sets by their id, over the defaults that hold for each."""

    defaults: SetEntry = SetEntry()
    sets: dict[str, SetEntry] = Field(default_factory=dict)

    def of(self, set_id: str) -> SetEntry:
        """The set's entry laid over the defaults, key by key (nested tables too)."""
        own = self.sets.get(set_id)
        if own is None:
            return self.defaults
        base = self.defaults.model_dump(exclude_unset=True)
        return SetEntry.model_validate(_merged(base, own.model_dump(exclude_unset=True)))

    def zone_of(self, set_id: str) -> str:
        """IANA zone in which naive times of this set are read, and its days are told; UTC where none is given."""
        return self.of(set_id).time_zone or "UTC"


def _merged(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    both = dict(base)
    for key, value in own.items():
        both[key] = _merged(both[key], value) if isinstance(value, dict) and isinstance(both.get(key), dict) else value
    return both


def require_zone(zone: str) -> ZoneInfo:
    """The zone of that IANA name. Raises ValueError that names the nearest known one."""
    try:
        return ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        near = difflib.get_close_matches(zone, available_timezones(), n=1, cutoff=0.5)
        hint = f", did you mean {near[0]}?" if near else ""
        raise ValueError(f"unknown time zone {zone!r}{hint}") from None


def load_register(path: Path) -> Register:
    """Read and check a register. Raises InputError with one problem per fault: file, line, key, what would mend it."""
    raw, text = read_toml(path, "register")
    try:
        return Register.model_validate(raw)
    except ValidationError as error:
        raise InputError(*faults(str(path), text, error, "register", _known_keys)) from None


def find_register(paths: Iterable[Path]) -> Path | None:
    """A `sets.toml` beside the logs: in a folder that was named, or in the folder of a file that was named."""
    for path in paths:
        beside = (path if path.is_dir() else path.parent) / "sets.toml"
        if beside.is_file():
            return beside
    return None


def _known_keys(keys: list[str]) -> list[str]:
    if len(keys) <= 1:
        return list(Register.model_fields)
    model: Any = SetEntry
    for part in keys[1:-1]:
        inner = model.model_fields.get(part)
        if inner is not None:
            kinds = [
                k
                for k in (inner.annotation, *get_args(inner.annotation))
                if isinstance(k, type) and issubclass(k, BaseModel)
            ]
            model = kinds[0] if kinds else model
            if part == "limits":
                return list(LIMITS_BY_NAME)
    return list(model.model_fields)
