"""Demands: attempts in one sequence, runs whose cranks fell between rows, and failures that only an alarm tells."""

from __future__ import annotations

import polars as pl

from startworthy.logbook.alarmwords import FAILED_START
from startworthy.logbook.attempts import COUNTED_AT_S
from startworthy.logbook.rows import Rows
from startworthy.logbook.tables import empty, in_form

# Common practice, no source: a long preheat with a pause reaches 60 s, a starter's usual pause by hand is 2 min.
SEQUENCE_AUTOMATIC_S, SEQUENCE_MANUAL_S = 90.0, 180.0
FAILED_STATES = r"fail.{0,12}(start|crank)|(start|crank).{0,12}fail|over ?crank|did not start"
SEQUENCE_STATES, LOCKED_STATES = r"pre-?heat|glow|crank|\bstarting", r"lock.{0,4}out"
ALARM_IS_SEEN_S = 600.0
READY_VOLTS, READY_HZ_LOW, READY_HZ_HIGH = 0.90, 0.95, 1.10


def starts_and_attempts(
    near: pl.DataFrame, seen: pl.DataFrame, runs: pl.DataFrame, marks: pl.DataFrame, rows: Rows
) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame]:
    """The starts and attempts tables (causes still `unknown`), and set_id, run, demand of runs whose start was told.

    near: windows of readings; seen: attempts in them; runs: skeleton with set_id as text; marks: for alarms and mains.
    """
    seen = seen.with_columns(pl.col("set_id").cast(pl.String))
    firsts = runs.filter(pl.col("start_seen") | pl.col("in_gap")).select(
        "set_id",
        "run",
        pl.col("began_at").alias("run_at"),
        pl.col("before_at").alias("run_before_at"),
        "start_seen",
    )
    seen = seen.join(
        firsts.select("set_id", "run", "run_at"),
        left_on=["set_id", "fired_at"],
        right_on=["set_id", "run_at"],
        how="left",
    ).with_columns(pl.col("run").is_not_null().alias("fired"))
    unseen = _runs_without_cranks(firsts, seen, near, runs)
    events = pl.concat([seen.with_columns(pl.lit("crank").alias("told")), unseen], how="diagonal_relaxed").sort(
        "set_id", "began_at"
    )
    events = _coarse_failures_out(_numbered(events))
    if events.is_empty() and marks.is_empty() and not rows.has("state"):
        return empty("starts"), empty("attempts"), _links(empty("starts"))
    alarms = _failed_by_alarm(events, _said_failed(marks, rows), runs)
    events = _numbered(pl.concat([events, alarms], how="diagonal_relaxed").sort("set_id", "began_at"))
    starts = _starts(events, runs, marks, rows, near)
    counted = events.filter(pl.col("rows").is_not_null())
    attempts = counted.with_columns(
        pl.int_range(1, pl.len() + 1, dtype=pl.Int32).over("set_id", "demand").alias("attempt")
    )
    return starts, in_form("attempts", attempts), _links(starts)


def _links(starts: pl.DataFrame) -> pl.DataFrame:
    return starts.filter(pl.col("run").is_not_null()).select("set_id", "run", "demand")


def _runs_without_cranks(
    firsts: pl.DataFrame, seen: pl.DataFrame, near: pl.DataFrame, runs: pl.DataFrame
) -> pl.DataFrame:
    """One event per run without a seen crank. Where rows are close enough, its one crank is an attempt all the same."""
    rest = firsts.join(seen.filter("fired").select("set_id", "run"), on=["set_id", "run"], how="anti")
    high = pl.max_horizontal(_s(pl.col("run_at") - pl.col("run_before_at")), pl.col("clock_s").fill_null(0.0))
    there = near.filter("running").select(
        pl.col("set_id").cast(pl.String), pl.col("at").alias("run_at"), "level_v", "clock_s"
    )
    rest = rest.join(there.unique(["set_id", "run_at"]), on=["set_id", "run_at"], how="left")
    close = pl.col("start_seen") & (high <= COUNTED_AT_S)
    return rest.select(
        "set_id",
        "run",
        pl.col("run_at").alias("began_at"),
        pl.col("run_at").alias("ended_at"),
        pl.col("run_at").alias("fired_at"),
        pl.col("run_before_at").alias("before_at"),
        pl.when(close).then(pl.lit(0, pl.Int32)).alias("rows"),
        pl.when(close).then(0.0).alias("crank_low_s"),
        pl.when(close).then(high).alias("crank_high_s"),
        pl.when(close).then(high / 2).alias("crank_s"),
        pl.col("level_v").alias("battery_before_v"),
        high.alias("resolution_s"),
        pl.lit(True).alias("fired"),
        pl.lit("run").alias("told"),
    )


