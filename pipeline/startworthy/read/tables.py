"""Parquet and xlsx: their table is written out as CSV, so that one reader decides about all of them."""

from __future__ import annotations

import hashlib
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path

from startworthy.problems import InputError, Problem
from startworthy.read.labels import stem_of
from startworthy.read.packed import CHUNK_BYTES, FREE_BYTES, MOST_RATIO, entries_of
from startworthy.read.source import Source
from startworthy.read.spool import Spool

MAGIC = {".parquet": b"PAR1", ".xlsx": b"PK"}
MOST_TEXT_BYTES = 16 << 30
"""What a table may come to as text. Common practice, no source."""
MOST_SHEET_BYTES = 1 << 30
"""What a workbook may expand to: a full sheet of 1,048,576 rows and 13 columns is about half of it. It is held whole
while it is read. Common practice, no source."""
MOST_SHEET_CELLS = 32_000_000
"""Cells of the rectangle that a sheet's furthest cells span, as the rectangle is held whole, however empty it is:
1,048,576 rows of 30 columns. Common practice, no source."""


def table_source(path: Path, ending: str, label: str) -> Source | Problem:
    """The table of a file as CSV text; a line of it is a row of the sheet (or of the parquet table, header first).

    Raises OSError if the file cannot be read.
    """
    digest = hashlib.sha256()
    with path.open("rb") as file:
        head = file.read(4)
        if not head:
            return Problem("file_empty", label)
        if not head.startswith(MAGIC[ending]):
            return Problem("table_unreadable", label, values={"why": f"not a {ending} file"})
        file.seek(0)
        while part := file.read(CHUNK_BYTES):
            digest.update(part)
    spool = Spool(label)
    try:
        found = _of_parquet(path, spool) if ending == ".parquet" else _of_xlsx(path, spool)
    except (KeyboardInterrupt, SystemExit, GeneratorExit, MemoryError):
        spool.drop()
        raise
    except InputError as error:
        spool.drop()
        return error.problems[0]
    except BaseException as error:
        # The readers of both formats raise errors of their own kinds for a broken file, a panic among them
        spool.drop()
        why = re.sub(r"\s+", " ", str(error))[:100].rstrip(".").lower() or "broken"
        return Problem("table_unreadable", label, values={"why": why})
    if not found:
        spool.drop()
        return Problem("table_unreadable", label, values={"why": "no sheet has two columns and two rows"})
    where, data, held = spool.done()
    return Source(label, stem_of(path.name), where, data, digest.hexdigest(), ending[1:], held)


class _Limited:
    """Where the writer of CSV writes to: it stops at the limit, as a table of a few bytes may come to any size."""

    def __init__(self, spool: Spool) -> None:
        self._spool = spool
        self.stopped: InputError | None = None

    def write(self, part: bytes) -> int:
        if self._spool.size > MOST_TEXT_BYTES:
            most = MOST_TEXT_BYTES >> 30
            self.stopped = InputError(Problem("archive_too_large", self._spool.label, values={"most_gib": most}))
            raise self.stopped
        try:
            return self._spool.write(part)
        except InputError as error:
            self.stopped = error
            raise

    def flush(self) -> None:
        pass

    def close(self) -> None:
        pass


def _of_parquet(path: Path, spool: Spool) -> bool:
    """Row group by row group, so that only a part of the table is held."""
    import polars as pl
    import polars.selectors as cs

    frame = pl.scan_parquet(path, glob=False, hive_partitioning=False)
    frame = frame.select(~cs.nested() & ~cs.binary())
    kinds = frame.collect_schema()
    aware = [name for name, kind in kinds.items() if isinstance(kind, pl.Datetime) and kind.time_zone]
    frame = frame.with_columns(
        pl.col(aware).dt.convert_time_zone("UTC").dt.to_string("%Y-%m-%d %H:%M:%S%.6f+00:00"),
        cs.datetime(time_zone=None).dt.to_string("%Y-%m-%d %H:%M:%S%.6f"),
        (cs.string() | cs.categorical() | cs.enum()).cast(pl.String).str.replace_all(r"[\r\n]+", " "),
    )  # fmt: skip
    limited = _Limited(spool)
    try:
        frame.sink_csv(limited)  # type: ignore[call-overload]
    except Exception:
        if limited.stopped is not None:
            raise limited.stopped from None
        raise
    return True


def _of_xlsx(path: Path, spool: Spool) -> bool:
    """The first sheet that is a table. Formula cells come as the values that were saved with them."""
    import fastexcel
    import polars as pl

    _fit(path, spool.label)
    book = fastexcel.read_excel(path.read_bytes())
    for name in book.sheet_names:
        frame = book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string").to_polars()
        filled = frame.select(pl.sum_horizontal(pl.all().is_not_null())).to_series() if frame.width else pl.Series()
        if frame.width < 2 or (filled >= 2).sum() < 2:
            continue
        # A cell that holds a clock time alone comes with the day that spreadsheets count from
        clean = pl.all().str.replace_all(r"[\r\n]+", " ").str.replace(r"^1899-12-3[01] (\d\d:\d\d:\d\d)", "$1")
        text = frame.with_columns(clean).write_csv(include_header=False)
        spool.write(re.sub(r"(?m)^,+$", "", text).encode())
        return True
    return False


_PLACE = re.compile(rb'\br\s*=\s*["\']([A-Za-z]{0,3})(\d{1,7})["\']')
"""The place of a cell or a row (ECMA-376 part 1, 18.18.62), wherever the sheet lies in the workbook."""
_OTHER_KINDS = ("content.xml", "xl/workbook.bin")
"""What marks a workbook of another format, whose sheets are not looked through here."""


def _fit(path: Path, label: str) -> None:
    """Hold a workbook against the limits before it is loaded. Raises InputError, zipfile.BadZipFile, zlib.error."""
    with path.open("rb") as file:
        entries_of(file, label)
        with zipfile.ZipFile(file) as book:
            names = [name.casefold() for name in book.namelist()]
            if any(name in _OTHER_KINDS for name in names):
                raise InputError(Problem("table_unreadable", label, values={"why": "not a .xlsx file"}))
            total = 0
            for member in book.infolist():
                column = row = own = 0
                rest = b""
                for part in _content(book, member):
                    total, own = total + len(part), own + len(part)
                    of_a_bomb = own > FREE_BYTES and own > MOST_RATIO * max(member.compress_size, 1)
                    if total > MOST_SHEET_BYTES or of_a_bomb:
                        raise InputError(Problem("workbook_too_large", label))
                    # A reference may lie across two parts
                    for letters, digits in set(_PLACE.findall(rest + part)):
                        column, row = max(column, _number_of(letters.upper())), max(row, int(digits))
                    rest = part[-32:]
                if column * row > MOST_SHEET_CELLS:
                    raise InputError(Problem("workbook_too_large", label))


def _content(book: zipfile.ZipFile, member: zipfile.ZipInfo) -> Iterator[bytes]:
    with book.open(member) as stream:
        while part := stream.read(CHUNK_BYTES):
            yield part


def _number_of(letters: bytes) -> int:
    """A column's number from its letters: A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number
