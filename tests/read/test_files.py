"""Files and folders as they come: pipes, devices, links, odd names, files that are written to. None may hang or crash."""

from __future__ import annotations

import inspect
import os
import socket
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from startworthy.read import read_paths
from startworthy.read import source as source_module
from startworthy.read.files import find_logs
from startworthy.words import problem_line
from tests.support.reader import Got, read_file, read_text, stamps, table

TEXT = table([("Time", "Battery voltage [V]"), *zip(stamps(3), (12.6, 12.5, 12.4), strict=True)])


def lines_of(got: Got) -> list[str]:
    return [problem_line(problem) for problem in got.readings.problems]


def test_a_pipe_that_is_named_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "A.csv"
    os.mkfifo(path)
    got = read_file(path)
    assert got.line == f"{path}: is a pipe and no file; name the file that holds the log"
    assert got.problem.fatal


@pytest.mark.parametrize("path", ["/dev/zero", "/dev/null"])
def test_a_device_is_refused(path: str) -> None:
    assert read_file(Path(path)).line == f"{path}: is a device and no file; name the file that holds the log"


def test_pipes_and_sockets_in_a_folder_are_named_and_the_logs_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "B.csv").write_text(TEXT)
    os.mkfifo(tmp_path / "A.csv")
    os.mkfifo(tmp_path / "control")
    monkeypatch.chdir(tmp_path)
    with socket.socket(socket.AF_UNIX) as own:
        own.bind("C.csv")
        got = read_file(tmp_path)
    assert [(p.code, p.values["kind"]) for p in got.readings.problems] == [
        ("not_a_file", "a pipe"),
        ("not_a_file", "a socket"),
    ]
    assert got.file.set_ids == ("B",)


def test_links(tmp_path: Path) -> None:
    outside, folder = tmp_path / "outside", tmp_path / "logs"
    outside.mkdir()
    folder.mkdir()
    (outside / "B.csv").write_text(TEXT)
    (folder / "in.csv").symlink_to(outside / "B.csv")
    (folder / "more").symlink_to(outside, target_is_directory=True)
    (folder / "itself.csv").symlink_to(folder / "itself.csv")
    (folder / "nowhere.csv").symlink_to(tmp_path / "gone.csv")
    (folder / "round").symlink_to(folder, target_is_directory=True)
    got = read_file(folder)
    assert len(got.readings.files) == 1, "the log outside counts once"
    assert lines_of(got) == [
        f"{folder}/itself.csv: cannot be read: too many levels of symbolic links; check the file and its permissions",
        f"{folder}/nowhere.csv: is a link that leads nowhere; mend or delete it",
    ]


