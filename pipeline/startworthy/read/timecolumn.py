"""The time column of a log: which it is, and how its stamps are written."""

from __future__ import annotations

import difflib
import math
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import TYPE_CHECKING

from startworthy.problems import InputError, Problem
from startworthy.read.dateorder import order_of
from startworthy.read.headers import hear, words_of
from startworthy.read.layout import NUMERIC_TIMES, DateOrder, Layout
from startworthy.read.names import column_words
from startworthy.read.stamps import TIME_WORDS, Shape, ordered, shape_of
from startworthy.read.times import TimePlan, us_of

if TYPE_CHECKING:
    import polars as pl

ELAPSED_WORDS = (
    "time", "elapsed", "elapsed time", "t", "seconds", "run time", "runtime", "engine run time", "running time",
    "log seconds", "time since start", "seconds since start", "relative time", "second", "time s", "elapsed s",
    "elapsed seconds", "sec", *column_words(lambda language: language.elapsed),
)  # fmt: skip
_EPOCHS = (("epoch_s", 1.0), ("epoch_ms", 1e3), ("epoch_us", 1e6), ("epoch_ns", 1e9))
_YEAR_FIRST = 6.3e8  # 1990, for telling epoch seconds from other numbers
_YEAR_LAST = 4.2e9
_LOOK_AT = 500
_NO_NOTES: tuple[str, ...] = ()
_ELAPSED_UNITS = {
    "ms": "elapsed_ms", "s": "elapsed_s", "sec": "elapsed_s", "seconds": "elapsed_s", "min": "elapsed_min",
    "minutes": "elapsed_min", "h": "elapsed_h", "hours": "elapsed_h",
}  # fmt: skip
_DATE_IN_NAME = re.compile(r"(?<!\d)((?:19|20)\d{2})([-_.]?)(0[1-9]|1[0-2])\2(0[1-9]|[12]\d|3[01])(?!\d)")


@dataclass(frozen=True, slots=True)
class Sample:
    """The start of a log, column by column. `stem` is the file's bare name; `given` what a layout states."""

    headers: Sequence[str]
    body: Sequence[Sequence[str]]
    decimal_char: str
    label: str
    stem: str
    given: Layout

    def column(self, at: int) -> list[str]:
        """The cells of a column that are not empty."""
        return [row[at] for row in self.body if at < len(row) and row[at]]

    def stamps(self, time: int, date: int | None) -> list[str]:
        """The time cells, each with its date where dates stand apart."""
        if date is None:
            return self.column(time)
        return [f"{r[date]} {r[time]}" for r in self.body if max(date, time) < len(r) and r[date] and r[time]]

    def numbers(self, at: int) -> list[float]:
        """The first cells of a column as numbers, NaN where one is none."""
        return [_float(cell, self.decimal_char) for cell in self.column(at)[:_LOOK_AT]]

    def refuse(self, code: str, at: int | None = None, **values: str) -> InputError:
        """The problem with the time of this log, at a column."""
        return InputError(Problem(code, self.label, column=None if at is None else self.headers[at], values=values))


def _float(cell: str, decimal_char: str) -> float:
    try:
        return float(cell.replace(decimal_char, "."))
    except ValueError:
        return math.nan


