"""What the fuzzer does with one input, and what must hold for whatever the input is.

The first byte says what kind of file the rest is, the second how it is read and how far the readings are taken
(`unpack`). `look` reads it and raises: whatever the code under test raises, or Broken where a promise is not kept.
"""

from __future__ import annotations

import contextlib
import gzip
import io
import time
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

import polars as pl

from startworthy import api
from startworthy.problems import InputError
from startworthy.read import RawReadings, pieces, read_paths, source
from startworthy.read.layout import load_layout
from startworthy.register import Register, load_register
from startworthy.results import Readings
from startworthy.signals import BY_NAME, Quantity
from startworthy.validate import clean
from startworthy.words import problem_line

SLOW_S = 5.0
"""Of the processor, so that a busy machine is no finding."""
MARK = b"\n%%%%\n"
"""Stands between a layout (or register) and the log that is read with it."""

DEPTHS = 32
"""How far readings are taken: 0 to the report, 1 to the logbook, else to validation; logbooks cost ten reads."""

PLAIN_LOG = b"Time,Battery voltage [V],Speed [rpm],Fuel level [%]\n" + b"".join(
    f"2026-01-{day:02d}T{hour:02d}:00:00Z,12.{day},{1500 if hour == 9 else 0},{80 - day}\n".encode()
    for day in (1, 2, 3)
    for hour in range(24)
)

KINDS = "caCAtgGzZxXSplrRnP"
"""c a A C: .csv, and with --date-order dmy, mdy, --time-zone of a place with clock changes. t: .txt. g G: .csv.gz as it
is, packed here. z Z: .zip as it is, packed here. x X S: .xlsx as it is, the sheet's XML packed here, a sheet made of
cells. p: .parquet. l: a layout and a log. r R: a register and a log, with a zone. n: two logs.
P: .csv, read whole and in small pieces, as a very large one is: both must give the same."""

SHEET_PARTS = {
    "[Content_Types].xml": '<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>',
    "_rels/.rels": '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>',
    "xl/workbook.xml": '<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Log" sheetId="1" r:id="rId1"/></sheets></workbook>',
    "xl/_rels/workbook.xml.rels": '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
}


class Broken(AssertionError):
    """A promise that the input broke: rows that do not add up, a line that is not there, a value out of range."""


class Slow(Broken):
    """An input of some kilobytes that took seconds."""


@dataclass(frozen=True, slots=True)
class Case:
    """An input taken apart. text: the log as text where the harness itself knows it, to count its lines in."""

    files: dict[str, bytes]
    text: bytes | None
    how: dict[str, str]
    layout: bytes | None = None
    register: bytes | None = None
    depth: int = 0
    short_sample: bool = False
    pieces: bool = False


def packed(kind: str, depth: int, body: bytes, *, short_sample: bool = False) -> bytes:
    """The input that `unpack` takes apart into these."""
    return bytes([KINDS.index(kind), depth % DEPTHS + DEPTHS * short_sample]) + body


def unpack(data: bytes) -> Case:
    """An input taken apart; every sequence of bytes is one."""
    first, second, body = data[:1], data[1:2], data[2:]
    kind = KINDS[(first[0] if first else 0) % len(KINDS)]
    depth, short = (second[0] % DEPTHS, bool(second[0] & DEPTHS)) if second else (DEPTHS - 1, False)
    if kind in "lrR":
        head, found, log = body.partition(MARK)
        log = log if found else PLAIN_LOG
        files = {"P-1.csv": log}
        if kind in "rR":
            how = {"time_zone": "Europe/Berlin"} if kind == "R" else {}
            return Case(files, log, how, register=head, depth=depth, short_sample=short)
        return Case(files, log, {}, layout=head, depth=depth, short_sample=short)
    if kind == "n":
        one, _, two = body.partition(MARK)
        return Case({"P-1.csv": one, "P-2.csv": two}, None, {}, depth=depth, short_sample=short)
    how = {"a": {"date_order": "dmy"}, "A": {"date_order": "mdy"}, "C": {"time_zone": "Europe/Berlin"}}.get(kind, {})
    name, content, text = "P-1.csv", body, body
    if kind == "t":
        name = "P-1.txt"
    elif kind in "gG":
        name, content, text = "P-1.csv.gz", body if kind == "g" else gzip.compress(body, 1, mtime=0), b""
        text = body if kind == "G" else b""
    elif kind in "zZ":
        name, content = "P-1.zip", body if kind == "z" else _zip({"P-1.csv": body})
        text = body if kind == "Z" else b""
    elif kind in "xX":
        sheet = body.decode("utf-8", "replace")
        name, content, text = "P-1.xlsx", body if kind == "x" else _zip(_sheet(sheet)), b""
    elif kind == "S":
        name, content, text = "P-1.xlsx", _zip(_sheet(_cells(body))), b""
    elif kind == "p":
        name, text = "P-1.parquet", b""
    return Case({name: content}, text or None, how, depth=depth, short_sample=short, pieces=kind == "P")


