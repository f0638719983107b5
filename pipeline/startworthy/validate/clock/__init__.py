"""The logger's clock: what stands under a wrong time is placed where that is certain, else refused or told.

Nothing is moved in silence. Only logs that are not in order of time come here, and such as reach back by years or
into the future: the straight path of a log in order pays for a look at its first and its last instant. A clock is
judged file by file, in the order in which the rows were written.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
from numpy.typing import NDArray

from startworthy.read.reasons import RefusedReason
from startworthy.results import FileRead
from startworthy.validate.clock.resets import ERA, Stretch, early_rows, era_begins, long_before, place
from startworthy.validate.clock.steps import Back, set_right
from startworthy.validate.clock.track import DAY, TURNING, Gone, S, Track, instant

__all__ = ["EVIDENCE", "JUMPS", "Mended", "looks_right", "mended", "runs_through"]

JUMPS: dict[str, Any] = {
    "set_id": pl.String,
    "before_at": pl.Datetime("us", "UTC"),
    "at": pl.Datetime("us", "UTC"),
    "step_s": pl.Float64,
    "file": pl.UInt16,
    "line": pl.UInt32,
    "kind": pl.String,
    "shift_s": pl.Float64,
    "rows": pl.Int64,
    "text": pl.String,
}
"""Steps of the clock, and stretches that were under a wrong time.

kind: clock_jump, out_of_order (of a step: before_at and at are its two rows, at as read); clock_reset, clock_step,
clock_ahead (of a stretch: before_at and at are its first and last row as they stand now, or, where it was refused, the
rows between which it lay); repeated_upload (of the rows of a file that others said before). step_s: size of a step;
of a stretch what was added to its times, of clock_ahead how far its last row lies beyond the present. shift_s: what was
added to the times of `rows` rows, null where nothing was. text: the evidence, or the zone whose summer time a step is.
"""
EVIDENCE = (
    "bounds", "end", "start", "equal_steps", "whole_years", "ran_through", "follows_on", "summer_time", "no_order",
    "refused", "never_set", "whole", "runs_on",
)  # fmt: skip
"""First words of `text`, which say why a stretch stands where it stands; `summer_time` is followed by a zone."""
NOT_IN_ORDER, NOT_A_FEW = 0.05, 20
"""Share, and count, of a file's rows that step back in time, above which it is in no order. Practice, no source."""
EARLIEST = datetime(1990, 1, 1, tzinfo=UTC)
"""Common practice, no source: no logger of a small set is older."""
LONG = 720 * S
"""A shorter step than this the finest of hour meters (a tenth of an hour) does not show."""
_REFUSED = {"file": pl.UInt16, "line": pl.UInt32, "value": pl.String, "reason": pl.String, "set_id": pl.String}
_REASONS = {Gone.RESET: RefusedReason.CLOCK_RESET, Gone.FUTURE: RefusedReason.TIME_IN_FUTURE}


@dataclass(slots=True)
class Mended:
    """The frame with its clock put right, rows refused for it (see _REFUSED), and what is told of it.

    jumps: rows of JUMPS. notes: by number of the file.
    """

    frame: pl.DataFrame
    refused: pl.DataFrame
    jumps: pl.DataFrame
    notes: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))


def looks_right(frame: pl.DataFrame, now: datetime) -> bool:
    """Whether the instants of a frame in order of time need no closer look: none of long ago, none in the future."""
    if frame.is_empty():
        return True
    first, last = frame.select(pl.col("at").min().alias("a"), pl.col("at").max().alias("b")).row(0)
    span_us = (last - first).total_seconds() * S
    return bool(last.timestamp() <= now.timestamp() + DAY / S and first >= EARLIEST and span_us <= ERA)


def runs_through(frame: pl.DataFrame) -> bool:
    """Whether a set runs on through a long step forward, its starts counter unmoved, in a frame in order of time.

    Only then, and where the hour meter stood still too, was the clock put forward; see evidence.ran_through.
    """
    if not {"hour_meter_h", "starts_counter"} <= set(frame.columns) or frame.height < 2:
        return False
    at = frame["at"].to_physical().to_numpy()
    long = _long_steps(at)
    if not len(long):
        return False
    sides = [
        frame.select(pl.col(c).alias(f"{c}{n}") for c in ("set_id", "starts_counter", "hour_meter_h"))[long + n]
        for n in (0, 1)
    ]
    both = pl.concat(sides, how="horizontal")
    hours = pl.Series((at[long + 1] - at[long]) / 3.6e9)
    moved = pl.col("hour_meter_h1") - pl.col("hour_meter_h0")
    still = (moved >= 0) & (moved < hours / 2)
    same = (pl.col("set_id0") == pl.col("set_id1")) & (pl.col("starts_counter0") == pl.col("starts_counter1"))
    named = [n for n in TURNING if n in frame.columns]
    turning = [(frame[n].gather(long) > TURNING[n]) & (frame[n].gather(long + 1) > TURNING[n]) for n in named]
    ran = pl.Series(np.any([t.fill_null(False).to_numpy() for t in turning], axis=0)) if turning else pl.lit(False)
    return bool(both.select((same & still & ran).fill_null(False).any()).item())


