import csv
import re
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from startworthy.logbook.tables import TABLES as LOGBOOK_TABLES
from startworthy.report import write_report
from startworthy.report.tables import findings_frame, neutralised, write_table
from startworthy.words import Style
from tests.support import checked as made

FORMULAS = ["=1+1", "+1+1", "-2+3", "@SUM(A1)", "\tx", "\rx", "\nx", "＝1+1", '=HYPERLINK("http://x","y")']


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_in_a_text_cell_becomes_text(text: str) -> None:
    assert neutralised(pl.DataFrame({"text": [text]}))["text"][0] == f"'{text}"


@pytest.mark.parametrize("text", ["-9999", "+1.5", "-1,5", "-1e5", "12.6 V", "a=b", "", "Low battery"])
def test_a_number_and_plain_text_stay_as_they_are(text: str) -> None:
    assert neutralised(pl.DataFrame({"text": [text]}))["text"][0] == text


def test_numbers_times_and_nulls_are_not_touched() -> None:
    frame = pl.DataFrame({"v": [-1.5, None], "at": [made.BEGAN, None], "n": [-3, 2]})
    assert_frame_equal(neutralised(frame), frame)


@settings(deadline=None)
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


INSIDE = [
    ("b;=1+1;", "b;'=1+1;"),
    ('b;"=1+1;', "b;\"'=1+1;"),
    ("b\n=1+1", "b\n'=1+1"),
    ("b\r\n \t@x", "b\r\n \t'@x"),
    ("b\t-2+3", "b\t'-2+3"),
    ("b; ＝1", "b; '＝1"),
    ("=1;=2", "'=1;'=2"),
    ("\t=1", "'\t'=1"),
    ("\r=1", "'\r'=1"),
    ("\n=1", "'\n'=1"),
]


@pytest.mark.parametrize(("text", "shown"), INSIDE)
def test_a_formula_that_another_countrys_spreadsheet_finds_inside_becomes_text(text: str, shown: str) -> None:
    assert neutralised(pl.DataFrame({"text": [text]}))["text"][0] == shown


@pytest.mark.parametrize(
    "text", ["  =1+1", "\u00a0=1", "\u3000+1+1", "\u200b=1", "\ufeff=1", "\0=1", "\x1b@x", "﹦1+1", " -2+3"]
)
def test_what_a_spreadsheet_drops_does_not_hide_a_formula(text: str) -> None:
    assert neutralised(pl.DataFrame({"text": [text]}))["text"][0] == f"'{text}"


@settings(deadline=None)
@given(st.lists(st.text(alphabet=st.one_of(st.sampled_from(";,\t\r\n\"'=+-@ 1A"), st.characters(codec="utf-8")))))
def test_no_delimiter_makes_a_cell_of_ours_a_formula(
    tmp_path_factory: pytest.TempPathFactory, cells: list[str]
) -> None:
    file = tmp_path_factory.mktemp("tables") / "t.csv"
    write_table(
        file, pl.DataFrame({"a": ["x"] * len(cells), "text": cells}, schema={"a": pl.String, "text": pl.String})
    )
    for delimiter in (",", ";", "\t"):
        with file.open(encoding="utf-8", newline="") as stream:
            rows = list(csv.reader(stream, delimiter=delimiter))[1:]
        for cell in (cell for row in rows for cell in row):
            number = re.fullmatch(r"[+-]?[0-9]+([.,][0-9]+)?([eE][+-]?[0-9]+)?", cell)
            assert number or not re.match(r"[\s\0\x1b\u200b\ufeff]*[=+\-@＝＋－＠]", cell), (delimiter, cell)


ODD = [
    "a,b",
    'a"b',
    '"',
    "a\nb",
    "a\r\nb",
    "\r",
    "a;b",
    "a\tb",
    "",
    " ",
    "null",
    "NA",
    "'",
    "\U0001f600",
    "مولد",
    "x" * 10_000,
]


@given(
    st.lists(st.one_of(st.sampled_from(ODD), st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\0"))))
)
def test_a_record_stays_one_row_with_its_text_in_every_reader(
    tmp_path_factory: pytest.TempPathFactory, cells: list[str]
) -> None:
    file = tmp_path_factory.mktemp("tables") / "t.csv"
    frame = pl.DataFrame({"set_id": cells, "n": [-1.5] * len(cells)}, schema={"set_id": pl.String, "n": pl.Float64})
    write_table(file, frame)
    wanted = neutralised(frame)
    with file.open(encoding="utf-8", newline="") as stream:
        assert [tuple(row) for row in csv.reader(stream)][1:] == [(cell, "-1.5") for cell in wanted["set_id"]]
    read = pl.read_csv(file, schema=wanted.schema)
    assert_frame_equal(read, wanted)
    parquet = write_table(file.with_suffix(".parquet"), frame)
    assert_frame_equal(pl.read_parquet(parquet), frame)


def test_every_table_that_leaves_holds_no_formula_and_numbers_stay_numbers(tmp_path: Path) -> None:
    evil = '=HYPERLINK("http://x";"y")'
    checked = made.together(
        made.result(evil, site=f" {evil}"),
        logbooks=[made.book(evil, alarm=evil)],
        frames=[],
        files=(made.file_read((evil,), path=evil, header=evil),),
        refused=made.refused_frame(evil, value=evil),
    )
    written = [path for path in write_report(checked, tmp_path, formats={"csv"}) if path.suffix == ".csv"]
    assert len(written) == 2 + len(LOGBOOK_TABLES)
    for path in written:
        with path.open(encoding="utf-8", newline="") as stream:
            rows = list(csv.reader(stream))
        assert not any(cell.lstrip().startswith(("=", "@")) for row in rows for cell in row), path.name
    with (tmp_path / "refused.csv").open(encoding="utf-8", newline="") as stream:
        assert [row["value"] for row in csv.DictReader(stream)] == [f"'{evil}", "-9999", "31/31/2025"]
    assert not list(tmp_path.rglob("*.xls*")), "no workbook is written"


def test_the_frame_that_is_neutralised_is_not_edited() -> None:
    frame = pl.DataFrame(
        {"text": ["=1", "b;=1", None, "x"], "kind": pl.Series(["@x", "y", None, "@x"]).cast(pl.Categorical)}
    )
    before = frame.clone()
    assert neutralised(frame)["text"].to_list() == ["'=1", "b;'=1", None, "x"]
    assert neutralised(frame)["kind"].to_list() == ["'@x", "y", None, "'@x"]
    assert_frame_equal(frame, before)
