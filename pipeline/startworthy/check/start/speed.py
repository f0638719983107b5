"""How fast the starter turns the engine."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import by_nominal, found, middle, not_assessed
from startworthy.check.frame import check
from startworthy.check.start.demands import interval_s
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook
from startworthy.statistics.ranks import mann_whitney, step

_TEMPERATURES = ("coolant_before_c", "ambient_c")


@check(
    "start.slow_cranking",
    question=Question.START,
    signals=["speed_rpm"],
    needs=["attempts"],
    limits=[
        "start_crank_speed_share",
        "start_crank_speed_least",
        "start_crank_volts_12_v",
        "start_crank_volts_24_v",
        "start_slow_warmer_c",
        "start_slow_seen_within_s",
        "false_discovery_rate",
    ],
    since="0.1",
)
def slow_cranking(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Cranking speed that fell to a lower level and stayed there, at equal temperature."""
    code, within = "start.slow_cranking", limit["start_slow_seen_within_s"]
    share, enough = limit["start_crank_speed_share"], limit["start_crank_speed_least"]
    turned = book.attempts.sort("began_at").filter(pl.col("crank_rpm").is_not_null())
    seen = turned.filter(pl.col("resolution_s") <= within.value)
    if seen.is_empty():
        if turned.is_empty():
            yield not_assessed(code, Reason.NOTHING_SEEN, why="no_speed")
        else:
            seen_s = interval_s(book, known.set_id, book.starts)
            yield not_assessed(code, Reason.TOO_COARSE, interval_s=seen_s, wanted_s=within.value)
        return
    least = int(enough.value)
    if seen.height < 2 * least:
        yield not_assessed(code, Reason.TOO_FEW, seen=seen.height, wanted=2 * least)
        return
    cut = step(seen["crank_rpm"], least=least)
    if cut.row is None:
        yield Clear(code, {"cranks": seen.height, "crank_rpm": middle(seen["crank_rpm"])})
        return
    before, after = _as_cold(seen.head(cut.row), seen.tail(seen.height - cut.row), limit)
    if min(before.height, after.height) < least:
        # the two levels lie in two seasons: nothing of one can be held against the other
        before, after = seen.head(0), seen.tail(0)
    test = mann_whitney(after["crank_rpm"], before["crank_rpm"], "less")
    # the best of many cuts was taken, so each of them counts as a test of its own
    p = None if test.p is None else min(1.0, test.p * (seen.height - 2 * least + 1))
    was, now = middle(before["crank_rpm"]), middle(after["crank_rpm"])
    if was is None or now is None or not share.broken_by(now / was):
        yield Clear(code, {"cranks": seen.height, "crank_rpm": middle(seen["crank_rpm"])}, p)
        return
    was_v, now_v = middle(before["battery_mean_v"]), middle(after["battery_mean_v"])
    variant = "volts_unknown"
    if was_v is not None and now_v is not None and known.battery_nominal_v is not None:
        lower = by_nominal(limit, "start_crank_volts", known.battery_nominal_v)
        variant = "volts_low" if lower.broken_by(was_v - now_v) else "volts_good"
    yield found(
        code,
        Severity.SOON,
        share,
        now / was,
        (after["began_at"][0], after["ended_at"][-1] or after["began_at"][-1]),
        variant=variant,
        evidence={
            "before": before.height,
            "after": after.height,
            "was_rpm": was,
            "now_rpm": now,
            "was_v": was_v,
            "now_v": now_v,
            "was_c": middle(before[_TEMPERATURES[0]]),
            "now_c": middle(after[_TEMPERATURES[0]]),
            "since_date": after["began_at"][0],
        },
        p_value=p,
    )


def _as_cold(before: pl.DataFrame, after: pl.DataFrame, limit: Limits) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Those of both that have a counterpart: an earlier crank that was not warmer, by coolant and ambient as known.

    A colder one turns slower, so it is held against the later one in its favour. Unknown temperatures pass.
    """
    pairs = before.with_row_index("was").select("was", *[pl.col(name).alias(f"was_{name}") for name in _TEMPERATURES])
    pairs = pairs.join(after.with_row_index("now").select("now", *_TEMPERATURES), how="cross").filter(
        (pl.col(f"was_{name}") - pl.col(name) <= limit.value("start_slow_warmer_c")).fill_null(True)
        for name in _TEMPERATURES
    )
    return (
        before.with_row_index("n").filter(pl.col("n").is_in(pairs["was"].implode())).drop("n"),
        after.with_row_index("n").filter(pl.col("n").is_in(pairs["now"].implode())).drop("n"),
    )
