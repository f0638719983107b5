"""Output that cannot be written: one line, the documented exit code, no traceback, and the earlier report whole."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from startworthy.problems import Exit
from tests.report.test_write_together import everything
from tests.test_api import written

POSIX = pytest.mark.skipif(os.name != "posix", reason="streams and limits of POSIX")


def startworthy(*words: str | Path, limit: int | None = None, **how: object) -> subprocess.CompletedProcess[str]:
    """Run the program; limit: no file may grow beyond so many blocks of 512 bytes, which to it is a disk that is full."""
    command = [sys.executable, "-m", "startworthy", *map(str, words)]
    if limit is not None:
        command = ["sh", "-c", f'ulimit -f {limit}; exec "$@"', "sh", *command]
    streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **how}
    done = subprocess.run(command, text=True, check=False, **streams)  # type: ignore[call-overload]
    assert "Traceback" not in (done.stderr or "")
    return done


@POSIX
@pytest.mark.parametrize("limit", [0, 1, 4, 400])
def test_a_disk_that_is_full_leaves_the_earlier_report(tmp_path: Path, limit: int) -> None:
    log, out = written(tmp_path), tmp_path / "out"
    startworthy("check", log, "--out", out)
    before = everything(out)
    assert "index.html" in before
    done = startworthy("check", log, "--out", out, "--units", "us", limit=limit)
    assert done.returncode == Exit.NOT_WRITTEN, done.stderr
    assert done.stderr.splitlines() == [
        f"{out}: the report could not be written (file too large) and is as it was before; make room, or name another folder with --out"
    ]
    assert everything(out) == before


@POSIX
def test_a_disk_that_is_full_leaves_no_folder_where_there_was_none(tmp_path: Path) -> None:
    log = written(tmp_path)
    done = startworthy("check", log, "--out", tmp_path / "deep" / "out", limit=10)
    assert done.returncode == Exit.NOT_WRITTEN
    assert done.stderr.splitlines() == [
        f"{tmp_path / 'deep' / 'out'}: the report could not be written (file too large); make room, or name another folder with --out"
    ]
    assert [p.name for p in tmp_path.iterdir()] == [log.name]


@POSIX
@pytest.mark.parametrize("name", ["a file", "below a file", "too long", "no permission"])
def test_a_folder_that_will_not_do_is_told_before_the_work(tmp_path: Path, name: str) -> None:
    log = written(tmp_path)
    (tmp_path / "file").write_text("x")
    out = {
        "a file": tmp_path / "file",
        "below a file": tmp_path / "file" / "out",
        "too long": tmp_path / ("n" * 300),
        "no permission": tmp_path / "shut" / "out",
    }[name]
    if name == "no permission":
        if os.geteuid() == 0:
            # for whom no folder is shut, one in which the system itself lets nobody make a folder is
            out = Path("/proc/startworthy")
            if not Path("/proc/self").exists():
                return
        else:
            out.parent.mkdir(mode=0o500)
    done = startworthy("check", log, "--out", out)
    assert done.returncode == Exit.USAGE
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"{out}: the report cannot be written (")
    assert line.endswith("); name another folder with --out")
    assert (tmp_path / "file").read_text() == "x"


@POSIX
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_standard_output_that_is_full(tmp_path: Path) -> None:
    log, out = written(tmp_path), tmp_path / "out"
    with open("/dev/full", "w") as full:
        done = startworthy("check", log, "--out", out, stdout=full)
        assert done.returncode == Exit.NOT_WRITTEN
        assert done.stderr.splitlines() == [
            f"standard output could not be written (no space left on device); the report in {out} is complete"
        ]
        for words in (["--help"], ["explain"], ["explain", "--schema"], ["explain", "--tables"]):
            done = startworthy(*words, stdout=full)
            assert done.returncode == Exit.NOT_WRITTEN, words
            assert len(done.stderr.splitlines()) == 1
        done = startworthy("check", tmp_path / "nowhere.csv", "--out", out, stderr=full)
        assert done.returncode == Exit.NOTHING_READ


@POSIX
@pytest.mark.parametrize(
    "words", [["check", "LOG", "--out", "OUT"], ["explain"], ["explain", "--schema"], ["layout", "LOG"]]
)
def test_a_pipe_that_is_closed_ends_it_quietly(tmp_path: Path, words: list[str]) -> None:
    out = tmp_path / "out"
    places = {"LOG": written(tmp_path), "OUT": out}
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = startworthy(*(places.get(w, w) for w in words), stdout=writer)
    finally:
        os.close(writer)
    assert done.returncode == Exit.PIPE_CLOSED
    assert words[0] == "layout" or done.stderr == ""
    assert words[0] != "check" or (out / "index.html").exists()


@POSIX
def test_streams_that_are_closed_from_the_start(tmp_path: Path) -> None:
    log, out = written(tmp_path), tmp_path / "out"

    shut = ["sh", "-c", 'exec "$@" <&- >&- 2>&-', "sh"]
    done = subprocess.run(
        [*shut, sys.executable, "-m", "startworthy", "check", str(log), "--out", str(out)], check=False
    )
    assert done.returncode == Exit.DONE
    assert (out / "index.html").read_bytes().startswith(b"<!doctype html>")


def test_an_output_of_another_alphabet_is_no_error(tmp_path: Path) -> None:
    for alphabet in ("ascii", "latin-1", "cp1252"):
        done = startworthy("explain", "--tables", env={**os.environ, "PYTHONIOENCODING": alphabet})
        assert done.returncode == Exit.DONE
        assert "rest_battery_v" in done.stdout


def test_what_a_library_has_to_say_is_no_line_of_ours(tmp_path: Path) -> None:
    """A sheet that is none: the library that opens it logs a line of its own."""
    from tests.bench.fuzz_target import packed, unpack

    (content,) = unpack(packed("X", 31, b"<c>")).files.values()
    (tmp_path / "P-1.xlsx").write_bytes(content)
    done = startworthy("check", tmp_path / "P-1.xlsx", "--out", tmp_path / "out")
    assert done.returncode == Exit.NOTHING_READ
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"{tmp_path / 'P-1.xlsx'}: ")
