"""The commonest mistakes of a user, word by word: what stands on stderr, line by line, and the exit code.

Each line names the file, where it can the line and the column, what is wrong, and what mends it. Where the mend is a
line to paste or an option, it is tried too.
"""

from __future__ import annotations

import gzip
import io
import re
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner

from startworthy.cli import main
from startworthy.problems import Exit

ROWS = [(f"2026-01-01 00:{minute:02d}:00", "12.6", "P-1") for minute in range(60)]


def text(header: str, rows: Sequence[Sequence[str]]) -> str:
    return "\n".join([header, *(",".join(row) for row in rows)]) + "\n"


GOOD = text("Time,Battery voltage [V],Set ID", ROWS)
USAGE = ["Usage: startworthy check [OPTIONS] PATH...", "Try 'startworthy check --help' for help.", ""]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder that is the working one, so that messages name files as a user types them."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "good.csv").write_text(GOOD, encoding="utf-8")
    return tmp_path


def said(line: str) -> tuple[int, list[str]]:
    """Exit code and lines on stderr of the command line."""
    result = CliRunner().invoke(main, line.split(), prog_name="startworthy")
    assert "Traceback" not in result.output
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stderr.splitlines()


def zipped(*names: str) -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        for name in names:
            archive.writestr(name, GOOD)
    return data.getvalue()


def encrypted() -> bytes:
    """A zip whose one member says that it is encrypted: bit 0 of the flags, in both of its headers."""
    data = bytearray(zipped("log.csv"))
    data[6] |= 1
    data[data.index(b"PK\x01\x02") + 8] |= 1
    return bytes(data)