def look(data: bytes, folder: Path, *, strict: bool = True) -> str:
    """Read one input in `folder`, which is emptied of it again. Returns what became of it, in a word.

    Raises what the code under test raises, Broken for a promise not kept, Slow where it took longer than SLOW_S.
    strict: errors inside a check are raised, as in the tests.
    """
    case = unpack(data)
    made = []
    began = time.process_time()
    try:
        for name, content in case.files.items():
            made.append(folder / name)
            made[-1].write_bytes(content)
        for name, content in (("layout.toml", case.layout), ("register.toml", case.register)):
            if content is not None:
                made.append(folder / name)
                made[-1].write_bytes(content)
        with _set(source, **({"SAMPLE_BYTES": 2048} if case.short_sample else {})):
            return _read(case, folder, strict)
    finally:
        for path in made:
            path.unlink(missing_ok=True)
        took = time.process_time() - began
        if took > SLOW_S:
            raise Slow(f"took {took:.1f} s")


def _read(case: Case, folder: Path, strict: bool) -> str:
    try:
        layout = load_layout(folder / "layout.toml") if case.layout is not None else None
        register = load_register(folder / "register.toml") if case.register is not None else Register()
    except InputError as error:
        _one_line_each(error.problems)
        return "settings refused"
    paths = [folder / name for name in case.files]
    if case.pieces:
        return _whole_and_in_pieces(paths[0])
    raw = read_paths(paths, layout=layout, zone_of=register.zone_of, **case.how)  # type: ignore[arg-type]
    _one_line_each(raw.problems)
    _must(bool(raw.files) or any(p.fatal for p in raw.problems) or not raw.frame.height, "no file, and no word why")
    _of_raw(raw, case)
    readings = clean(raw)
    _of_clean(readings)
    if case.depth > 1 or readings.frame.is_empty():
        return "read" if readings.files else "refused"
    if case.depth == 1:
        api.logbook(readings, register=register)
        return "logbook"
    checked = api.check(readings, register=register, strict=strict)
    out = folder / "report"
    written = api.report(checked, out, formats=("html", "json", "csv"))
    for path in written:
        path.unlink()
    return "report"


def _whole_and_in_pieces(path: Path) -> str:
    whole = api.read(path)
    with _set(pieces, HUGE_BYTES=-1, PIECE_BYTES=400), _set(source, CHUNK_BYTES=200):
        parts = api.read(path)
    _one_line_each(parts.problems)
    if any(p.fatal for p in (*whole.problems, *parts.problems)):
        return "refused"
    if any("above the header" in f.layout for f in whole.files):
        return "in pieces"  # a piece of the true size holds all that stands above a header
    if whole.refused["reason"].is_in(["unclosed_quote", "bad_quotes"]).any():
        return "in pieces"  # which of several broken quotes belong together depends on where a piece begins
    for one, other in zip(whole.files, parts.files, strict=True):
        _must(one.set_ids == other.set_ids, f"pieces: other sets, {one.set_ids} and {other.set_ids}")
        counts = [(f.rows_read, f.rows_accepted, f.rows_refused, f.rows_repeated) for f in (one, other)]
        _must(counts[0] == counts[1], f"pieces: counts {counts}")
        for name in one.set_ids:
            rows, again = whole.rows_of(name), parts.rows_of(name)
            same = [c for c in rows.columns if c not in ("set_id", "file")]
            empty = [c for c in same if c not in again.columns]
            _must(all(rows[c].null_count() == rows.height for c in empty), f"pieces: {empty} are lost")
            kept = [
                pl.col(c).cast(pl.String) if rows[c].dtype == pl.Categorical else pl.col(c)
                for c in same
                if c in again.columns
            ]
            _must(rows.select(kept).equals(again.select(kept)), "pieces: other rows")
    return "in pieces"


def _must(holds: bool, what: str) -> None:
    if not holds:
        raise Broken(what)


def _one_line_each(problems: object) -> None:
    for problem in problems:  # type: ignore[attr-defined]
        line = problem_line(problem)
        _must(
            bool(line) and not any(ord(c) < 32 or c in "\x7f\x85\u2028\u2029" for c in line), f"not one line: {line!r}"
        )
        _must(
            "{" not in line.replace(str(dict(problem.values)), "")
            or "{" in str(dict(problem.values))
            or "{" in str(problem.column),
            f"a place left open: {line!r}",
        )
        _must(len(line) < 2000, f"a line of {len(line)} characters")


