"""A report folder holds the old report or the new one, whole: whatever fails, and at whichever step."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import polars as pl
import pytest

from startworthy.report import write
from startworthy.report.tables import write_table
from startworthy.report.write import NotWrittenError, require_folder, together, write_text, write_with

NAMES = ("a.html", "b.html", "index.html", "logbook/runs.csv")


def everything(folder: Path) -> dict[str, bytes]:
    """All files below the folder, hidden ones too."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def report(out: Path, mark: str) -> None:
    with together(last=out / "index.html"):
        for name in NAMES:
            write_text(out / name, f"{name} {mark}")


def test_nothing_is_in_its_place_before_all_is_written_and_the_entry_page_comes_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    replace = os.replace

    def noted(one: Path, other: Path) -> None:
        order.append(Path(other).name)
        assert len([p for p in everything(tmp_path) if p.endswith(".part")]) >= len(NAMES) - len(order) + 1
        replace(one, other)

    monkeypatch.setattr(write.os, "replace", noted)
    report(tmp_path, "new")
    assert order == ["a.html", "b.html", "runs.csv", "index.html"]
    assert sorted(everything(tmp_path)) == sorted(NAMES)


@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("step", range(len(NAMES)))
@pytest.mark.parametrize("earlier", [True, False])
def test_a_rename_that_fails_takes_back_those_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: int, earlier: bool, links: bool
) -> None:
    out = tmp_path / "out"
    if earlier:
        report(out, "old")
    before = everything(tmp_path)
    replace, calls = os.replace, [0]

    def fails(one: Path, other: Path) -> None:
        calls[0] += 1
        if calls[0] == step + 1:
            raise PermissionError(errno.EACCES, "held open", str(other))
        replace(one, other)

    monkeypatch.setattr(write.os, "replace", fails)
    if not links:
        monkeypatch.delattr(write.os, "link")
    with pytest.raises(NotWrittenError, match="held open"):
        report(out, "new")
    after = everything(tmp_path)
    assert sorted(after) == sorted(before)
    if links or not earlier:
        assert after == before
        assert earlier or not out.exists()
    else:
        # without links each file is whole, and the entry page, which comes last, is the old one
        assert set(after.values()) <= {f"{name} {mark}".encode() for name in NAMES for mark in ("old", "new")}
        assert after[str(Path("out", "index.html"))] == b"index.html old"


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EFBIG])
@pytest.mark.parametrize("step", range(len(NAMES)))
def test_a_write_that_fails_leaves_the_old_report(tmp_path: Path, step: int, code: int) -> None:
    report(tmp_path, "old")
    before = everything(tmp_path)

    def full(stream: object) -> None:
        stream.write(b"half")  # type: ignore[attr-defined]
        raise OSError(code, os.strerror(code))

    def new() -> None:
        with together():
            for n, name in enumerate(NAMES):
                write_with(tmp_path / name, full if n == step else lambda stream: stream.write(b"new"))

    with pytest.raises(NotWrittenError) as told:
        new()
    assert told.value.errno == code
    assert everything(tmp_path) == before


@pytest.mark.skipif(not hasattr(os, "fork"), reason="limits on the size of files are POSIX's")
@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_the_engine_tells_of_a_full_disk_as_python_does(tmp_path: Path, ending: str) -> None:
    import resource

    frame = pl.DataFrame({"n": pl.int_range(200_000, eager=True).hash(), "text": ["x" * 9] * 200_000})
    old = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, old[1]))
    try:
        with pytest.raises(NotWrittenError) as told:
            write_table(tmp_path / f"table.{ending}", frame)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old)
    assert told.value.errno == errno.EFBIG
    assert everything(tmp_path) == {}


def test_a_folder_in_the_place_of_a_page_is_told_before_anything_is_put_in_place(tmp_path: Path) -> None:
    report(tmp_path, "old")
    (tmp_path / "b.html").unlink()
    (tmp_path / "b.html").mkdir()
    before = everything(tmp_path)
    with pytest.raises(IsADirectoryError):
        report(tmp_path, "new")
    assert everything(tmp_path) == before


def test_a_folder_that_vanishes_while_it_is_written_to(tmp_path: Path) -> None:
    out = tmp_path / "out"

    def vanishes() -> None:
        with together():
            write_text(out / "a.html", "a")
            for file in out.iterdir():
                file.unlink()
            out.rmdir()

    with pytest.raises(NotWrittenError):
        vanishes()
    assert everything(tmp_path) == {}


def test_what_will_not_do_as_a_folder_is_known_beforehand(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for bad in (tmp_path / "file", tmp_path / "file" / "below", tmp_path / ("n" * 300)):
        with pytest.raises(OSError, match=r".") as told:
            require_folder(bad)
        assert not isinstance(told.value, NotWrittenError)
    require_folder(tmp_path)
    require_folder(tmp_path / "new" / "deeper")
    assert not (tmp_path / "new").exists()


def test_an_error_that_is_none_of_the_disk_passes_as_it_is(tmp_path: Path) -> None:
    def wrong() -> None:
        with together():
            write_text(tmp_path / "deep" / "a.html", "a")
            write_with(tmp_path / "b.html", lambda _stream: 1 / 0)

    with pytest.raises(ZeroDivisionError):
        wrong()
    assert list(tmp_path.iterdir()) == []
