"""Can the log be trusted: its clock."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import polars as pl

from startworthy.check.found import DAY_S, found, most, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Finding, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.summertime import STEPS_S, nearest_step, zone_of

_CODE = "log.clock_fault"
_REFUSED, _NEVER, _SUMMER = "refused", "never_set", "summer_time"


@check(
    _CODE,
    question=Question.LOG,
    needs=["days.covered_s"],
    limits=[
        "clock_back_s",
        "clock_fell_back_days",
        "recent_repeats",
        "clock_ahead_days",
        "clock_earliest_year",
        "clock_beside_s",
        "clock_drift_s",
    ],
    since="0.1",
)
def clock_fault(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """A clock that fell to an early date, was set wrongly, keeps a summer time nobody named, runs ahead, or drifts."""
    began, ended = book.span[known.set_id]
    covered_s = float(book.days["covered_s"].sum())
    if covered_s <= 0.0:
        yield not_assessed(_CODE, Reason.TOO_SHORT, why="one_row")
        return
    told = list(_own(book, known, limit))
    beside = _beside(book, limit)
    told += [beside] if beside is not None else []
    if told:
        yield from told
        return
    yield Clear(_CODE, {"covered_s": covered_s, "from_at": began, "until_at": ended})


def _own(book: Logbook, known: Known, limit: Limits) -> Iterator[Finding]:
    """What the log itself shows, the worst first: one finding for a wrong date, one for steps within its time."""
    marks = book.marks
    resets = marks.filter(pl.col("kind") == "clock_reset")
    never = resets.filter(pl.col("text") == _NEVER)
    ahead = marks.filter(pl.col("kind") == "clock_ahead")
    wholly = ahead.filter(pl.col("text") != _REFUSED)
    steps = marks.filter(pl.col("kind") == "clock_jump").with_columns(pl.col("value").neg().alias("back_s"))
    steps = steps.filter(pl.col("back_s") > limit["clock_back_s"].value).sort("began_at", "ended_at")
    far = limit["clock_fell_back_days"]
    fell = steps.filter(pl.col("back_s") > far.value * DAY_S)
    resets = resets.filter(pl.col("text") != _NEVER)
    # a year set wrongly and then set right is told as a stretch
    unplaced = fell.height > marks.filter(pl.col("kind") == "clock_step").height
    if never.height:
        yield _never_set(never, limit)
    elif resets.height:
        yield _reset(resets, steps, limit)
    elif unplaced:
        yield _fell_back(steps, fell, limit)
    elif wholly.height:
        worst = wholly.sort("value").row(-1, named=True)
        evidence = {"until_at": worst["ended_at"], "ahead_s": worst["value"]}
        when = (worst["began_at"], worst["ended_at"])
        ahead_days = limit["clock_ahead_days"]
        yield found(_CODE, Severity.SOON, ahead_days, worst["value"] / DAY_S, when, variant="ahead", evidence=evidence)
    elif ahead.height:
        order = ahead.sort("began_at")["began_at"]
        days = most(ahead["value"]) or 0.0
        evidence = {"rows": int(ahead["after"].sum())}
        yield found(
            _CODE,
            Severity.NOTE,
            limit["clock_ahead_days"],
            days / DAY_S,
            (order[0], order[-1]),
            variant="ahead_rows",
            evidence=evidence,
        )
    if not (resets.height or never.height or unplaced):
        yield from _steps(book, known, steps, limit)


def _never_set(never: pl.DataFrame, limit: Limits) -> Finding:
    worst = never.sort("began_at").row(0, named=True)
    year = limit["clock_earliest_year"]
    when = (worst["began_at"], worst["ended_at"])
    evidence = {"from_at": when[0], "until_at": when[1], "rows": int(never["after"].sum())}
    return found(_CODE, Severity.SOON, year, float(when[1].year), when, variant="never_set", evidence=evidence)


def _reset(resets: pl.DataFrame, steps: pl.DataFrame, limit: Limits) -> Finding:
    """The clock fell to an early date; rows under it were placed where that is certain, or refused."""
    refused = resets.filter(pl.col("text") == _REFUSED)
    placed = resets.filter(pl.col("text") != _REFUSED)
    far = limit["clock_fell_back_days"]
    fell_s = [float(v or 0.0) for v in (steps["back_s"].max(), placed["value"].abs().max())]  # type: ignore[arg-type]
    evidence = {
        "times": resets.height,
        "placed_rows": int(placed["after"].sum() or 0),
        "refused_rows": int(refused["after"].sum() or 0),
        "from_at": resets["began_at"].min(),
    }
    ends = resets.select(pl.coalesce("ended_at", "began_at").max()).item()
    variant = "reset_refused" if refused.height else "reset_placed"
    severe = refused.height or limit["recent_repeats"].broken_by(resets.height)
    return found(
        _CODE,
        Severity.SOON if severe else Severity.NOTE,
        far,
        max(fell_s) / DAY_S,
        (resets["began_at"].min(), ends),  # type: ignore[arg-type]
        variant=variant,
        evidence=evidence,  # type: ignore[arg-type]
    )


def _fell_back(steps: pl.DataFrame, fell: pl.DataFrame, limit: Limits) -> Finding:
    worst = fell.sort("back_s", "began_at").row(-1, named=True)
    evidence = _evidence(steps, worst) | {"fell": fell.height}
    far = limit["clock_fell_back_days"]
    days = worst["back_s"] / DAY_S
    return found(_CODE, Severity.SOON, far, days, _when(steps), variant="fell_back", evidence=evidence)


def _steps(book: Logbook, known: Known, steps: pl.DataFrame, limit: Limits) -> Iterator[Finding]:
    """Steps within the log's own time: of a summer time, put right by the rows on both sides, or open."""
    marks = book.marks
    least, repeats = limit["clock_back_s"], limit["recent_repeats"]
    stretches = marks.filter(pl.col("kind") == "clock_step").sort("began_at")
    zone = _summer_zone(book, known, steps, stretches)
    if zone is not None:
        every = pl.concat([steps.select("began_at", "value"), stretches.select("began_at", "value")])
        size = most(every["value"].abs()) or max(STEPS_S)
        when = (every["began_at"].min(), every["began_at"].max()) if every.height else book.span[known.set_id]
        evidence: dict[str, Any] = {"zone": zone, "step_s": nearest_step(size)}
        yield found(_CODE, Severity.NOTE, least, size, when, variant=_SUMMER, evidence=evidence)  # type: ignore[arg-type]
        return
    if stretches.height >= max(steps.height, 1):
        worst = stretches.sort(pl.col("value").abs()).row(-1, named=True)
        evidence = {
            "times": stretches.height, "rows": int(stretches["after"].sum() or 0), "by_s": abs(worst["value"]),
            "from_at": worst["began_at"], "until_at": worst["ended_at"],
        }  # fmt: skip
        severity = Severity.SOON if repeats.broken_by(stretches.height) else Severity.NOTE
        when = (stretches["began_at"].min(), stretches["ended_at"].max())
        yield found(_CODE, severity, least, abs(worst["value"]), when, variant="set_wrongly", evidence=evidence)  # type: ignore[arg-type]
        return
    if steps.is_empty():
        return
    worst = steps.sort("back_s", "began_at").row(-1, named=True)
    often = repeats.broken_by(steps.height)
    yield found(
        _CODE,
        Severity.NOTE,
        least,
        worst["back_s"],
        _when(steps),
        variant="often" if often else "once",
        evidence=_evidence(steps, worst),
    )


