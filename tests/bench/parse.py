"""The yardstick P: a process that reads the same file the fast way (all columns as text, cast by expressions, streaming).

python -m tests.bench.parse FILE
"""

from __future__ import annotations

import sys

import polars as pl


def parse(path: str) -> pl.DataFrame:
    """All columns of the benchmark's log, typed."""
    lazy = pl.scan_csv(path, infer_schema=False)
    names = lazy.collect_schema().names()
    numbers = [pl.col(name).cast(pl.Float64) for name in names if name not in {"time", "set", "mode"}]
    time = pl.col("time").str.to_datetime("%Y-%m-%d %H:%M:%S", cache=False)
    return lazy.select(time, "set", "mode", *numbers).collect(engine="streaming")


if __name__ == "__main__":
    print(parse(sys.argv[1]).height)
