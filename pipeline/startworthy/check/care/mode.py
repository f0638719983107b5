"""Is it looked after: the time in which it could not have answered a demand by itself."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.care.modes import MODE_COLUMNS, OUT, has_mode_marks, mode_spells, stands_by_hand
from startworthy.check.found import (
    HOUR_S,
    day_begins,
    day_ends,
    found,
    most,
    not_assessed,
    spells,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.logbook.tables import UTC_TIME
from startworthy.results import Known, Logbook
from startworthy.signals import Mode


@check(
    "care.not_in_auto",
    question=Question.CARE,
    signals=["mode"],
    needs=["|".join(f"days.{name}" for name in MODE_COLUMNS)],
    limits=["not_in_auto_h", "not_in_auto_long_h", "not_in_auto_now_h", "by_hand_runs"],
    since="0.1",
)
def not_in_auto(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Spells off or in manual, not running; time that no row covers is not counted.

    One that still lasts at the log's end bears on whether the set starts at all, not only on how it is kept. A set
    that is never seen in automatic, and runs all the same, stands by hand on purpose: one note says so.
    """
    told_s = float(sum(book.days[name].sum() or 0.0 for name in MODE_COLUMNS))
    long_h, now_h = limit["not_in_auto_h"], limit["not_in_auto_now_h"]
    out = _spells_by_marks(book, known) if has_mode_marks(book) else _spells_by_days(book, known)
    lasting = out.filter("lasts")
    ended = out.filter(~pl.col("lasts"), pl.col("hours") > long_h.value)
    now = lasting.row(-1, named=True) if lasting.height else None
    silent = ended.is_empty() and (now is None or not now_h.broken_by(now["hours"]))
    if silent:
        if told_s < long_h.value * HOUR_S:
            yield not_assessed(
                "care.not_in_auto",
                Reason.TOO_SHORT,
                seen_s=told_s,
                wanted_s=long_h.value * HOUR_S,
            )
        else:
            yield Clear(
                "care.not_in_auto",
                {"told_s": told_s, "spells": out.height, "longest_h": float(most(out["hours"]) or 0.0)},
            )
        return
    if stands_by_hand(book, limit):
        worst = out.sort("hours").row(-1, named=True)
        yield found(
            "care.not_in_auto",
            Severity.NOTE,
            now_h,
            worst["hours"],
            (out["began_at"][0], out["ended_at"][-1]),
            variant="by_hand",
            evidence={"runs": book.runs.height, "out_h": float(out["hours"].sum())},
        )
        return
    if now is not None and now_h.broken_by(now["hours"]):
        urgent = long_h.broken_by(now["hours"])
        yield found(
            "care.not_in_auto",
            Severity.URGENT if urgent else Severity.NOTE,
            long_h if urgent else now_h,
            now["hours"],
            (now["began_at"], now["ended_at"]),
            variant="now" if urgent else "just_now",
            question=Question.START if urgent else None,
            evidence={"out_h": now["hours"], "since_at": now["began_at"], "mode": now["mode"]},
        )
    if ended.height:
        worst, last = ended.sort("hours").row(-1, named=True), ended.row(-1, named=True)
        very_long = limit["not_in_auto_long_h"].broken_by(worst["hours"])
        yield found(
            "care.not_in_auto",
            Severity.SOON if very_long else Severity.NOTE,
            limit["not_in_auto_long_h"] if very_long else long_h,
            worst["hours"],
            (ended["began_at"][0], last["ended_at"]),
            variant="ended",
            evidence={
                "spells": ended.height,
                "out_h": worst["hours"],
                "since_at": worst["began_at"],
                "until_at": worst["ended_at"],
                "mode": worst["mode"],
                "total_h": float(ended["hours"].sum()),
            },
        )


def _spells_by_marks(book: Logbook, known: Known) -> pl.DataFrame:
    """Spells out of automatic between the changes of mode, less gaps and running.

    Columns: began_at, ended_at, hours, mode (the one that lasted longest), lasts (up to the log's end).
    """
    ended = book.span[known.set_id][1]
    parts = mode_spells(book, known)
    longest = (pl.col("ended_at") - pl.col("began_at")).arg_max()
    out = spells(
        parts,
        pl.col("mode").is_in(OUT),
        pl.col("began_at").first(),
        pl.col("ended_at").last(),
        pl.col("mode").gather(longest).first(),
    )
    lasts = pl.col("last_row") == parts.height - 1
    gaps = book.marks.filter(pl.col("kind") == "gap").select("began_at", pl.col("ended_at").fill_null(ended))
    not_counted = pl.concat([gaps, book.runs.select("began_at", "ended_at")])
    return _less(out.with_columns(lasts.alias("lasts")).with_row_index("spell"), not_counted)


def _less(out: pl.DataFrame, not_counted: pl.DataFrame) -> pl.DataFrame:
    """Hours of each spell, without the time in which it overlaps what is not counted."""
    starts = pl.max_horizontal("began_at", "from_at")
    ends = pl.min_horizontal("ended_at", "to_at")
    overlap = (
        out.select("spell", "began_at", "ended_at")
        .join(
            not_counted.select(pl.col("began_at").alias("from_at"), pl.col("ended_at").alias("to_at")),
            how="cross",
        )
        .group_by("spell")
        .agg(((ends - starts).dt.total_milliseconds().clip(0) / 1000.0).sum().alias("not_counted_s"))
    )
    whole_s = (pl.col("ended_at") - pl.col("began_at")).dt.total_milliseconds() / 1000.0
    return out.join(overlap, on="spell", how="left", maintain_order="left").with_columns(
        ((whole_s - pl.col("not_counted_s").fill_null(0.0)).clip(0.0) / HOUR_S).alias("hours")
    )


def _spells_by_days(book: Logbook, known: Known) -> pl.DataFrame:
    """The same from the days, where no change of mode was marked: days mostly out of automatic, in a row."""
    out_s = (
        pl.col("off_s").fill_null(0.0) + pl.col("manual_s").fill_null(0.0) - pl.col("running_s").fill_null(0.0)
    ).clip(0.0)
    ready_s = pl.col("automatic_s").fill_null(0.0) + pl.col("test_s").fill_null(0.0)
    days = book.days.sort("day").with_columns(out_s.alias("out_s"))
    off_more = pl.col("off_s").fill_null(0.0).sum() >= pl.col("manual_s").fill_null(0.0).sum()
    mode = pl.when(off_more).then(pl.lit(Mode.OFF.value)).otherwise(pl.lit(Mode.MANUAL.value)).first()
    rows = spells(
        days,
        (pl.col("out_s") > ready_s) & (pl.col("out_s") > 0.0),
        pl.col("day").first().alias("first_day"),
        pl.col("day").last().alias("last_day"),
        (pl.col("out_s").sum() / HOUR_S).alias("hours"),
        mode.alias("mode"),
    )
    began, ended = book.span[known.set_id]
    lasts = rows["last_row"] == days.height - 1
    first_at = [max(began, day_begins(day, known.time_zone)) for day in rows["first_day"]]
    last_at = [min(ended, day_ends(day, known.time_zone)) for day in rows["last_day"]]
    return rows.with_columns(
        pl.Series("began_at", first_at, dtype=UTC_TIME),
        pl.Series("ended_at", last_at, dtype=UTC_TIME),
        lasts.alias("lasts"),
    )