def _evidence(steps: pl.DataFrame, worst: dict[str, Any]) -> dict[str, Any]:
    return {
        "times": steps.height,
        "back_s": worst["back_s"],
        "from_at": worst["began_at"],
        "landed_at": worst["ended_at"],
    }


def _when(steps: pl.DataFrame) -> tuple[Any, Any]:
    """From the first to the last instant; a step back ends before it begins."""
    return (steps.sort("ended_at")["ended_at"][0], steps.sort("began_at")["began_at"][-1])


def _summer_zone(book: Logbook, known: Known, steps: pl.DataFrame, stretches: pl.DataFrame) -> str | None:
    """The zone whose summer time the clock follows: by its steps, or by a gap of an hour where clocks go forward."""
    words = pl.concat([steps.select("text"), stretches.select("text")])["text"].drop_nulls()
    named = words.filter(words.str.starts_with(_SUMMER))
    if named.len():
        return str(named[0]).removeprefix(_SUMMER).strip()
    if known.time_zone not in ("UTC", "Etc/UTC"):
        return None
    own = book.sampling.get(known.set_id)
    if own is None or not own.rest_s:
        return None
    gaps = book.marks.filter((pl.col("kind") == "gap") & (pl.col("value") <= 2 * max(STEPS_S)))
    return zone_of(gaps.select("began_at", "ended_at").iter_rows(), own.rest_s)


def _beside(book: Logbook, limit: Limits) -> Finding | None:
    """The clock against that of another set on the same mains."""
    marks = book.marks.filter(pl.col("kind") == "clock_beside")
    if marks.is_empty():
        return None
    one = marks.row(0, named=True)
    drifts = limit["clock_drift_s"].broken_by(abs(one["value"]))
    evidence = {
        "other": one["text"], "outages": int(one["after"]), "apart_s": abs(one["before"]), "at": one["ended_at"],
        "drift_s": abs(one["value"]), "direction": _sign(one["value"] if drifts else one["before"]),
    }  # fmt: skip
    when = (one["began_at"], one["ended_at"])
    if drifts:
        name, value, variant = "clock_drift_s", abs(one["value"]), f"drifts_{evidence.pop('direction')}"
    else:
        name, value, variant = "clock_beside_s", abs(one["before"]), f"beside_{evidence.pop('direction')}"
    return found(_CODE, Severity.NOTE, limit[name], value, when, variant=variant, evidence=evidence)


def _sign(value: float) -> str:
    return "ahead" if value > 0 else "behind"
