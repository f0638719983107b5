"""What the stages hand on to each other and to the caller: plain frozen records of frames and facts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import polars as pl

    from startworthy.findings import Answer, Clear, Finding, NotAssessed, Question
    from startworthy.limits import Limits
    from startworthy.problems import Problem
    from startworthy.register import SetEntry
    from startworthy.spill import Spilled


@dataclass(frozen=True, slots=True)
class ColumnRead:
    """How one column of a file was understood. `signal` is None where it was left alone, and `why` says why."""

    header: str
    signal: str | None
    unit: str = ""
    unit_stated: bool = True
    why: str = ""


@dataclass(frozen=True, slots=True)
class FileRead:
    """One file (or one member of an archive). rows_read = rows_accepted + rows_refused + rows_repeated, always.

    `layout` describes in one line how it was read; `cells_emptied` counts values taken out of accepted rows.
    """

    path: str
    sha256: str
    layout: str
    rows_read: int
    rows_accepted: int
    rows_refused: int
    rows_repeated: int
    cells_emptied: int
    first_at: datetime | None
    last_at: datetime | None
    set_ids: tuple[str, ...]
    columns: tuple[ColumnRead, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Readings:
    """What `read` and `validate` hand on.

    frame: `set_id` (Categorical), `at` (Datetime us UTC), one Float64 column for each number signal that any
    file has, one Categorical column for each text signal (`mode` holds Mode words only), `file` (UInt16, index into
    `files`), `line` (UInt32, from 1). Sorted by set_id, at; rows of one instant stay in file order.
    refused: one row per refused row or emptied cell: `file` (path), `line`, `column`, `value`, `reason`, `cost`
    (row/cell), `set_id`, `signal` (null where not known).
    jumps: clock steps seen in file order: `set_id`, `before_at`, `at`, `step_s`, `file`, `line`.
    spilled: the readings where they are too many to be held; `frame` is empty then, and `rows_of` reads from there.
    """

    frame: pl.DataFrame
    refused: pl.DataFrame
    jumps: pl.DataFrame
    files: tuple[FileRead, ...]
    problems: tuple[Problem, ...] = ()
    spilled: Spilled | None = None

    def is_empty(self) -> bool:
        """Whether there is no row at all."""
        return self.spilled is None and self.frame.is_empty()

    def rows_of(self, set_id: str, since: datetime | None = None, until: datetime | None = None) -> pl.DataFrame:
        """The rows of one set, from `since` until before `until` (UTC), in order of time."""
        if self.spilled is not None:
            return self.spilled.frame([set_id], since, until)
        import polars as pl

        own = self.frame.filter(pl.col("set_id") == set_id)
        own = own if since is None else own.filter(pl.col("at") >= since)
        return own if until is None else own.filter(pl.col("at") < until)


@dataclass(frozen=True, slots=True)
class Conflict:
    """A figure of the register that the log contradicts. The log's own is used, so that one slip is one finding.

    key: of the register. evidence: a plain account of what the log shows.
    """

    key: str
    register: float
    log: float
    unit: str
    evidence: str


@dataclass(frozen=True, slots=True)
class Known:
    """What is known about one set: the register's entry, and what the log itself told where the register is silent.

    Numbers are None where neither knows. `inferred`: name of the figure to a plain account of its evidence.
    """

    set_id: str
    entry: SetEntry
    limits: Limits
    battery_nominal_v: float | None
    rated_frequency_hz: float | None
    rated_rpm: float | None
    rated_voltage_v: float | None
    rated_kw: float | None
    time_zone: str
    exercise_every_days: float | None = None
    exercise_minutes: float | None = None
    exercise_weekday: int | None = None
    exercise_minute_of_day: int | None = None
    exercise_minute_utc: int | None = None
    """Only for a timer that keeps winter time all year: its minute of the day by UTC."""
    inferred: Mapping[str, str] = field(default_factory=dict)
    conflicts: tuple[Conflict, ...] = ()
    poles: int | None = None
    usual_load_fraction: float | None = None
    usual_load_kw: float | None = None


@dataclass(frozen=True, slots=True)
class Sampling:
    """How often rows come: median interval in seconds at rest, while running and around starts; None where not seen."""

    rest_s: float | None
    running_s: float | None
    start_s: float | None


@dataclass(frozen=True, slots=True)
class Logbook:
    """The tables (see logbook.tables) of one or many sets, and what is known of each set.

    signals: set_id to the signals that have at least one value. covered: set_id to (first, last, covered seconds).
    """

    attempts: pl.DataFrame
    starts: pl.DataFrame
    runs: pl.DataFrame
    days: pl.DataFrame
    marks: pl.DataFrame
    sensors: pl.DataFrame
    known: Mapping[str, Known]
    signals: Mapping[str, frozenset[str]]
    sampling: Mapping[str, Sampling]
    span: Mapping[str, tuple[datetime, datetime]]
    refused: Mapping[str, Mapping[str, tuple[int, int]]] = field(default_factory=dict)
    """set_id to signal (or `row`) to (refused, read)."""

    def of(self, set_id: str) -> Logbook:
        """The logbook of one set alone. Raises KeyError if it is not in here."""
        import polars as pl

        def own(table: pl.DataFrame) -> pl.DataFrame:
            return table.filter(pl.col("set_id") == set_id)

        return Logbook(
            own(self.attempts), own(self.starts), own(self.runs), own(self.days), own(self.marks),
            own(self.sensors),
            {set_id: self.known[set_id]}, {set_id: self.signals[set_id]}, {set_id: self.sampling[set_id]},
            {set_id: self.span[set_id]}, {set_id: self.refused.get(set_id, {})},
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class SetResult:
    """All that the checks say about one set. Every code stands in exactly one of findings, clear, not_assessed."""

    set_id: str
    known: Known
    sampling: Sampling
    began_at: datetime
    ended_at: datetime
    answers: Mapping[Question, Answer]
    facts: Mapping[str, Any]
    findings: tuple[Finding, ...]
    clear: tuple[Clear, ...]
    not_assessed: tuple[NotAssessed, ...]


@dataclass(frozen=True, slots=True)
class Checked:
    """The whole result: what `startworthy.check` returns and what the report draws."""

    sets: tuple[SetResult, ...]
    logbook: Logbook
    readings: Readings
    generated_at: datetime
    version: str
