"""Parquet and xlsx: their table is written out as CSV in memory, so that one reader decides about all of them."""

from __future__ import annotations

import hashlib
import io
import re
from pathlib import Path

from startworthy.problems import Problem
from startworthy.read.source import Source, stem_of

MAGIC = {".parquet": b"PAR1", ".xlsx": b"PK"}


def table_source(path: Path, ending: str) -> Source | Problem:
    """The table of a file as CSV text; a line of it is a row of the sheet (or of the parquet table, header first).

    Raises OSError if the file cannot be read.
    """
    raw = path.read_bytes()
    if not raw:
        return Problem("file_empty", str(path))
    if not raw.startswith(MAGIC[ending]):
        return Problem("table_unreadable", str(path), values={"why": f"not a {ending} file"})
    try:
        text = _of_parquet(raw) if ending == ".parquet" else _of_xlsx(raw)
    except Exception as error:  # the readers of both formats raise errors of their own kinds for a broken file
        why = re.sub(r"\s+", " ", str(error))[:100].rstrip(".").lower() or "broken"
        return Problem("table_unreadable", str(path), values={"why": why})
    if text is None:
        return Problem("table_unreadable", str(path), values={"why": "no sheet has two columns and two rows"})
    return Source(str(path), stem_of(path.name), None, text, hashlib.sha256(raw).hexdigest(), ending[1:])


def _of_parquet(raw: bytes) -> bytes:
    import polars as pl
    import polars.selectors as cs

    frame = pl.read_parquet(io.BytesIO(raw))
    frame = frame.select(~cs.nested() & ~cs.binary())
    aware = [name for name, kind in frame.schema.items() if isinstance(kind, pl.Datetime) and kind.time_zone]
    return frame.with_columns(
        pl.col(aware).dt.convert_time_zone("UTC").dt.to_string("%Y-%m-%d %H:%M:%S%.6f+00:00"),
        cs.datetime(time_zone=None).dt.to_string("%Y-%m-%d %H:%M:%S%.6f"),
        (cs.string() | cs.categorical() | cs.enum()).cast(pl.String).str.replace_all(r"[\r\n]+", " "),
    ).write_csv().encode()  # fmt: skip


def _of_xlsx(raw: bytes) -> bytes | None:
    import fastexcel
    import polars as pl

    book = fastexcel.read_excel(raw)
    for name in book.sheet_names:
        frame = book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string").to_polars()
        filled = frame.select(pl.sum_horizontal(pl.all().is_not_null())).to_series() if frame.width else pl.Series()
        if frame.width < 2 or (filled >= 2).sum() < 2:
            continue
        # A cell that holds a clock time alone comes with the day that spreadsheets count from
        clean = pl.all().str.replace_all(r"[\r\n]+", " ").str.replace(r"^1899-12-3[01] (\d\d:\d\d:\d\d)", "$1")
        text = frame.with_columns(clean).write_csv(include_header=False)
        return re.sub(r"(?m)^,+$", "", text).encode()
    return None
