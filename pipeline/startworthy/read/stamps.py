"""How a time is written: a stamp's shape, and the pattern that reads it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from startworthy.read.layout import DateOrder
from startworthy.read.names import column_words

TIME_WORDS = (
    "time", "timestamp", "time stamp", "date time", "datetime", "date and time", "date", "dtm", "ts", "logged at",
    "log time", "utc", "time utc", "utc time", "local time", "clock", "recorded at", "sample time", "epoch",
    "unix time", "at", "when", "created at", "time of day", *column_words(lambda language: language.times),
)  # fmt: skip
"""What a time column is called, without unit. Common practice, no source."""

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
_DIGITS = re.compile(r"(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])(?:[01]\d|2[0-3])(?:[0-5]\d){2}")
"""Date and clock as fourteen digits on end, which no count of seconds since 1970 or part of them has in our time."""


@dataclass(frozen=True, slots=True)
class Shape:
    """How one stamp is written: a strftime pattern with `{date}` where the order of day and month is open."""

    pattern: str
    date: str = ""
    clock: bool = False
    offset: str = ""
    comma: bool = False
    dotted_ampm: bool = False


def shape_of(cell: str) -> Shape | None:
    """How a stamp is written, or None if it is none."""
    text = cell.strip()
    if len(text) == 14 and _DIGITS.fullmatch(text) is not None:
        return Shape("%Y%m%d%H%M%S", clock=True)
    if (compact := _COMPACT.fullmatch(text)) is not None:
        clock = "%H%M%S" if len(compact["clock"]) == 6 else "%H%M"
        return Shape(
            f"%Y%m%d{compact['mid']}{clock}" + ("%#z" if compact["off"] else ""),
            clock=True,
            offset=compact["off"] or "",
        )
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
    word = text.split(" ", maxsplit=1)[0]
    return f"{_month(word)} %d{',' if ',' in text else ''} %Y" if _is_month(word) else None


_MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip


def _is_month(word: str) -> bool:
    return any(month == word.casefold() or month[:3] == word.casefold() for month in _MONTHS)


def _month(word: str) -> str:
    return "%b" if len(word) == 3 else "%B"


def _clock(found: re.Match[str]) -> str:
    hour = "%I" if found["ap"] else "%H"
    return (
        f"{hour}:%M" + (":%S" if found["s"] else "") + ("%.f" if found["fr"] else "") + (" %p" if found["ap"] else "")
    )


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
