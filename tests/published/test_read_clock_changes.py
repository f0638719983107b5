"""Clocks put forward and back, in two countries, against the instants of the IANA time zone database."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from startworthy.read import read_paths
from tests.support.reading import read_text, refused, times

TZ = "IANA time zone database, files europe and northamerica, rules EU and US"
# zone, clocks back at (UTC), offset before, clocks forward at (UTC), offset before; hours
CHANGES = [
    ("Europe/Berlin", "2024-10-27 01:00", 2, "2024-03-31 01:00", 1),
    ("Europe/London", "2024-10-27 01:00", 1, "2024-03-31 01:00", 0),
    ("America/New_York", "2024-11-03 06:00", -4, "2024-03-10 07:00", -5),
]


def utc_rows(around: str, minutes: int, hours: int = 4) -> list[datetime]:
    at = datetime.fromisoformat(around)
    count = hours * 60 // minutes
    return [at + timedelta(minutes=minutes * n) for n in range(-count // 2, count // 2 + 1)]


def log(utc: list[datetime], change: str, before_h: int, after_h: int) -> str:
    at = datetime.fromisoformat(change)
    local = [u + timedelta(hours=before_h if u < at else after_h) for u in utc]
    return "Time,Battery voltage [V]\n" + "".join(f"{t:%Y-%m-%d %H:%M:%S},12.6\n" for t in local)


@pytest.mark.published(TZ)
@pytest.mark.parametrize(("zone", "back", "before", "_f", "_b"), CHANGES)
@pytest.mark.parametrize("minutes", [1, 10, 30, 60])
@pytest.mark.parametrize("newest_first", [False, True])
def test_clocks_put_back(
    tmp_path: Path, zone: str, back: str, before: int, _f: str, _b: int, minutes: int, newest_first: bool
) -> None:
    utc = utc_rows(back, minutes)
    text = log(utc, back, before, before - 1)
    if newest_first:
        head, *rows = text.strip().split("\n")
        text = "\n".join([head, *reversed(rows)])
        utc = utc[::-1]
    got = read_text(tmp_path, text, zone=zone)
    assert times(got) == [f"{u:%Y-%m-%d %H:%M:%S}" for u in utc]
    assert refused(got) == []


@pytest.mark.published(TZ)
@pytest.mark.parametrize(("zone", "_b", "_o", "forward", "before"), CHANGES)
def test_clocks_put_forward(tmp_path: Path, zone: str, _b: str, _o: int, forward: str, before: int) -> None:
    utc = utc_rows(forward, 10)
    got = read_text(tmp_path, log(utc, forward, before, before + 1), zone=zone)
    assert times(got) == [f"{u:%Y-%m-%d %H:%M:%S}" for u in utc]
    # A clock that was not put forward shows an hour that never was
    at = datetime.fromisoformat(forward)
    got = read_text(tmp_path, log(utc, forward, before, before), zone=zone)
    never = [u + timedelta(hours=before) for u in utc if at <= u < at + timedelta(hours=1)]
    assert len(never) == 6
    assert [(r[2], r[3], r[4]) for r in refused(got)] == [
        (f"{t:%Y-%m-%d %H:%M:%S}", "no_such_time", "row") for t in never
    ]


@pytest.mark.published(TZ)
def test_each_set_keeps_its_own_zone(tmp_path: Path) -> None:
    path = tmp_path / "both.csv"
    path.write_text("Time,Set,Battery voltage [V]\n2024-07-01 12:00,BER,12.6\n2024-07-01 12:00,NYC,12.6\n")
    zones = {"BER": "Europe/Berlin", "NYC": "America/New_York"}
    got = read_paths([path], zone_of=lambda name: zones[name])
    assert times(got) == ["2024-07-01 10:00:00", "2024-07-01 16:00:00"]
