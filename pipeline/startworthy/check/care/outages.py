"""Did it take over when mains were lost?"""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.care.modes import OUT, mode_at, mode_spells, stands_by_hand
from startworthy.check.found import (
    HOUR_S,
    TELLS_RUNNING,
    day_begins,
    day_ends,
    found,
    least,
    log_ends,
    long_past,
    middle,
    most,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.logbook.tables import UTC_TIME
from startworthy.results import Known, Logbook
from startworthy.signals import Mode

_CODE = "care.outage_missed"


@check(
    _CODE,
    question=Question.CARE,
    signals=["mains_present|mains_v", TELLS_RUNNING],
    needs=["marks", "days"],
    limits=[
        "outage_missed_s",
        "outage_rows",
        "outage_delays",
        "outage_unlearnt_s",
        "not_in_auto_h",
        "by_hand_runs",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def outage_missed(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Losses of mains, seen to begin and covered for longer than rows and start delay ask, in which it never ran.

    The delay is twice the set's own median one; before any was seen to be answered, only longer losses are judged.
    A loss of more than a day through which the charger stays fed is a fault of the mains signal, not of the supply.
    """
    losses = _losses(book, known)
    if losses.is_empty():
        yield not_assessed(_CODE, Reason.NOTHING_SEEN)
        return
    wanted_s, delay_s = _wanted_s(book, known, limit)
    # failed attempts tell that it was asked, however far apart the rows at rest are
    losses = losses.with_columns(
        pl.col("began_at").is_in(_tried(book).implode()).alias("tried"),
    ).with_columns(pl.when("tried").then(delay_s).otherwise(wanted_s).alias("wanted_s"))
    seen = losses.filter("begin_seen", pl.col("covered_s") > pl.col("wanted_s"))
    if seen.is_empty():
        yield not_assessed(
            _CODE, Reason.NOTHING_SEEN, why="short", losses=losses.height, longest_s=most(losses["covered_s"]),
            wanted_s=wanted_s,
        )  # fmt: skip
        return
    real = _with_mode(book, known, seen.filter(~pl.col("fed") | pl.col("ran")))
    if real.is_empty():
        yield not_assessed(_CODE, Reason.CONFLICT, why="fed", losses=seen.height)
        return
    missed = real.filter(~pl.col("ran"))
    if missed.is_empty():
        yield Clear(_CODE, {"outages": real.height, "longest_s": most(real["lasted_s"])})
        return
    last = missed.row(-1, named=True)
    since = real.filter("ran", pl.col("began_at") > last["began_at"]).height
    past = long_past(limit, last["ended_at"], log_ends(book, known.set_id), since)
    variant, severity = _judged(book, known, limit, real)
    urgent = severity is Severity.URGENT and not past
    yield found(
        _CODE,
        Severity.SOON if severity is Severity.URGENT and past else severity,
        limit["outage_missed_s"],
        most(missed["lasted_s"]) or 0.0,
        (missed["began_at"][0], last["ended_at"]),
        variant=variant,
        question=Question.START if urgent else None,
        edge=least(missed["wanted_s"]),
        evidence={
            "missed": missed.height,
            "outages": real.height,
            "longest_s": most(missed["lasted_s"]),
            "last_at": last["began_at"],
            "lasted_s": last["lasted_s"],
            "mode": last["mode"],
            "since": since,
        },
    )


def _judged(book: Logbook, known: Known, limit: Limits, real: pl.DataFrame) -> tuple[str, Severity]:
    """Which sentence fits the missed ones, and how pressing they are."""
    missed = real.filter(~pl.col("ran"))
    if stands_by_hand(book, limit):
        return "by_hand", Severity.NOTE
    asked = missed.filter(~pl.col("mode").is_in(OUT).fill_null(False))
    if asked.is_empty():
        long_h = limit["not_in_auto_h"]
        if not any(long_h.broken_by(hours) for hours in _hours_out(book, known, missed)):
            return "at_work", Severity.NOTE
        return "out_of_auto", Severity.SOON if real["ran"][-1] else Severity.URGENT
    if asked["tried"].any():
        return "tried", Severity.URGENT
    if not (asked["mode"] == Mode.AUTOMATIC.value).any() and not real["ran"].any():
        return "never", Severity.SOON
    return "missed", Severity.URGENT


def _with_mode(book: Logbook, known: Known, losses: pl.DataFrame) -> pl.DataFrame:
    """The losses with the mode in which each met the set."""
    spells = mode_spells(book, known)
    return losses.with_columns(pl.Series("mode", [mode_at(spells, at) for at in losses["began_at"]], dtype=pl.String))


def _hours_out(book: Logbook, known: Known, missed: pl.DataFrame) -> list[float]:
    """How long each spell out of automatic lasted in which mains were lost: a repair takes hours, not days."""
    spells = mode_spells(book, known)
    block = pl.col("mode").is_in(OUT).fill_null(False).rle_id()
    whole = (
        spells.group_by(block.alias("block"), maintain_order=True)
        .agg(pl.col("began_at").first(), pl.col("ended_at").last())
        .sort("began_at")
    )
    held = missed.select(pl.col("began_at").alias("lost_at")).join_asof(
        whole, left_on="lost_at", right_on="began_at", strategy="backward", coalesce=False
    )
    return (held.select((pl.col("ended_at") - pl.col("began_at")).dt.total_seconds() / HOUR_S)).to_series().to_list()


def _tried(book: Logbook) -> pl.Series:
    """Losses of mains in which its attempts to start were seen and failed."""
    return book.starts.filter(~pl.col("started"))["mains_lost_at"].drop_nulls()


def _wanted_s(book: Logbook, known: Known, limit: Limits) -> tuple[float, float]:
    """How long mains must be away before the set has to run: seen through these rows, and by its delay alone."""
    sampling = book.sampling[known.set_id]
    interval_s = sampling.rest_s or sampling.running_s or 0.0
    answered = book.starts.filter("started", pl.col("mains_lost_at").is_not_null())
    by_itself = answered.filter(~pl.col("mode").is_in(OUT).fill_null(False))
    delays = by_itself.select((pl.col("ended_at") - pl.col("mains_lost_at")).dt.total_milliseconds() / 1000.0)
    usual_s = middle(delays.to_series())
    least_s = limit.value("outage_unlearnt_s") if usual_s is None else usual_s * limit.value("outage_delays")
    delay_s = max(limit.value("outage_missed_s"), least_s)
    return max(delay_s, interval_s * limit.value("outage_rows")), delay_s


def _losses(book: Logbook, known: Known) -> pl.DataFrame:
    """Each loss of mains in order: began_at, ended_at, lasted_s, covered_s (to its end or to the first gap in it),
    begin_seen, ran (any run within it), fed (the battery stayed on charge through whole days of it).
    """
    began, ended = book.span[known.set_id]
    sampling = book.sampling[known.set_id]
    slack = pl.duration(milliseconds=int(1000 * (sampling.rest_s or sampling.running_s or 0.0)))
    lost = (
        book.marks.filter(pl.col("kind") == "mains_lost")
        .sort("began_at")
        .select(pl.col("began_at"), pl.col("ended_at").fill_null(ended))
        .with_row_index("loss")
    )
    gaps = book.marks.filter(pl.col("kind") == "gap").select(
        pl.col("began_at").alias("gap_at"), pl.col("ended_at").fill_null(ended).alias("gap_to")
    )
    in_gap = lost.join(gaps, how="cross").group_by("loss").agg(
        pl.col("gap_at").filter(pl.col("gap_to") > pl.col("began_at"), pl.col("gap_at") < pl.col("ended_at")).min(),
        (pl.col("gap_to") == pl.col("began_at")).any().alias("after_gap"),
    )  # fmt: skip
    runs = book.runs.select(pl.col("began_at").alias("run_at"), pl.col("ended_at").alias("run_to"))
    ran = lost.join(runs, how="cross").filter(
        pl.col("run_at") <= pl.col("ended_at") + slack, pl.col("run_to") >= pl.col("began_at")
    )
    days = _days_on_charge(book, known)
    fed = lost.join(days, how="cross").filter(
        pl.col("day_at") >= pl.col("began_at"), pl.col("day_to") <= pl.col("ended_at")
    )
    return (
        lost.join(in_gap, on="loss", how="left", maintain_order="left")
        .with_columns(
            _s(pl.min_horizontal("ended_at", "gap_at") - pl.col("began_at")).alias("covered_s"),
            _s(pl.col("ended_at") - pl.col("began_at")).alias("lasted_s"),
            (~pl.col("after_gap").fill_null(False) & (pl.col("began_at") > began)).alias("begin_seen"),
            pl.col("loss").is_in(ran["loss"].implode()).alias("ran"),
            pl.col("loss").is_in(fed["loss"].implode()).alias("fed"),
        )
        .filter(pl.col("lasted_s") > 0.0)
    )  # fmt: skip


def _days_on_charge(book: Logbook, known: Known) -> pl.DataFrame:
    days = book.days.filter(pl.col("on_charge").fill_null(False), pl.col("running_s").fill_null(0.0) == 0.0)["day"]
    return pl.DataFrame(
        {
            "day_at": [day_begins(day, known.time_zone) for day in days],
            "day_to": [day_ends(day, known.time_zone) for day in days],
        },
        schema={"day_at": UTC_TIME, "day_to": UTC_TIME},
    )


def _s(duration: pl.Expr) -> pl.Expr:
    return duration.dt.total_milliseconds() / 1000.0
