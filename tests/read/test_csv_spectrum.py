"""The awkward corners of CSV, held to the answers that their collection gives (tests/README.md)."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from startworthy.read.dialect import dialect_of
from startworthy.read.exact import rebuild
from startworthy.read.layout import Layout
from startworthy.read.source import Source
from tests.support.reader import read_file

pytestmark = pytest.mark.open_data

# location_coordinates and newlines_crlf are left out: their answers are not those of the files stored beside them
# (another telephone number and one record for a list; CRLF in the answer to a file with LF).
SOUND = (
    "comma_in_quotes", "empty", "empty_crlf", "escaped_quotes", "json", "newlines", "quotes_and_newlines", "simple",
    "simple_crlf", "utf8",
)  # fmt: skip
ALL = (*SOUND, "location_coordinates", "newlines_crlf")


def records(data: bytes) -> list[dict[str, str]]:
    """Header and rows as the reader takes them apart; the clean CSV of its exact way is read with a plain parser."""
    source = Source("file.csv", "file", None, data)
    dialect = dialect_of(data.decode(), "file.csv", Layout(skip_rows=0, header_row_count=1), whole=True)
    rebuilt = rebuild(source, dialect.skip_lines, dialect.delimiter, dialect.quote_char, len(dialect.headers))
    assert rebuilt.refused.is_empty()
    rows = csv.reader(io.StringIO(rebuilt.data.decode(), newline=""), strict=True)
    return [dict(zip(dialect.headers, row, strict=True)) for row in rows]


@pytest.mark.published("csv-spectrum 2.0.0, json/")
@pytest.mark.parametrize("name", SOUND)
def test_bytes_to_rows(open_data: Path, name: str) -> None:
    folder = open_data / "csv-spectrum"
    assert records((folder / "csvs" / f"{name}.csv").read_bytes()) == json.loads(
        (folder / "json" / f"{name}.json").read_text(encoding="utf-8")
    )


@pytest.mark.published("csv-spectrum 2.0.0, json/, with LF in the file replaced by CRLF")
@pytest.mark.parametrize("name", ["simple", "empty"])
def test_bytes_to_rows_with_crlf(open_data: Path, name: str) -> None:
    folder = open_data / "csv-spectrum"
    data = (folder / "csvs" / f"{name}.csv").read_bytes().replace(b"\n", b"\r\n")
    assert records(data) == json.loads((folder / "json" / f"{name}.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", ALL)
def test_none_is_a_log(open_data: Path, name: str) -> None:
    got = read_file(open_data / "csv-spectrum" / "csvs" / f"{name}.csv")
    assert got.problem.code == "no_time_column"
    assert got.line.startswith(str(open_data / "csv-spectrum" / "csvs" / f"{name}.csv"))
    assert "no column holds times" in got.line
    assert "\n" not in got.line
    assert got.frame.is_empty()