def plan_time(
    sample: Sample, date_order: DateOrder | None, whole_column: Callable[[int, int | None], pl.Series]
) -> TimePlan:
    """Find the time column and how it is written.

    whole_column gives all stamps of a file (date and time columns joined by a space); it is asked only where the
    sample leaves the order of day and month open. Raises InputError: no_time_column, no_such_column,
    ambiguous_dates, elapsed_time, clock_without_date.
    """
    given = sample.given
    time_at, date_at = _given_column(sample, given.time_column), _given_column(sample, given.date_column)
    if time_at is None and date_at is not None:
        time_at, date_at = date_at, None
    if time_at is None:
        time_at, date_at = _choose(sample)
    if time_at is None:
        raise sample.refuse("no_time_column", columns=listed(sample.headers))
    numeric = _numeric(sample, time_at)
    if numeric is not None:
        return numeric
    stamps = sample.stamps(time_at, date_at)
    shapes = _of_the_log([shape for shape in map(shape_of, stamps[:_LOOK_AT]) if shape is not None])
    order: DateOrder | None = given.date_order or date_order
    notes: tuple[str, ...] = ()
    if given.time_format is not None:
        patterns = [given.time_format]
    elif not shapes:
        raise sample.refuse("no_time_column", columns=listed(sample.headers))
    else:
        patterns = [pattern for pattern, _ in Counter(s.pattern for s in shapes).most_common()]
        if "{" not in patterns[0]:
            # A few stamps of another form do not make the dates of a log ambiguous: their rows are refused
            patterns = [pattern for pattern in patterns if "{" not in pattern]
    is_open = any("{" in p for p in patterns)
    if is_open and order is None:
        header = sample.headers[time_at if date_at is None else date_at]
        order, notes = order_of(stamps, patterns, lambda: whole_column(time_at, date_at), sample.label, header)
    patterns = [ordered(p, order) for p in patterns]
    dated = re.search(r"%[YyDFxcs+]", patterns[0]) is not None
    origin = 0
    if not dated:
        origin, said = _origin_of_clock(sample, time_at)
        notes += said
    zoned = re.search(r"%[#:]*z", patterns[0]) is not None
    aware = given.time_origin is not None and given.time_origin.tzinfo is not None
    offsets = {shape.offset for shape in shapes}
    suffix = next(iter(offsets)) if len(offsets) == 1 and patterns[0].endswith("%#z") else ""
    return TimePlan(
        "stamp" if dated else "clock", time_at, date_at, _alternatives(patterns),
        utc=zoned or (not dated and aware), suffix=suffix, suffix_us=_offset_us(suffix),
        replace=_replacements(shapes), origin_us=origin, date_order=order if is_open else None,
        time_zone="UTC" if re.search(r"\b(utc|gmt)\b", words_of(sample.headers[time_at])) else None, notes=notes,
    )  # fmt: skip


def _of_the_log(shapes: Sequence[Shape]) -> list[Shape]:
    """Without dates written in a way that next to none else is: a damaged stamp must not leave all dates open."""
    dates = Counter(shape.date for shape in shapes)
    least = 2 if len(shapes) > 3 else 1
    return [shape for shape in shapes if dates[shape.date] >= max(least, 0.05 * len(shapes))]


def _replacements(shapes: Sequence[Shape]) -> tuple[tuple[str, str], ...]:
    """What is put right in the text before a pattern reads it."""
    found: list[tuple[str, str]] = []
    if any(shape.comma for shape in shapes):
        found.append((",", "."))
    if any(shape.dotted_ampm for shape in shapes):
        found += [("a.m.", "AM"), ("p.m.", "PM"), ("A.M.", "AM"), ("P.M.", "PM")]
    return tuple(found)


def _alternatives(patterns: Sequence[str]) -> tuple[str, ...]:
    """The patterns seen, then the same with and without seconds and their fraction: loggers drop zeros."""
    found = list(patterns)
    # "May" is short and long: a month's full name is looked for as well ("%B" reads both)
    found += [pattern.replace("%b", "%B") for pattern in patterns if "%b" in pattern]
    for pattern in patterns:
        bare = pattern.replace("%.f", "")
        if ":%S" in bare:
            found += [bare.replace(":%S", ":%S%.f"), bare.replace(":%S", "")]
        elif "%M" in bare and ":" in bare:
            found.append(bare.replace("%M", "%M:%S%.f"))
        if "%H" not in bare and "%I" not in bare:
            found += [f"{bare} %H:%M:%S%.f", f"{bare} %H:%M"]
    return tuple(dict.fromkeys(found))


def _given_column(sample: Sample, name: str | None) -> int | None:
    if name is None:
        return None
    if name in sample.headers:
        return list(sample.headers).index(name)
    near = difflib.get_close_matches(name, sample.headers, n=1, cutoff=0.5)
    values = {"near": near[0] if near else listed(sample.headers)}
    raise InputError(Problem("no_such_column", sample.label, column=name, values=values))


def listed(headers: Sequence[str]) -> str:
    """The first headers, and how many more there are."""
    return ", ".join(headers[:8]) + (f" and {len(headers) - 8} more" if len(headers) > 8 else "")


def _kind(column: Sequence[str]) -> str:
    """`full` (date and clock), `date`, `clock`, `number` or "" for a column, by most of its cells."""
    counts: Counter[str] = Counter()
    for cell in column[:200]:
        shape = shape_of(cell)
        if shape is None:
            counts["number"] += re.fullmatch(r"[+-]?\d+([.,]\d+)?", cell) is not None
        elif not shape.clock:
            counts["date"] += 1
        else:
            counts["full" if "%Y" in shape.pattern or shape.date else "clock"] += 1
    kind, often = counts.most_common(1)[0] if counts else ("", 0)
    return kind if often * 2 >= min(len(column), 200) else ""