def _numbered(events: pl.DataFrame) -> pl.DataFrame:
    """Number the demands: a new one after a run, or after more rest than lies within a starting sequence."""
    same = pl.col("set_id").eq(pl.col("set_id").shift(1)).fill_null(False)
    ended = pl.coalesce("ended_at", "began_at").shift(1)
    by_hand = pl.col("mode").eq("manual").fill_null(False) if "mode" in events.columns else pl.lit(False)
    pause = pl.when(by_hand).then(SEQUENCE_MANUAL_S).otherwise(SEQUENCE_AUTOMATIC_S)
    # rows far apart stretch the pause that is seen between two attempts of one sequence
    pause = pause + pl.col("resolution_s").fill_null(0.0).clip(0, 60)
    new = ~same | pl.col("fired").shift(1).fill_null(False) | (_s(pl.col("began_at") - ended) > pause)
    return events.with_columns(new.fill_null(True).cum_sum().alias("key")).with_columns(
        pl.col("key").rank("dense").over("set_id").cast(pl.Int32).alias("demand")
    )


def _coarse_failures_out(events: pl.DataFrame) -> pl.DataFrame:
    """A lone slow row that looks like a crank, and no run after it, is no failed demand.

    However sure the crank is: the run that it led to may lie whole before the next row. An alarm or a state tells.
    """
    if events.is_empty():
        return events
    failed = ~pl.col("fired").any().over("key")
    coarse = pl.col("resolution_s").min().over("key") > COUNTED_AT_S
    thin = pl.col("rows").sum().over("key") < 2
    return events.filter(~(failed & coarse & thin))


