"""Did somebody change how the set behaves by itself?"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import polars as pl

from startworthy.check.care.changes import LIMITS, Change, change_in
from startworthy.check.care.fingerprints import Fingerprint, exercises, fingerprints
from startworthy.check.care.modes import PROTECTIVE, READY, mode_at, mode_spells
from startworthy.check.found import (
    DAY_S,
    HOUR_S,
    MINUTE_S,
    TELLS_RUNNING,
    found,
    log_ends,
    not_assessed,
    seconds,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Evidence, Finding, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.words import Style

_CODE = "care.settings_changed"
_STARTING = ("attempts allowed", "crank time of failed attempts")
_ORDER = ("count", "start", "timer", "interval", "level", "hour", "volts")


@check(
    _CODE,
    question=Question.CARE,
    signals=[f"{TELLS_RUNNING}|battery_v"],
    needs=["attempts|starts|runs|days.rest_battery_v"],
    limits=[
        *LIMITS,
        "settings_start_rows_s",
        "settings_timer_rows_s",
        "settings_exercise_least_s",
        "settings_exercise_most_s",
        "settings_ceased_intervals",
        "settings_ceased_least",
        "settings_together_days",
        "settings_cut_share",
        "settings_gap_h",
    ],
    since="0.1",
)
def settings_changed(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Timers whose medians before and after one event differ, both sides steady; those changed together are one.

    An exercise that ceased while the set stood in automatic is told apart: nothing else need have changed.
    """
    looked = list(fingerprints(book, known, limit))
    changes = [one for one in (change_in(each, known, limit) for each in looked) if one is not None]
    changes = [one for one in changes if one.of.kind != "volts" or not _charger_touched(book, known, limit, one)]
    ceased = _ceased(book, known, limit)
    outcomes = [*ceased, *(_told(limit, together) for together in _together(limit, changes))]
    if outcomes:
        yield from outcomes
    elif not looked:
        least = int(limit.value("settings_events"))
        yield not_assessed(_CODE, Reason.TOO_FEW, why="few", seen=book.runs.height, wanted=2 * least)
    else:
        yield Clear(_CODE, {"what": ", ".join(one.name for one in looked), "runs": book.runs.height})


def _together(limit: Limits, changes: list[Change]) -> list[list[Change]]:
    """Changes that may have been made at one time, each group from the first to the last."""
    slack = timedelta(days=limit.value("settings_together_days"))
    groups: list[list[Change]] = []
    for one in sorted(changes, key=lambda c: (c.to_at, c.from_at, c.of.name)):
        if groups and all(
            one.from_at <= other.to_at + slack and other.from_at <= one.to_at + slack for other in groups[-1]
        ):
            groups[-1].append(one)
        else:
            groups.append([one])
    return groups


def _told(limit: Limits, group: list[Change]) -> Finding:
    ranked = sorted(group, key=lambda c: (_ORDER.index(c.of.kind), -c.share, c.of.name))
    cut = next(
        (c for c in ranked if c.of.name in _STARTING and limit["settings_cut_share"].broken_by(c.after / c.before)),
        None,
    )
    kinds = {c.of.kind for c in group}
    head = cut or ranked[0]
    from_at, to_at = max(c.from_at for c in group), min(c.to_at for c in group)
    when = (min(from_at, to_at), max(from_at, to_at))
    evidence: dict[str, Evidence] = {
        "changes": "; ".join(f"{c.of.name} from {_shown(c.of, c.before)} to {_shown(c.of, c.after)}" for c in ranked),
        "count": len(group),
        "what": head.of.name,
        "from_at": when[0],
        "to_at": when[1],
        "events_before": head.n_before,
        "events_after": head.n_after,
    }
    if cut is not None:
        return found(
            _CODE, Severity.URGENT, limit["settings_cut_share"], cut.after / cut.before, when, variant="start_cut",
            question=Question.START, evidence=evidence,
        )  # fmt: skip
    if kinds == {"volts"}:
        return found(
            _CODE, Severity.NOTE, limit["settings_share"], head.share, when, variant="float", evidence=evidence
        )  # fmt: skip
    if kinds <= {"hour", "volts"}:
        hour = next(c for c in ranked if c.of.kind == "hour")
        return found(
            _CODE, Severity.NOTE, limit["settings_hour_h"], abs(hour.after - hour.before), when, variant="hour",
            evidence=evidence,
        )  # fmt: skip
    variant = "one" if len(group) == 1 else "several"
    return found(
        _CODE, Severity.SOON, limit["settings_share"], head.share, when, variant=variant, evidence=evidence
    )  # fmt: skip


