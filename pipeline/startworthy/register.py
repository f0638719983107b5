"""The register: what no log can tell about a set (nameplate, tank, battery, exercise plan, service plan), from TOML.

Every key is optional. A key that is not known is refused with the nearest known one: a typing error must not
switch a check off in silence.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PrivateAttr, ValidationError, field_validator

from startworthy import figures
from startworthy.limits import BY_NAME as LIMITS_BY_NAME
from startworthy.limits.order import crossed
from startworthy.physics.fuel import fuel_curve
from startworthy.physics.tank import strapping
from startworthy.problems import InputError, Problem
from startworthy.setnames import unmatched
from startworthy.tomlfaults import (
    Values,
    faults,
    in_file_order,
    listed,
    nearest,
    problem,
    setting_fault,
    several_faults,
    shown,
)
from startworthy.tomlfile import Toml, read_toml
from startworthy.tomlplaces import Path as KeyPath
from startworthy.tomlplaces import dotted
from startworthy.zonenames import check_zone, require_zone

__all__ = ["ExercisePlan", "Register", "ServicePlan", "SetEntry", "find_register", "load_register", "require_zone"]

Pair = tuple[float, float]
_SHAPES = ("rectangular", "horizontal_cylinder")


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _pairs(value: object, code: str) -> list[Pair]:
    """A list of pairs of numbers. Raises the fault of that code that says how one looks."""
    rows = list(value) if isinstance(value, (list, tuple)) else None
    if rows is None or not all(isinstance(r, (list, tuple)) and len(r) == 2 and all(map(_is_number, r)) for r in rows):
        raise setting_fault(code)
    try:
        pairs = [(float(a), float(b)) for a, b in rows]
    except OverflowError:
        raise setting_fault(code) from None
    if not all(math.isfinite(number) for pair in pairs for number in pair):
        raise setting_fault(code)
    return pairs


def _curve(value: object) -> object:
    if value is None:
        return None
    points = _pairs(value, "setting_curve_form")
    try:
        fuel_curve(points)
    except ValueError as error:
        raise setting_fault("setting_bad_points", why=str(error)) from None
    return points


def _shape(value: object) -> object:
    if value is None or value in _SHAPES:
        return value
    points = _pairs(value, "setting_shape_form")
    try:
        strapping(points)
    except ValueError as error:
        raise setting_fault("setting_bad_points", why=str(error)) from None
    return points


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class ExercisePlan(_Entry):
    """How often the set runs by itself to stay ready, for how long and how loaded."""

    every_days: figures.EveryDays | None = None
    minutes: figures.Minutes | None = None
    min_load_fraction: figures.LoadFraction | None = None


class ServicePlan(_Entry):
    """When the set is serviced next, by hours or months, whichever comes first."""

    every_hours: figures.EveryHours | None = None
    every_months: figures.EveryMonths | None = None
    last_hours: figures.LastHours | None = None
    last_date: figures.PastDay | None = None


class SetEntry(_Entry):
    """One set. Units stand in the names; fractions are 0 to 1 but for the strapping table, which is in per cent."""

    site: figures.Text | None = None
    time_zone: figures.Text | None = None
    rated_kw: figures.RatedKw | None = None
    rated_voltage_v: figures.RatedVoltage | None = None
    rated_frequency_hz: Literal[50, 60] | None = None
    rated_rpm: figures.RatedSpeed | None = None
    battery_nominal_v: Literal[12, 24] | None = None
    battery_ah: figures.BatteryAh | None = None
    battery_type: Literal["flooded", "agm", "gel"] | None = None
    charger: figures.Yes | None = None
    tank_litres: figures.TankLitres | None = None
    tank_shape: Annotated[
        Literal["rectangular", "horizontal_cylinder"] | list[Pair] | None, BeforeValidator(_shape)
    ] = None
    coolant_heater: figures.Yes | None = None
    air_cooled: figures.Yes | None = None
    preheat: figures.Yes | None = None
    fuel_curve: Annotated[list[Pair] | None, BeforeValidator(_curve)] = None
    altitude_m: figures.Altitude | None = None
    governor_class: Literal["G1", "G2", "G3"] | None = None
    type_10: figures.Yes | None = None
    commissioned: figures.PastDay | None = None
    exercise: ExercisePlan = ExercisePlan()
    service: ServicePlan = ServicePlan()
    limits: dict[str, float] = Field(default_factory=dict)

    @field_validator("time_zone")
    @classmethod
    def _zone_is_known(cls, zone: str | None) -> str | None:
        if zone is not None:
            check_zone(zone)
        return zone

    @field_validator("limits", mode="before")
    @classmethod
    def _limits_are_known(cls, own: object) -> object:
        if not isinstance(own, Mapping):
            return own
        wrong = [(str(name), value, *fault) for name, value in own.items() if (fault := _limit_fault(name, value))]
        if wrong:
            raise several_faults(wrong)
        return own


def _limit_fault(name: str, value: object) -> tuple[str, Values] | None:
    limit = LIMITS_BY_NAME.get(name)
    if limit is None:
        near = nearest(name, LIMITS_BY_NAME)
        return ("register_unknown_limit", {"near": near}) if near else ("register_unknown_limit_far", {})
    if not _is_number(value):
        return "setting_wants_number", {}
    assert isinstance(value, (int, float))
    low, high = limit.sane
    if low <= value <= high:
        return None
    if isinstance(value, float) and not math.isfinite(value):
        return "setting_not_finite", {}
    unit = _UNITS.get(limit.unit, f" {limit.unit}".rstrip())
    told: Values = {"low": low, "high": high, "unit": unit}
    other, factor, zero = _SLIPS.get(limit.unit, ("", 0.0, 0.0))
    meant = (value - zero) * factor if abs(value) < LARGE else value
    if other and low <= meant <= high:
        return "setting_other_unit", {**told, "other": other, "meant": meant}
    return "setting_limit_insane", told


LARGE = 1e9
_UNITS = {"1": "", "Cel": " °C", "d": " days", "mo": " months", "A.h": " Ah"}
_SLIPS = {
    "1": ("per cent", 0.01, 0.0),
    "Cel": ("°F", 1 / 1.8, 32.0),
    "kPa": ("psi", 6.894757, 0.0),
    "h": ("minutes", 1 / 60, 0.0),
    "min": ("seconds", 1 / 60, 0.0),
}
"""By the unit of a limit: the unit that it is mistaken for, its factor and zero."""


class Register(_Entry):
    """All sets by their id, over the defaults that hold for each."""

    defaults: SetEntry = SetEntry()
    sets: dict[str, SetEntry] = Field(default_factory=dict)
    _toml: Toml | None = PrivateAttr(default=None)

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

    def unused(self, set_ids: Iterable[str]) -> list[Problem]:
        """What a typing error in an id leaves unused: a note for each table that looks meant for a set of the logs.

        set_ids: the sets of the logs. Also a note where the register names sets and none of them is in the logs.
        """
        there = sorted(set(set_ids))
        if self._toml is None or not self.sets or not there:
            return []
        notes = [
            problem(self._toml, ("sets", own), "set_id_unlike_log", other, {"log_id": shown(other)}, fatal=False)
            for own, other in unmatched(self.sets, there)
        ]
        if not notes and not set(there).intersection(self.sets):
            told = {"ids": listed(map(shown, there))}
            notes = [problem(self._toml, ("sets",), "no_set_in_logs", None, told, fatal=False)]
        return in_file_order(notes, "register")


def _merged(base: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    both = dict(base)
    for key, value in own.items():
        both[key] = _merged(both[key], value) if isinstance(value, dict) and isinstance(both.get(key), dict) else value
    return both


def load_register(path: Path) -> Register:
    """Read and check a register. Raises InputError with one problem per fault: file, line, key, what would mend it."""
    toml = read_toml(path, "register")
    crossing = list(_crossings(toml))
    try:
        register = Register.model_validate(toml.data)
    except ValidationError as error:
        found = faults(toml, error, lambda key, value: _belongs(toml, key, value))
        raise InputError(*in_file_order([*found, *crossing], "register")) from None
    if crossing:
        raise InputError(*in_file_order(crossing, "register"))
    register._toml = toml
    return register


def find_register(paths: Iterable[Path]) -> Path | None:
    """A `sets.toml` beside the logs: in a folder that was named, or in the folder of a file that was named."""
    for path in paths:
        beside = (path if path.is_dir() else path.parent) / "sets.toml"
        if beside.is_file():
            return beside
    return None


def _crossings(toml: Toml) -> Iterator[Problem]:
    """Limits of a set that stand the wrong way round, the defaults of the register and of the program laid below."""
    shared = _own_limits(toml.data.get("defaults"))
    sets = toml.data.get("sets")
    tables = {("sets", name): _own_limits(entry) for name, entry in sets.items()} if isinstance(sets, dict) else {}
    for above, own in ({("defaults",): shared} | tables).items():
        if not own:
            continue
        values = {name: limit.value for name, limit in LIMITS_BY_NAME.items()} | shared | own
        for low, high in crossed(values):
            if low not in own and high not in own:
                continue
            key, other, codes = (low, high, _ABOVE) if low in own else (high, low, _BELOW)
            told: Values = {"other": other, "other_value": shown(values[other])}
            code = codes[0] if other in shared | own else codes[1]
            yield problem(toml, (*above, "limits", key), code, values[key], told)


_ABOVE = ("setting_above", "setting_above_default")
_BELOW = ("setting_below", "setting_below_default")


def _own_limits(entry: object) -> dict[str, float]:
    limits = entry.get("limits") if isinstance(entry, dict) else None
    own = limits.items() if isinstance(limits, dict) else ()
    return {name: value for name, value in own if name in LIMITS_BY_NAME and _limit_fault(name, value) is None}


_TABLES: dict[str, Sequence[str]] = {
    "exercise": tuple(ExercisePlan.model_fields),
    "service": tuple(ServicePlan.model_fields),
    "limits": tuple(LIMITS_BY_NAME),
}
_SET_KEYS = tuple(SetEntry.model_fields)


def _belongs(toml: Toml, path: KeyPath, value: object) -> tuple[str, Values] | None:
    """Where a key belongs that has no place where it stands; the nearest key that has; or which there are."""
    if not path:
        return None
    key = str(path[-1])
    if len(path) == 1:
        if key in ("sets", "defaults"):
            return None
        if isinstance(value, dict) and (not value or set(value).intersection(_SET_KEYS)):
            near = nearest(key, Register.model_fields)
            if near is None:
                return "register_set_outside", {"table": dotted(("sets", key))}
        return _misplaced(key, None) or _near(key, Register.model_fields)
    if len(path) == 2 and path[0] == "sets":
        return _misplaced(key, None)
    own: KeyPath = path[:2] if path[0] == "sets" else path[:1]
    inner = path[len(own) : -1]
    if not inner:
        if key in _TABLES:
            return None
        if path[0] == "sets" and isinstance(value, dict) and set(value).intersection(_SET_KEYS):
            return "register_dotted_id", {"table": f'sets."{path[1]}.{key}"'}
        return _misplaced(key, own) or _near(key, _SET_KEYS)
    known = _TABLES.get(str(inner[0]), ()) if len(inner) == 1 else ()
    if key in _SET_KEYS:
        return "setting_elsewhere", {"table": dotted(own)}
    return _misplaced(key, own) or _near(key, known)


def _misplaced(key: str, own: KeyPath | None) -> tuple[str, Values] | None:
    """The table in which a key of this very name stands. own: the set's table; None: it stands in no set's."""
    for table, keys in _TABLES.items():
        if key in keys:
            return "setting_elsewhere", {"table": dotted((*(own or ("sets", "ID")), table))}
    return ("setting_outside", {}) if own is None and key in _SET_KEYS else None


def _near(key: str, known: Iterable[str]) -> tuple[str, Values]:
    near = nearest(key, known)
    return ("register_unknown_key", {"near": near}) if near else ("register_no_such_key", {"known": listed(known)})
