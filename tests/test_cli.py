"""The command line: exit codes, one line for each fault, and never a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from startworthy.cli import main
from startworthy.problems import Exit
from tests.test_api import written


def run(*words: str | Path) -> Result:
    result = CliRunner().invoke(main, [str(w) for w in words], prog_name="startworthy")
    assert "Traceback" not in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_a_healthy_log_is_checked_and_reported(tmp_path: Path) -> None:
    result = run("check", written(tmp_path), "--out", tmp_path / "out")
    assert result.exit_code == Exit.DONE, result.output
    assert "WELL-1" in result.output
    assert max(len(line) for line in result.output.splitlines() if str(tmp_path) not in line) <= 80
    assert {"index.html", "WELL-1.html", "findings.json", "findings.csv", "logbook"} <= {
        p.name for p in (tmp_path / "out").iterdir()
    }
    document = json.loads((tmp_path / "out" / "findings.json").read_text())
    assert document["sets"][0]["facts"]["demands"] == 3


def test_quiet_says_nothing_and_formats_choose_the_files(tmp_path: Path) -> None:
    result = run("check", written(tmp_path), "--out", tmp_path / "out", "--quiet", "--format", "json,parquet")
    assert result.output == ""
    names = {p.name for p in (tmp_path / "out").rglob("*") if p.is_file()}
    assert "findings.json" in names
    assert "starts.parquet" in names
    assert not any(n.endswith(".html") for n in names)


def test_fail_on_tells_by_the_exit_code(tmp_path: Path) -> None:
    path = written(tmp_path)
    (tmp_path / "sets.toml").write_text('[sets."WELL-1"]\nrated_kw = 20\nrated_voltage_v = 400\n')
    assert run("check", path, "--out", tmp_path / "out", "--fail-on", "soon").exit_code == Exit.FINDINGS
    assert run("check", path, "--out", tmp_path / "out").exit_code == Exit.DONE


def test_some_unreadable_and_nothing_readable(tmp_path: Path) -> None:
    path = written(tmp_path)
    (tmp_path / "empty.csv").write_bytes(b"")
    result = run("check", tmp_path, "--out", tmp_path / "out")
    assert result.exit_code == Exit.SOME_UNREADABLE
    assert f"{tmp_path / 'empty.csv'}: is empty; export the log again" in result.output.splitlines()
    assert (tmp_path / "out" / "WELL-1.html").exists()
    path.unlink()
    result = run("check", tmp_path, "--out", tmp_path / "other")
    assert result.exit_code == Exit.NOTHING_READ
    assert not (tmp_path / "other").exists()


BAD_FILES = {
    "header.csv": (b"Time,Battery voltage [V]\n", "header"),
    "binary.csv": (bytes(range(256)) * 4, "binary"),
    "no_time.csv": (b"Battery voltage [V],Speed [rpm]\n12.6,0\n12.5,0\n", "time"),
    "no_signal.csv": (b"Time,Colour\n2026-01-01 00:00:00,red\n2026-01-01 00:01:00,blue\n", "signal"),
    "dates.csv": (b"Time,Battery voltage [V]\n03/04/2026 10:00:00,12.6\n03/04/2026 10:01:00,12.6\n", "--date-order"),
    "elapsed.csv": (b"Elapsed time [s],Battery voltage [V]\n0,12.6\n1,12.6\n2,12.6\n", "time_origin"),
}


@pytest.mark.parametrize("name", BAD_FILES)
def test_bad_input_is_one_line_with_what_mends_it(tmp_path: Path, name: str) -> None:
    content, told = BAD_FILES[name]
    path = tmp_path / name
    path.write_bytes(content)
    result = run("check", path, "--out", tmp_path / "out")
    assert result.exit_code == Exit.NOTHING_READ
    lines = result.output.splitlines()
    assert len(lines) == 1, lines
    assert lines[0].startswith(str(path))
    assert told in lines[0]


def test_ambiguous_dates_can_be_settled(tmp_path: Path) -> None:
    path = tmp_path / "dates.csv"
    path.write_bytes(BAD_FILES["dates.csv"][0])
    for order, day in (("dmy", "2026-04-03"), ("mdy", "2026-03-04")):
        result = run("check", path, "--date-order", order, "--out", tmp_path / "out", "--format", "json")
        assert result.exit_code == Exit.DONE
        assert json.loads((tmp_path / "out" / "findings.json").read_text())["sets"][0]["from"].startswith(day)


def test_wrong_use_is_told(tmp_path: Path) -> None:
    path = written(tmp_path)
    assert run("check").exit_code == Exit.USAGE
    assert run("check", path, "--format", "pdf").exit_code == Exit.USAGE
    zone = run("check", path, "--time-zone", "Europe/Wein")
    assert zone.exit_code == Exit.USAGE
    assert "Europe/Wein" in zone.output
    assert "did you mean" in zone.output
    assert run("explain", "battery.crank_sagg").exit_code == Exit.USAGE


def test_a_bad_register_is_told_with_line_and_key(tmp_path: Path) -> None:
    path = written(tmp_path)
    (tmp_path / "sets.toml").write_text('[sets."WELL-1"]\nrated_kv = 11\n')
    result = run("check", path, "--out", tmp_path / "out")
    assert result.exit_code == Exit.NOTHING_READ
    assert result.output.splitlines() == [
        f"{tmp_path / 'sets.toml'}:2: sets.WELL-1.rated_kv: no such key in the register; did you mean rated_kw?"
    ]


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file, not a folder")
    result = run("check", written(tmp_path), "--out", tmp_path / "out", "--quiet")
    assert result.exit_code == Exit.USAGE
    assert len(result.output.splitlines()) == 1


def test_layout_prints_what_check_can_be_given(tmp_path: Path) -> None:
    path = written(tmp_path)
    result = run("layout", path)
    assert result.exit_code == Exit.DONE
    assert "Battery voltage [V] -> battery_v [V]" in result.stderr
    kept = tmp_path / "mine.toml"
    kept.write_text(result.stdout, encoding="utf-8")
    assert run("check", path, "--layout", kept, "--out", tmp_path / "out", "--quiet").exit_code == Exit.DONE


def test_explain_prints_the_catalogue_a_check_the_tables_and_the_schema() -> None:
    assert "battery.crank_sag" in run("explain").output
    assert "9.6" in run("explain", "battery.crank_sag").output
    assert "rest_battery_v" in run("explain", "--tables").output
    assert json.loads(run("explain", "--schema").output)["$schema"].startswith("https://json-schema.org/")


@pytest.mark.parametrize("command", [[], ["check"], ["layout"], ["explain"]])
def test_every_command_and_option_says_what_it_does(command: list[str]) -> None:
    result = run(*command, "--help")
    assert result.exit_code == 0
    node = main if not command else main.commands[command[0]]
    for option in node.params:
        if option.param_type_name == "option" and option.name != "help":
            assert option.help, option.name


def test_help_loads_nothing_heavy() -> None:
    code = "import sys; from startworthy.cli import main; main(['--help'], standalone_mode=False); print(sorted(m for m in sys.modules if m in ('polars', 'pandera', 'scipy', 'plotly', 'pydantic', 'numpy', 'rich', 'jinja2')))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env={**os.environ})
    assert done.stdout.splitlines()[-1] == "[]"


def test_it_runs_as_a_module() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "startworthy", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("startworthy")


def test_markup_and_formulas_in_a_log_stay_text(tmp_path: Path) -> None:
    evil = "<img src=x onerror=alert(1)>"
    path = tmp_path / "log.csv"
    rows = [f"2026-01-01 00:{m:02d}:00,12.6,=1+1,{evil}" for m in range(30)]
    path.write_text("Time,Battery voltage [V],Set ID,Alarm\n" + "\n".join(rows) + "\n")
    result = run("check", path, "--out", tmp_path / "out", "--quiet")
    assert result.exit_code == Exit.DONE, result.output
    for page in (tmp_path / "out").glob("*.html"):
        assert evil not in page.read_text(encoding="utf-8")
    marks = (tmp_path / "out" / "logbook" / "marks.csv").read_text(encoding="utf-8")
    assert "'=1+1" in marks
