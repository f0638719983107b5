"""Stopped at any moment: one line, the documented exit code, and a report folder that is the old one or the new one.

The number of stops, and the rows of the log, can be raised by hand:
STOPS=200 ROWS=5000000 python -m pytest tests/test_interrupts.py -s -k moment
"""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from datetime import datetime
from pathlib import Path

import polars as pl
import pytest

from startworthy.problems import Exit
from tests.report.test_write_together import everything

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")

ROWS = int(os.environ.get("ROWS", "400000"))
STOPS = int(os.environ.get("STOPS", "30"))
CODES = {signal.SIGINT: Exit.INTERRUPTED, signal.SIGTERM: Exit.TERMINATED}


@pytest.fixture(scope="module")
def large_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two sets, a reading every 30 s, so that every stage takes a while. ROWS=... for a larger one by hand."""
    path = tmp_path_factory.mktemp("large") / "log.csv"
    n = ROWS // 2
    row = pl.int_range(n, eager=True)
    running = (row % 20_160).is_between(1000, 1040).cast(pl.Int64)
    for k, name in enumerate(("A-1", "B-2")):
        frame = pl.DataFrame(
            {
                "Time": row.cast(pl.Duration("ms")) * 30_000 + datetime(2025, 1, 1),
                "Set ID": pl.repeat(name, n, eager=True),
                "Battery voltage [V]": 12.6 + running * 1.5 + (row % 7) / 100,
                "Speed [rpm]": running * 1500,
                "Coolant temperature [°C]": 20 + running * 60,
            }
        )
        with path.open("ab") as out:
            frame.write_csv(out, include_header=k == 0, datetime_format="%Y-%m-%d %H:%M:%S", float_precision=2)
    return path


def started(*words: str | Path, environment: dict[str, str] | None = None) -> subprocess.Popen[str]:
    """The program, begun; returns once it takes signals up (before that Python itself answers them)."""
    process = subprocess.Popen(
        [sys.executable, "-m", "startworthy", *map(str, words)],
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
        env=environment,
    )
    wait_for(process, "SigCgt", signal.SIGTERM)
    return process


def wait_for(process: subprocess.Popen[str], mask: str, number: signal.Signals) -> None:
    """Wait until the process has the signal in that mask of its status; for half a second where there is none to read."""
    status = Path(f"/proc/{process.pid}/status")
    until = time.monotonic() + 20
    while status.exists() and time.monotonic() < until:
        found = next((line for line in status.read_text().splitlines() if line.startswith(mask)), f"{mask}: 0")
        if int(found.split()[1], 16) >> (number - 1) & 1:
            return
        time.sleep(0.001)
    time.sleep(0 if status.exists() else 0.5)


def stopped(process: subprocess.Popen[str], number: signal.Signals) -> tuple[int, list[str], float]:
    """Send the signal; the exit code, the lines on stderr, and how long it took to end."""
    process.send_signal(number)
    began = time.monotonic()
    _, said = process.communicate(timeout=60)
    return process.returncode, said.splitlines(), time.monotonic() - began


def whole(report: dict[str, bytes]) -> None:
    """A report in which every file is complete and no other file is."""
    assert {"index.html", "A-1.html", "B-2.html", "findings.json", "findings.csv", "logbook/runs.csv"} <= set(report)
    assert not [name for name in report if name.endswith(".part")]
    assert json.loads(report["findings.json"])["schema_version"]
    for name, content in report.items():
        assert not name.endswith(".html") or content.rstrip().endswith(b"</html>")


def test_stopped_at_any_moment_it_leaves_the_old_report_or_the_new_one(large_log: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    began = time.monotonic()
    first = started("check", large_log, "--out", out)
    assert (first.communicate(timeout=120)[1], first.returncode) == ("", Exit.DONE)
    lasts = time.monotonic() - began
    whole(everything(out))
    draw = random.Random(20260301)
    slowest, told = 0.0, dict.fromkeys(("before", "complete", "done"), 0)
    for n in range(STOPS):
        old = everything(out)
        units = ("us", "si")[n % 2]
        process = started("check", large_log, "--out", out, "--units", units)
        if n % 2:
            time.sleep(draw.uniform(0, lasts))
        else:  # while files are being written: a short time among long ones
            while process.poll() is None and not list(out.rglob("*.part")):
                time.sleep(0.001)
            time.sleep(draw.uniform(0, 0.12))
        number = draw.choice(list(CODES))
        code, said, took = stopped(process, number)
        new = everything(out)
        if code == Exit.DONE:
            told["done"] += 1
            assert said == []
            assert new["findings.json"] != old["findings.json"]
        elif said == [f"stopped; the report in {out} is as it was before"]:
            told["before"] += 1
            assert code == CODES[number]
            assert new == old
        else:
            told["complete"] += 1
            assert said == [f"stopped; the report in {out} is complete"]
            assert code == CODES[number]
            assert new["findings.json"] != old["findings.json"]
            assert ("°F".encode() in new["A-1.html"]) == (units == "us"), "the page is of the run that was stopped"
        whole(new)
        slowest = max(slowest, took if code != Exit.DONE else 0)
    print(f"\n{STOPS} stops of a run of {lasts:.1f} s: {told}, slowest end {slowest:.2f} s")
    assert told["before"] > STOPS / 4
    # on a busy machine everything takes longer, the whole run too
    assert slowest < 2 + lasts / 4


@pytest.mark.parametrize("number", list(CODES))
@pytest.mark.parametrize("after_s", [0.0, 0.1, 0.6])
def test_stopped_where_there_was_no_report(
    large_log: Path, tmp_path: Path, number: signal.Signals, after_s: float
) -> None:
    process = started("check", large_log, "--out", tmp_path / "deep" / "out")
    time.sleep(after_s)
    code, said, _ = stopped(process, number)
    assert (code, said) == (CODES[number], ["stopped; nothing was written"])
    assert list(tmp_path.iterdir()) == []


def test_a_terminal_that_goes_away_stops_it_too(large_log: Path, tmp_path: Path) -> None:
    process = started("check", large_log, "--out", tmp_path / "out")
    code, said, _ = stopped(process, signal.SIGHUP)
    assert (code, said) == (129, ["stopped; nothing was written"])


def test_a_signal_that_was_to_be_ignored_is_ignored(tmp_path: Path) -> None:
    """What `nohup`, and a shell that starts it in the background, ask for."""
    from tests.test_api import written

    process = subprocess.Popen(
        ["sh", "-c", 'trap "" INT HUP; exec "$@"', "sh", sys.executable, "-m", "startworthy",
         "check", str(written(tmp_path)), "--out", str(tmp_path / "out"), "--quiet"],
        stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    wait_for(process, "SigIgn", signal.SIGHUP)
    while process.poll() is None:  # all the way: some library may take it for itself on the way
        process.send_signal(signal.SIGINT)
        process.send_signal(signal.SIGHUP)
        time.sleep(0.02)
    _, said = process.communicate(timeout=60)
    assert (process.returncode, said) == (Exit.DONE, "")


def test_who_calls_the_command_from_a_program_keeps_its_own_handlers(tmp_path: Path) -> None:
    from click.testing import CliRunner

    from startworthy.cli import main
    from startworthy.stopping import watching

    before = [signal.getsignal(n) for n in CODES]
    assert CliRunner().invoke(main, ["--version"]).exit_code == 0
    assert [signal.getsignal(n) for n in CODES] == before
    with watching():
        assert [signal.getsignal(n) for n in CODES] != before
    assert [signal.getsignal(n) for n in CODES] == before


def test_what_lay_on_the_disk_while_it_was_read_goes_too(large_log: Path, tmp_path: Path) -> None:
    """A packed log of more than 64 MiB is unpacked into a file aside."""
    import gzip

    packed = tmp_path / "log.csv.gz"
    with gzip.open(packed, "wb", compresslevel=1) as out:
        for _ in range((80 << 20) // large_log.stat().st_size + 1):
            out.write(large_log.read_bytes())
    aside = tmp_path / "aside"
    aside.mkdir()
    process = started("check", packed, "--out", tmp_path / "out", environment={**os.environ, "TMPDIR": str(aside)})
    until = time.monotonic() + 60
    # other files may come and go: Python tries a folder for temporary files with one of its own
    while not list(aside.glob("startworthy-*")) and process.poll() is None and time.monotonic() < until:
        time.sleep(0.002)
    assert list(aside.glob("startworthy-*")), "nothing lay aside"
    code, said, _ = stopped(process, signal.SIGTERM)
    assert (code, said) == (Exit.TERMINATED, ["stopped; nothing was written"])
    assert list(aside.iterdir()) == []
