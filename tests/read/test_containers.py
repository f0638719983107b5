"""Packed logs, tables of other formats, folders."""

from __future__ import annotations

import errno
import gc
import gzip
import hashlib
import stat
import tempfile
import zipfile
import zlib
from datetime import timedelta
from pathlib import Path
from typing import BinaryIO

import polars as pl
import pytest

from startworthy.read import packed, read_paths, spool, tables
from startworthy.read.source import Source, open_sources
from startworthy.validate import clean
from tests.support.reader import T0, Got, read_file, read_text, stamps, table

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
    for cut in [*range(0, len(whole), max(len(whole) // 20, 1)), len(whole) - 1]:
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


# --- archives that are not what they say


def zipped(path: Path, members: dict[str, bytes | str], method: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", method) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


def codes(got: Got) -> list[tuple[str, str]]:
    """Each problem's code, and the end of the name it is told of."""
    return [(p.code, p.file.rsplit("/", 1)[-1]) for p in got.readings.problems]


def bomb(n: int) -> bytes:
    """n MiB of one byte."""
    engine = zlib.compressobj(9, zlib.DEFLATED, 31)
    parts = [engine.compress(b"0" * (1 << 20)) for _ in range(n)]
    return b"".join(parts) + engine.flush()


def test_a_bomb_is_not_expanded_to_its_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "aside"))
    (tmp_path / "aside").mkdir()
    monkeypatch.setattr(spool, "HELD_BYTES", 1 << 20)
    monkeypatch.setattr(packed, "FREE_BYTES", 4 << 20)
    path = tmp_path / "WELL-1.csv.gz"
    path.write_bytes(bomb(6))
    got = read_file(path)
    assert got.line == (
        f"{path}: unpacks to more than 300 times its size, as no log does; if it is one, unpack it and name the file"
    )
    assert list((tmp_path / "aside").iterdir()) == []
    path = zipped(tmp_path / "logs.zip", {"A.csv": b"0" * (6 << 20), "B.csv": TEXT, "C.csv.gz": bomb(6)})
    got = read_file(path)
    assert codes(got) == [("archive_bomb", "A.csv"), ("archive_bomb", "C.csv.gz")]
    assert [f.set_ids for f in got.readings.files] == [("B",)]


def test_all_logs_of_an_archive_together_are_limited(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packed, "MOST_ARCHIVE_BYTES", 3 * len(LONG))
    path = zipped(tmp_path / "logs.zip", {f"{n}.csv": LONG for n in "ABCDE"})
    got = read_file(path)
    assert codes(got) == [("archive_too_large", "D.csv")], "and what follows is not read"
    assert [f.set_ids for f in got.readings.files] == [("A",), ("B",), ("C",)]


def test_the_size_that_an_entry_claims_is_not_believed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = zipped(tmp_path / "logs.zip", {"A.csv": LONG})
    raw = bytearray(path.read_bytes())
    # Uncompressed size in the local header and in the directory (PKWARE APPNOTE 4.3.7, 4.3.12)
    raw[22:26] = (10).to_bytes(4, "little")
    at = raw.index(b"PK\x01\x02")
    raw[at + 24 : at + 28] = (10).to_bytes(4, "little")
    path.write_bytes(bytes(raw))
    assert read_file(path).frame["battery_v"].to_list() == VOLTS
    monkeypatch.setattr(packed, "MOST_LOG_BYTES", len(LONG) - 1)
    assert read_file(path).problem.code == "archive_too_large"


def test_entries_that_share_their_bytes(tmp_path: Path) -> None:
    path = zipped(tmp_path / "logs.zip", {"A.csv": LONG, "B.csv": LONG})
    raw = bytearray(path.read_bytes())
    second = raw.index(b"PK\x01\x02", raw.index(b"PK\x01\x02") + 1)
    raw[second + 42 : second + 46] = (0).to_bytes(4, "little")
    path.write_bytes(bytes(raw))
    assert read_file(path).line == f"{path}: cannot be unpacked: its entries overlap; pack or copy it again"


def test_too_many_entries(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = zipped(tmp_path / "logs.zip", {f"{n}.csv": TEXT for n in range(40)})
    monkeypatch.setattr(packed, "MOST_ENTRIES", 39)
    assert read_file(path).problem.code == "archive_crowded"
    monkeypatch.undo()
    monkeypatch.setattr(packed, "MOST_DIRECTORY_BYTES", 1000)
    assert read_file(path).problem.code == "archive_crowded", "told before the list is loaded"


def test_an_archive_in_an_archive_is_named_and_left(tmp_path: Path) -> None:
    inner = zipped(tmp_path / "inner.zip", {"A.csv": TEXT}).read_bytes()
    path = zipped(
        tmp_path / "logs.zip", {"inner.zip": inner, "B.csv.gz": gzip.compress(TEXT.encode()), "C.xlsx": inner}
    )
    got = read_file(path)
    assert codes(got) == [("archive_nested", "inner.zip"), ("archive_nested", "C.xlsx")]
    assert [f.set_ids for f in got.readings.files] == [("B",)]


@pytest.mark.parametrize("name", ["/etc/A.csv", "../../A.csv", "C:\\A.csv", "a/./b/../A.csv", "..\\..\\A.csv"])
def test_a_name_that_leads_elsewhere_leads_nowhere(tmp_path: Path, name: str) -> None:
    (tmp_path / "in").mkdir()
    path = zipped(tmp_path / "in" / "logs.zip", {name: TEXT})
    before = sorted(tmp_path.rglob("*"))
    got = read_file(path)
    assert got.file.set_ids == ("A",)
    assert got.file.path.startswith(f"{path}/")
    assert sorted(tmp_path.rglob("*")) == before


def test_names_are_made_fit_to_print(tmp_path: Path) -> None:
    names = ["a\nb.csv", "\x1b[31mred.csv", "x" * 5000 + ".csv", "right\u202eto left.csv"]
    got = read_file(zipped(tmp_path / "logs.zip", dict.fromkeys(names, TEXT)))
    assert len(got.readings.files) == 4
    for file in got.readings.files:
        assert file.path.isprintable()
        assert len(file.path) < len(str(tmp_path)) + 250
        assert all(s.isprintable() and len(s) <= 200 for s in file.set_ids)


def test_two_entries_of_one_name_are_both_read(tmp_path: Path) -> None:
    path = tmp_path / "logs.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("A.csv", TEXT)
        with pytest.warns(UserWarning, match="Duplicate name"):
            archive.writestr("A.csv", TEXT.replace("12.6", "12.7"))
    got = read_file(path)
    assert [Path(f.path).name for f in got.readings.files] == ["A.csv", "A.csv#2"]
    assert got.raw.frame["battery_v"].to_list() == [12.6, 12.5, 12.4, 12.7, 12.5, 12.4]


def test_a_link_in_an_archive_holds_no_rows(tmp_path: Path) -> None:
    path = tmp_path / "logs.zip"
    with zipfile.ZipFile(path, "w") as archive:
        link = zipfile.ZipInfo("A.csv")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(link, "/etc/passwd")
        archive.writestr("B.csv", TEXT)
        archive.mkdir("C.csv")
    got = read_file(path)
    assert codes(got) == [("archive_link", "A.csv")]
    assert [f.set_ids for f in got.readings.files] == [("B",)]


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2])
def test_ways_of_packing(tmp_path: Path, method: int) -> None:
    path = zipped(tmp_path / "logs.zip", {"A.csv": LONG}, method)
    got = read_file(path)
    assert got.frame["battery_v"].to_list() == VOLTS
    assert got.file.sha256 == hashlib.sha256(LONG.encode()).hexdigest()


def test_a_way_of_packing_that_is_not_read(tmp_path: Path) -> None:
    path = zipped(tmp_path / "logs.zip", {"A.csv": LONG}, zipfile.ZIP_LZMA)
    assert "a method (14) not read here" in read_file(path).line


@pytest.mark.parametrize("at", [0.02, 0.3, 0.6, 0.9])
def test_a_damaged_stream_gives_no_row_that_may_be_wrong(tmp_path: Path, at: float) -> None:
    raw = bytearray(gzip.compress(LONG.encode()))
    raw[int(len(raw) * at) + 12] ^= 0x10
    path = tmp_path / "A.csv.gz"
    path.write_bytes(bytes(raw))
    got = read_file(path)
    assert got.problem.code == "archive_broken"
    assert got.readings.files == ()
    # What was packed and finished before is certain
    path.write_bytes(gzip.compress(TEXT.encode()) + bytes(raw))
    got = read_file(path)
    assert got.problem.code == "archive_damaged"
    assert got.frame["battery_v"].to_list() == [12.6, 12.5, 12.4]


def test_gzip_members_one_after_the_other(tmp_path: Path) -> None:
    path = tmp_path / "A.csv.gz"
    head, *rows = LONG.splitlines(keepends=True)
    parts = [head + "".join(rows[:200]), "".join(rows[200:201])[:9], "".join(rows[200:])[9:]]
    path.write_bytes(b"".join(gzip.compress(part.encode()) for part in parts) + b"\x00" * 512)
    got = read_file(path)
    assert got.readings.problems == ()
    assert got.frame["battery_v"].to_list() == VOLTS
    path.write_bytes(path.read_bytes() + b"and more")
    got = read_file(path)
    assert got.problem.code == "archive_tail"
    assert got.frame["battery_v"].to_list() == VOLTS


def test_no_cut_of_a_gzip_gives_a_wrong_value(tmp_path: Path) -> None:
    path = tmp_path / "A.csv.gz"
    whole = gzip.compress(LONG.encode(), 1)
    for cut in range(0, len(whole), 397):
        path.write_bytes(whole[:cut])
        got = read_file(path)
        assert codes(got)
        volts = volts_of(got, "A")
        assert volts == VOLTS[: len(volts)]


@pytest.mark.parametrize("head", [b"7z\xbc\xaf\x27\x1c", b"Rar!\x1a\x07", b"BZh91AY", b"x" * 257 + b"ustar\x0000"])
def test_archives_of_other_kinds(tmp_path: Path, head: bytes) -> None:
    path = tmp_path / "A.csv"
    path.write_bytes(head + b"\x00" * 600)
    assert read_file(path).problem.code == "archive_of_other_kind"


# --- large texts lie in a file aside, and that file goes


def test_a_large_log_is_expanded_to_a_file_that_goes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    aside = tmp_path / "aside"
    aside.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(aside))
    monkeypatch.setattr(spool, "HELD_BYTES", 1000)
    plain = read_text(tmp_path, LONG, "A.csv")
    path = zipped(tmp_path / "logs.zip", {"A.csv": LONG, "B.csv.gz": gzip.compress(LONG.encode())})
    (tmp_path / "C.csv").write_bytes(LONG.encode("utf-16"))
    (tmp_path / "D.csv.gz").write_bytes(gzip.compress(LONG.encode("utf-16")))
    frame().write_parquet(tmp_path / "E.parquet")
    seen = []
    for source in open_sources(path):
        assert isinstance(source, Source)
        assert source.data is None
        seen.append(len(list(aside.iterdir())))
    assert seen == [1, 1]
    assert list(aside.iterdir()) == []
    for name in ("logs.zip", "C.csv", "D.csv.gz"):
        got = read_file(tmp_path / name)
        for own in got.raw.frame.partition_by("file"):
            assert own["battery_v"].to_list() == plain.frame["battery_v"].to_list()
            assert own["line"].to_list() == plain.frame["line"].to_list()
        del got
    assert read_file(tmp_path / "E.parquet").frame["battery_v"].to_list() == [12.6, None, 12.4]
    gc.collect()
    assert list(aside.iterdir()) == []
    (tmp_path / "F.csv.gz").write_bytes(gzip.compress(b"no log\n" * 1000))
    assert read_file(tmp_path / "F.csv.gz").problem.fatal
    gc.collect()
    assert list(aside.iterdir()) == [], "on an error too"


