"""What each run showed: output in steady state, oil, coolant, battery, fuel, and how it ended."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from startworthy.logbook.alarmwords import ENDS, NOT_AN_END
from startworthy.logbook.known import output_voltage
from startworthy.logbook.marks import FUEL_STEP_FRACTION
from startworthy.logbook.rows import Rows
from startworthy.logbook.spells import longest
from startworthy.physics.tank import full_litres, litres_over
from startworthy.register import SetEntry

# Common practice, no source, but for SETTLE_S (trade: steady state begins about 20 s after a start or a load step).
SETTLE_S = 20.0
LOAD_STEP = 0.10
AT_SPEED, NEAR_SPEED = 0.9, 0.8
WARM_AFTER_S, CHARGED_AFTER_S = 600.0, 300.0
WARM_C = 60.0
OIL_READY_RESOLUTION_S = 5.0
HOT_C = 71.0
"""160 F: US Army TM 9-6115-464-12, 2-13, asks for it twice, 15 min apart, in an exercise."""
SAG_WINDOW_S, SAGGED_BACK = 180.0, 0.985
OVERSPEED_SLACK, DEAD, TURNS, SHED_S = 0.02, 0.2, 0.5, 20.0
END_WINDOW_S = 90.0
LAST_LEVEL_S, EMPTY_FRACTION = 300.0, 0.025
LEVEL_QUARTERS = 4


def running_rows(rows: Rows, runs: pl.DataFrame) -> pl.DataFrame:
    """The running rows with `run`, `age_s` since the run's first row, `left_s` to its last, `volts`, `load`, `kw`.

    share: load over rated, else over the highest of the set's log. stepped: a load step lies before the row. steady: at
    speed, SETTLE_S after the start and after any step. speed_share, surely_share: see _speed_share.
    """
    spans = (
        runs.select("run", "began_at", "last_at", "spans")
        .explode("spans")
        .select(
            "run",
            "began_at",
            "last_at",
            pl.int_ranges(pl.col("spans").list.first(), pl.col("spans").list.last() + 1, dtype=pl.UInt32).alias("idx"),
        )
    )
    of_rows = spans.explode("idx", empty_as_null=False) if runs.height else spans.explode("idx")
    frame = rows.frame[of_rows["idx"]].with_columns(of_rows["run"], of_rows["began_at"], of_rows["last_at"])
    rated_kw = rows.profile.rated_kw
    load = [pl.col("load_fraction")] if rows.has("load_fraction") else []
    if rows.has("power_kw") and rated_kw:
        load.append(pl.col("power_kw") / rated_kw)
    kw = pl.col("power_kw") if rows.has("power_kw") else pl.lit(None, pl.Float64)
    if rows.has("load_fraction") and rated_kw:
        kw = pl.coalesce(kw, pl.col("load_fraction") * rated_kw)
    frame = frame.with_columns(
        _s(pl.col("at") - pl.col("began_at")).alias("age_s"),
        _s(pl.col("last_at") - pl.col("at")).alias("left_s"),
        output_voltage(frame.columns).alias("volts"),
        (pl.coalesce(load) if load else pl.lit(None, pl.Float64)).alias("load"),
        kw.alias("kw"),
        _speed_share(rows).alias("speed_share"),
        _speed_share(rows, least=True).alias("surely_share"),
    )
    # without a rating a step is told against the highest load seen in the set's log; where that is 0 there is no load
    known = rows.profile.highest_kw
    highest = pl.col("kw").max().over("set_id") if known is None else pl.lit(known)
    frame = frame.with_columns(
        pl.coalesce("load", pl.when(highest > 0).then(pl.col("kw") / highest).otherwise(pl.col("kw"))).alias("share")
    )
    same_run = pl.col("run").eq(pl.col("run").shift(1)) & pl.col("set_id").eq(pl.col("set_id").shift(1))
    stepped = ((pl.col("share").diff().abs() > LOAD_STEP) & same_run).fill_null(False)
    # windows do not nest: what one works on has to stand in a column of its own
    frame = frame.with_columns(stepped.alias("stepped"))
    since_step = _s(pl.col("at") - pl.when("stepped").then("at").otherwise(None).forward_fill().over("set_id", "run"))
    near_speed = (
        pl.when(pl.col("speed_share").is_null())
        .then(pl.col("left_s") > 0)
        .otherwise(pl.col("speed_share") >= NEAR_SPEED)
    )
    return frame.with_columns(
        ((pl.col("age_s") >= SETTLE_S) & (since_step.is_null() | (since_step >= SETTLE_S)) & near_speed).alias(
            "steady"
        ),
    )


def details(ran: pl.DataFrame, rows: Rows) -> pl.DataFrame:
    """One row per set and run with the figures of the runs table that the running rows tell."""
    profile = rows.profile
    weight, age = pl.col("weight_s"), pl.col("age_s")
    at_speed = (pl.col("speed_share") >= AT_SPEED).fill_null(pl.col("left_s") > 0)

    def mean(name: str, where: pl.Expr) -> pl.Expr:
        held = weight.filter(where & pl.col(name).is_not_null()).sum()
        return pl.when(held > 0).then((pl.col(name) * weight).filter(where).sum() / held)

    every, steady = pl.lit(True), pl.col("steady")
    aggregates = [
        _s(pl.col("at").diff()).filter(_s(pl.col("at").diff()) > 0).median().alias("resolution_s"),
        mean("kw", every).alias("load_kw_mean"),
        pl.col("kw").filter(steady).min().alias("load_kw_min"),
        pl.col("kw").max().alias("load_kw_max"),
        mean("load", every).alias("load_fraction_mean"),
        pl.col("load").max().alias("load_fraction_max"),
        weight.filter(steady).sum().alias("steady_s"),
        mean("volts", steady).alias("voltage_mean_v"),
        pl.col("volts").filter(steady).quantile(0.05).alias("voltage_low_v"),
        pl.col("volts").filter(steady).quantile(0.95).alias("voltage_high_v"),
    ]
    if rows.has("frequency_hz"):
        hz = pl.col("frequency_hz").filter(steady)
        aggregates += [
            mean("frequency_hz", steady).alias("frequency_mean_hz"),
            hz.quantile(0.05).alias("frequency_low_hz"),
            hz.quantile(0.95).alias("frequency_high_hz"),
            hz.min().alias("frequency_min_hz"),
            hz.max().alias("frequency_max_hz"),
        ]
    if rows.has("speed_rpm"):
        aggregates.append(mean("speed_rpm", steady).alias("speed_mean_rpm"))
    turn = pl.col("speed_share")
    # where speed and frequency are both told, only what both say is too fast: one of them may be scaled wrongly
    surely = pl.col("surely_share")
    two_rows = pl.min_horizontal(surely, surely.shift(1))
    came_back = age.filter(turn >= SAGGED_BACK * turn.filter(steady).mean()).max()
    aggregates += [
        two_rows.max().alias("speed_max_fraction"),
        (1.0 - turn.filter((age >= SETTLE_S) & age.is_between(came_back - SAG_WINDOW_S, came_back)).min()
            / turn.filter(steady).mean()).clip(0.0).alias("end_sag_fraction"),
    ]  # fmt: skip
    if rows.has("oil_kpa"):
        oil = pl.col("oil_kpa")
        settled = at_speed & (age >= profile.oil_settle_s) & oil.is_not_null()
        built = age.filter(oil >= profile.oil_low_kpa).first()
        aggregates += [
            oil.filter(settled).min().alias("oil_min_kpa"),
            oil.filter(at_speed & (age >= WARM_AFTER_S)).median().alias("oil_warm_kpa"),
            pl.when(_s(pl.col("at").diff()).median() <= OIL_READY_RESOLUTION_S).then(built).alias("oil_ready_s"),
            pl.when(_s(pl.col("at").diff()).median() <= OIL_READY_RESOLUTION_S)
            .then(age.filter(oil.is_not_null() & (age < built)).last().fill_null(0.0))
            .alias("oil_ready_low_s"),
        ]
    if rows.has("coolant_c"):
        coolant = pl.col("coolant_c")
        warm = (age >= WARM_AFTER_S) & (age >= 2 / 3 * age.max())
        aggregates += [
            coolant.max().alias("coolant_max_c"),
            coolant.filter(warm).median().alias("coolant_warm_c"),
            age.filter(coolant >= HOT_C).first().alias("coolant_hot_s"),
            pl.when(coolant.first() < WARM_C).then(age.filter(coolant >= WARM_C).first()).alias("warm_up_s"),
        ]
    if rows.has("ambient_c"):
        aggregates.append(mean("ambient_c", every).alias("ambient_c"))
    if rows.has("battery_v"):
        charged = age >= CHARGED_AFTER_S
        aggregates.append(pl.col("battery_v").filter(charged).median().alias("battery_running_v"))
        late = charged & (age >= 2 / 3 * age.max())
        aggregates.append(pl.col("battery_v").filter(late).median().alias("battery_running_end_v"))
    if rows.has("fuel_flow_lph"):
        aggregates.append((pl.col("fuel_flow_lph") * weight).sum().truediv(3600.0).alias("flow_l"))
    if rows.has("mode"):
        aggregates.append(pl.col("mode").drop_nulls().cast(pl.String).mode().sort().first().alias("mode"))
    aggregates += [
        pl.col(name).filter(at_speed if name == "oil_kpa" else every).drop_nulls().last().alias(f"last_{name}")
        for name in ("coolant_c", "oil_kpa")
        if rows.has(name)
    ]
    if rows.has("fuel_fraction"):
        # a sender sloshes: the last row alone says nothing
        aggregates.append(
            pl.col("fuel_fraction").filter(pl.col("left_s") <= LAST_LEVEL_S).median().alias("last_fuel_fraction")
        )
    # an engine runs up as its load is taken off before a stop: what counts is the speed before that
    shed_age = age.filter(pl.col("stepped") & (pl.col("left_s") <= SHED_S)).min().fill_null(age.max() + 1.0)
    aggregates.append(two_rows.filter(age < shed_age).tail(5).max().alias("last_speed_share"))
    found = ran.group_by("set_id", "run", maintain_order=True).agg(aggregates)
    seen_by: dict[str, str] = {}
    masks: dict[str, pl.Expr] = {}
    if rows.has("oil_kpa"):
        masks["oil_low_s"] = at_speed & (age >= profile.oil_settle_s) & (pl.col("oil_kpa") < profile.oil_low_kpa)
        seen_by["oil_low_s"] = "oil_min_kpa"
    if rows.has("coolant_c"):
        masks["coolant_high_s"] = pl.col("coolant_c") > profile.coolant_high_c
        masks["coolant_stop_s"] = pl.col("coolant_c") > profile.coolant_stop_c
        seen_by |= dict.fromkeys(("coolant_high_s", "coolant_stop_s"), "coolant_max_c")
    if profile.rated_rpm or profile.rated_frequency_hz:
        masks["overspeed_s"] = surely > 1.0 + profile.droop_fraction + OVERSPEED_SLACK
        seen_by["overspeed_s"] = "speed_max_fraction"
    if profile.tellers.speed and profile.rated_rpm and profile.rated_voltage_v and rows.has_output_voltage():
        own_speed = pl.col("speed_rpm") >= AT_SPEED * profile.rated_rpm
        masks["no_voltage_s"] = own_speed & (age >= SETTLE_S) & (pl.col("volts") < DEAD * profile.rated_voltage_v)
        seen_by["no_voltage_s"] = "run"
    found = found.join(longest(ran, masks), on=["set_id", "run"], how="left").with_columns(
        pl.when(pl.col(seen).is_not_null()).then(pl.col(name).fill_null(0.0)).alias(name)
        for name, seen in seen_by.items()
    )
    return found.with_columns(pl.col("set_id").cast(pl.String))


def ended_by(runs: pl.DataFrame, alarms: pl.DataFrame, rows: Rows, clock_fell_back: pl.DataFrame) -> pl.DataFrame:
    """Adds `ended_by` and `end_text`: from an alarm, from a limit crossed just before it, else from the rows.

    runs: with the `last_` figures of `details`. alarms: marks of kind alarm. clock_fell_back: marks of kind clock_jump.
    A log that breaks off at speed only counts as a power cut with a second sign: the clock fell back at that instant.
    """
    runs = runs.with_row_index("key")
    texts = _end_texts(runs, alarms)
    runs = runs.join(texts, on="key", how="left")
    there = set(runs.columns)
    text = pl.col("end_text").str.to_lowercase()
    told: pl.Expr = pl.lit(None, pl.String)
    for end, words in reversed(ENDS):
        told = pl.when(text.str.contains(words)).then(pl.lit(end)).otherwise(told)
    told = pl.when(text.str.contains(NOT_AN_END)).then(None).otherwise(told)

    def last(name: str) -> pl.Expr:
        return pl.col(f"last_{name}") if f"last_{name}" in there else pl.lit(None, pl.Float64)

    crossed: pl.Expr = (
        pl.when(last("speed_share") > 1.15)
        .then(pl.lit("overspeed"))
        .when(last("oil_kpa") < rows.profile.oil_low_kpa)
        .then(pl.lit("oil"))
        .when(last("coolant_c") > rows.profile.coolant_high_c + 4.0)
        .then(pl.lit("coolant"))
        .when(last("fuel_fraction") < EMPTY_FRACTION)
        .then(pl.lit("fuel"))
    )
    # slow rows may catch the pressure as it falls after a stop: only close rows tell that it fell first
    crossed = pl.when(
        (pl.col("resolution_s") <= 2.0) | (last("oil_kpa") >= rows.profile.oil_low_kpa).fill_null(True)
    ).then(crossed)
    cut = pl.col("last_at").is_in(clock_fell_back["began_at"].implode()) if clock_fell_back.height else pl.lit(False)
    plain = (
        pl.when("end_seen")
        .then(pl.lit("stop"))
        .when(cut)
        .then(pl.lit("power_cut"))
        .when(pl.col("after_at").is_null())
        .then(pl.lit("log_end"))
        .otherwise(pl.lit("unknown"))
    )
    return runs.with_columns(pl.coalesce(told, pl.when("end_seen").then(crossed), plain).alias("ended_by")).drop("key")


def _end_texts(runs: pl.DataFrame, alarms: pl.DataFrame) -> pl.DataFrame:
    if alarms.is_empty() or runs.is_empty():
        return pl.DataFrame(schema={"key": pl.UInt32, "end_text": pl.String})
    near = (
        runs.select("key", "set_id", "began_at", "ended_at", "resolution_s")
        .join(alarms.select("set_id", "text", pl.col("began_at").alias("alarm_at")), on="set_id")
        .filter(
            pl.col("alarm_at") > pl.col("began_at"),
            _s(pl.col("ended_at") - pl.col("alarm_at")).abs()
            <= pl.max_horizontal(pl.lit(END_WINDOW_S), pl.col("resolution_s").fill_null(0.0) * 2),
        )
    )
    return near.group_by("key").agg(pl.col("text").sort_by("alarm_at").last().alias("end_text"))


def with_levels(runs: pl.DataFrame, found: pl.DataFrame, tanks: Mapping[str, SetEntry]) -> pl.DataFrame:
    """Adds fuel_before_fraction, fuel_after_fraction and fuel_used_l from levels at rest (see rest.quarters).

    tanks: register entries by set_id; levels become litres through the tank's shape.
    """
    rest = found.filter(pl.col("fuel_fraction").is_not_null())
    level = pl.col("fuel_fraction")
    rest = rest.select(
        "set_id",
        "quarter_at",
        _level_until(level).over("set_id").alias("fuel_before_fraction"),
        _level_until(level.reverse()).reverse().over("set_id").alias("fuel_after_fraction"),
    ).sort("quarter_at")
    day = "1d"
    runs = (
        runs.sort("began_at")
        .join_asof(
            rest.select("set_id", "quarter_at", "fuel_before_fraction"),
            left_on="began_at",
            right_on="quarter_at",
            by="set_id",
            strategy="backward",
            check_sortedness=False,
            tolerance=day,
        )
        .drop("quarter_at", strict=False)
    )
    runs = (
        runs.sort("ended_at")
        .join_asof(
            rest.select("set_id", "quarter_at", "fuel_after_fraction"),
            left_on="ended_at",
            right_on="quarter_at",
            by="set_id",
            strategy="forward",
            check_sortedness=False,
            tolerance=day,
        )
        .drop("quarter_at", strict=False)
    )
    used = litres_over(tanks, pl.col("fuel_before_fraction")) - litres_over(tanks, pl.col("fuel_after_fraction"))
    full = {set_id: full_litres(entry) for set_id, entry in tanks.items()}
    full_l = pl.col("set_id").replace_strict(full, default=None, return_dtype=pl.Float64) if full else pl.lit(None)
    # a tank that is fuller after a run was filled: what the run used is lost in that
    used = pl.when(used >= -FUEL_NOISE * full_l).then(used.clip(0))
    flow = pl.col("flow_l") if "flow_l" in runs.columns else pl.lit(None, pl.Float64)
    return runs.with_columns(pl.coalesce(flow, used).alias("fuel_used_l")).sort("set_id", "run")


FUEL_NOISE = 0.02


def _level_until(level: pl.Expr) -> pl.Expr:
    """The mean of an hour, or the last quarter hour alone where a refuel lies within that hour."""
    highest, lowest = level.rolling_max(LEVEL_QUARTERS, min_samples=1), level.rolling_min(LEVEL_QUARTERS, min_samples=1)
    calm = highest - lowest < FUEL_STEP_FRACTION
    return pl.when(calm).then(level.rolling_mean(LEVEL_QUARTERS, min_samples=1)).otherwise(level)


def _speed_share(rows: Rows, *, least: bool = False) -> pl.Expr:
    """Speed or frequency over rated, the higher; null where neither is known. least: the lower, of those that turn."""
    profile, choices = rows.profile, []
    if profile.tellers.speed and profile.rated_rpm:
        choices.append(pl.col("speed_rpm") / profile.rated_rpm)
    if profile.tellers.frequency and profile.rated_frequency_hz:
        choices.append(pl.col("frequency_hz") / profile.rated_frequency_hz)
    if not choices:
        return pl.lit(None, pl.Float64)
    return pl.min_horizontal(pl.when(c > TURNS).then(c) for c in choices) if least else pl.max_horizontal(choices)


def _s(duration: pl.Expr) -> pl.Expr:
    return duration.dt.total_microseconds() / 1e6
