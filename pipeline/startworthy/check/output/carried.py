"""Will it carry the load: is the load taken when the mains are gone, and is it more than the set can give?"""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import eased, found, log_ends, long_past, middle, most, not_assessed
from startworthy.check.frame import check
from startworthy.check.output.shared import BAND, DROOP, POWER, alive, governor
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.electric import DIESEL
from startworthy.results import Known, Logbook

_NOT_TAKEN = "output.load_not_taken"
_OVERLOAD = "output.overload"


@check(
    _NOT_TAKEN,
    question=Question.CARRY,
    signals=["mains_present|mains_v", POWER],
    needs=["starts.mains_lost_at"],
    limits=[
        "load_not_taken_for_s",
        "load_not_taken_rows",
        "no_load_fraction",
        "usual_load_fraction",
        "voltage_band_small_fraction",
        "voltage_instrument_fraction",
        *DROOP.values(),
        *BAND.values(),
        "frequency_instrument_fraction",
        "fault_recent_days",
        "fault_good_since",
        "recent_repeats",
    ],
    since="0.1",
)
def load_not_taken(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Outages in which it ran in band while the mains were away, but took no load, though it usually does.

    Time counts from when it usually takes its load, and until the mains came back. What the house draws in other
    outages tells an empty house from a transfer that did not come.
    """
    outages = _outages(book, limit)
    if outages.is_empty():
        yield not_assessed(_NOT_TAKEN, Reason.NOTHING_SEEN, why="no_outage")
        return
    measured = outages.filter(pl.col("most").is_not_null())
    if measured.is_empty():
        yield not_assessed(_NOT_TAKEN, Reason.NOTHING_SEEN, why="load_not_measured", outages=outages.height)
        return
    loaded = measured.filter(pl.col("usual") > limit.value("usual_load_fraction"))
    no_load = pl.col("most") < limit.value("no_load_fraction")
    if loaded.is_empty() or loaded.height < measured.filter(~no_load).height / 2:
        yield not_assessed(_NOT_TAKEN, Reason.TOO_FEW, why="never_loaded", outages=measured.height)
        return
    taken_s = middle(loaded["load_taken_s"]) or 0.0
    rows_s = limit.value("load_not_taken_rows") * pl.col("resolution_s").fill_null(0.0)
    waited = pl.col("away_s") - taken_s
    judged = measured.with_columns(
        (waited >= pl.max_horizontal(pl.lit(limit.value("load_not_taken_for_s")), rows_s)).alias("long"),
        no_load.alias("no_load"),
        waited.alias("waited_s"),
    ).filter("long")
    if judged.is_empty():
        yield not_assessed(_NOT_TAKEN, Reason.TOO_FEW, why="short_outages", outages=measured.height)
        return
    hits = judged.filter(pl.col("no_load") & _in_band(known, limit))
    if hits.is_empty():
        yield Clear(
            _NOT_TAKEN,
            {"outages": judged.height, "usual_fraction": middle(loaded["usual"]), "taken_s": taken_s},
        )
        return
    last = hits.row(-1, named=True)
    good_since = judged.filter(pl.col("began_at") > last["began_at"], ~pl.col("no_load")).height
    past = long_past(limit, last["began_at"], log_ends(book, known.set_id), good_since)
    once = hits.height == 1 and limit["recent_repeats"].broken_by(good_since)
    yield found(
        _NOT_TAKEN,
        Severity.NOTE if past or once else Severity.URGENT,
        limit["no_load_fraction"],
        last["most"],
        (hits["began_at"][0], last["ended_at"]),
        variant="past" if past or once else "not_taken",
        evidence={
            "not_taken": hits.height,
            "outages": judged.height,
            "waited_s": last["waited_s"],
            "usual_fraction": middle(loaded["usual"]),
            "taken_s": taken_s,
            "voltage_v": last["voltage_mean_v"],
            "frequency_hz": last["frequency_mean_hz"],
            "good_since": good_since,
            "last_at": last["began_at"],
        },
    )


def _outages(book: Logbook, limit: Limits) -> pl.DataFrame:
    """Runs that answered a loss of mains: `away_s` while both ran and were away, load as shares (`most`, `usual`).

    Without a rating a load is told against the highest of the log.
    """
    lost = (
        book.marks.filter(pl.col("kind") == "mains_lost")
        .select(mains_lost_at="began_at", back_at="ended_at")
        .unique("mains_lost_at", keep="any")
    )
    asked = book.starts.filter(pl.col("started") & pl.col("mains_lost_at").is_not_null()).select("run", "mains_lost_at")
    top_kw = book.runs["load_kw_max"].max()
    of_top = {name: pl.col(name) / top_kw for name in ("load_kw_max", "load_kw_mean")} if top_kw else None
    runs = book.runs.join(asked, on="run", how="inner").join(lost, on="mains_lost_at", how="left")
    until = pl.min_horizontal("ended_at", "back_at")
    return runs.sort("began_at").with_columns(
        ((until - pl.col("began_at")).dt.total_microseconds() / 1000 / 1000).alias("away_s"),
        pl.coalesce("load_fraction_max", *([of_top["load_kw_max"]] if of_top else [])).alias("most"),
        pl.coalesce("load_fraction_mean", *([of_top["load_kw_mean"]] if of_top else [])).alias("usual"),
    )


def _in_band(known: Known, limit: Limits) -> pl.Expr:
    """Volts and frequency such that a transfer has no reason to wait; what is not logged counts as right."""
    right = pl.lit(True)
    if known.rated_voltage_v is not None:
        wide = limit.value("voltage_band_small_fraction") + limit.value("voltage_instrument_fraction")
        off = (pl.col("voltage_mean_v") / known.rated_voltage_v - 1.0).abs()
        right = right & (off <= wide).fill_null(True)
    if known.rated_frequency_hz is not None:
        half = limit.value(BAND[governor(known)]) / 2 + limit.value("frequency_instrument_fraction")
        share = pl.col("frequency_mean_hz") / known.rated_frequency_hz - 1.0
        right = right & share.is_between(-half, limit.value(DROOP[governor(known)]) + half).fill_null(True)
    return right


@check(
    _OVERLOAD,
    question=Question.CARRY,
    signals=[POWER],
    needs=["runs"],
    limits=[
        "overload_for_s",
        "overload_far_for_s",
        "overload_held_fraction",
        "output_dead_fraction",
        "output_coarse_s",
        "output_coarse_rows",
        "fault_recent_days",
        "fault_good_since",
    ],
    since="0.1",
)
def overload(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Longest spells above the rating, less what altitude and heat take off it; far above it for a minute is urgent.

    A set beyond its rating sags below its rated frequency. One that still holds more than that while it seems far
    beyond is not: then it is the rating, or kVA taken for kW.
    """
    runs = book.runs.sort("began_at").filter(pl.col("overload_s").is_not_null())
    if runs.is_empty():
        if known.rated_kw is None:
            yield not_assessed(_OVERLOAD, Reason.NOT_IN_REGISTER, key="rated_kw")
        else:
            yield not_assessed(_OVERLOAD, Reason.NOTHING_SEEN)
        return
    over, far = limit["overload_for_s"], limit["overload_far_for_s"]
    resolution = pl.col("resolution_s").fill_null(0.0)
    coarse = resolution > limit.value("output_coarse_s")
    lasting = ~coarse | (pl.col("overload_far_s") >= resolution * (limit.value("output_coarse_rows") - 1))
    runs = runs.with_columns(
        (pl.col("overload_s") > over.value).alias("long"),
        ((pl.col("overload_far_s") > far.value) & lasting).fill_null(False).alias("far"),
        _held(known, limit).alias("held"),
    )
    hits = runs.filter(pl.col("long") | pl.col("far"))
    if hits.is_empty():
        yield Clear(
            _OVERLOAD,
            {
                "runs": runs.height,
                "highest_fraction": most(runs["load_fraction_max"]),
                "longest_s": most(runs["overload_s"]),
                "rated_kw": known.rated_kw,
            },
        )
        return
    real = hits.filter(~pl.col("held"))
    grave = real.filter("far")
    judged = next(some for some in (grave, real, hits) if some.height)
    last = judged.row(-1, named=True)
    good_since = runs.filter(pl.col("began_at") > last["began_at"], ~pl.col("long") & ~pl.col("far")).height
    past = long_past(limit, last["began_at"], log_ends(book, known.set_id), good_since)
    severity = Severity.URGENT if grave.height else Severity.SOON if real.height else Severity.NOTE
    by_far = last["far"] and severity is not Severity.SOON
    yield found(
        _OVERLOAD,
        eased(severity) if past else severity,
        far if by_far else over,
        last["overload_far_s" if by_far else "overload_s"],
        (judged["began_at"][0], last["ended_at"]),
        variant="held" if not real.height else "past" if past else "far" if grave.height else "lasting",
        evidence={
            "over": hits.height,
            "runs": runs.height,
            "over_s": last["overload_s"],
            "far_s": last["overload_far_s"],
            "highest_fraction": last["load_fraction_max"],
            "rated_kw": known.rated_kw,
            "available_fraction": _available(known, last["ambient_before_c"]),
            "ambient_c": last["ambient_before_c"],
            "frequency_hz": last["frequency_heavy_hz"] or last["frequency_mean_hz"],
            "good_since": good_since,
            "last_at": last["began_at"],
        },
    )


def _held(known: Known, limit: Limits) -> pl.Expr:
    """The frequency stands clearly above rated at the heavy end of the load; False where it is not logged."""
    rated = known.rated_frequency_hz
    if rated is None:
        return pl.lit(False)
    hz = pl.coalesce("frequency_heavy_hz", "frequency_mean_hz")
    return ((hz > rated * (1 + limit.value("overload_held_fraction"))) & alive(limit, rated)).fill_null(False)


def _available(known: Known, ambient_c: float | None) -> float:
    """What altitude and heat leave of the rating, as a share."""
    return DIESEL.factor(known.entry.altitude_m or 0.0, ambient_c)