def test_no_room_for_it_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(spool, "HELD_BYTES", 1000)

    def full(*_args: object, **_how: object) -> tuple[int, str]:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(tempfile, "mkstemp", full)
    path = tmp_path / "A.csv.gz"
    path.write_bytes(gzip.compress(LONG.encode()))
    assert read_file(path).line == (
        f"{path}: needs room on disk for what it unpacks to: no space left on device; free some, or set TMPDIR to a"
        " folder that has it"
    )


# --- workbooks and tables that are not what they say


def workbook(path: Path, cells: str) -> Path:
    """The least workbook with one sheet (ECMA-376 part 1, 18.3)."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    kinds = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    return zipped(
        path,
        {
            "[Content_Types].xml": f'<Types xmlns="{package}/content-types"><Default Extension="rels" '
            'ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" '
            'ContentType="application/xml"/></Types>',
            "_rels/.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
            f'Type="{kinds}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
            "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{kinds}"><sheets><sheet name="Log" sheetId="1" '
            'r:id="r1"/></sheets></workbook>',
            "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
            f'Type="{kinds}/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
            "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData>{cells}</sheetData></worksheet>',
        },
    )


def cell(place: str, text: str, formula: str = "") -> str:
    return f'<c r="{place}" t="str">{f"<f>{formula}</f>" if formula else ""}<v>{text}</v></c>'


def sheet(extra: str = "") -> str:
    rows = [("Time", "Battery voltage [V]"), *zip(stamps(3), ("12.6", "12.5", "12.4"), strict=True)]
    return (
        "".join(
            f'<row r="{n}">{cell(f"A{n}", a)}{cell(f"B{n}", b, "6.3*2" if n == 2 else "")}</row>'
            for n, (a, b) in enumerate(rows, 1)
        )
        + extra
    )


def test_a_formula_counts_as_the_value_that_was_saved_with_it(tmp_path: Path) -> None:
    got = read_file(workbook(tmp_path / "A.xlsx", sheet()))
    assert got.frame["battery_v"].to_list() == [12.6, 12.5, 12.4]


@pytest.mark.parametrize(
    "far",
    [
        f'<row r="1048576">{cell("XFD1048576", "x")}</row>',
        f'<row r="1048576">{cell("xfd1048576", "x")}</row>',
        "<row r = '1048576'><c r=\"XFD9\"><v>1</v></c></row>",
    ],
)
def test_a_cell_at_the_far_end_of_a_sheet_is_not_paid_for(tmp_path: Path, far: str) -> None:
    path = workbook(tmp_path / "A.xlsx", sheet(far))
    assert read_file(path).line == f"{path}: expands to more than can be held; export the log as CSV"


def test_a_workbook_of_another_format(tmp_path: Path) -> None:
    path = zipped(tmp_path / "A.xlsx", {"content.xml": "<x/>", "xl/workbook.xml": "<x/>"})
    assert read_file(path).line == f"{path}: holds no table that can be read: not a .xlsx file; export the log as CSV"


def test_a_workbook_that_is_a_bomb(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tables, "FREE_BYTES", 4 << 20)
    path = workbook(tmp_path / "A.xlsx", sheet() + " " * (6 << 20))
    assert read_file(path).problem.code == "workbook_too_large"


def test_a_parquet_table_of_any_length_has_an_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "A.parquet"
    pl.DataFrame({"Time": [T0], "Battery voltage [V]": ["x" * 5000]}).sample(
        40_000, with_replacement=True
    ).write_parquet(path)
    assert path.stat().st_size < 100_000
    monkeypatch.setattr(tables, "MOST_TEXT_BYTES", 20 << 20)
    assert read_file(path).problem.code == "archive_too_large"
