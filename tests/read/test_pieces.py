"""A log read in pieces gives the readings, figures and refusals of one read whole."""

from __future__ import annotations

import gzip
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

import startworthy as sw
from startworthy.read import kept, pieces, source
from startworthy.results import Readings

SAMPLES = Path(__file__).parents[2] / "sample_logs"
HEADER = "time,battery voltage [V],engine speed [rpm],coolant temperature [degC],frequency [Hz]"


@pytest.fixture
def in_pieces(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    def small(piece: int = 1 << 16, stretch: int = 1 << 12) -> None:
        monkeypatch.setattr(pieces, "HUGE_BYTES", 1 << 12)
        monkeypatch.setattr(pieces, "PIECE_BYTES", piece)
        monkeypatch.setattr(source, "CHUNK_BYTES", piece // 4)
        monkeypatch.setattr(pieces, "_LOOK_ON_BYTES", piece // 4)
        monkeypatch.setattr(pieces, "_STRETCH_BYTES", stretch)
        monkeypatch.setattr(kept, "HELD_ROWS", 1)

    return small


def rows_of(readings: Readings) -> pl.DataFrame:
    if readings.spilled is None:
        return readings.frame
    return readings.spilled.frame(list(readings.spilled.rows()))


def same(whole: Readings, parts: Readings) -> None:
    assert parts.spilled is not None
    assert_frame_equal(rows_of(parts), whole.frame, check_column_order=False)
    order = ["file", "line", "column", "value"]
    assert_frame_equal(parts.refused.sort(order), whole.refused.sort(order))
    for mine, all_at_once in zip(parts.files, whole.files, strict=True):
        assert mine.rows_read == all_at_once.rows_read == mine.rows_accepted + mine.rows_refused + mine.rows_repeated
        for name in ("path", "sha256", "rows_accepted", "rows_refused", "rows_repeated", "cells_emptied", "set_ids",
                     "columns", "first_at", "last_at"):  # fmt: skip
            assert getattr(mine, name) == getattr(all_at_once, name), name


def log_of(begin: datetime, rows: int, step_s: float, *, damage: bool = False) -> str:
    lines = [HEADER]
    for n in range(rows):
        at = begin + timedelta(seconds=n * step_s)
        runs = 40 <= n % 500 < 60
        volts = "none" if damage and n % 701 == 5 else f"{13.5 + (n % 7) * 0.01:.2f}"
        time = "?" if damage and n % 997 == 3 else f"{at:%Y-%m-%d %H:%M:%S}"
        extra = ",9,9" if damage and n % 1201 == 7 else ""
        lines.append(f"{time},{volts},{1500 if runs else 0},{60 if runs else 20 + n % 3},{50.0 if runs else 0}{extra}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("name", ["BOOST-03.csv"])
def test_a_sample_log_in_pieces(name: str, in_pieces: Callable[..., None]) -> None:
    whole = sw.read(SAMPLES / name)
    in_pieces(1 << 17)
    same(whole, sw.read(SAMPLES / name))


def test_refused_rows_keep_their_lines(tmp_path: Path, in_pieces: Callable[..., None]) -> None:
    path = tmp_path / "A.csv"
    path.write_text(log_of(datetime(2024, 1, 1), 12_000, 60, damage=True))
    whole = sw.read(path)
    assert whole.files[0].rows_refused > 20
    in_pieces(30_000)
    same(whole, sw.read(path))


def test_line_breaks_in_quotes_at_the_end_of_a_piece(tmp_path: Path, in_pieces: Callable[..., None]) -> None:
    lines = log_of(datetime(2024, 1, 1), 4_000, 60).splitlines()
    lines[0] += ",alarm"
    text = "\n".join(
        [lines[0], *(f'{line},"two\nlines"' if n % 5 == 0 else f"{line}," for n, line in enumerate(lines[1:]))]
    )
    path = tmp_path / "A.csv"
    path.write_text(text + "\n")
    whole = sw.read(path)
    assert whole.files[0].rows_accepted == 4_000
    in_pieces(9_000)
    same(whole, sw.read(path))


def test_the_hour_that_stands_twice_is_in_one_piece(tmp_path: Path, in_pieces: Callable[..., None]) -> None:
    # tzdata (IANA): Europe/Berlin put its clocks back on 2024-10-27 at 01:00 UTC
    begin = datetime(2024, 10, 26, 20)
    lines = [HEADER]
    for n in range(3_000):
        local = begin + timedelta(seconds=10 * n) - (timedelta(hours=1) if n >= 2_520 else timedelta())
        lines.append(f"{local:%Y-%m-%d %H:%M:%S},13.5,0,20,0")
    path = tmp_path / "A.csv"
    path.write_text("\n".join(lines) + "\n")
    whole = sw.read(path, time_zone="Europe/Berlin")
    steps = whole.frame["at"].diff().drop_nulls().unique().to_list()
    assert steps == [timedelta(seconds=10)]
    for piece in (20_000, 33_333, 50_001):
        in_pieces(piece)
        same(whole, sw.read(path, time_zone="Europe/Berlin"))


def test_a_unit_is_told_from_the_whole_of_the_log(tmp_path: Path, in_pieces: Callable[..., None]) -> None:
    # at first at rest: 0 in every row says nothing of the unit of the oil pressure
    lines = ["time,battery voltage [V],engine speed [rpm],oil pressure"]
    begin = datetime(2024, 1, 1)
    for n in range(20_000):
        runs = n >= 6_000 and n % 1_000 < 300
        lines.append(f"{begin + timedelta(minutes=n):%Y-%m-%d %H:%M},13.5,{1500 if runs else 0},{350 if runs else 0}")
    path = tmp_path / "A.csv"
    path.write_text("\n".join(lines) + "\n")
    whole = sw.read(path)
    assert whole.frame["oil_kpa"].max() == 350.0
    in_pieces(40_000)
    parts = sw.read(path)
    assert_frame_equal(rows_of(parts), whole.frame, check_column_order=False)


def test_windows_1252_after_plain_ascii(tmp_path: Path, in_pieces: Callable[..., None]) -> None:
    lines = log_of(datetime(2024, 1, 1), 9_000, 60).splitlines()
    text = "\n".join(
        [lines[0] + ",alarm", *(f"{line},{'Öldruck' if n > 7_000 else ''}" for n, line in enumerate(lines[1:]))]
    )
    path = tmp_path / "A.csv"
    path.write_bytes(text.encode("windows-1252"))
    whole = sw.read(path)
    assert "Öldruck" in whole.frame["alarm"].cast(pl.String).unique().to_list()
    in_pieces(50_000)
    same(whole, sw.read(path))


def test_a_clock_without_dates_is_not_read_in_pieces(tmp_path: Path, in_pieces: Callable[..., None]) -> None:
    lines = [HEADER, *(f"{n // 3600 % 24:02}:{n // 60 % 60:02}:{n % 60:02},13.5,0,20,0" for n in range(0, 200_000, 60))]
    path = tmp_path / "2024-01-01.csv"
    path.write_text("\n".join(lines) + "\n")
    in_pieces(20_000)
    done = sw.read(path)
    assert [p.code for p in done.problems] == ["too_large_for_its_form"]


def test_many_logs_are_kept_on_disk_and_checked_alike(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for n in range(6):
        (tmp_path / f"S{n}.csv").write_text(log_of(datetime(2024, 1, 1) + timedelta(days=n), 3_000, 60))
    whole = sw.check(tmp_path)
    monkeypatch.setattr(kept, "HELD_ROWS", 5_000)
    parts = sw.check(tmp_path)
    assert parts.readings.spilled is not None
    assert [s.set_id for s in parts.sets] == [s.set_id for s in whole.sets]
    for mine, all_at_once in zip(parts.sets, whole.sets, strict=True):
        assert mine.answers == all_at_once.answers
        assert mine.facts == all_at_once.facts
        assert mine.findings == all_at_once.findings
    scratch = parts.readings.spilled.scratch.path
    sw.report(parts, tmp_path / "out")
    assert (tmp_path / "out" / "S3.html").exists()
    del parts
    assert not scratch.exists()


def test_since_and_until_hold_for_readings_on_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "A.csv"
    path.write_text(log_of(datetime(2024, 1, 1), 6_000, 60))
    since, until = datetime(2024, 1, 2), datetime(2024, 1, 4)
    whole = sw.check(path, since=since, until=until)
    monkeypatch.setattr(kept, "HELD_ROWS", 100)
    parts = sw.check(path, since=since, until=until)
    assert parts.logbook.span == whole.logbook.span
    assert_frame_equal(parts.logbook.runs, whole.logbook.runs)


def test_an_archive_is_unpacked_and_read_alike(tmp_path: Path, in_pieces: Callable[..., None]) -> None:
    plain = tmp_path / "A.csv"
    plain.write_text(log_of(datetime(2024, 1, 1), 6_000, 60))
    with plain.open("rb") as source, gzip.open(tmp_path / "A.csv.gz", "wb") as target:
        shutil.copyfileobj(source, target)
    whole = sw.read(plain)
    in_pieces(20_000)
    assert_frame_equal(rows_of(sw.read(tmp_path / "A.csv.gz")), whole.frame, check_column_order=False)


@pytest.mark.parametrize("back", [True, False])
def test_rows_below_another_header_are_refused_in_every_piece(
    tmp_path: Path, in_pieces: Callable[..., None], back: bool
) -> None:
    lines = log_of(datetime(2024, 1, 1), 12_000, 60).splitlines()
    other = HEADER.replace("battery voltage [V],engine speed [rpm]", "engine speed [rpm],battery voltage [V]")
    lines.insert(4_000, other)
    if back:
        lines.insert(8_001, HEADER)
    path = tmp_path / "A.csv"
    path.write_text("\n".join(lines) + "\n")
    whole = sw.read(path)
    assert whole.files[0].rows_refused == (4_002 if back else 8_002)
    for piece in (20_000, 60_000):
        in_pieces(piece)
        same(whole, sw.read(path))