def _of_raw(raw: RawReadings, case: Case) -> None:
    frame = raw.frame
    _must(frame["at"].null_count() == 0, "an accepted row without a time")
    _must(frame["set_id"].null_count() == 0, "an accepted row without a set")
    per_file = dict(frame.group_by("file").len().iter_rows())
    costs: dict[tuple[str, str], int] = {}
    for path, cost, n in raw.refused.group_by("file", "cost").len().iter_rows():
        costs[str(path), str(cost)] = n
    for n, file in enumerate(raw.files):
        counts = (file.rows_read, file.rows_accepted, file.rows_refused, file.rows_repeated, file.cells_emptied)
        _must(min(counts) >= 0, f"counts below zero: {counts}")
        _must(file.rows_read == sum(counts[1:4]), f"rows do not add up: {counts}")
        rows = per_file.get(n, 0)
        long = "one row a value" in file.layout
        _must(rows == file.rows_accepted or (long and rows <= file.rows_accepted), f"{rows} rows, counts say {counts}")
        if len({f.path for f in raw.files}) == len(raw.files):
            told = costs.get((file.path, "row"), 0), costs.get((file.path, "cell"), 0)
            _must(told == (file.rows_refused, file.cells_emptied), f"refused.csv tells {told}, counts say {counts}")
        mine = frame.filter(pl.col("file") == n)
        _must(mine["line"].n_unique() == mine.height or long, "two rows of one line")
    if case.text is not None and len(case.files) == 1:
        # as generous as any reading of line ends can be
        most = 1 + case.text.count(b"\n") + case.text.count(b"\r")
        for lines in (frame["line"], raw.refused["line"]):
            if len(lines):
                _must(0 < lines.min() <= lines.max() <= most, f"line {lines.max()} of {most}")  # type: ignore[operator]


def _of_clean(readings: Readings) -> None:
    frame = readings.frame
    for file in readings.files:
        counts = (file.rows_read, file.rows_accepted, file.rows_refused, file.rows_repeated)
        _must(min(counts) >= 0 and counts[0] == sum(counts[1:]), f"rows do not add up after validation: {counts}")
    _must(frame["at"].null_count() == 0, "a reading without a time")
    in_order = frame.select(pl.col("set_id").cast(pl.String), "at")
    _must(in_order.equals(in_order.sort("set_id", "at")), "not in order of set and time")
    for name in frame.columns:
        signal = BY_NAME.get(name)
        if signal is None or signal.quantity is Quantity.TEXT:
            continue
        values = frame[name].drop_nulls()
        if len(values):
            _must(not values.is_nan().any(), f"NaN in {name}")
            _must(signal.low <= values.min() <= values.max() <= signal.high, f"{name} out of its range")  # type: ignore[operator]


@contextlib.contextmanager
def _set(module: ModuleType, **values: int) -> Iterator[None]:
    """Within the block the module's own figures are these: what is meant for large files is then met by small ones."""
    old = {name: getattr(module, name) for name in values if hasattr(module, name)}
    for name in old:
        setattr(module, name, values[name])
    try:
        yield
    finally:
        for name, value in old.items():
            setattr(module, name, value)


def _zip(members: dict[str, str] | dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, content in members.items():
            archive.writestr(zipfile.ZipInfo(name), content)
    return out.getvalue()


def _sheet(sheet: str) -> dict[str, str]:
    return {**SHEET_PARTS, "xl/worksheets/sheet1.xml": sheet}


def _cells(body: bytes) -> str:
    """A sheet whose cells are those of a plain comma-separated text; what is a number is written as one."""
    rows = []
    for n, line in enumerate(body.decode("utf-8", "replace").split("\n"), 1):
        cells = []
        for k, raw in enumerate(line.split(",")[:26]):
            plain = "".join(c for c in raw if c.isprintable() and ord(c) < 0xFFFE)
            at = f"{chr(65 + k)}{n}"
            if plain.replace(".", "", 1).isascii() and plain.replace(".", "", 1).isdigit():
                cells.append(f'<c r="{at}"><v>{plain}</v></c>')
            elif plain:
                safe = plain.replace("&", "&amp;").replace("<", "&lt;")
                cells.append(f'<c r="{at}" t="inlineStr"><is><t>{safe}</t></is></c>')
        rows.append(f'<row r="{n}">{"".join(cells)}</row>')
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return f'<?xml version="1.0"?><worksheet xmlns="{space}"><sheetData>{"".join(rows)}</sheetData></worksheet>'