FILES: dict[str, tuple[str | bytes, str]] = {
    "empty.csv": ("", "empty.csv: is empty; export the log again"),
    "header.csv": (
        "Time,Battery voltage [V]\n",
        "header.csv:1: has a header and no rows; export the log again",
    ),
    "book.csv": (
        zipped("[Content_Types].xml", "xl/workbook.xml"),
        "book.csv: is not text; export the log as CSV",
    ),
    "report.pdf": (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj\n", "report.pdf: is not text; export the log as CSV"),
    "dates.csv": (
        text("Time,Battery voltage [V]", [("03/04/2026 10:00:00", "12.6"), ("03/04/2026 10:01:00", "12.6")]),
        (
            'dates.csv:1: Time: "03/04/2026 10:00:00" can be day or month first, and no date in the file tells which; '
            "add --date-order dmy or --date-order mdy"
        ),
    ),
    "no_time.csv": (
        text("Battery voltage [V],Speed [rpm]", [("12.6", "0"), ("12.5", "0")]),
        (
            "no_time.csv: no column holds times (columns: Battery voltage [V], Speed [rpm]); "
            'name it in a layout file: time_column = "..."'
        ),
    ),
    "no_signal.csv": (
        text("Time,Colour", [("2026-01-01 00:00:00", "red"), ("2026-01-01 00:01:00", "blue")]),
        (
            "no_signal.csv: no column is known as a signal of a set (columns: Time, Colour); "
            'name them in a layout file: columns."Colour" = { signal = "coolant_c", unit = "degF" }'
        ),
    ),
    "elapsed.csv": (
        text("Elapsed time [s],Battery voltage [V]", [(str(second), "12.6") for second in range(9)]),
        (
            "elapsed.csv:1: Elapsed time [s]: is elapsed time, not a time of day; "
            'say in a layout file when it began: time_origin = "2024-01-01T00:00:00Z"'
        ),
    ),
    "clock.csv": (
        text("Time,Battery voltage [V]", [(f"10:{minute:02d}:00", "12.6") for minute in range(9)]),
        (
            "clock.csv:1: Time: is a clock time without a date; "
            'say in a layout file on which day it began: time_origin = "2024-01-01T00:00:00"'
        ),
    ),
    "locked.zip": (encrypted(), "locked.zip/log.csv: is encrypted; unpack it first"),
    "pages.zip": (zipped("readme.md"), "pages.zip: holds no CSV file; put the logs in it as .csv"),
    "broken.csv.gz": (
        b"not packed at all",
        "broken.csv.gz: cannot be unpacked: not a gzipped file; pack or copy it again",
    ),
}


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_cannot_be_read(here: Path, name: str) -> None:
    content, line = FILES[name]
    (here / name).write_bytes(content if isinstance(content, bytes) else content.encode())
    assert said(f"check {name}") == (Exit.NOTHING_READ, [line])
    assert not (here / "reports").exists()


def test_a_path_that_is_not_there(here: Path) -> None:
    assert said("check god.csv") == (Exit.NOTHING_READ, ["god.csv: there is no such file; check the name"])


def test_a_folder_without_logs(here: Path) -> None:
    (here / "empty").mkdir()
    assert said("check empty") == (
        Exit.NOTHING_READ,
        ["empty: holds no log; name a .csv, .csv.gz, .zip, .parquet or .xlsx file, or the folder that holds them"],
    )


@pytest.mark.parametrize("name", ["elapsed.csv", "clock.csv", "no_signal.csv"])
def test_the_line_that_a_message_tells_to_write_mends_it(here: Path, name: str) -> None:
    content, line = FILES[name]
    assert isinstance(content, str)
    (here / name).write_text(content.replace("red", "180").replace("blue", "181"), encoding="utf-8")
    (here / "mine.toml").write_text(line.partition("layout file")[2].partition(": ")[2] + "\n", encoding="utf-8")
    assert said(f"check {name} --layout mine.toml --quiet") == (Exit.DONE, [])


def test_a_unit_that_is_not_stated(here: Path) -> None:
    rows = [(*row, str(40 + number % 5)) for number, row in enumerate(ROWS)]
    (here / "unit.csv").write_text(text("Time,Battery voltage [V],Set ID,Oil pressure", rows), encoding="utf-8")
    mend = 'columns."Oil pressure" = { signal = "oil_kpa", unit = "..." }'
    told = (
        "unit.csv:1: Oil pressure: its unit is not stated and its values do not tell it "
        f"(values from 40 to 44: kPa, bar or psi?); left alone; add to a layout file: {mend}"
    )
    assert said("check unit.csv --quiet") == (Exit.DONE, [told])
    (here / "mine.toml").write_text(mend.replace("...", "psi"), encoding="utf-8")
    assert said("check unit.csv --layout mine.toml --quiet") == (Exit.DONE, [])


def test_a_gz_that_breaks_off(here: Path) -> None:
    (here / "cut.csv.gz").write_bytes(gzip.compress(GOOD.encode())[:-30])
    code, lines = said("check cut.csv.gz --quiet")
    assert lines == ["cut.csv.gz: breaks off: the rows up to there are read; copy it again"]
    assert code == Exit.SOME_UNREADABLE


SETTINGS = {
    "--layout": {
        '[columns."Battery voltage [V]"]\nsignal = "battery_v"\nunit = "kPa"\n': (
            'x.toml:3: columns."Battery voltage [V]".unit: "kPa" is a unit of pressure, and battery_v is a voltage; '
            'write the unit that the log has, such as "V", or mend the signal'
        ),
        '[sets."P-1"]\n': "x.toml: is a register, not a layout; give it with --register",
        "delimeter = ';'\n": "x.toml:1: delimeter: no such key in a layout; did you mean delimiter?",
        'time_column = "Tme"\n': "good.csv: Tme: the file has no column of this name; the layout should name one of: Time",
    },
    "--register": {
        '[sets."P-1"]\nrated_kv = 11\n': "x.toml:2: sets.P-1.rated_kv: no such key in the register; did you mean rated_kw?",
        '[sets."P-1".limits]\ncoolant_hi_c = 98\n': (
            "x.toml:2: sets.P-1.limits.coolant_hi_c: there is no limit of this name; did you mean coolant_high_c?"
        ),
        '[sets."P-1"]\nrated_kw = "11 kW"\n': (
            'x.toml:2: sets.P-1.rated_kw: "11 kW" is not a number; '
            "write it without quotes or unit and with a decimal point: rated_kw = 11"
        ),
        '[sets."P-1"]\nrated_kw = 11,5\n': (
            "x.toml:2: the register is not TOML here: a number has a decimal point, not a comma; write it as 12.5"
        ),
        '[defaults]\ntime_zone = "Europe/Wien"\n': (
            'x.toml:2: defaults.time_zone: no time zone is called "Europe/Wien"; did you mean Europe/Vienna?'
        ),
        "delimiter = ';'\n": "x.toml: is a layout, not a register; give it with --layout",
        GOOD: "x.toml: is a log, not a register; name it as PATH, and give a register (TOML) with --register",
    },
}


@pytest.mark.parametrize(
    ("option", "content"), [(option, content) for option in SETTINGS for content in SETTINGS[option]]
)
def test_a_wrong_register_or_layout(here: Path, option: str, content: str) -> None:
    (here / "x.toml").write_text(content, encoding="utf-8")
    assert said(f"check good.csv {option} x.toml") == (Exit.NOTHING_READ, [SETTINGS[option][content]])
    assert not (here / "reports").exists()


def test_a_register_that_is_not_there(here: Path) -> None:
    line = "seats.toml: there is no such register; check the name given with --register"
    assert said("check good.csv --register seats.toml") == (Exit.NOTHING_READ, [line])


def test_a_set_s_id_with_a_typing_error(here: Path) -> None:
    (here / "sets.toml").write_text('[sets."P1"]\nrated_kw = 11\n', encoding="utf-8")
    told = (
        'sets.toml:1: sets.P1: no log has this set, and the register lacks set "P-1" of the logs, which looks like it; '
        "nothing of this table was used; if they are one, write the id as the log does"
    )
    assert said("check good.csv --quiet") == (Exit.DONE, [told])
    (here / "sets.toml").write_text('[sets."P-1"]\nrated_kw = 11\n', encoding="utf-8")
    assert said("check good.csv --quiet") == (Exit.DONE, [])


def test_a_layout_that_names_a_column_that_is_not_there(here: Path) -> None:
    (here / "x.toml").write_text('[columns."Battery volts [V]"]\nsignal = "battery_v"\n', encoding="utf-8")
    told = (
        "good.csv: Battery volts [V]: the layout names this column and the file has none; "
        'did you mean "Battery voltage [V]"?'
    )
    assert said("check good.csv --layout x.toml --quiet") == (Exit.DONE, [told])


OPTIONS = {
    "--time-zone Europe/Wien": 'Invalid value for --time-zone: no time zone is called "Europe/Wien"; did you mean Europe/Vienna?',
    "--time-zone UTC+2": (
        'Invalid value for --time-zone: "UTC+2" is an offset, not a time zone; '
        "write Etc/GMT-2 (its sign is the other way round) or a place's zone, such as Europe/Berlin"
    ),
    "--format pdf": "Invalid value for --format: 'pdf' is not one of html, json, csv, parquet",
    "--since 01.02.2026": (
        "Invalid value for '--since': '01.02.2026' is not a date; write it as 2026-01-31 or 2026-01-31T13:30:00"
    ),
    "--since 2026-02-01 --until 2026-01-01": (
        "Invalid value for --since: no reading is from 2026-02-01 00:00 on and before 2026-01-01 00:00; "
        "give an earlier one, or a later --until"
    ),
    "--date-order dym": "Invalid value for '--date-order': 'dym' is not one of 'dmy', 'mdy', 'ymd'.",
    "--registr x.toml": "No such option '--registr'. Did you mean '--register'?",
}


@pytest.mark.parametrize("options", OPTIONS)
def test_a_wrong_option(here: Path, options: str) -> None:
    assert said(f"check good.csv {options}") == (Exit.USAGE, [*USAGE, f"Error: {OPTIONS[options]}"])
    assert not (here / "reports").exists()


def test_a_wrong_command_and_none_of_its_arguments(here: Path) -> None:
    group = ["Usage: startworthy [OPTIONS] COMMAND [ARGS]...", "Try 'startworthy --help' for help.", ""]
    assert said("chekc good.csv") == (Exit.USAGE, [*group, "Error: No such command 'chekc'. Did you mean 'check'?"])
    assert said("check") == (Exit.USAGE, [*USAGE, "Error: Missing argument 'PATH...'."])


@pytest.mark.parametrize(
    ("code", "mend"),
    [("battery.crank_sagg", "did you mean battery.crank_sag?"), ("xyz", "startworthy explain lists them all")],
)
def test_explain_of_a_check_that_is_not_there(code: str, mend: str) -> None:
    exit_code, lines = said(f"explain {code}")
    assert exit_code == Exit.USAGE
    assert lines[-1] == f"Error: Invalid value for CODE: no check is called '{code}'; {mend}"


def test_a_time_in_which_the_log_has_nothing(here: Path) -> None:
    line = (
        "good.csv: has no reading in the time asked for (it runs from 2026-01-01 00:00 to 2026-01-01 00:59 UTC); "
        "give another --since or --until"
    )
    assert said("check good.csv --since 2027-01-01") == (Exit.NOTHING_READ, [line])


def test_a_report_where_a_file_lies(here: Path) -> None:
    (here / "reports").write_text("a file", encoding="utf-8")
    line = "the report cannot be written (not a directory); name another folder with --out"
    assert said("check good.csv") == (Exit.USAGE, [f"reports: {line}"])
    assert said("check good.csv --out reports/today") == (Exit.USAGE, [f"reports/today: {line}"])
    assert (here / "reports").read_text(encoding="utf-8") == "a file"


def test_one_of_two_fails_and_all_fail(here: Path) -> None:
    (here / "empty.csv").write_bytes(b"")
    line = "empty.csv: is empty; export the log again"
    assert said("check empty.csv good.csv --quiet") == (Exit.SOME_UNREADABLE, [line])
    assert (here / "reports" / "P-1.html").exists()
    missing = "god.csv: there is no such file; check the name"
    assert said("check empty.csv god.csv --out other") == (Exit.NOTHING_READ, [line, missing])
    assert not (here / "other").exists()


def test_fail_on_urgent_with_an_urgent_finding(here: Path) -> None:
    """A battery that stands at 11.4 V for days is flat: urgent by any table."""
    rows = [(f"2026-01-{day:02d} {hour:02d}:00:00", "11.4", "P-1") for day in range(1, 20) for hour in range(24)]
    (here / "flat.csv").write_text(text("Time,Battery voltage [V],Set ID", rows), encoding="utf-8")
    assert said("check flat.csv --quiet --fail-on urgent") == (Exit.FINDINGS, [])
    assert said("check flat.csv --quiet") == (Exit.DONE, [])
    assert said("check good.csv --quiet --fail-on urgent") == (Exit.DONE, [])


def test_the_readme_s_table_is_what_the_program_does() -> None:
    """Each exit code of the program stands in the README's table and in no other sense in the help."""
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    table = readme.partition("| exit code | meaning |")[2].partition("\n\n")[0]
    codes = [int(code) for row in re.findall(r"(?m)^\| ([\d, ]+) \|", table) for code in row.split(",")]
    assert sorted(codes) == sorted(Exit)
    meaning = dict(re.findall(r"(?m)^\| (\d+) \| ([^|]+?) \|", table))
    help_text = " ".join(CliRunner().invoke(main, ["--help"], prog_name="startworthy").output.split())
    in_help = dict(re.findall(r"(\d+) ([a-z][^;:.(]*)", help_text.partition("Exit codes:")[2].partition("Options:")[0]))
    for code, words in (("0", "done"), ("1", "findings at or above"), ("2", "wrong use"), ("3", "some input could not be read"), ("4", "nothing could be read")):  # fmt: skip
        assert meaning[code].startswith(words)
        assert in_help[code].startswith(words)
