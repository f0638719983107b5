"""Benchmarks as ratios to P (see parse.py), paired (P, command, P, command ...) in one run; medians of the pairs.

    python -m tests.bench.run [--pairs 5] [--set-years 1 10] [--folder DIR]

Prints a Markdown table with the date and the machine's size. Keep it in tests/bench/README.md; ratios are what counts.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from tests.bench.make_log import write


@dataclass(frozen=True)
class Spent:
    """What one process cost: wall and CPU seconds, peak MiB."""

    wall_s: float
    cpu_s: float
    peak_mib: float


def spent(command: list[str]) -> Spent:
    """Run a command to its end. Raises CalledProcessError if it fails."""
    began = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    wall = time.perf_counter() - began
    if os.waitstatus_to_exitcode(status) != 0:
        raise subprocess.CalledProcessError(os.waitstatus_to_exitcode(status), command)
    return Spent(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def commands(log: Path, out: Path) -> dict[str, list[str]]:
    """The yardstick first, then what is measured against it."""
    python = [sys.executable, "-m"]
    check = [*python, "startworthy", "check", str(log), "--quiet", "--out", str(out)]
    return {
        "P: fast parse": [*python, "tests.bench.parse", str(log)],
        "check, JSON": [*check, "--format", "json"],
        "check, JSON and HTML": [*check, "--format", "json,html"],
    }


def table(log: Path, set_years: int, pairs: int, folder: Path) -> list[str]:
    """One row per command: seconds, ratio of wall and CPU to P, peak memory and its ratio."""
    runs: dict[str, list[Spent]] = {}
    for _ in range(pairs):
        for name, command in commands(log, folder / "out").items():
            runs.setdefault(name, []).append(spent(command))
    base = next(iter(runs.values()))
    rows = []
    for name, own in runs.items():
        wall = statistics.median(o.wall_s / b.wall_s for o, b in zip(own, base, strict=True))
        cpu = statistics.median(o.cpu_s / b.cpu_s for o, b in zip(own, base, strict=True))
        peak = statistics.median(o.peak_mib for o in own)
        peak_ratio = statistics.median(o.peak_mib / b.peak_mib for o, b in zip(own, base, strict=True))
        seconds = statistics.median(o.wall_s for o in own)
        rows.append(
            f"| {set_years * 525_600:,} | {name} | {seconds:.2f} | {wall:.2f} | {cpu:.2f} | {peak:.0f} | {peak_ratio:.2f} |"
        )
    return rows


def main() -> None:
    """Make the logs, run the pairs, print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=5)
    parser.add_argument("--set-years", type=int, nargs="+", default=[1, 10])
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = asked.folder or Path(temporary)
        print(
            f"{datetime.now(UTC):%Y-%m-%d}, {os.cpu_count()} cores, Python {platform.python_version()}, pairs: {asked.pairs}\n"
        )
        print("| rows | what | wall, s | wall / P | CPU / P | peak, MiB | peak / P |\n|---|---|---|---|---|---|---|")
        for set_years in asked.set_years:
            log = folder / f"bench-{set_years}.csv"
            if not log.exists():
                write(log, set_years)
            for row in table(log, set_years, asked.pairs, folder):
                print(row, flush=True)


if __name__ == "__main__":
    main()
