"""A healthy set drawn by hand: weekly exercise under load, charger, tank, hour meter, mains and mode; a test changes one thing.

The figures are invented and plain on purpose: they show behaviour and prove no value.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import polars as pl

from tests.support.logs import Curve, Runs
from tests.support.said import Said, said

HOUR, DAY, WEEK = 3600.0, 86400.0, 7 * 86400.0
TEN = 10 * HOUR

REGISTER: dict[str, Any] = {
    "rated_kw": 12, "rated_voltage_v": 230, "rated_frequency_hz": 50, "rated_rpm": 1500, "battery_nominal_v": 12,
    "battery_ah": 75, "tank_litres": 110, "tank_shape": "rectangular", "charger": True,
    "exercise": {"every_days": 7, "minutes": 20},
}  # fmt: skip


@dataclass(frozen=True)
class Standby:
    """A set over `days`. Curves are figures or functions: `running` of the seconds since it fired, the others of T0.

    air_c: ambient. load_kw: what it carries from 30 s after it fired to a minute before it stops. litres_an_hour: what
    it burns. more: further signals, in any state. register: laid over a full entry; None takes a key away.
    """

    days: float = 91.0
    begins_s: tuple[float, ...] | None = None
    minutes: float = 20.0
    load_kw: float = 4.8
    litres_an_hour: float = 2.0
    tank_litres: float = 110.0
    level: float = 0.9
    air_c: Curve = 15.0
    warm_c: float = 82.0
    float_v: Curve = 13.6
    running: dict[str, Curve] = field(default_factory=dict)
    resting: dict[str, Curve] = field(default_factory=dict)
    more: dict[str, Curve] = field(default_factory=dict)
    crank_s: float = 2.0
    crank_v: Curve = 10.4
    preheat_s: float = 8.0
    preheat_v: Curve = 12.8
    change: Callable[[pl.DataFrame], pl.DataFrame] | None = None
    register: dict[str, Any] = field(default_factory=dict)

    @property
    def begins(self) -> tuple[float, ...]:
        """When each run fires: weekly at ten, where the test does not say otherwise."""
        if self.begins_s is not None:
            return self.begins_s
        return tuple(TEN + DAY + week * WEEK for week in range(int((self.days - 1.6) // 7) + 1))

    def ran_s(self, t: np.ndarray) -> np.ndarray:
        """Seconds run until t."""
        return sum((np.clip(t - begins, 0, self.minutes * 60) for begins in self.begins), np.zeros(len(t)))

    def since_end_s(self, t: np.ndarray) -> np.ndarray:
        """Seconds since the last run ended; endless before the first."""
        ends = np.concatenate([[-1e9], np.asarray(self.begins) + self.minutes * 60])
        return t - ends[np.searchsorted(ends, t, side="right") - 1]

    def _air(self, t: np.ndarray) -> np.ndarray:
        base = self.air_c(t) if callable(self.air_c) else np.full(len(t), float(self.air_c))
        return base + 4 * np.sin(2 * np.pi * (t / DAY - 0.4))

    def runs(self) -> Runs:
        """The set as runs drawn by hand."""
        length = self.minutes * 60

        def carried(age: np.ndarray) -> np.ndarray:
            return np.where((age >= 30) & (age < length - 60), self.load_kw, 0.0)

        def cooling(t: np.ndarray) -> np.ndarray:
            air = self._air(t)
            return np.round(air + (self.warm_c - air) * np.exp(-self.since_end_s(t) / 7200), 1)

        air_at = {begins: self._air(np.array([begins]))[0] for begins in self.begins}
        first = next(iter(air_at.values()), 15.0)
        running: dict[str, Curve] = {
            "power_kw": carried,
            "frequency_hz": lambda age: np.round(51.5 - 0.12 * carried(age) + 0.05 * np.sin(age / 3), 2),
            "speed_rpm": lambda age: np.round(30 * (51.5 - 0.12 * carried(age) + 0.05 * np.sin(age / 3)), 0),
            "voltage_v": lambda age: np.round(231 - 0.3 * carried(age) + 0.5 * np.sin(age / 7), 1),
            "oil_kpa": lambda age: np.round(np.minimum(100.0 * (age + 1), 480 - 130 * np.minimum(1, age / 900))),
            "coolant_c": lambda age: np.round(np.minimum(self.warm_c, first + age / 8) + 0.4 * np.sin(age / 40), 1),
            "battery_v": lambda age: np.round(14.2 + 0.03 * np.sin(age / 20), 2),
        }
        resting: dict[str, Curve] = {"coolant_c": cooling, "battery_v": self.float_v}
        always: dict[str, Curve] = {
            "ambient_c": lambda t: np.round(self._air(t), 1),
            "fuel_fraction": lambda t: np.round(
                self.level - self.ran_s(t) / 3600 * self.litres_an_hour / self.tank_litres, 3
            ),
            "hour_meter_h": lambda t: np.floor((100.02 + self.ran_s(t) / 3600) * 10) / 10,
            "mains_present": 1.0,
            "mode": lambda t: np.full(len(t), "automatic", dtype=object),
        }
        return Runs(
            self.begins, self.minutes, self.days, {**running, **self.running}, {**resting, **self.resting},
            {**always, **self.more}, self.crank_s, self.crank_v, self.preheat_s, self.preheat_v,
        )  # fmt: skip

    def log(self, dense_s: float = 1.0, rest_s: float = 300.0, drop: tuple[str, ...] = ()) -> pl.DataFrame:
        """Clean readings; `change` has the last word."""
        frame = self.runs().log(dense_s, rest_s, drop=drop)
        return frame if self.change is None else self.change(frame)

    def entry(self) -> dict[str, Any]:
        """What the register says of it."""
        told = {**REGISTER, "tank_litres": self.tank_litres, **self.register}
        return {key: value for key, value in told.items() if value is not None}

    def said(self, dense_s: float = 1.0, rest_s: float = 300.0, drop: tuple[str, ...] = ()) -> Said:
        """What the checks say of it."""
        return said(self.log(dense_s, rest_s, drop), **self.entry())