def _said_failed(marks: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    """Where an alarm or the state says that a start failed: set_id, alarm_at, told (alarm or state), by time."""
    said = marks.filter(pl.col("kind").eq("alarm") & pl.col("text").str.to_lowercase().str.contains(FAILED_START))
    alarms = said.select("set_id", pl.col("began_at").alias("alarm_at"), pl.lit("alarm").alias("told"))
    return pl.concat([alarms, _failed_states(rows)]).sort("alarm_at")


def _failed_states(rows: Rows) -> pl.DataFrame:
    """States that turn at rest to failed start, or to locked out within two rows of a starting sequence."""
    none = pl.DataFrame(schema={"set_id": pl.String, "alarm_at": pl.Datetime("us", "UTC"), "told": pl.String})
    if not rows.has("state"):
        return none
    words = rows.frame["state"].unique().drop_nulls().cast(pl.String)
    lower = words.str.to_lowercase()
    failed = lower.str.contains(FAILED_STATES)
    locked = lower.str.contains(LOCKED_STATES) & ~failed
    in_sequence = words.filter(lower.str.contains(SEQUENCE_STATES) & ~failed & ~locked).to_list()
    ends = words.filter(failed | locked).to_list()
    if not ends:
        return none
    state = pl.col("state").cast(pl.String)
    at_end = (pl.col("state").is_in(ends) & ~pl.col("running")).fill_null(False)
    turns = at_end & ~at_end.shift(1).fill_null(False) & ~pl.col("new") & ~pl.col("gap")
    idx = rows.frame.select(turns.arg_true()).to_series().cast(pl.Int64)
    found = rows.frame.select(pl.col("set_id").cast(pl.String), "at", state)[idx]
    one, two = (
        rows.frame.select(state.is_in(in_sequence).fill_null(False).alias("begun"), "running", "new", "gap")[
            (idx - back).clip(0)
        ]
        for back in (1, 2)
    )
    begun = one["begun"] | (two["begun"] & ~two["running"] & ~one["new"] & ~one["gap"])
    told = found["state"].is_in(words.filter(failed).to_list()) | begun
    found = found.filter(told & ~one["running"])
    # a display that alternates between two words tells of one failure
    since = _s(pl.col("at") - pl.col("at").shift(1).over("set_id"))
    return found.filter(since.is_null() | (since > ALARM_IS_SEEN_S)).select(
        "set_id", pl.col("at").alias("alarm_at"), pl.lit("state").alias("told")
    )


def _failed_by_alarm(events: pl.DataFrame, alarms: pl.DataFrame, runs: pl.DataFrame) -> pl.DataFrame:
    """Alarms that say a start failed, where no failed attempt was seen nearby and the set did not run at that time."""
    if alarms.is_empty():
        return events.clear()
    if events.height:
        failed = (
            events.filter(~pl.col("fired").any().over("key"))
            .select("set_id", pl.col("began_at").alias("seen_at"))
            .sort("seen_at")
        )
        alarms = alarms.join_asof(
            failed,
            left_on="alarm_at",
            right_on="seen_at",
            by="set_id",
            strategy="nearest",
            check_sortedness=False,
            tolerance=f"{int(ALARM_IS_SEEN_S)}s",
        )
        alarms = alarms.filter(pl.col("seen_at").is_null())
    ran = runs.select("set_id", pl.col("began_at").alias("run_at"), pl.col("ended_at").alias("run_end_at")).sort(
        "run_at"
    )
    alarms = alarms.sort("alarm_at").join_asof(
        ran, left_on="alarm_at", right_on="run_at", by="set_id", strategy="backward", check_sortedness=False
    )
    alarms = alarms.filter(pl.col("run_end_at").is_null() | (pl.col("run_end_at") < pl.col("alarm_at")))
    return alarms.select(
        "set_id",
        pl.col("alarm_at").alias("began_at"),
        pl.col("alarm_at").alias("ended_at"),
        pl.lit(False).alias("fired"),
        "told",
    )


def _starts(
    events: pl.DataFrame, runs: pl.DataFrame, marks: pl.DataFrame, rows: Rows, near: pl.DataFrame
) -> pl.DataFrame:
    for name, kind in (
        ("strong", pl.Boolean),
        ("mode", pl.String),
        ("battery_min_v", pl.Float64),
        ("coolant_before_c", pl.Float64),
        ("ambient_c", pl.Float64),
        ("preheat_s", pl.Float64),
    ):
        if name not in events.columns:
            events = events.with_columns(pl.lit(None, kind).alias(name))
    uncounted = (pl.col("resolution_s") > COUNTED_AT_S).any() | pl.col("rows").is_null().any()
    seen = pl.col("rows").is_not_null().sum().cast(pl.Int32)
    found = events.group_by("set_id", "demand", maintain_order=True).agg(
        pl.col("began_at").first(),
        pl.coalesce("fired_at", "ended_at", "began_at").last().alias("ended_at"),
        pl.when(~uncounted).then(seen).alias("attempts"),
        pl.max_horizontal(seen, pl.col("fired").any().cast(pl.Int32)).alias("attempts_at_least"),
        pl.col("fired").any().alias("started"),
        pl.col("run").drop_nulls().last(),
        pl.when(~uncounted).then(pl.col("crank_s").sum()).alias("crank_s"),
        pl.col("preheat_s").first(),
        pl.col("battery_before_v").first(),
        pl.col("battery_min_v").min(),
        pl.col("coolant_before_c").drop_nulls().first(),
        pl.col("ambient_c").drop_nulls().first(),
        pl.col("mode").first(),
        pl.col("before_at").first(),
        pl.col("told").first(),
        pl.col("resolution_s").max(),
    )
    teller = rows.profile.tellers.name()
    by_crank = "speed" if rows.profile.tellers.speed else "battery"
    found = found.with_columns(
        pl.when(pl.col("told").is_in(["alarm", "state"]))
        .then("told")
        .when("started")
        .then(pl.lit(teller))
        .otherwise(pl.lit(by_crank))
        .alias("told_by"),
        pl.lit("unknown").alias("cause"),
    )
    found = with_rest(found, runs, marks)
    found = _with_mains(found, marks)
    return in_form("starts", _with_ready(found, near, rows))


def with_rest(found: pl.DataFrame, runs: pl.DataFrame, marks: pl.DataFrame) -> pl.DataFrame:
    """Adds rest_h, null where a gap (or the log's beginning) lies within the rest."""
    ends = runs.select("set_id", pl.col("ended_at").alias("rest_from")).sort("rest_from")
    gaps = marks.filter(pl.col("kind") == "gap").select("set_id", pl.col("ended_at").alias("gap_to")).sort("gap_to")
    found = found.sort("began_at").join_asof(
        ends,
        left_on="began_at",
        right_on="rest_from",
        by="set_id",
        strategy="backward",
        check_sortedness=False,
    )
    found = found.join_asof(
        gaps, left_on="began_at", right_on="gap_to", by="set_id", strategy="backward", check_sortedness=False
    )
    broken = (pl.col("gap_to") > pl.col("rest_from")).fill_null(False)
    return found.with_columns(
        pl.when(~broken).then(_s(pl.col("began_at") - pl.col("rest_from")) / 3600.0).alias("rest_h")
    ).sort("set_id", "demand")


def _with_mains(found: pl.DataFrame, marks: pl.DataFrame) -> pl.DataFrame:
    """Adds mains_lost_at: the loss that still lasts at the demand, or that ended while it cranked."""
    lost = (
        marks.filter(pl.col("kind") == "mains_lost")
        .select("set_id", pl.col("began_at").alias("lost_at"), pl.col("ended_at").alias("back_at"))
        .sort("lost_at")
    )
    key = pl.col("ended_at").alias("asked_at")
    found = (
        found.with_columns(key)
        .sort("asked_at")
        .join_asof(
            lost,
            left_on="asked_at",
            right_on="lost_at",
            by="set_id",
            strategy="backward",
            check_sortedness=False,
        )
    )
    lasts = pl.col("back_at").is_null() | (pl.col("back_at") >= pl.col("began_at"))
    # a set that already ran when the mains went did not start for that
    return found.with_columns(
        pl.when(lasts & (_s(pl.col("began_at") - pl.col("lost_at")) > -5.0)).then("lost_at").alias("mains_lost_at")
    ).sort("set_id", "demand")


def _with_ready(found: pl.DataFrame, near: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    """Adds the bounds of the time from the demand to volts and frequency in band, where the rows show it."""
    profile = rows.profile
    nothing = [pl.lit(None, pl.Float64).alias(name) for name in ("ready_s", "ready_low_s", "ready_high_s")]
    if near.is_empty() or not profile.rated_voltage_v or not profile.rated_frequency_hz or not rows.has("frequency_hz"):
        return found.with_columns(nothing)
    hz = pl.col("frequency_hz") / profile.rated_frequency_hz
    in_band = (pl.col("volts") >= READY_VOLTS * profile.rated_voltage_v) & hz.is_between(READY_HZ_LOW, READY_HZ_HIGH)
    ready = (
        near.with_columns(pl.col("at").shift(1).over("win").alias("ready_after"), in_band.fill_null(False).alias("ok"))
        .filter("ok")
        .select(pl.col("set_id").cast(pl.String), pl.col("at").alias("ready_at"), "ready_after")
        .sort("ready_at")
    )
    found = found.sort("ended_at").join_asof(
        ready,
        left_on="ended_at",
        right_on="ready_at",
        by="set_id",
        strategy="forward",
        check_sortedness=False,
        tolerance="90s",
    )
    asked = pl.coalesce("mains_lost_at", "began_at")
    earliest = (
        pl.when(pl.col("mains_lost_at").is_null()).then(pl.coalesce("before_at", "began_at")).otherwise("mains_lost_at")
    )
    low = _s(pl.coalesce("ready_after", "ready_at") - asked).clip(0)
    high = _s(pl.col("ready_at") - earliest)
    told = pl.col("started") & pl.col("ready_at").is_not_null()
    return found.with_columns(
        pl.when(told).then(low).alias("ready_low_s"),
        pl.when(told).then(high).alias("ready_high_s"),
        pl.when(told).then((low + high) / 2).alias("ready_s"),
    ).sort("set_id", "demand")


def _s(duration: pl.Expr) -> pl.Expr:
    return duration.dt.total_microseconds() / 1e6
