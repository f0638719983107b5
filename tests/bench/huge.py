"""Logs of some GiB through the whole check: peak memory, wall and CPU seconds.

    python -m tests.bench.huge [--gib 5] [--folder DIR] [--keep]

Three shapes: many sets one after the other at a row a minute, many sets interleaved minute by minute, and one set at a
row a second. The limit is 1 GiB of memory at 5 GiB of log.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from datetime import datetime
from pathlib import Path

import numpy as np
import polars as pl

from tests.bench.make_log import set_year
from tests.bench.run import spent

WEEK_S = 7 * 86_400


def by_set(path: Path, size: int) -> int:
    """Set-years one after the other, until the file has `size` bytes. Returns rows."""
    rows, n = 0, 0
    with path.open("wb") as out:
        while out.tell() < size:
            year = set_year(f"SET-{n:03d}", n)
            year.write_csv(out, include_header=n == 0)
            rows, n = rows + year.height, n + 1
    return rows


def interleaved(path: Path, size: int, sets: int = 100) -> int:
    """All sets of a minute, then those of the next. Returns rows."""
    years = [set_year(f"SET-{n:03d}", n) for n in range(sets)]
    minutes = min(size // (sets * 78), years[0].height)
    with path.open("wb") as out:
        for at in range(0, minutes, 5_000):
            part = pl.concat([year[at : min(at + 5_000, minutes)] for year in years]).sort("time", maintain_order=True)
            part.write_csv(out, include_header=at == 0)
    return minutes * sets


def every_second(path: Path, size: int) -> int:
    """One set at a row a second, 20 minutes of exercise a week. Returns rows."""
    rows, week = 0, 0
    second = np.arange(WEEK_S)
    with path.open("wb") as out:
        while out.tell() < size:
            rng = np.random.default_rng(week)
            age = second - 2 * 86_400 - 36_000
            cranks, runs = (age >= -2) & (age < 0), (age >= 0) & (age < 1_200)
            ambient = 10 + 10 * np.sin(2 * np.pi * (week + second / WEEK_S) / 52)
            battery = np.where(runs, 14.2, np.where(cranks, 10.4, 13.6)) + rng.integers(-1, 2, WEEK_S) / 100
            frame = pl.DataFrame(
                {
                    "time": pl.Series((second + week * WEEK_S) * 1_000_000).cast(pl.Duration("us"))
                    + datetime(2023, 1, 1),
                    "voltage_v": np.where(runs, 230 + rng.normal(0, 0.6, WEEK_S), 0.0).round(1),
                    "frequency_hz": np.where(runs, 51.2 + rng.normal(0, 0.03, WEEK_S), 0.0).round(2),
                    "speed_rpm": np.where(runs, 1536.0, np.where(cranks, 180.0, 0.0)),
                    "power_kw": np.where(runs & (age > 30), 4.0, 0.0),
                    "oil_kpa": np.where(runs, 330 + rng.normal(0, 5, WEEK_S), 0.0).round(0),
                    "coolant_c": np.where(runs, np.minimum(84, 20 + 0.08 * age), ambient + 1).round(1),
                    "ambient_c": ambient.round(1),
                    "battery_v": battery.round(2),
                    "fuel_%": 90.0 - week % 40,
                    "run_hours_h": np.round(100 + week / 3 + np.clip(age, 0, 1_200) / 3600, 1),
                    "mode": "automatic",
                }
            ).with_columns(pl.col("time").dt.strftime("%Y-%m-%d %H:%M:%S"))
            frame.write_csv(out, include_header=week == 0)
            rows, week = rows + WEEK_S, week + 1
    return rows


SHAPES = {"set by set": by_set, "interleaved": interleaved, "every second": every_second}


def main() -> None:
    """Make the logs, check each, print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--gib", type=float, default=5.0)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--shapes", nargs="+", default=list(SHAPES), choices=list(SHAPES))
    parser.add_argument("--format", default="json,html")
    asked = parser.parse_args()
    print("| log | GiB | rows | wall, s | CPU, s | peak, MiB |\n|---|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as temporary:
        folder = asked.folder or Path(temporary)
        for name in asked.shapes:
            log = folder / f"{name.replace(' ', '-')}.csv"
            rows = SHAPES[name](log, int(asked.gib * (1 << 30))) if not log.exists() else None
            command = [sys.executable, "-m", "startworthy", "check", str(log), "--quiet", "--out", str(folder / "out")]
            cost = spent([*command, "--format", asked.format])
            size = log.stat().st_size / (1 << 30)
            count = f"{rows:,}" if rows is not None else ""
            print(
                f"| {name} | {size:.2f} | {count} | {cost.wall_s:.0f} | {cost.cpu_s:.0f} | {cost.peak_mib:.0f} |",
                flush=True,
            )
            if asked.folder is None:
                log.unlink()


if __name__ == "__main__":
    main()
