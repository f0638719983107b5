"""Packed logs, tables of other formats, folders."""

from __future__ import annotations

import gzip
import hashlib
import zipfile
from datetime import timedelta
from pathlib import Path
from typing import BinaryIO

import polars as pl
import pytest

from startworthy.read import read_paths
from startworthy.validate import clean
from tests.support.reader import T0, Got, read_file, stamps, table

TEXT = table([("Time", "Battery voltage [V]"), *zip(stamps(3), (12.6, 12.5, 12.4), strict=True)])


VOLTS = [round(12 + n * 37 % 100 / 100, 2) for n in range(500)]
LONG = table([("Time", "Battery voltage [V]"), *zip(stamps(500), (f"{v:.2f}" for v in VOLTS), strict=True)])


def volts_of(got: Got, set_id: str) -> list[float]:
    """Volts of a set in file order; none where nothing was read."""
    own = got.raw.frame.filter(pl.col("set_id") == set_id)
    return own["battery_v"].to_list() if own.height else []


class Unseekable:
    """A file that can only be written on and on, as a pipe."""

    def __init__(self, file: BinaryIO) -> None:
        self.file = file

    def write(self, part: bytes) -> int:
        return self.file.write(part)

    def flush(self) -> None:
        self.file.flush()


def test_gzip(tmp_path: Path) -> None:
    path = tmp_path / "WELL-1.csv.gz"
    path.write_bytes(gzip.compress(TEXT.encode()))
    got = read_file(path)
    assert got.file.set_ids == ("WELL-1",)
    assert got.frame["battery_v"].to_list() == [12.6, 12.5, 12.4]
    assert got.file.sha256 == hashlib.sha256(path.read_bytes()).hexdigest(), "of the file as it lies there"


def test_a_gzip_that_breaks_off_is_read_up_to_there(tmp_path: Path) -> None:
    path = tmp_path / "WELL-1.csv.gz"
    path.write_bytes(gzip.compress(LONG.encode())[:-200])
    got = read_file(path)
    assert got.line == f"{path}: breaks off: the rows up to there are read; copy it again"
    assert not got.problem.fatal
    n = got.file.rows_accepted
    assert 200 < n < 500
    assert got.frame["battery_v"].to_list() == VOLTS[:n]
    assert got.refused("line", "reason") in ([(n + 2, "cut_off")], [])
    assert got.file.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


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


@pytest.mark.parametrize("streamed", [False, True])
@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
def test_a_zip_cut_off_anywhere_gives_what_it_holds_up_to_there(tmp_path: Path, method: int, streamed: bool) -> None:
    path = tmp_path / "logs.zip"
    if streamed:
        # Written to what cannot be rewound, an entry's size stands behind it (PKWARE APPNOTE 4.3.9)
        with path.open("wb") as file, zipfile.ZipFile(Unseekable(file), "w", method) as archive:
            archive.writestr("A.csv", LONG)
            archive.writestr("B.csv", TEXT)
    else:
        with zipfile.ZipFile(path, "w", method) as archive:
            archive.writestr("A.csv", LONG)
            archive.writestr("B.csv", TEXT)
    whole = path.read_bytes()
    counts = []
    for cut in [*range(0, len(whole), max(len(whole) // 60, 1)), len(whole) - 1]:
        path.write_bytes(whole[:cut])
        got = read_file(path)
        assert got.readings.problems, "a cut is told"
        rows = {f.set_ids[0]: f.rows_accepted for f in got.readings.files}
        a, b = volts_of(got, "A"), volts_of(got, "B")
        assert a == VOLTS[: len(a)]
        assert b == [12.6, 12.5, 12.4][: len(b)]
        counts.append((rows.get("A", 0), rows.get("B", 0)))
    # How much of a deflated entry comes out is up to the packer's blocks; where its size is known all is counted on
    assert counts[-1] == ((500, 3) if not streamed or method == zipfile.ZIP_DEFLATED else counts[-1])
    assert [a for a, _ in counts] == sorted(a for a, _ in counts)


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