@contextmanager
def nobody() -> Iterator[None]:
    """Without the rights of the administrator, for whom no file is shut."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_what_may_not_be_read_is_said() -> None:
    # not below the folders of the tests, which only their owner may enter
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        (folder / "shut").mkdir(mode=0)
        (folder / "A.csv").write_text(TEXT)
        (folder / "A.csv").chmod(0)
        with nobody():
            got = read_file(folder)
        (folder / "shut").chmod(0o700)
    assert sorted(lines_of(got)) == [
        f"{folder / name}: cannot be read: permission denied; check the file and its permissions"
        for name in ("A.csv", "shut")
    ]


def test_a_folder_that_cannot_be_listed_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shut").mkdir()
    (tmp_path / "A.csv").write_text(TEXT)
    real = os.scandir

    def scandir(path: str | Path) -> object:
        if Path(path).name == "shut":
            raise PermissionError(13, "Permission denied")
        return real(path)

    monkeypatch.setattr(os, "scandir", scandir)
    found = find_logs([tmp_path])
    assert [p.name for p in found.files] == ["A.csv"]
    assert [problem_line(p) for p in found.problems] == [
        f"{tmp_path / 'shut'}: cannot be read: permission denied; check the file and its permissions"
    ]


@pytest.mark.parametrize("name", ["x" * 300 + ".csv", "/".join(["y" * 200] * 30) + ".csv", "a\x00b.csv"])
def test_a_name_that_cannot_be_one(tmp_path: Path, name: str) -> None:
    got = read_file(tmp_path / name)
    assert got.problem.code in {"file_unreadable", "file_missing"}
    assert got.line.isprintable()
    assert len(got.line) < 1200


@pytest.mark.parametrize("name", ["P[1].csv", "P*.csv", "P?.csv", "~.csv", "P{1,2}.csv", "a b%20c.csv", "Größe Ω.csv"])
def test_a_name_is_a_name_and_no_pattern(tmp_path: Path, name: str) -> None:
    (tmp_path / "P1.csv").write_text(TEXT.replace("12.6", "11.1"))
    (tmp_path / name).write_text(TEXT)
    got = read_file(tmp_path / name)
    assert got.frame["battery_v"].to_list() == [12.6, 12.5, 12.4]
    assert got.file.path == str(tmp_path / name)


@pytest.mark.parametrize("name", [b"\xff\xfe.csv", b"line\nbreak.csv", b"\x1b[31m.csv", "\u202egnp.csv".encode()])
def test_a_name_that_is_no_text_is_shown_as_one(tmp_path: Path, name: bytes) -> None:
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/" + name))
    path.write_text(TEXT)
    for got in (read_file(path), read_file(tmp_path)):
        assert got.frame["battery_v"].to_list() == [12.6, 12.5, 12.4]
        assert got.file.path.isprintable()
        got.file.path.encode("utf-8")
        assert got.file.set_ids[0].isprintable()


def test_folders_nested_deeply(tmp_path: Path) -> None:
    deepest = tmp_path / "/".join(["d"] * 300)
    deepest.mkdir(parents=True)
    (deepest / "A.csv").write_text(TEXT)
    limit = sys.getrecursionlimit()
    sys.setrecursionlimit(len(inspect.stack()) + 100)
    try:
        found = find_logs([tmp_path])
    finally:
        sys.setrecursionlimit(limit)
    assert found.files == (deepest / "A.csv",)


def test_a_folder_of_very_many_files_is_listed_fast(tmp_path: Path) -> None:
    for n in range(5_000):
        os.close(os.open(tmp_path / f"{n}.txt", os.O_CREAT))
    began = time.process_time()
    assert len(find_logs([tmp_path]).files) == 5_000
    assert time.process_time() - began < 3


def test_a_file_that_grows_while_it_is_read_is_read_as_it_was_at_one_moment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "A.csv"
    path.write_text(TEXT)
    extra = [f"{stamp},12.{n}\n" for n, stamp in enumerate(stamps(9)[3:])]
    real = source_module.facts_of

    def facts_of(source: source_module.Source, *how: str) -> source_module.Facts:
        # Between the two looks at the file a logger writes one row, and half of another
        if source.seen is not None:
            with path.open("a") as file:
                file.write(extra[0] + extra[1][:22])
        return real(source, *how)

    monkeypatch.setattr(source_module, "facts_of", facts_of)
    got = read_file(path)
    assert got.readings.problems == ()
    assert got.frame["battery_v"].to_list() == [12.6, 12.5, 12.4, 12.0]
    assert got.refused("line", "reason") == [(6, "cut_off")]


def test_a_file_that_goes_while_it_is_read_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "A.csv"
    path.write_text(TEXT)
    real = source_module.facts_of

    def facts_of(source: source_module.Source, *how: str) -> source_module.Facts:
        path.unlink()
        return real(source, *how)

    monkeypatch.setattr(source_module, "facts_of", facts_of)
    assert read_file(path).problem.code == "file_unreadable"


def test_a_log_that_another_process_writes_to_all_the_time(tmp_path: Path) -> None:
    path = tmp_path / "A.csv"
    path.write_text(TEXT)
    done = threading.Event()

    def write() -> None:
        with path.open("a", buffering=1) as file:
            for stamp in stamps(200_000)[3:]:
                if done.is_set():
                    return
                file.write(f"{stamp},12.6\n")

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for _ in range(5):
            got = read_file(path)
            assert got.readings.problems == ()
            assert got.file.rows_accepted >= 3
            assert set(got.frame["battery_v"][3:].to_list()) <= {12.6}
            assert all(reason == "cut_off" for (reason,) in got.refused("reason"))
    finally:
        done.set()
        writer.join()


def test_a_file_named_by_many_paths_is_read_once(tmp_path: Path) -> None:
    (tmp_path / "A.csv").write_text(TEXT)
    (tmp_path / "B.csv").symlink_to("A.csv")
    paths = [tmp_path / "A.csv", tmp_path / "." / "A.csv", tmp_path / "B.csv", tmp_path]
    raw = read_paths(paths, zone_of=lambda _set_id: "UTC")
    assert len(raw.files) == 1
    assert read_text(tmp_path, TEXT).file.rows_accepted == 3
