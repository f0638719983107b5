import csv
import re
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from startworthy.logbook.tables import TABLES as LOGBOOK_TABLES
from startworthy.report import write_report
from startworthy.report.tables import findings_frame, neutralised, write_table
from startworthy.words import Style
from tests.support import checked as made

FORMULAS = ["=1+1", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "＝1+1", '=HYPERLINK("http://x","y")']


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_in_a_text_cell_becomes_text(text: str) -> None:
    assert neutralised(pl.DataFrame({"text": [text]}))["text"][0] == f"'{text}"


@pytest.mark.parametrize("text", ["-9999", "+1.5", "-1,5", "-1e5", "12.6 V", "a=b", "", "Low battery"])
def test_a_number_and_plain_text_stay_as_they_are(text: str) -> None:
    assert neutralised(pl.DataFrame({"text": [text]}))["text"][0] == text


def test_numbers_times_and_nulls_are_not_touched() -> None:
    frame = pl.DataFrame({"v": [-1.5, None], "at": [made.BEGAN, None], "n": [-3, 2]})
    assert_frame_equal(neutralised(frame), frame)


@given(st.lists(st.one_of(st.none(), st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\0")))))
def test_no_cell_of_a_table_is_run_by_a_spreadsheet(
    tmp_path_factory: pytest.TempPathFactory, cells: list[str | None]
) -> None:
    file = tmp_path_factory.mktemp("tables") / "t.csv"
    frame = pl.DataFrame({"text": cells, "n": [1.0] * len(cells)}, schema={"text": pl.String, "n": pl.Float64})
    write_table(file, frame)
    with file.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))[1:]
    assert len(rows) == len(cells)
    for cell, _ in rows:
        number = re.fullmatch(r"[+-]?[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]+)?", cell)
        assert number or not re.match(r"[=+\-@\t\r\n]", cell)


def test_findings_are_one_row_each_with_times_in_utc(tmp_path: Path) -> None:
    checked = made.three_sets()
    file = write_table(tmp_path / "findings.csv", findings_frame(checked, Style()))
    with file.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert list(rows[0]) == [
        "set_id", "site", "severity", "code", "question", "title", "detail", "began_at", "ended_at", "value", "limit", "unit", "advice",
    ]  # fmt: skip
    assert len(rows) == sum(len(result.findings) for result in checked.sets) == 6
    assert rows[0]["began_at"] == "2026-02-24T09:02:17Z"
    assert (rows[0]["value"], rows[0]["limit"], rows[0]["unit"]) == ("8.77", "9.1", "V")


def test_exports_do_not_depend_on_how_much_there_is(tmp_path: Path) -> None:
    checked = made.one_set()
    many = replace(checked, logbook=made.book("HILL-01", marks=400))
    write_report(many, tmp_path, formats={"csv"})
    assert pl.read_csv(tmp_path / "logbook" / "marks.csv").height == 400


def test_parquet_keeps_types_and_the_text_itself(tmp_path: Path) -> None:
    checked = replace(made.one_set(), logbook=made.book("HILL-01", alarm="=1+1"))
    write_report(checked, tmp_path, formats={"parquet"})
    marks = pl.read_parquet(tmp_path / "logbook" / "marks.parquet")
    assert_frame_equal(marks, checked.logbook.marks)
    assert {path.name for path in (tmp_path / "logbook").iterdir()} == {f"{name}.parquet" for name in LOGBOOK_TABLES}
    assert not (tmp_path / "findings.csv").exists()


def test_refused_is_written_with_any_format_and_emptied_when_nothing_is_refused(tmp_path: Path) -> None:
    checked = made.one_set()
    assert tmp_path / "refused.csv" in write_report(checked, tmp_path, formats={"json"})
    assert pl.read_csv(tmp_path / "refused.csv").height == 3
    clean = replace(checked, readings=replace(checked.readings, refused=made.refused_frame().clear()))
    write_report(clean, tmp_path, formats={"json"})
    assert pl.read_csv(tmp_path / "refused.csv").height == 0
    assert not any(path.name == "refused.csv" for path in write_report(clean, tmp_path / "new", formats={"json"}))


def test_an_unknown_format_is_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="pdf"):
        write_report(made.one_set(), tmp_path, formats={"pdf"})
    with pytest.raises(ValueError, match="xlsx"):
        write_report(made.one_set(), tmp_path, table_format="xlsx")