def _choose(sample: Sample) -> tuple[int | None, int | None]:
    """Positions of the time and of a date that stands apart: whole stamps before dates, clocks and numbers."""
    kinds = [_kind(sample.column(at)) for at in range(len(sample.headers))]

    def of(kind: str) -> list[int]:
        def rank(at: int) -> tuple[bool, bool, int]:
            words = words_of(sample.headers[at])
            return ("utc" not in words, hear(sample.headers[at]).words not in TIME_WORDS, at)

        return sorted((at for at, own in enumerate(kinds) if own == kind), key=rank)

    full, dates, clocks = of("full"), of("date"), of("clock")
    if full:
        return full[0], None
    if dates:
        return (clocks[0], dates[0]) if clocks else (dates[0], None)
    if clocks:
        return clocks[0], None
    numbers = [at for at, kind in enumerate(kinds) if kind == "number"]
    for at in numbers:
        values = sample.numbers(at)
        # A first column without a telling name may be an epoch if it runs on like one; a telephone number does not
        if _epoch(values) and (_is_word(sample.headers[at], TIME_WORDS) or (at == 0 and _rising(values, least=3))):
            return at, None
    for at in numbers:
        if at <= 1 and _rising(sample.numbers(at)) and _is_word(sample.headers[at], ELAPSED_WORDS):
            return at, None
    return None, None


def _rising(values: Sequence[float], least: int = 2) -> bool:
    return len(values) >= least and all(b >= a for a, b in pairwise(values)) and values[-1] > values[0]


def _is_word(header: str, words: Sequence[str]) -> bool:
    said = hear(header).words
    return said in words or words_of(header) in words or bool(difflib.get_close_matches(said, words, n=1, cutoff=0.9))


def _epoch(values: Sequence[float]) -> str | None:
    """Seconds since 1970 or a part of them, if most of the numbers lie between 1990 and 2100 as such."""
    for name, scale in _EPOCHS:
        inside = sum(_YEAR_FIRST * scale <= v <= _YEAR_LAST * scale for v in values)
        if inside * 2 > len(values):
            return name
    return None


def _numeric(sample: Sample, at: int) -> TimePlan | None:
    """Times as numbers, epoch or elapsed; None where they are text."""
    given = sample.given
    if given.time_format in NUMERIC_TIMES:
        name, notes = str(given.time_format), _NO_NOTES
    elif given.time_format is not None or _kind(sample.column(at)) != "number":
        return None
    else:
        name, notes = _epoch(sample.numbers(at)) or "", _NO_NOTES
        if not name:
            unit = hear(sample.headers[at]).unit_text.casefold()
            name = _ELAPSED_UNITS.get(unit, "elapsed_s")
            notes = () if unit in _ELAPSED_UNITS else ("elapsed time without a unit is taken as seconds",)
    if name.startswith("epoch"):
        return TimePlan("epoch", at, utc=True, step_us=NUMERIC_TIMES[name], decimal_char=sample.decimal_char)
    if given.time_origin is None:
        raise sample.refuse("elapsed_time", at)
    return TimePlan(
        "elapsed", at, utc=given.time_origin.tzinfo is not None, step_us=NUMERIC_TIMES[name],
        origin_us=us_of(given.time_origin), decimal_char=sample.decimal_char, notes=notes,
    )  # fmt: skip


def _origin_of_clock(sample: Sample, at: int) -> tuple[int, tuple[str, ...]]:
    """Midnight before the first clock time: from the layout, else from a file name that holds one plain date."""
    origin = sample.given.time_origin
    if origin is not None:
        return us_of(origin.replace(hour=0, minute=0, second=0, microsecond=0)), ()
    found = {m[1] + m[3] + m[4] for m in _DATE_IN_NAME.finditer(sample.stem)}
    if len(found) == 1:
        try:
            day = datetime.strptime(next(iter(found)), "%Y%m%d")
        except ValueError:
            pass
        else:
            return us_of(day), (f"date {day:%Y-%m-%d} from the file name",)
    raise sample.refuse("clock_without_date", at)


def _offset_us(offset: str) -> int:
    found = re.fullmatch(r"([+-])(\d{2}):?(\d{2})?", offset)
    if found is None:
        return 0
    size = (int(found[2]) * 60 + int(found[3] or 0)) * 60_000_000
    return size if found[1] == "+" else -size
