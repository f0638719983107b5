"""The stages as functions: what the command line itself calls.

>>> import startworthy as sw
>>> checked = sw.check("log.csv", register="sets.toml")          # doctest: +SKIP
>>> checked.sets[0].answers, checked.logbook.starts               # doctest: +SKIP

Paths may be files or folders. Tables are polars frames; their columns are documented in startworthy.logbook.tables.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from startworthy import __version__
from startworthy.problems import InputError, Problem
from startworthy.register import Register, find_register, load_register
from startworthy.results import Checked, FileRead, Logbook, Readings

if TYPE_CHECKING:
    from startworthy.read import Understood
    from startworthy.read.layout import DateOrder, Layout
    from startworthy.words import Units

PathLike = str | Path


def read(
    paths: PathLike | Sequence[PathLike],
    *,
    register: PathLike | Register | None = None,
    layout: PathLike | Layout | None = None,
    time_zone: str | None = None,
    date_order: DateOrder | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    on_file: Callable[[str], None] | None = None,
) -> Readings:
    """Read and validate logs: bytes in, clean readings out, with every refused row and cell counted.

    register: gives each set's time zone; None looks for a `sets.toml` beside the logs. layout: how the files are to be
    understood; None tells it from each file. since, until: instants (UTC if naive) outside of which readings are
    left out of the result (they still count as read and accepted).
    Raises InputError if the register or the layout cannot be used; files that cannot be read are named in `problems`.
    """
    from startworthy.read import read_paths
    from startworthy.validate import clean
    from startworthy.validate.shares import clean_spilled

    places = _paths(paths)
    known = _register(register, places)
    how = _layout(layout)
    raw = read_paths(
        places, layout=how, zone_of=known.zone_of, time_zone=time_zone, date_order=date_order, on_file=on_file
    )
    done = clean(raw) if raw.spilled is None else clean_spilled(raw, raw.spilled)
    return _with_notes(_between(done, since, until), known, had_readings=not done.is_empty())


def understand(
    path: PathLike,
    *,
    register: PathLike | Register | None = None,
    layout: PathLike | Layout | None = None,
    time_zone: str | None = None,
    date_order: DateOrder | None = None,
) -> tuple[Understood, ...]:
    """How each log in a file is understood (one, but for archives). Arguments and errors as in `read`."""
    from startworthy.read import understand as understood

    known = _register(register, [Path(path)])
    return understood(
        Path(path), layout=_layout(layout), zone_of=known.zone_of, time_zone=time_zone, date_order=date_order
    )


def logbook(readings: Readings, *, register: PathLike | Register | None = None) -> Logbook:
    """The five tables (attempts, starts, runs, days, marks) of every set in the readings."""
    from startworthy.logbook.build import build

    return build(readings, _register(register, []))


def check(
    paths: PathLike | Sequence[PathLike] | Readings,
    *,
    register: PathLike | Register | None = None,
    layout: PathLike | Layout | None = None,
    time_zone: str | None = None,
    date_order: DateOrder | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
    on_file: Callable[[str], None] | None = None,
    strict: bool = False,
) -> Checked:
    """Read, rebuild the logbook, and make every check of the catalogue for every set. Arguments as in `read`.

    strict: an error inside a check is raised instead of being reported as not assessed.
    Raises InputError if the register or the layout cannot be used, or if nothing at all could be read.
    """
    from startworthy.check import run_sets

    if isinstance(paths, Readings):
        readings, known = paths, _register(register, [])
    else:
        known = _register(register, _paths(paths))
        readings = read(
            paths,
            register=known,
            layout=layout,
            time_zone=time_zone,
            date_order=date_order,
            since=since,
            until=until,
            on_file=on_file,
        )
    if readings.is_empty() and readings.problems:
        raise InputError(*readings.problems)
    book = logbook(readings, register=known)
    return Checked(run_sets(book, strict=strict), book, readings, datetime.now(UTC), __version__)


def report(
    checked: Checked,
    out: PathLike,
    *,
    formats: Iterable[str] = ("html", "json", "csv"),
    table_format: str = "csv",
    units: Units = "si",
) -> list[Path]:
    """Write the report and return the files written, the one to open first at the head."""
    from startworthy.report import write_report

    return write_report(checked, Path(out), formats=set(formats), table_format=table_format, units=units)


def _paths(paths: PathLike | Sequence[PathLike]) -> list[Path]:
    return [Path(paths)] if isinstance(paths, (str, Path)) else [Path(p) for p in paths]


def _layout(layout: PathLike | Layout | None) -> Layout | None:
    from startworthy.read.layout import load_layout

    return load_layout(Path(layout)) if isinstance(layout, (str, Path)) else layout


def _register(register: PathLike | Register | None, beside: Sequence[Path]) -> Register:
    if isinstance(register, Register):
        return register
    found = Path(register) if register is not None else find_register(beside)
    return load_register(found) if found is not None else Register()


def _with_notes(readings: Readings, known: Register, *, had_readings: bool) -> Readings:
    """The readings with a note of what would go unsaid: sets of the register that a typing error keeps from the logs,
    or logs of which since and until leave nothing.
    """
    from dataclasses import replace

    if readings.is_empty():
        notes = [_none_between(file) for file in readings.files] if had_readings else []
    else:
        notes = known.unused(set_id for file in readings.files for set_id in file.set_ids)
    return replace(readings, problems=(*readings.problems, *notes)) if notes else readings


def _none_between(file: FileRead) -> Problem:
    ends = [f"{at:%Y-%m-%d %H:%M}" if at is not None else "?" for at in (file.first_at, file.last_at)]
    return Problem("none_between", file.path, values={"first": ends[0], "last": ends[1]}, fatal=False)


def _between(readings: Readings, since: datetime | None, until: datetime | None) -> Readings:
    from dataclasses import replace

    import polars as pl

    if readings.spilled is not None:
        return replace(readings, spilled=readings.spilled.between(_aware(since), _aware(until)))
    frame = readings.frame
    for instant, keep in ((since, pl.col("at").ge), (until, pl.col("at").lt)):
        if instant is not None:
            frame = frame.filter(keep(_aware(instant)))
    return replace(readings, frame=frame) if frame is not readings.frame else readings


def _aware(instant: datetime | None) -> datetime | None:
    return instant if instant is None or instant.tzinfo is not None else instant.replace(tzinfo=UTC)
