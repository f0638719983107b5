"""`python -m tools.sample_fleet --out sample_logs` writes the sample fleet anew, byte for byte as before."""

from __future__ import annotations

import argparse
from pathlib import Path

from tools.sample_fleet.build import build


def main() -> None:
    """Read the options, write the files, and say how large they are."""
    parser = argparse.ArgumentParser(description="Write the invented sample fleet's logs.")
    parser.add_argument("--out", type=Path, default=Path("sample_logs"), help="folder for the logs")
    parser.add_argument("--truth", type=Path, help="also write what really happened, as JSON, for the tests")
    options = parser.parse_args()
    for path in build(options.out, options.truth):
        print(f"{path}  {path.stat().st_size:,} bytes")


if __name__ == "__main__":
    main()
