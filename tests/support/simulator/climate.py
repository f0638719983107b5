"""Weather of a place over half a year: yearly and daily swing, clouds that flatten the day, and air masses that come and go.

Six invented climates. Everything is on a grid of full hours and read by straight lines in between.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

Floats = NDArray[np.float64]
HOUR, DAY = 3600.0, 86400.0


@dataclass(frozen=True)
class Climate:
    """Mean of the year, half swings of the year and of a clear day, scatter of air masses (C); zones it may lie in."""

    name: str
    mean_c: float
    season_c: float
    day_c: float
    scatter_c: float
    warmest_day: int
    zones: tuple[str, ...]
    lowest_c: float = -27.0
    highest_c: float = 45.0


CLIMATES = (
    Climate(
        "continental",
        3.5,
        17.0,
        5.0,
        4.0,
        203,
        ("America/Winnipeg", "Europe/Kyiv", "Asia/Almaty", "Europe/Helsinki"),
    ),
    Climate("desert", 27.0, 10.0, 8.0, 2.0, 205, ("Asia/Riyadh", "America/Phoenix", "Africa/Cairo")),
    Climate("maritime", 10.5, 5.5, 3.0, 2.5, 215, ("Europe/Dublin", "Europe/Lisbon", "America/Vancouver")),
    Climate("tropical", 27.0, 1.5, 3.5, 1.2, 130, ("Asia/Singapore", "America/Panama", "Africa/Lagos")),
    Climate("temperate", 10.5, 9.5, 5.0, 3.2, 203, ("Europe/Berlin", "America/New_York", "Asia/Tokyo")),
    Climate("southern", 12.5, 6.5, 5.0, 3.0, 20, ("Australia/Hobart", "Pacific/Auckland", "America/Santiago")),
)


@dataclass(frozen=True)
class Weather:
    """Temperatures at the full hours `at` (seconds from the log's beginning): outdoors, beside the engine, in the tank."""

    at: Floats
    ambient: Floats
    site: Floats
    tank: Floats

    def ambient_c(self, t: Floats | float) -> Floats:
        return np.asarray(np.interp(t, self.at, self.ambient))

    def site_c(self, t: Floats | float) -> Floats:
        return np.asarray(np.interp(t, self.at, self.site))

    def tank_c(self, t: Floats | float) -> Floats:
        return np.asarray(np.interp(t, self.at, self.tank))


def follow(values: Floats, hours: float) -> Floats:
    """First-order lag of hourly values."""
    a = np.exp(-1.0 / hours)
    out, _ = lfilter([1 - a], [1, -a], values, zi=[a * values[:24].mean()])
    return np.asarray(out)


def red_noise(n: int, hours: float, rng: np.random.Generator) -> Floats:
    """AR(1) with unit variance and that correlation time."""
    a = np.exp(-1.0 / hours)
    steps = rng.standard_normal(n) * np.sqrt(1 - a * a)
    return np.asarray(lfilter([1], [1, -a], steps))


def make_weather(
    climate: Climate,
    day_of_year: float,
    days: float,
    utc_h: float,
    shelter_c: float,
    rng: np.random.Generator,
) -> Weather:
    """Weather from five days before the log to a day after it. `shelter_c`: how much warmer it is beside the engine."""
    at = np.arange(-5 * DAY, (days + 1) * DAY, HOUR)
    doy = (day_of_year + at / DAY) % 365.25
    hour = (at / HOUR + utc_h) % 24
    season = climate.season_c * np.cos(2 * np.pi * (doy - climate.warmest_day) / 365.25)
    clear = np.clip(0.65 + 0.3 * red_noise(at.size, 40.0, rng), 0.15, 1.1)
    sun = np.cos(2 * np.pi * (hour - 15.0) / 24) + 0.25 * np.cos(4 * np.pi * (hour - 14.0) / 24)
    mass = climate.scatter_c * (0.8 * red_noise(at.size, 70.0, rng) + 0.6 * red_noise(at.size, 14.0, rng))
    ambient = np.clip(climate.mean_c + season + climate.day_c * clear * sun + mass, climate.lowest_c, climate.highest_c)
    site = follow(ambient, 4.0) + shelter_c
    return Weather(at, ambient, site, follow(ambient, 18.0) + 0.4 * shelter_c)
