"""The time column of a log: which it is, how its stamps are written, and reading them. Zones come later (zones.py)."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timezone
from typing import TYPE_CHECKING, Literal

from startworthy.problems import InputError, Problem
from startworthy.read.headers import hear, words_of
from startworthy.read.layout import NUMERIC_TIMES, DateOrder, Layout

if TYPE_CHECKING:
    import polars as pl

TIME_WORDS = (
    "time", "timestamp", "time stamp", "date time", "datetime", "date and time", "date", "dtm", "ts", "logged at", "log time",
    "utc", "time utc", "utc time", "local time", "clock", "recorded at", "sample time", "epoch", "unix time", "at", "when", "created at", "time of day",
)  # fmt: skip
ELAPSED_WORDS = (
    "time", "elapsed", "elapsed time", "t", "seconds", "run time", "runtime", "engine run time", "running time", "log seconds",
    "time since start", "seconds since start", "relative time", "second", "time s", "elapsed s", "elapsed seconds", "sec",
)  # fmt: skip

_CLOCK = r"(?P<h>\d{1,2}):(?P<mi>\d{2})(?P<s>:\d{2})?(?P<fr>[.,]\d{1,9})?(?P<apgap>\s*)(?P<ap>[AaPp]\.?[Mm]\.?)?"
_DATES = (
    r"(?P<ymd>\d{4}(?P<sep>[-/.])\d{1,2}(?P=sep)\d{1,2})",
    r"(?P<three>\d{1,2}(?P<sep>[-/.])\d{1,2}(?P=sep)(?P<y>\d{4}|\d{2}))\.?",
    r"(?P<named>\d{1,2}(?P<sep>[-/. ]?)[A-Za-z]{3,9}(?P=sep)(?P<y>\d{4}|\d{2}))",
    r"(?P<mfirst>[A-Za-z]{3,9} \d{1,2},? \d{4})",
)
_OFFSET = r"(?P<gap>\s*)(?P<off>Z|UTC|GMT|[+-]\d{2}:?\d{2}|[+-]\d{2})"
_STAMPS = tuple(
    re.compile(rf"{date}(?:(?P<mid>[T ]|,\s?|\s+|_){_CLOCK}(?:{_OFFSET})?)?") for date in _DATES
)  # fmt: skip
_CLOCK_ALONE = re.compile(_CLOCK)
_COMPACT = re.compile(r"(?P<date>(?:19|20)\d{6})(?P<mid>[T _-])(?P<clock>\d{6}|\d{4})(?P<off>Z)?")
_THREE = r"^\s*(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})"
_ORDERS: tuple[DateOrder, ...] = ("dmy", "mdy", "ymd")
_EPOCHS = (("epoch_s", 1.0), ("epoch_ms", 1e3), ("epoch_us", 1e6), ("epoch_ns", 1e9))
_YEAR_FIRST = 6.3e8  # 1990, for telling epoch seconds from other numbers
_YEAR_LAST = 4.2e9

Kind = Literal["stamp", "clock", "epoch", "elapsed"]


@dataclass(frozen=True, slots=True)
class Shape:
    """How one stamp is written: a strftime pattern with `{date}` where the order of day and month is open."""

    pattern: str
    date: str = ""
    clock: bool = False
    offset: str = ""
    comma: bool = False
    dotted_ampm: bool = False


@dataclass(frozen=True, slots=True)
class TimePlan:
    """How to read the time of a file.

    Columns are positions. `patterns` are tried in turn. `utc`: the result is UTC already (an offset or an epoch);
    `suffix` is an offset that all stamps share. step_us, origin_us: for numbers, and the date of clock times.
    """

    kind: Kind
    time_column: int
    date_column: int | None = None
    patterns: tuple[str, ...] = ()
    utc: bool = False
    suffix: str = ""
    suffix_us: int = 0
    replace: tuple[tuple[str, str], ...] = ()
    step_us: float = 1.0
    origin_us: int = 0
    decimal_char: str = "."
    date_order: DateOrder | None = None
    time_zone: str | None = None
    notes: tuple[str, ...] = ()

    @property
    def time_format(self) -> str:
        """As a layout spells it."""
        if self.kind in ("epoch", "elapsed"):
            return next(k for k, us in NUMERIC_TIMES.items() if k.startswith(self.kind) and us == self.step_us)
        return self.patterns[0]


def shape_of(cell: str) -> Shape | None:
    """How a stamp is written, or None if it is none."""
    text = cell.strip()
    if (compact := _COMPACT.fullmatch(text)) is not None:
        clock = "%H%M%S" if len(compact["clock"]) == 6 else "%H%M"
        return Shape(f"%Y%m%d{compact['mid']}{clock}" + ("%#z" if compact["off"] else ""), clock=True, offset=compact["off"] or "")
    if (alone := _CLOCK_ALONE.fullmatch(text)) is not None and int(alone["h"]) <= 24:
        return Shape(_clock(alone), clock=True, comma=_comma(alone), dotted_ampm="." in (alone["ap"] or ""))
    for regex in _STAMPS:
        if (found := regex.fullmatch(text)) is not None:
            groups = found.groupdict()
            date = _date(groups)
            if date is None:
                return None
            if groups["h"] is None:
                return Shape(date, date=date)
            if int(groups["h"]) > 24:
                return None
            offset = groups["off"] or ""
            mid = re.sub(r"\s+", " ", groups["mid"])
            tail = f"{groups['gap'] or ''}%#z" if offset else ""
            return Shape(
                f"{date}{mid}{_clock(found)}{tail}", date, True, offset, _comma(found), "." in (groups["ap"] or "")
            )
    return None


def _date(groups: dict[str, str | None]) -> str | None:
    sep = groups.get("sep") or ""
    if groups.get("ymd"):
        return f"%Y{sep}%m{sep}%d"
    year = "%Y" if len(groups.get("y") or "") == 4 else "%y"
    if groups.get("three"):
        return f"{{{sep}{year}}}"
    if groups.get("named"):
        word = re.sub(r"[^A-Za-z]", "", str(groups["named"]))
        return f"%d{sep}{_month(word)}{sep}{year}" if _is_month(word) else None
    text = str(groups.get("mfirst"))
    word = text.split(" ")[0]
    return f"{_month(word)} %d{',' if ',' in text else ''} %Y" if _is_month(word) else None


_MONTHS = "january february march april may june july august september october november december".split()


def _is_month(word: str) -> bool:
    return any(month == word.casefold() or month[:3] == word.casefold() for month in _MONTHS)


def _month(word: str) -> str:
    return "%b" if len(word) == 3 else "%B"


def _clock(found: re.Match[str]) -> str:
    hour = "%I" if found["ap"] else "%H"
    return f"{hour}:%M" + (":%S" if found["s"] else "") + ("%.f" if found["fr"] else "") + (" %p" if found["ap"] else "")


def _comma(found: re.Match[str]) -> bool:
    return (found["fr"] or "").startswith(",")


def looks_like_time(cell: str) -> bool:
    """A date, a clock time or both; not a bare number."""
    return len(cell) >= 4 and shape_of(cell) is not None


def ordered(pattern: str, order: DateOrder | None) -> str:
    """The pattern with its open date filled in."""

    def fill(found: re.Match[str]) -> str:
        sep, year = found[1], found[2]
        parts = {"d": "%d", "m": "%m", "y": year}
        return sep.join(parts[letter] for letter in (order or "dmy"))

    return re.sub(r"\{([-/.])(%[Yy])\}", fill, pattern)


def plan_time(
    headers: Sequence[str],
    body: Sequence[Sequence[str]],
    given: Layout,
    label: str,
    stem: str,
    decimal_char: str,
    date_order: DateOrder | None,
    whole_column: Callable[[int, int | None], pl.Series],
) -> TimePlan:
    """Find the time column and how it is written.

    whole_column gives all stamps of a file (date and time columns joined by a space); it is asked only where the
    sample leaves the order of day and month open. Raises InputError: no_time_column, ambiguous_dates, elapsed_time,
    clock_without_date.
    """
    width = max([len(headers), *(len(row) for row in body)])
    cells = [[row[i] for row in body if i < len(row) and row[i]] for i in range(width)]
    named = list(headers) + [f"#{n + 1}" for n in range(len(headers), width)]
    time_at, date_at = _given_column(given.time_column, named, label), _given_column(given.date_column, named, label)
    order = given.date_order or date_order
    if time_at is None and date_at is not None and given.time_column is None:
        time_at, date_at = date_at, None
    if given.time_format is not None and time_at is not None:
        return _from_format(given, time_at, date_at, named, label, stem, decimal_char, order)
    kinds = [_kind(column) for column in cells]
    if time_at is None:
        time_at, date_at = _choose(kinds, cells, named, decimal_char)
    if time_at is None:
        raise InputError(Problem("no_time_column", label, values={"columns": _listed(named)}))
    zone = "UTC" if re.search(r"\b(utc|gmt)\b", words_of(named[time_at])) else None
    if kinds[time_at] == "number":
        return _numeric(cells[time_at], time_at, named[time_at], given, label, decimal_char)
    joined = cells[time_at]
    if date_at is not None:
        joined = [f"{r[date_at]} {r[time_at]}" for r in body if max(date_at, time_at) < len(r) and r[date_at] and r[time_at]]
    shapes = [s for s in map(shape_of, joined[:500]) if s is not None]
    if not shapes:
        raise InputError(Problem("no_time_column", label, values={"columns": _listed(named)}))
    patterns = [pattern for pattern, _ in Counter(s.pattern for s in shapes).most_common()]
    notes: tuple[str, ...] = ()
    if any("{" in p for p in patterns):
        order, notes = _order(joined, order, label, named[date_at if date_at is not None else time_at],
                              lambda: whole_column(time_at, date_at), patterns)  # fmt: skip
        patterns = [ordered(p, order) for p in patterns]
    else:
        order = None
    offsets = {s.offset for s in shapes}
    suffix = next(iter(offsets)) if len(offsets) == 1 else ""
    replace = ((",", "."),) if any(s.comma for s in shapes) else ()
    if any(s.dotted_ampm for s in shapes):
        replace += (("a.m.", "AM"), ("p.m.", "PM"), ("A.M.", "AM"), ("P.M.", "PM"))
    clock_only = not any(s.date for s in shapes) and not patterns[0].startswith("%Y%m%d")
    origin = 0
    if clock_only:
        origin, said = _origin_of_clock(given, label, stem, named[time_at])
        notes += said
    return TimePlan(
        "clock" if clock_only else "stamp", time_at, date_at, _alternatives(patterns),
        utc=any(offsets) or (clock_only and given.time_origin is not None and given.time_origin.tzinfo is not None),
        suffix=suffix, suffix_us=_offset_us(suffix), replace=replace, origin_us=origin, date_order=order,
        time_zone=zone, notes=notes,
    )  # fmt: skip


def _alternatives(patterns: Sequence[str]) -> tuple[str, ...]:
    """The patterns seen, then the same with and without seconds and their fraction: loggers drop zeros."""
    found = list(patterns)
    for pattern in patterns:
        bare = pattern.replace("%.f", "")
        if ":%S" in bare:
            found += [bare.replace(":%S", ":%S%.f"), bare.replace(":%S", "")]
        elif "%M" in bare and ":" in bare:
            found.append(bare.replace("%M", "%M:%S%.f"))
        if "%#z" in bare:
            continue
        if "%H" not in bare and "%I" not in bare:
            found += [f"{bare} %H:%M:%S%.f", f"{bare} %H:%M"]
    return tuple(dict.fromkeys(found))


def _given_column(name: str | None, headers: Sequence[str], label: str) -> int | None:
    if name is None:
        return None
    if name in headers:
        return headers.index(name)
    near = difflib.get_close_matches(name, headers, n=1, cutoff=0.5)
    raise InputError(Problem("no_such_column", label, column=name, values={"near": near[0] if near else _listed(headers)}))


def _listed(headers: Sequence[str]) -> str:
    return ", ".join(headers[:8]) + (f" and {len(headers) - 8} more" if len(headers) > 8 else "")


def _kind(column: Sequence[str]) -> str:
    """`full` (date and clock), `date`, `clock`, `number` or "" for a column, by most of its cells."""
    counts: Counter[str] = Counter()
    for cell in column[:200]:
        shape = shape_of(cell)
        if shape is not None:
            counts["full" if shape.clock and (shape.date or shape.pattern.startswith("%Y%m%d")) else "clock" if shape.clock else "date"] += 1
        elif re.fullmatch(r"[+-]?\d+([.,]\d+)?", cell):
            counts["number"] += 1
        else:
            counts[""] += 1
    if not counts:
        return ""
    kind, often = counts.most_common(1)[0]
    return kind if often * 2 > sum(counts.values()) else ""


def _choose(
    kinds: Sequence[str], cells: Sequence[Sequence[str]], headers: Sequence[str], decimal_char: str
) -> tuple[int | None, int | None]:
    def rank(i: int) -> tuple[bool, bool, int]:
        words = words_of(headers[i])
        return ("utc" not in words, hear(headers[i]).words not in TIME_WORDS, i)

    full = sorted((i for i, kind in enumerate(kinds) if kind == "full"), key=rank)
    if full:
        return full[0], None
    dates = sorted((i for i, kind in enumerate(kinds) if kind == "date"), key=rank)
    clocks = sorted((i for i, kind in enumerate(kinds) if kind == "clock"), key=rank)
    if dates:
        return (clocks[0], dates[0]) if clocks else (dates[0], None)
    if clocks:
        return clocks[0], None
    numbers = [i for i, kind in enumerate(kinds) if kind == "number"]
    for i in numbers:
        values = [_float(c, decimal_char) for c in cells[i][:500]]
        if _epoch(values) and (i == 0 or _is_word(headers[i], TIME_WORDS)):
            return i, None
    for i in numbers:
        values = [_float(c, decimal_char) for c in cells[i][:500]]
        rising = all(b >= a for a, b in zip(values, values[1:], strict=False)) and values[-1] > values[0]
        if i <= 1 and rising and _is_word(headers[i], ELAPSED_WORDS):
            return i, None
    return None, None


def _is_word(header: str, words: Sequence[str]) -> bool:
    said = hear(header).words
    return said in words or words_of(header) in words or bool(difflib.get_close_matches(said, words, n=1, cutoff=0.9))


def _float(cell: str, decimal_char: str) -> float:
    try:
        return float(cell.replace(decimal_char, "."))
    except ValueError:
        return float("nan")


def _epoch(values: Sequence[float]) -> str | None:
    for name, scale in _EPOCHS:
        if values and all(_YEAR_FIRST * scale <= v <= _YEAR_LAST * scale for v in values if v == v and v > 0):
            return name
    return None


def _numeric(
    column: Sequence[str], at: int, header: str, given: Layout, label: str, decimal_char: str
) -> TimePlan:
    values = [_float(c, decimal_char) for c in column[:500]]
    epoch = _epoch(values)
    if epoch is not None:
        return TimePlan("epoch", at, utc=True, step_us=NUMERIC_TIMES[epoch], decimal_char=decimal_char)
    said = hear(header)
    word = said.unit_text.casefold()
    step = {"ms": "elapsed_ms", "min": "elapsed_min", "h": "elapsed_h", "hours": "elapsed_h", "minutes": "elapsed_min"}.get(word, "elapsed_s")
    note = () if word else ("elapsed time without a unit is taken as seconds",)
    return _elapsed(given, label, header, at, step, decimal_char, note)


def _elapsed(
    given: Layout, label: str, header: str, at: int, step: str, decimal_char: str, notes: tuple[str, ...] = ()
) -> TimePlan:
    if given.time_origin is None:
        raise InputError(Problem("elapsed_time", label, column=header))
    return TimePlan(
        "elapsed", at, utc=given.time_origin.tzinfo is not None, step_us=NUMERIC_TIMES[step],
        origin_us=us_of(given.time_origin), decimal_char=decimal_char, notes=notes,
    )  # fmt: skip


def _from_format(
    given: Layout, at: int, date_at: int | None, headers: Sequence[str], label: str, stem: str, decimal_char: str,
    order: DateOrder | None,
) -> TimePlan:  # fmt: skip
    pattern = given.time_format or ""
    if pattern.startswith("epoch_") and pattern in NUMERIC_TIMES:
        return TimePlan("epoch", at, utc=True, step_us=NUMERIC_TIMES[pattern], decimal_char=decimal_char)
    if pattern in NUMERIC_TIMES:
        return _elapsed(given, label, headers[at], at, pattern, decimal_char)
    dated = re.search(r"%[YyDFxcjs+]", pattern) is not None
    if dated:
        return TimePlan("stamp", at, date_at, _alternatives([pattern]), utc="%z" in pattern or "%#z" in pattern or "%:z" in pattern,
                        date_order=order)  # fmt: skip
    origin, notes = _origin_of_clock(given, label, stem, headers[at])
    aware = given.time_origin is not None and given.time_origin.tzinfo is not None
    return TimePlan("clock", at, None, _alternatives([pattern]), utc=aware, origin_us=origin, notes=notes)


_DATE_IN_NAME = re.compile(r"(?<!\d)((?:19|20)\d{2})([-_.]?)(0[1-9]|1[0-2])\2(0[1-9]|[12]\d|3[01])(?!\d)")


def _origin_of_clock(given: Layout, label: str, stem: str, header: str) -> tuple[int, tuple[str, ...]]:
    """Midnight before the first clock time: from the layout, else from a file name that holds one plain date."""
    if given.time_origin is not None:
        whole = given.time_origin.replace(hour=0, minute=0, second=0, microsecond=0)
        return us_of(whole), ()
    found = {"".join(m[i] for i in (1, 3, 4)): m for m in _DATE_IN_NAME.finditer(stem)}
    if len(found) == 1:
        year, month, day = (int(next(iter(found.values()))[i]) for i in (1, 3, 4))
        try:
            return us_of(datetime(year, month, day)), (f"date {year:04d}-{month:02d}-{day:02d} from the file name",)
        except ValueError:
            pass
    raise InputError(Problem("clock_without_date", label, column=header))


def us_of(instant: datetime) -> int:
    """Microseconds since 1970, of UTC where the instant has an offset, else of its own face value."""
    aware = instant if instant.tzinfo is not None else instant.replace(tzinfo=timezone.utc)
    whole = aware - datetime(1970, 1, 1, tzinfo=timezone.utc)
    return (whole.days * 86400 + whole.seconds) * 1_000_000 + whole.microseconds


def _offset_us(offset: str) -> int:
    found = re.fullmatch(r"([+-])(\d{2}):?(\d{2})?", offset)
    if found is None:
        return 0
    size = (int(found[2]) * 60 + int(found[3] or 0)) * 60_000_000
    return size if found[1] == "+" else -size


def _possible(parts: Sequence[tuple[int, int, int]], long_year: bool) -> set[DateOrder]:
    first, second, third = (max(p[i] for p in parts) for i in range(3))
    low = [min(p[i] for p in parts) for i in range(3)]
    found: set[DateOrder] = set()
    if first <= 31 and second <= 12 and low[0] and low[1]:
        found.add("dmy")
    if first <= 12 and second <= 31 and low[0] and low[1]:
        found.add("mdy")
    if not long_year and second <= 12 and third <= 31 and low[1] and low[2]:
        found.add("ymd")
    if len(found) > 1 and "ymd" in found and not long_year:
        # A year does not change from day to day: where only one end of the date changes, the other is the year
        firsts, thirds = len({p[0] for p in parts}), len({p[2] for p in parts})
        if firsts > 2 and thirds == 1:
            found.discard("ymd")
        elif thirds > 2 and firsts == 1:
            found &= {"ymd"}
    return found


def _order(
    sample: Sequence[str], wanted: DateOrder | None, label: str, header: str, whole: Callable[[], pl.Series], patterns: Sequence[str]
) -> tuple[DateOrder, tuple[str, ...]]:
    """The order of day, month and year: from the sample, else from every stamp of the file, else it is asked for."""
    if wanted is not None:
        return wanted, ()
    parts = [tuple(map(int, m.groups())) for m in (re.match(_THREE, cell) for cell in sample) if m]
    long_year = any(re.match(r"^\s*\d{1,2}[-/.]\d{1,2}[-/.]\d{4}", cell) for cell in sample)
    found = _possible(parts, long_year)  # type: ignore[arg-type]
    if len(found) == 1:
        return found.pop(), ()
    return _order_of_all(whole(), label, header, long_year, patterns, sample[0])


def _order_of_all(
    stamps: pl.Series, label: str, header: str, long_year: bool, patterns: Sequence[str], example: str
) -> tuple[DateOrder, tuple[str, ...]]:
    import polars as pl

    days = stamps.str.strip_chars().str.head(10).unique().drop_nulls()
    groups = days.str.extract_groups(_THREE).struct.unnest()
    table = groups.select(pl.all().cast(pl.Int32, strict=False)).drop_nulls().unique()
    found = _possible(table.rows(), long_year) if table.height else set()
    if len(found) > 1:
        settled = _order_by_midnights(stamps, found, patterns)
        if settled is not None:
            return settled, (f"order {settled} of dates from the steps at midnight",)
    if len(found) != 1:
        raise InputError(Problem("ambiguous_dates", label, column=header, values={"example": example[:30]}))
    return found.pop(), ()


def _order_by_midnights(stamps: pl.Series, found: set[DateOrder], patterns: Sequence[str]) -> DateOrder | None:
    """The order under which each change of date is a small step, where every other order makes it a leap of weeks."""
    import polars as pl

    small, large = [], []
    for order in found:
        at = pl.Series([None] * len(stamps), dtype=pl.Datetime("us"))
        for pattern in patterns:
            at = at.fill_null(stamps.str.to_datetime(ordered(pattern, order), strict=False, time_unit="us", cache=False))
        steps = pl.DataFrame({"day": at.dt.date(), "at": at}).drop_nulls()
        moved = steps.select(
            step=pl.col("at").diff().abs().dt.total_hours(), changed=pl.col("day") != pl.col("day").shift()
        ).filter("changed")["step"]
        if not len(moved):
            return None
        if int(moved.max() or 0) <= 6:  # type: ignore[call-overload]
            small.append(order)
        elif int(moved.min() or 0) >= 20 * 24:  # type: ignore[call-overload]
            large.append(order)
    return small[0] if len(small) == 1 and len(large) == len(found) - 1 else None


def read_times(time: pl.Series, date: pl.Series | None, plan: TimePlan) -> pl.Series:
    """Instants as Datetime(us) without zone (local face value, or UTC where plan.utc), null where not readable.

    Clock times come as the face value on plan's date; the caller adds days where midnight was passed.
    """
    import polars as pl

    if plan.kind in ("epoch", "elapsed"):
        return read_numeric_times(time, plan)
    text = time if date is None else date + " " + time
    for old, new in plan.replace:
        text = text.str.replace(old, new, literal=True)
    if plan.kind == "clock":
        text = "1970-01-01 " + text
    prefix = "%Y-%m-%d " if plan.kind == "clock" else ""
    read = None
    if plan.suffix and bool(text.str.ends_with(plan.suffix).all()):
        naive = _stamps(text.str.strip_suffix(plan.suffix), prefix + plan.patterns[0].replace("%#z", "").rstrip())
        read = (naive.cast(pl.Int64) - plan.suffix_us).cast(pl.Datetime("us"))
    if read is None:
        read = _stamps(text, prefix + plan.patterns[0])
    for pattern in plan.patterns[1:]:
        if read.null_count() == text.null_count():
            break
        read = read.zip_with(read.is_not_null() | text.is_null(), _stamps(text, prefix + pattern))
    if plan.origin_us:
        read = (read.cast(pl.Int64) + plan.origin_us).cast(pl.Datetime("us"))
    return read


def _stamps(text: pl.Series, pattern: str) -> pl.Series:
    import polars as pl

    read = text.str.to_datetime(pattern, strict=False, time_unit="us", cache=False)
    if isinstance(read.dtype, pl.Datetime) and read.dtype.time_zone is not None:
        read = read.dt.convert_time_zone("UTC").dt.replace_time_zone(None)
    # "%Y" reads "24" as the year 24
    early = read.min()
    if isinstance(early, datetime) and early.year < 1950 and "%Y-%m-%d " not in pattern[:9]:
        read = read.set(read < datetime(1950, 1, 1), None)
    return read


def read_numeric_times(time: pl.Series, plan: TimePlan) -> pl.Series:
    """Epoch or elapsed numbers as instants; exact for whole numbers."""
    import polars as pl

    text = time if plan.decimal_char == "." else time.str.replace(plan.decimal_char, ".", literal=True)
    whole = text.cast(pl.Int64, strict=False)
    if plan.step_us >= 1 and whole.null_count() == text.null_count():
        us = whole * int(plan.step_us)
    else:
        us = (text.str.strip_chars().cast(pl.Float64, strict=False) * plan.step_us).round().cast(pl.Int64, strict=False)
    sane = us.is_between(-(1 << 56), 1 << 56)
    us = us.zip_with(sane, pl.Series([None], dtype=pl.Int64).new_from_index(0, len(us))) if not sane.all() else us
    return (us + plan.origin_us).cast(pl.Datetime("us"))
