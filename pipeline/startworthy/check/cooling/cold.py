"""Will it keep running: an engine that stays too cold under load, and a heater that does not heat."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.conditions import LIMITS as OF_CONDITIONS
from startworthy.check.conditions import warm_runs
from startworthy.check.found import (
    DAY_S,
    HOUR_S,
    day_begins,
    day_ends,
    eased,
    found,
    least,
    middle,
    not_assessed,
    spells,
)
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook


@check(
    "cooling.running_cold",
    question=Question.KEEP_RUNNING,
    signals=["coolant_c"],
    needs=["runs.coolant_warm_c"],
    limits=[
        *(name for name in OF_CONDITIONS if name != "alike_length_times"),
        "running_cold_c",
        "running_cold_under_own_c",
        "running_cold_settled_c",
        "running_cold_run_s",
        "running_cold_load_fraction",
        "running_cold_air_c",
        "running_cold_alike",
        "recent_repeats",
    ],
    since="0.1",
)
def running_cold(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Settled coolant after half an hour under load: below 60 C, or well below what as easy a run came to before."""
    if known.entry.air_cooled:
        yield not_assessed("cooling.running_cold", Reason.NOTHING_SEEN, why="air_cooled")
        return
    warm = warm_runs(book, known, limit)
    runs = warm.runs.drop_nulls("coolant_warm_c")
    if runs.height and not (warm.rated and runs["load"].null_count() < runs.height):
        yield not_assessed("cooling.running_cold", Reason.SIGNAL_MISSING, why="no_load")
        return
    runs = runs.filter(
        pl.col("running_high_s") >= limit.value("running_cold_run_s"),
        pl.col("load") >= limit.value("running_cold_load_fraction"),
        (pl.col("air_c") > limit.value("running_cold_air_c")).fill_null(False),
    )
    if runs.is_empty():
        yield not_assessed(
            "cooling.running_cold",
            Reason.TOO_FEW,
            why="no_run",
            wanted_s=limit.value("running_cold_run_s"),
            load_fraction=limit.value("running_cold_load_fraction"),
        )
        return
    runs = _against_own(runs, limit)
    cold, under = limit["running_cold_c"], limit["running_cold_under_own_c"]
    settled = pl.col("coolant_max_c") - pl.col("coolant_warm_c") <= limit.value("running_cold_settled_c")
    runs = runs.with_columns((pl.col("coolant_warm_c") < cold.value).alias("absolute"))
    below = pl.col("absolute") | (pl.col("under") > under.value)
    runs = runs.with_columns((settled.fill_null(True) & below).fill_null(False).alias("cold"))
    latest = runs.tail(int(limit.value("recent_runs")))
    hits = latest.filter("cold")
    if hits.is_empty():
        yield Clear("cooling.running_cold", {"runs": runs.height, "lowest_c": least(runs["coolant_warm_c"])})
        return
    last = hits.row(-1, named=True)
    own = not last["absolute"]
    repeated = limit["recent_repeats"].broken_by(hits.height)
    yield found(
        "cooling.running_cold",
        Severity.SOON if repeated else Severity.NOTE,
        under if own else cold,
        last["under"] if own else last["coolant_warm_c"],
        (hits["began_at"][0], last["ended_at"]),
        variant=("own" if own else "cold") if repeated else "once",
        evidence={
            "cold": hits.height,
            "latest": latest.height,
            "warm_c": last["coolant_warm_c"],
            "under_dc": last["under"],
            "air_c": last["air_c"],
            "load_fraction": last["load"],
            "run_s": last["running_s"],
            "last_at": last["began_at"],
        },
    )