def _long_steps(at: NDArray[np.int64]) -> NDArray[np.intp]:
    """Steps of more than LONG. Rows are looked at by the dozen first: most dozens span less than that as a whole."""
    mean = max(int(at[-1] - at[0]) // len(at), 1)
    every = int(np.clip(LONG // (2 * mean), 1, 1000))
    heads = np.arange(0, len(at), every)
    spans = np.diff(at[::every], append=at[-1])
    some = heads[(spans > LONG) | (spans < 0)]
    near = (some[:, None] + np.arange(every)[None, :]).ravel()
    near = near[near < len(at) - 1]
    found: NDArray[np.intp] = near[at[near + 1] - at[near] > LONG]
    return found


def mended(frame: pl.DataFrame, files: tuple[FileRead, ...], now: datetime) -> Mended:
    """Judge the clock of every set in every file, and put right what is certain. frame: in file order.

    Raises nothing: what cannot be told stays as it is, and is told.
    """
    limit = int(now.timestamp() * S) + DAY
    out: list[dict[str, Any]] = []
    shift = np.zeros(frame.height, np.int64)
    gone = np.zeros(frame.height, np.int8)
    notes: dict[int, list[str]] = defaultdict(list)
    instants, files_of = frame["at"].to_physical().to_numpy(), frame["file"].to_numpy()
    through = runs_through(frame)
    for set_id, rows in _sets(frame):
        at_all = instants[rows]
        spread = int(at_all.max() - at_all.min()) > ERA
        begins = era_begins(at_all, limit) if spread else int(at_all.min())
        whole = bool((at_all > limit).all())
        for own in np.split(rows, np.flatnonzero(np.diff(files_of[rows])) + 1):
            at = instants[own]
            ordered = bool((np.diff(at) >= 0).all())
            if ordered and not through and not spread and at[-1] <= limit and at[0] >= EARLIEST.timestamp() * S:
                continue
            track = Track(set_id, int(files_of[own[0]]), own, at.copy(), frame)
            told = _judged(track, begins, limit, whole=whole)
            shift[track.rows], gone[track.rows] = track.shift, track.gone
            notes[track.file] += _notes(track, told)
            out += told
    done = frame
    refused = pl.DataFrame(schema=_REFUSED)
    if gone.any():
        refused = pl.concat([_refused(frame.filter(pl.Series(gone == why)), why, files) for why in _REASONS])
    if shift.any():
        moved = pl.Series("at", instants + shift).cast(pl.Datetime("us", "UTC"))
        done = done.with_columns(moved)
    done = done.filter(pl.Series(gone == 0)) if gone.any() else done
    return Mended(done, refused, pl.DataFrame(out, schema=JUMPS, orient="row"), notes)


def _sets(frame: pl.DataFrame) -> list[tuple[str, NDArray[np.int64]]]:
    """Each set with the positions of its rows, in file order; only such sets as need a look."""
    code = frame["set_id"].to_physical().to_numpy()
    order = np.argsort(code, kind="stable")
    edges = np.flatnonzero(np.diff(code[order])) + 1
    heads = np.append(0, edges)
    names = frame["set_id"].cast(pl.String)
    return [(str(names[int(part[0])]), part) for part in np.split(order, heads[1:])] if len(order) else []


def _judged(track: Track, begins: int, limit: int, *, whole: bool) -> list[dict[str, Any]]:
    """All that is told of one track; sets its shift and gone."""
    backwards = int(np.count_nonzero(track.step < 0))
    if backwards > max(NOT_IN_ORDER * len(track), NOT_A_FEW):
        return _no_order(track, long_before(track.at, begins), limit, backwards, whole=whole)
    early = early_rows(track, begins)
    backs, stretches = set_right(track, early, limit)
    stretches += place(track, early)
    seen = {one.at for one in backs}
    backs += [Back(int(n), "clock_jump") for n in np.flatnonzero(track.step < 0) if int(n) not in seen]
    # rows sent twice are counted as repeated, and told there
    backs = [one for one in backs if one.kind != "repeated_upload"]
    told = [_of_back(track, one) for one in backs] + [_of_stretch(track, one, limit) for one in stretches]
    return told + _long_ago(track)


def _no_order(track: Track, early: NDArray[np.bool_], limit: int, steps: int, *, whole: bool) -> list[dict[str, Any]]:
    """Rows in no order say nothing of the clock: they are sorted, and those of another time are refused."""
    track.gone[early] = Gone.RESET
    if not whole:
        track.gone[track.at > limit] = Gone.FUTURE
    kept = np.flatnonzero(track.gone == Gone.NO)
    if not len(kept):
        return []
    first, last = int(kept[track.at[kept].argmin()]), int(kept[track.at[kept].argmax()])
    found = [_row(track, "out_of_order", track.instant(first), track.instant(last), last, rows=steps, text="no_order")]
    for why, kind in ((Gone.RESET, "clock_reset"), (Gone.FUTURE, "clock_ahead")):
        rows = int((track.gone == why).sum())
        if rows:
            late_s = (int(track.at[track.gone == why].max()) - limit + DAY) / S if why is Gone.FUTURE else None
            ends = track.instant(first), track.instant(last)
            found.append(_row(track, kind, *ends, first, step_s=late_s, rows=rows, text="refused"))
    return found


def _long_ago(track: Track) -> list[dict[str, Any]]:
    """A file whose clock was never set: its dates are those of a log of long ago."""
    kept = np.flatnonzero(track.gone == Gone.NO)
    if not len(kept) or instant(int(track.told[kept].max())) >= EARLIEST:
        return []
    first, last = int(kept[0]), int(kept[-1])
    return [
        _row(track, "clock_reset", track.instant(first), track.instant(last), first, rows=len(kept), text="never_set")
    ]


def _of_back(track: Track, one: Back) -> dict[str, Any]:
    return _row(
        track,
        one.kind,
        track.instant(one.at),
        track.instant(one.at + 1, told=False),
        one.at + 1,
        step_s=int(track.step[one.at]) / S,
        shift_s=one.shift / S if one.moved else None,
        rows=one.moved or None,
        text=one.how or None,
    )


def _of_stretch(track: Track, one: Stretch, limit: int) -> dict[str, Any]:
    late_s = (int(track.told[one.last]) - limit + DAY) / S if one.kind == "clock_ahead" else None
    if one.how == "refused":
        before, after = one.first - 1 if one.first else one.last + 1, one.last + 1
        lay = track.instant(before) if before < len(track) else track.instant(one.first)
        until = track.instant(after) if after < len(track) else None
        return _row(track, one.kind, lay, until, one.first, step_s=late_s, rows=one.rows, text="refused")
    moved = int(track.shift[one.first]) / S
    first, last = track.instant(one.first), track.instant(one.last)
    size = moved or None
    return _row(
        track, one.kind, first, last, one.first, step_s=late_s or size, shift_s=size, rows=one.rows, text=one.how
    )


def _row(track: Track, kind: str, before: datetime, at: datetime | None, row: int, **own: Any) -> dict[str, Any]:
    line = int(track.frame["line"][int(track.rows[row])])
    none = {"step_s": None, "shift_s": None, "rows": None, "text": None}
    return (
        {"set_id": track.set_id, "before_at": before, "at": at, "file": track.file, "line": line, "kind": kind}
        | none
        | own
    )


def _refused(rows: pl.DataFrame, why: Gone, files: tuple[FileRead, ...]) -> pl.DataFrame:
    """Rows as they are told among the refused: with the time as the clock showed it."""
    parts = []
    for (number,), own in rows.group_by("file", maintain_order=True):
        zone = _zone_of(files[int(number)].layout)
        shown = pl.col("at").dt.convert_time_zone(zone).dt.strftime("%Y-%m-%d %H:%M:%S")
        parts.append(
            own.select(
                "file",
                "line",
                shown.alias("value"),
                pl.lit(_REASONS[why].value).alias("reason"),
                pl.col("set_id").cast(pl.String),
            )
        )
    return pl.concat(parts) if parts else pl.DataFrame(schema=_REFUSED)


def _zone_of(layout: str) -> str:
    """The zone in which a file's times were read, by the line that describes it; UTC where it has several or none."""
    found = re.search(r" in ([A-Za-z][\w+\-/]*), set from ", layout)
    try:
        return ZoneInfo(found[1]).key if found else "UTC"
    except (KeyError, ValueError, OSError):
        return "UTC"


def _notes(track: Track, told: list[dict[str, Any]]) -> list[str]:
    """One line for each stretch that was moved or refused."""
    lines = []
    for one in told:
        if not one["rows"]:
            continue
        where = f"clock of {track.set_id}, from line {one['line']}"
        if one["shift_s"]:
            lines.append(f"{where}: {one['rows']} rows moved by {one['shift_s']:+.0f} s ({one['text']})")
        elif one["text"] == "refused":
            lines.append(f"{where}: {one['rows']} rows refused, they cannot be placed in time")
    return lines
