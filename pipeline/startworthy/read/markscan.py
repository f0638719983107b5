"""Where the marks of a log's numbers are looked for: in the sample, and in the whole file where that leaves doubt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import polars as pl

from startworthy.read.dialect import LOOK_AT_ROWS, Dialect
from startworthy.read.exact import rebuild
from startworthy.read.layout import Layout
from startworthy.read.marks import Known, Marks, marks_of, signals_of
from startworthy.read.source import SAMPLE_BYTES, Source
from startworthy.read.stamps import looks_like_time

if TYPE_CHECKING:
    from startworthy.read.longform import LongForm

MARKED = r"^\s*[+-]?\d+([.,'\u2019 \u00a0\u202f\u2009]\d+)+\s*$"
"""A number with marks in it, whatever they mean."""
_TELLING = r"[.,'\u2019\u00a0\u202f\u2009 ]|^\d{4}"


def tell_marks(source: Source, dialect: Dialect, long: LongForm | None, given: Layout) -> Marks:
    """Decimal and thousands mark of a log, from its sample, else from every number in it."""
    if given.decimal_char is not None and given.group_char is not None:
        return Marks(given.decimal_char, given.group_char, True)
    marks = _of_sample(dialect, long, given)
    found = marks if marks.seen or not _more_than(source) else marks_of_file(source, dialect, long, given)
    if found.open is not None and source.kind and "," not in found.open[1]:
        # Numbers of typed cells were written out by us, with decimal points
        return Marks(".", found.group, True)
    return found


def _more_than(source: Source) -> bool:
    """Whether the file may hold more than the sample: by its lines, as blank ones leave fewer rows than were seen."""
    head = source.head()
    return len(head) >= SAMPLE_BYTES or head.count(b"\n") >= LOOK_AT_ROWS


def _of_sample(dialect: Dialect, long: LongForm | None, given: Layout) -> Marks:
    if long is None:
        cells = _by_column(dialect.headers, dialect.body)
        return marks_of(cells, signals_of(dialect.headers, dialect.units_row, given), given)
    named: dict[str, dict[str, int]] = {}
    units: dict[str, str] = {}
    for row in dialect.body:
        if max(long.name, long.value) < len(row) and len(row[long.value]) > 2:
            own = named.setdefault(row[long.name], {})
            own[row[long.value]] = own.get(row[long.value], 0) + 1
            if long.unit is not None and long.unit < len(row):
                units[row[long.name]] = row[long.unit]
    return marks_of(named, _signals_by_name(named, units, given), given)


def _signals_by_name(names: Sequence[str] | dict[str, dict[str, int]], units: dict[str, str], given: Layout) -> Known:
    return signals_of(list(names), [units.get(name, "") for name in names], given)


def _by_column(headers: Sequence[str], body: Sequence[Sequence[str]]) -> dict[str, dict[str, int]]:
    """The cells of the sample that may be numbers with marks, or whole numbers of four digits or more, by column."""
    found: dict[str, dict[str, int]] = {}
    for place, header in enumerate(headers):
        own: dict[str, int] = {}
        for row in body:
            cell = row[place] if place < len(row) else ""
            if len(cell) > 2 and (not cell.isdigit() or len(cell) > 3):
                own[cell] = own.get(cell, 0) + 1
        some = [cell for cell in list(own)[:20] if len(cell) > 5]
        if own and sum(map(looks_like_time, some)) * 2 <= len(some):
            found[header] = own
    return found


def marks_of_file(source: Source, dialect: Dialect, long: LongForm | None, given: Layout) -> Marks:
    """The marks that all numbers of a file show. A pass of its own, which only a file in doubt has to pay for."""
    skip = dialect.skip_lines
    headers = dialect.headers
    if dialect.spaced_quotes:
        usual = len(headers)
        rows = rebuild(source, skip, dialect.delimiter, dialect.quote_char, columns=usual, usual=usual)
        source, skip = Source(source.label, source.stem, None, rows.data), 0
    names = [f"c{n}" for n in range(max(len(headers), dialect.width))]
    scan = pl.scan_csv(
        source.scannable(), has_header=False, schema=dict.fromkeys(names, pl.String), separator=dialect.delimiter,
        quote_char=dialect.quote_char or None, skip_lines=skip, encoding="utf8-lossy",
        missing_columns="insert", truncate_ragged_lines=True, glob=False,
    )  # fmt: skip
    if long is None:
        known = signals_of(headers, dialect.units_row, given)
        queries = [
            scan.select(name=pl.lit(header), unit=pl.lit(""), cell=pl.col(f"c{n}"))
            for n, header in enumerate(headers)
            if header in known
        ]
    else:
        unit = pl.lit("") if long.unit is None else pl.col(f"c{long.unit}").fill_null("")
        queries = [scan.select(name=pl.col(f"c{long.name}"), unit=unit, cell=pl.col(f"c{long.value}"))]
    try:
        shapes = (
            pl.concat(pl.collect_all([_shapes(query) for query in queries], engine="streaming")) if queries else None
        )
    except pl.exceptions.PolarsError:
        shapes = None
    if shapes is None:
        return _of_sample(dialect, long, given)
    cells: dict[str, dict[str, int]] = {}
    units: dict[str, str] = {}
    for name, unit_text, first, highest, count in shapes.rows():
        own = cells.setdefault(name, {})
        own[first] = own.get(first, 0) + count
        own.setdefault(highest, 1)
        units[name] = unit_text
    return marks_of(cells, known if long is None else _signals_by_name(cells, units, given), given)


def _shapes(query: pl.LazyFrame) -> pl.LazyFrame:
    """How the numbers of each name are written: an example of each shape, its highest, and how often it is met."""
    cell = pl.col("cell").str.strip_chars(" \t")
    told = query.with_columns(cell=cell, name=pl.col("name").fill_null("").str.strip_chars(' "')).filter(
        (pl.col("cell").str.len_chars() < 40) & pl.col("cell").str.contains(_TELLING)
    )
    shape = pl.col("cell").str.replace_all(r"[1-9]", "9")
    return (
        told.with_columns(shape=shape)
        .group_by("name", "unit", "shape")
        .agg(pl.col("cell").first().alias("first"), pl.col("cell").max().alias("highest"), pl.len())
        .select("name", "unit", "first", "highest", "len")
    )
