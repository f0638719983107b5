"""Outdoor temperature by the hour, and the slower temperatures that follow it indoors and in the tank."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HOUR = 3600.0
DAY = 24 * HOUR


@dataclass(frozen=True, slots=True)
class Spell:
    """A cold (negative) or hot spell: `change_c` at its middle, fading over about `days` to either side."""

    middle: str
    change_c: float
    days: float


@dataclass(frozen=True, slots=True)
class Climate:
    """Yearly mean, half the swing of the year and of the day, scatter of the weather (in C), and spells."""

    mean_c: float
    season_c: float
    day_c: float
    scatter_c: float = 2.5
    indoors_c: float = 3.0
    utc_h: float = 1.0
    spells: tuple[Spell, ...] = ()


@dataclass(frozen=True, slots=True)
class Weather:
    """Temperatures in C at the full hours `at` (seconds since 1970 UTC): outdoors, engine room, tank."""

    at: Floats
    ambient_c: Floats
    room_c: Floats
    tank_c: Floats

    def ambient(self, t: Floats | float) -> Floats:
        """Outdoor temperature at instants `t`."""
        return np.asarray(np.interp(t, self.at, self.ambient_c))

    def room(self, t: Floats | float) -> Floats:
        """Temperature of the engine room, and of engine and battery after a long rest."""
        return np.asarray(np.interp(t, self.at, self.room_c))

    def tank(self, t: Floats | float) -> Floats:
        """Temperature of the fuel."""
        return np.asarray(np.interp(t, self.at, self.tank_c))


def lagged(values: Floats, hours: float) -> Floats:
    """First-order lag of hourly values, with that time constant."""
    share = 1.0 - np.exp(-1.0 / hours)
    out = np.empty_like(values)
    state = float(values[:48].mean())
    for i, value in enumerate(values):
        state += share * (value - state)
        out[i] = state
    return out


def make_weather(climate: Climate, first_s: float, last_s: float, rng: np.random.Generator) -> Weather:
    """Weather from four days before the log (so that lags have settled) to a day after it."""
    at = np.arange(first_s - 4 * DAY, last_s + DAY, HOUR)
    day_of_year = (at / DAY) % 365.25
    hour = (at / HOUR + climate.utc_h) % 24
    season = climate.season_c * np.cos(2 * np.pi * (day_of_year - 203) / 365.25)
    daily = climate.day_c * np.cos(2 * np.pi * (hour - 15) / 24)
    scatter = lagged(rng.standard_normal(at.size) * np.sqrt(2 * 36.0), 36.0) * climate.scatter_c
    ambient = climate.mean_c + season + daily + scatter
    for spell in climate.spells:
        middle = np.datetime64(spell.middle, "s").astype(np.int64)
        ambient += spell.change_c * np.exp(-0.5 * ((at - middle) / (spell.days * DAY)) ** 2)
    room = lagged(ambient, 6.0) + climate.indoors_c
    return Weather(at, ambient, room, lagged(ambient, 14.0) + 0.5 * climate.indoors_c)