def _shown(one: Fingerprint, value: float) -> str:
    """A value as it is printed; an hour as the clock shows it."""
    if one.unit == "clock":
        minutes = round(value * MINUTE_S) % round(DAY_S / MINUTE_S)
        return f"{minutes // int(MINUTE_S):02d}:{minutes % int(MINUTE_S):02d}"
    return Style().number(value, one.unit, whole=one.unit == "")


def _charger_touched(book: Logbook, known: Known, limit: Limits, one: Change) -> bool:
    """Signs that somebody worked at charger or battery then: a gap, a day off charge, a spell out of automatic."""
    day = timedelta(days=1)
    began, ended = one.from_at - day, one.to_at + 2 * day
    hidden = book.marks.filter(
        pl.col("kind").is_in(["gap", "clock_jump", "mode_change", "mains_lost"]),
        (pl.col("value").abs() > limit.value("settings_gap_h") * HOUR_S) | (pl.col("kind") == "mode_change"),
        pl.col("began_at").is_between(began, ended),
    )
    return hidden.height > 0 or seconds(one.to_at, one.from_at) > 2 * DAY_S


def _ceased(book: Logbook, known: Known, limit: Limits) -> list[Finding]:
    """No exercise for three intervals at the end of the log, in automatic all the while, nothing else to explain it."""
    every = known.entry.exercise.every_days or known.exercise_every_days
    done = exercises(book, known, limit)
    start_s = book.sampling[known.set_id].start_s
    close = start_s is not None and not limit["settings_start_rows_s"].broken_by(start_s)
    if not close:
        # an exercise that fails or stalls between two slow rows looks as if none had been
        return []
    if every is None or limit["settings_ceased_least"].broken_by(done.height):
        return []
    ended, last = log_ends(book, known.set_id), done["began_at"][-1]
    later = pl.col("began_at") > last
    runs, starts = book.runs.filter(later), book.starts.filter(later)
    stopped = book.runs.filter(pl.col("began_at") >= last, pl.col("ended_by").is_in(PROTECTIVE))
    faults = starts.filter(~pl.col("started")).height + stopped.height
    spells = mode_spells(book, known).filter(pl.col("ended_at") > last)
    left = spells.filter(~pl.col("mode").is_in(READY)).select((pl.col("ended_at") - pl.col("began_at")).sum())
    away_s = left.item().total_seconds() if left.item() is not None else 0.0
    gaps_s = float(book.marks.filter(later, pl.col("kind") == "gap")["value"].sum() or 0.0)
    # any other run may stand for an exercise
    without = (seconds(ended, last) - away_s - gaps_s) / DAY_S / every - runs.height
    ceased, told = limit["settings_ceased_intervals"], spells.height > 0
    if faults or (told and mode_at(spells, ended) not in READY) or not ceased.broken_by(without):
        return []
    return [
        found(
            _CODE,
            Severity.URGENT if told else Severity.SOON,
            ceased,
            without,
            (last, ended),
            variant="ceased",
            evidence={
                "every_days": every,
                "last_date": last,
                "without_days": seconds(ended, last) / DAY_S,
                "runs": done.height,
            },
        )
    ]
