"""Will it be there in time: from the loss of the mains, else the first crank, to voltage and frequency in band."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import found, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.check.start.demands import interval_s
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.signals import LINE_VOLTAGES, PHASE_VOLTAGES

_VOLTS = "|".join(("voltage_v", *PHASE_VOLTAGES, *LINE_VOLTAGES))


@check(
    "start.late",
    question=Question.START,
    signals=[_VOLTS, "frequency_hz"],
    needs=["starts"],
    limits=["start_late_s", "start_late_rows", "start_late_missed_s", "recent_starts", "recent_repeats"],
    since="0.1",
)
def late(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Starts that came into band later than the register asks for, by the lower bound of the time seen."""
    allowed = limit["start_late_s"]
    if not known.entry.type_10 and allowed.basis != "register":
        yield not_assessed("start.late", Reason.NOT_IN_REGISTER, key="type_10")
        return
    timed = _timed(book, limit)
    if timed.is_empty():
        yield not_assessed("start.late", Reason.NOTHING_SEEN)
        return
    wanted_s = allowed.value / limit.value("start_late_rows")
    seen = timed.filter(pl.col("resolution_s") <= wanted_s)
    if seen.is_empty():
        yield not_assessed(
            "start.late",
            Reason.TOO_COARSE,
            interval_s=interval_s(book, known.set_id, timed),
            wanted_s=wanted_s,
        )
        return
    # an exercise begins with its crank and hides the delays before it: the two are not mixed
    lost = pl.col("mains_lost_at").is_not_null()
    recent = int(limit.value("recent_starts"))
    latest = pl.concat([seen.filter(lost).tail(recent), seen.filter(~lost).tail(recent)])
    hits = latest.filter(pl.col("ready_low_s") > allowed.value).sort("began_at")
    if hits.is_empty():
        yield Clear(
            "start.late",
            {
                "starts": seen.height,
                "losses": seen.filter(lost).height,
                "longest_s": most(seen["ready_low_s"]),
                "allowed_s": allowed.value,
            },
        )
        return
    by_loss = hits.filter(lost)
    own = by_loss if by_loss.height else hits
    kind = latest.filter(lost if by_loss.height else ~lost)
    last = own.row(-1, named=True)
    newest = kind["began_at"][-1] == last["began_at"]
    pressing = newest or limit["recent_repeats"].broken_by(own.height)
    yield found(
        "start.late",
        Severity.SOON if pressing else Severity.NOTE,
        allowed,
        last["ready_low_s"],
        (own["began_at"][0], last["ended_at"] or last["began_at"]),
        variant=("loss" if by_loss.height else "crank") if pressing else "once",
        evidence={
            "late": own.height,
            "latest": kind.height,
            "ready_low_s": last["ready_low_s"],
            "ready_high_s": last["ready_high_s"],
            "usual_s": middle(kind["ready_s"]),
            "allowed_s": allowed.value,
            "last_at": last["began_at"],
            "from_loss": bool(by_loss.height),
        },
    )


def _timed(book: Logbook, limit: Limits) -> pl.DataFrame:
    """Starts by themselves whose time into band is known, in order.

    Of several in one loss of mains the first alone: a set that stopped and came again did not take all that time
    to start. One that was asked long after the loss was not ready to be asked (`care.outage_missed`).
    """
    lost_at = pl.col("mains_lost_at")
    again = lost_at.is_not_null() & lost_at.eq(lost_at.shift(1)).fill_null(False)
    asked_after_s = (pl.col("began_at") - lost_at).dt.total_microseconds() / (1000.0 * 1000.0)
    by_itself = (pl.col("cause") != "manual") & ~pl.col("mode").is_in(["manual", "off"]).fill_null(False)
    return (
        book.starts.sort("began_at")
        .filter(~again)
        .filter(
            pl.col("started") & by_itself,
            pl.col("ready_low_s").is_not_null() & pl.col("resolution_s").is_not_null(),
            asked_after_s.fill_null(0.0) <= limit.value("start_late_missed_s"),
        )
    )
