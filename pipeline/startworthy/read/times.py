"""Reading the stamps of a log into instants. Which column and which pattern: timecolumn.py. Zones: zones.py."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Literal

from startworthy.read.layout import NUMERIC_TIMES, DateOrder

if TYPE_CHECKING:
    import polars as pl

Kind = Literal["stamp", "clock", "epoch", "elapsed"]


_LAST_OF_TWO_DIGITS = 2069


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


def us_of(instant: datetime) -> int:
    """Microseconds since 1970, of UTC where the instant has an offset, else of its own face value."""
    aware = instant if instant.tzinfo is not None else instant.replace(tzinfo=UTC)
    whole = aware - datetime(1970, 1, 1, tzinfo=UTC)
    return (whole.days * 86400 + whole.seconds) * 1_000_000 + whole.microseconds


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
    if read.null_count() > text.null_count():
        # Spaces around a stamp are rare, and taking them off costs more than reading it
        text = text.str.strip_chars()
    for pattern in plan.patterns:
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
    if "%y" in pattern:
        # POSIX has 69 in 1969, and clocks west of Greenwich that count from 1970 begin on the last day of it
        late = read.max()
        if isinstance(late, datetime) and late.year == _LAST_OF_TWO_DIGITS:
            read = read.zip_with(read.dt.year() != _LAST_OF_TWO_DIGITS, read.dt.offset_by("-100y"))
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