def _against_own(runs: pl.DataFrame, limit: Limits) -> pl.DataFrame:
    """Adds `under`: by how many degrees a run stayed below earlier ones with no more load and no warmer air.

    Neither more load nor warmer air makes an engine colder, so no season and no light load can show as a fault.
    """
    cols = runs.select("began_at", "coolant_warm_c", "air_c", "load")
    pairs = cols.join(cols, how="cross", suffix="_then").filter(pl.col("began_at_then") < pl.col("began_at"))
    easier = (pl.col("load_then") <= pl.col("load") + limit.value("alike_load_fraction")) & (
        pl.col("air_c_then") <= pl.col("air_c") + 1.0
    )
    own = (
        pairs.filter(easier.fill_null(False))
        .group_by("began_at")
        .agg(
            (pl.col("coolant_warm_c_then") - pl.col("coolant_warm_c")).median().alias("under"), pl.len().alias("alike")
        )
        .with_columns(pl.when(pl.col("alike") >= limit.value("running_cold_alike")).then("under").alias("under"))
    )
    return runs.join(own, on="began_at", how="left", maintain_order="left")


@check(
    "cooling.heater_off",
    question=Question.START,
    signals=["coolant_c"],
    needs=["days.rest_coolant_c"],
    limits=[
        "heater_least_c",
        "heater_over_air_c",
        "heater_fallen_c",
        "heater_known_days",
        "heater_off_days",
        "heater_warm_season_c",
    ],
    since="0.1",
)
def heater_off(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Coolant at rest of an engine with a heater: near the air, below what a heater holds, day after day till now."""
    if known.entry.air_cooled:
        yield not_assessed("cooling.heater_off", Reason.NOTHING_SEEN, why="air_cooled")
        return
    away = (pl.col("mains_lost_s") > HOUR_S).fill_null(False)
    quiet = (
        book.days.sort("day")
        .filter((pl.col("running_s") == 0.0).fill_null(False), ~away)
        .drop_nulls("rest_coolant_c")
        .with_columns((pl.col("rest_coolant_c") - pl.col("ambient_c")).alias("over_c"))
    )
    fitted = known.entry.coolant_heater
    heated = quiet.filter(pl.col("over_c") > limit.value("heater_over_air_c"))
    learnt = not limit["heater_known_days"].broken_by(heated.height)
    if fitted is False or (fitted is None and not learnt):
        yield not_assessed("cooling.heater_off", Reason.NOT_IN_REGISTER, why="no_heater")
        return
    wanted = int(limit.value("heater_off_days"))
    if quiet.height < wanted:
        yield not_assessed("cooling.heater_off", Reason.TOO_FEW, why="few_days", days=quiet.height, wanted=wanted)
        return
    usual_c = middle(heated["rest_coolant_c"]) if learnt else None
    edge_c = limit.value("heater_least_c")
    if usual_c is not None:
        edge_c = min(edge_c, usual_c - limit.value("heater_fallen_c"))
    usual_over = middle(heated["over_c"]) if learnt else None
    near_air = limit.value("heater_over_air_c") if usual_over is None else usual_over / 2
    off = (pl.col("rest_coolant_c") < edge_c) & (pl.col("over_c") < near_air).fill_null(True)
    spell = spells(quiet, off, pl.col("day").first().alias("from"), pl.col("day").last().alias("to"))
    last = spell.filter(pl.col("last_row") == quiet.height - 1)
    if last.is_empty() or int(last["last_row"][0]) - int(last["first_row"][0]) + 1 < wanted:
        yield Clear(
            "cooling.heater_off",
            {"days": quiet.height, "coolant_c": middle(quiet["rest_coolant_c"].tail(wanted)), "usual_c": usual_c},
        )
        return
    during = quiet.slice(int(last["first_row"][0]))
    air_c = middle(during["ambient_c"].tail(wanted))
    mild = air_c is not None and air_c > limit.value("heater_warm_season_c")
    began_at = day_begins(last["from"][0], known.time_zone)
    severity = eased(Severity.SOON) if mild else Severity.SOON
    yield found(
        "cooling.heater_off",
        severity,
        limit["heater_least_c"],
        middle(during["rest_coolant_c"].tail(wanted)) or 0.0,
        (began_at, day_ends(last["to"][0], known.time_zone)),
        variant="mild" if mild else "off" if usual_c is not None else "never",
        edge=edge_c,
        evidence={
            "coolant_c": middle(during["rest_coolant_c"].tail(wanted)),
            "usual_c": usual_c,
            "air_c": air_c,
            "least_c": edge_c,
            "off_days": (day_ends(last["to"][0], known.time_zone) - began_at).total_seconds() / DAY_S,
            "from_date": began_at,
        },
    )
