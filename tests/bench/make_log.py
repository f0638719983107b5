"""Write a large log for the benchmarks: set-years at one row a minute, 13 columns, weekly exercises and an outage a month.

    python -m tests.bench.make_log FILE --set-years 10

The figures are invented and plain; only their number and their spelling matter here.
"""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path

import numpy as np
import polars as pl

YEAR_ROWS = 525_600
WEEK = 7 * 1440


def set_year(set_id: str, seed: int) -> pl.DataFrame:
    """One year of one set, a row a minute."""
    rng = np.random.default_rng(seed)
    minute = np.arange(YEAR_ROWS)
    phase = minute % WEEK - 3 * 1440 - 600
    outage = minute % 43_200 - 20_000
    length = 20 + seed % 5
    running = ((phase >= 0) & (phase < length)) | ((outage >= 0) & (outage < 90))
    age = np.where(outage >= 0, outage, phase)
    day = np.sin(2 * np.pi * minute / 1440)
    ambient = 10 + 10 * np.sin(2 * np.pi * minute / YEAR_ROWS) + 4 * day + rng.normal(0, 0.3, YEAR_ROWS)
    load = np.where(running, 3.0 + 2.0 * day, 0.0)
    used = np.cumsum(running * (0.01 + 0.003 * load) / 60)
    level = 95 - (used * 100 / 1.1) % 60
    return pl.DataFrame(
        {
            "time": pl.Series(minute.astype("int64") * 60_000_000).cast(pl.Duration("us")) + datetime(2025, 1, 1),
            "set": set_id,
            "voltage_v": np.where(running, 230 + rng.normal(0, 0.6, YEAR_ROWS), 0.0).round(1),
            "frequency_hz": np.where(running, 51.5 - 0.12 * load + rng.normal(0, 0.03, YEAR_ROWS), 0.0).round(2),
            "speed_rpm": np.where(running, 1545 - 3.6 * load + rng.normal(0, 2, YEAR_ROWS), 0.0).round(0),
            "power_kw": load.round(2),
            "oil_kpa": np.where(running, 330 + rng.normal(0, 5, YEAR_ROWS), 0.0).round(0),
            "coolant_c": np.where(running, np.minimum(84, 20 + 4.5 * age), ambient + 1).round(1),
            "ambient_c": ambient.round(1),
            "battery_v": np.where(running, 14.2, 13.6 - 0.018 * (ambient - 25)).round(2)
            + rng.integers(-1, 2, YEAR_ROWS) / 100,
            "fuel_%": level.round(0),
            "run_hours_h": (100 + np.cumsum(running) / 60).round(1),
            "mode": "automatic",
        }
    ).with_columns(pl.col("time").dt.strftime("%Y-%m-%d %H:%M:%S"))


def write(path: Path, set_years: int) -> None:
    """Append the set-years one after the other; the whole log is never held at once."""
    with path.open("wb") as out:
        for n in range(set_years):
            set_year(f"SET-{n:03d}", n).write_csv(out, include_header=n == 0)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--set-years", type=int, default=1)
    asked = parser.parse_args()
    write(asked.file, asked.set_years)
