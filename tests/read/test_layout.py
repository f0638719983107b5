"""Layout files: what is understood can be kept, corrected and read back; faults name file, line and key."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from startworthy.problems import InputError
from startworthy.read import understand
from startworthy.read.layout import ColumnLayout, Layout, load_layout
from startworthy.words import problem_line
from tests.support.reader import read_file, read_text, stamps, table

FULL = Layout(
    encoding="windows-1252", delimiter="\t", quote_char="", skip_rows=3, header_row_count=2, decimal_char=",",
    group_char=" ", null=("", "n/a", '"quoted"'), time_column='Zeit "neu"', date_column="Datum", time_format="%d.%m.%Y %H:%M",
    date_order="dmy", time_zone="Europe/Vienna", time_origin=datetime(2026, 1, 5, tzinfo=UTC), set_id="P\\1",
    columns={"Öl [bar]": ColumnLayout(signal="oil_kpa", unit="bar"), "a.b\x07": ColumnLayout()},
)  # fmt: skip


def kept(folder: Path, text: str) -> Path:
    path = folder / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "layout",
    [Layout(), FULL, Layout(set_column="Set", name_column="Parameter", value_column="Value", unit_column="Unit")],
)
def test_to_toml_and_back(tmp_path: Path, layout: Layout) -> None:
    assert load_layout(kept(tmp_path, layout.to_toml())) == layout


@pytest.mark.parametrize(
    ("text", "line", "column", "said"),
    [
        ('\ndelimeter = ";"\n', 2, "delimeter", "did you mean delimiter?"),
        ('delimiter = ";"\ndecimal_char = "x"\n', 2, "decimal_char", ""),
        ('time_zone = "Europe/Atlantis"\n', 1, "time_zone", "Europe/Atlantis"),
        ('encoding = "klingon"\n', 1, "encoding", 'no text is written in "klingon"'),
        ('delimiter = ";;"\n', 1, "delimiter", ""),
        ("skip_rows = -1\n", 1, "skip_rows", ""),
        ('time_origin = "soon"\n', 1, "time_origin", "2024-01-01T00:00:00Z"),
        ('[columns."Oil"]\nsignal = "oil_kpaa"\n', 2, None, "did you mean oil_kpa?"),
        ('[columns."Oil"]\nsignal = "oil_kpa"\nunit = "furlong"\n', 3, None, 'no unit is called "furlong"'),
        ('[columns."Oil"]\nsignl = "oil_kpa"\n', 2, None, "did you mean signal?"),
        ("delimiter = \n", 1, None, "is not TOML"),
    ],
)
def test_faults_name_file_line_and_key(tmp_path: Path, text: str, line: int, column: str | None, said: str) -> None:
    path = kept(tmp_path, text)
    with pytest.raises(InputError) as caught:
        load_layout(path)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line) == (str(path), line)
    if column is not None:
        assert problem.column == column
    printed = problem_line(problem)
    assert said in printed
    assert printed.startswith(f"{path}:{line}:")
    assert "\n" not in printed


def test_a_unit_of_another_quantity_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        load_layout(kept(tmp_path, '[columns."Oil"]\nsignal = "oil_kpa"\nunit = "V"\n'))
    assert "unit of voltage" in problem_line(caught.value.problems[0])


def test_all_faults_at_once(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        load_layout(kept(tmp_path, 'delimeter = ";"\nskip_rows = "two"\n'))
    assert [p.line for p in caught.value.problems] == [1, 2]


def test_no_layout_file(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        load_layout(tmp_path / "none.toml")
    assert caught.value.problems[0].code == "layout_missing"


def test_what_is_understood_reads_the_file_the_same(tmp_path: Path) -> None:
    rows = [(f"{n + 13}.01.2026 10:00", f"12,{n}", f"{80 + n}", "Auto") for n in range(5)]
    head = [("Zeit", "Battery voltage", "Coolant temperature", "Mode"), ("", "V", "°C", "")]
    text = "Set: P 7\n\n" + table([*head, *rows], ";", "\r\n")
    first = read_text(tmp_path, text.encode("windows-1252"), zone="Europe/Vienna")
    (shown,) = understand(tmp_path / "P-1.csv", zone_of=lambda _set_id: "Europe/Vienna")
    assert shown.layout is not None
    assert (shown.rows, shown.set_ids) == (5, ("P 7",))
    again = read_file(
        tmp_path / "P-1.csv", layout=load_layout(kept(tmp_path, shown.layout.to_toml())), zone="Europe/Vienna"
    )
    assert first.file.rows_accepted == 5
    assert again.frame.equals(first.frame)


def test_a_column_that_is_nearly_there_is_named(tmp_path: Path) -> None:
    text = table([("Time", "Battery voltage [V]", "Oil"), *((t, 12.6, 3) for t in stamps(3))])
    layout = Layout.model_validate({"columns": {"Oil ": {"signal": "oil_kpa", "unit": "bar"}}})
    got = read_text(tmp_path, text, layout=layout)
    assert [p.code for p in got.readings.problems if p.code == "layout_no_such_column"] == ["layout_no_such_column"]


def test_a_time_column_that_is_not_there_is_named(tmp_path: Path) -> None:
    text = table([("Time", "Battery voltage [V]"), *((t, 12.6) for t in stamps(3))])
    got = read_text(tmp_path, text, layout=Layout(time_column="Tme"))
    assert (got.problem.code, got.problem.values["near"]) == ("no_such_column", "Time")
