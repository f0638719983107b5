"""Packed logs, tables of other formats, folders."""

from __future__ import annotations

import gzip
import hashlib
import zipfile
from datetime import timedelta
from pathlib import Path

import polars as pl
import pytest

from startworthy.read import read_paths
from startworthy.validate import clean
from tests.support.reader import T0, read_file, stamps, table

TEXT = table([("Time", "Battery voltage [V]"), *zip(stamps(3), (12.6, 12.5, 12.4), strict=True)])


def test_gzip(tmp_path: Path) -> None:
    path = tmp_path / "WELL-1.csv.gz"
    path.write_bytes(gzip.compress(TEXT.encode()))
    got = read_file(path)
    assert got.file.set_ids == ("WELL-1",)
    assert got.frame["battery_v"].to_list() == [12.6, 12.5, 12.4]
    assert got.file.sha256 == hashlib.sha256(path.read_bytes()).hexdigest(), "of the file as it lies there"


def test_a_broken_gzip(tmp_path: Path) -> None:
    path = tmp_path / "WELL-1.csv.gz"
    path.write_bytes(gzip.compress(TEXT.encode() * 20)[:-20])
    assert read_file(path).problem.code == "archive_broken"


def test_a_zip_with_two_logs(tmp_path: Path) -> None:
    path = tmp_path / "logs.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("A.csv", TEXT)
        archive.writestr("deep/../../B.csv", TEXT)
        archive.writestr("readme.md", "no log")
        archive.writestr("__MACOSX/._A.csv", "no log")
    before = sorted(tmp_path.parent.rglob("*"))
    got = read_file(path)
    assert [Path(f.path).name for f in got.readings.files] == ["A.csv", "B.csv"]
    assert [f.set_ids for f in got.readings.files] == [("A",), ("B",)]
    assert [f.rows_accepted for f in got.readings.files] == [3, 3]
    assert sorted(tmp_path.parent.rglob("*")) == before, "a member's name chooses no path"


def test_a_zip_without_a_log(tmp_path: Path) -> None:
    path = tmp_path / "logs.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("readme.md", "no log")
    assert read_file(path).problem.code == "archive_without_log"


def test_an_encrypted_member_is_named_and_the_others_are_read(tmp_path: Path) -> None:
    path = tmp_path / "logs.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("A.csv", TEXT)
        archive.writestr("B.csv", TEXT)
    raw = bytearray(path.read_bytes())
    # Bit 0 of the general purpose flags says encrypted: in the local header and in the directory (PKWARE APPNOTE 4.4.4)
    raw[raw.index(b"PK\x03\x04") + 6] |= 1
    raw[raw.index(b"PK\x01\x02") + 8] |= 1
    path.write_bytes(bytes(raw))
    got = read_file(path)
    assert got.line == f"{path}/A.csv: is encrypted; unpack it first"
    assert got.file.set_ids == ("B",)


@pytest.mark.parametrize("cut", [10, 60])
def test_a_broken_zip(tmp_path: Path, cut: int) -> None:
    path = tmp_path / "logs.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("A.csv", TEXT)
    path.write_bytes(path.read_bytes()[:-cut])
    assert read_file(path).problem.code == "archive_broken"


def test_a_member_with_a_wrong_checksum(tmp_path: Path) -> None:
    path = tmp_path / "logs.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("A.csv", TEXT)
        archive.writestr("B.csv", TEXT)
    path.write_bytes(path.read_bytes().replace(b"12.5", b"99.5", 1))
    got = read_file(path)
    assert got.problem.code == "archive_broken"
    assert got.problem.file.endswith("A.csv")
    assert got.file.set_ids == ("B",)


def frame() -> pl.DataFrame:
    return pl.DataFrame(
        {
            "Time": [T0 + timedelta(seconds=60 * n) for n in range(3)],
            "Battery voltage [V]": [12.6, None, 12.4],
            "Mode": ["Auto", "Auto", "Off"],
        }
    )


def test_parquet(tmp_path: Path) -> None:
    path = tmp_path / "WELL-1.parquet"
    frame().write_parquet(path)
    got = read_file(path)
    assert got.frame["battery_v"].to_list() == [12.6, None, 12.4]
    assert got.frame["at"].to_list() == frame()["Time"].to_list()
    assert got.file.set_ids == ("WELL-1",)


def test_xlsx(tmp_path: Path) -> None:
    path = tmp_path / "WELL-1.xlsx"
    frame().with_columns(pl.col("Time").dt.replace_time_zone(None)).write_excel(path)
    got = read_file(path)
    assert got.frame["battery_v"].to_list() == [12.6, None, 12.4]
    assert got.times() == ["2026-01-05 00:00:00", "2026-01-05 00:01:00", "2026-01-05 00:02:00"]


@pytest.mark.parametrize("ending", ["parquet", "xlsx"])
def test_a_broken_table(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"WELL-1.{ending}"
    path.write_bytes(b"PAR1" + b"\x00" * 50)
    got = read_file(path)
    assert got.problem.code == "table_unreadable"
    assert "\n" not in got.line


def test_a_folder_with_a_link_to_itself(tmp_path: Path) -> None:
    inner = tmp_path / "site"
    inner.mkdir()
    (inner / "A.csv").write_text(TEXT)
    (tmp_path / "B.csv").write_text(TEXT)
    (tmp_path / ".hidden.csv").write_text(TEXT)
    (tmp_path / "notes.md").write_text("no log")
    (inner / "round").symlink_to(tmp_path, target_is_directory=True)
    (inner / "again.csv").symlink_to(tmp_path / "B.csv")
    got = read_file(tmp_path)
    assert sorted(s for f in got.readings.files for s in f.set_ids) in (["A", "B"], ["A", "again"])
    assert got.readings.problems == ()


def test_a_folder_without_a_log(tmp_path: Path) -> None:
    (tmp_path / "notes.md").write_text("no log")
    assert read_file(tmp_path).problem.code == "folder_without_log"


def test_a_file_named_twice_is_read_once(tmp_path: Path) -> None:
    path = tmp_path / "A.csv"
    path.write_text(TEXT)
    raw = read_paths([path, tmp_path, path], zone_of=lambda _set_id: "UTC")
    assert len(clean(raw).files) == 1
