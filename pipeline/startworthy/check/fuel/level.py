"""Will it keep running: fuel in the tank, and fuel that goes while the set stands still."""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import (
    WEEK_DAYS,
    day_begins,
    day_ends,
    eased,
    found,
    least,
    middle,
    most,
    not_assessed,
)
from startworthy.check.frame import check
from startworthy.check.fuel.last import last_level
from startworthy.findings import Clear, Finding, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.physics.tank import litres_at
from startworthy.results import Known, Logbook
from startworthy.statistics.robust import deviation, scatter
from startworthy.statistics.trend import Slope, onset, theil_sen

_DIGITS = 9


@check(
    "fuel.low",
    question=Question.KEEP_RUNNING,
    carries=True,
    signals=["fuel_fraction|fuel_l"],
    needs=["days.rest_fuel_fraction|days.rest_fuel_last_fraction|runs.fuel_after_fraction"],
    limits=["fuel_low_fraction", "fuel_stop_fraction", "fuel_near_stop_fraction"],
    since="0.1",
)
def low(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """The last level seen at rest, in litres too where the register tells the tank."""
    last = last_level(book, known)
    if last is None:
        yield not_assessed("fuel.low", Reason.NOTHING_SEEN)
        return
    level = last.level
    litres = litres_at(known.entry, level)
    evidence = {"level_fraction": level, "litres_l": litres, "last_date": last.on}
    least, stop = limit["fuel_low_fraction"], limit["fuel_stop_fraction"]
    if not least.broken_by(level):
        yield Clear("fuel.low", evidence)
        return
    edge = stop.value + limit.value("fuel_near_stop_fraction")
    near_stop = level < edge
    variant = ("near_stop" if near_stop else "low") + ("" if litres is None else "_litres")
    yield found(
        "fuel.low",
        Severity.URGENT if near_stop else Severity.SOON,
        stop if near_stop else least,
        level,
        (last.at, last.at),
        variant=variant,
        edge=edge if near_stop else None,
        evidence=evidence | {"stop_fraction": stop.value},
    )


@check(
    "fuel.lost_at_rest",
    question=Question.KEEP_RUNNING,
    signals=["fuel_fraction|fuel_l"],
    needs=["days.rest_fuel_fraction"],
    limits=[
        "fuel_lost_sudden_fraction",
        "fuel_lost_urgent_fraction",
        "fuel_lost_week_fraction",
        "fuel_lost_least_fraction",
        "fuel_lost_noise",
        "fuel_lost_per_c_fraction",
        "fuel_lost_days",
        "fuel_lost_window_days",
        "fuel_low_fraction",
        "fault_recent_days",
        "trend_confidence",
    ],
    since="0.1",
)
def lost_at_rest(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """A fall of the level with the set at rest: sudden within a day, or slow over weeks.

    Held against three times the sender's scatter, a least share of the tank, and what cooling takes off it.
    Days with any running and days with a refuel are left out, and so are the steps across them.
    """
    days = _rest_days(book, known, limit)
    sudden = _sudden(book, known, days, limit)
    if sudden.height:
        yield from _told_sudden(known, sudden, days, limit)
    steps = days.drop_nulls("step")
    if limit["fuel_lost_days"].broken_by(steps.height):
        yield not_assessed(
            "fuel.lost_at_rest",
            Reason.TOO_FEW,
            why="few_days",
            steps=steps.height,
            wanted=int(limit.value("fuel_lost_days")),
        )
        return
    for window in (steps, steps.tail(int(limit.value("fuel_lost_window_days")))):
        if _falls(window, limit):
            yield _told_slow(known, _since_it_began(window, limit), days, limit)
            return
    mean_step = float(steps["step"].sum()) / steps.height
    yield Clear("fuel.lost_at_rest", {"steps": steps.height, "week_fraction": _a_week(mean_step)})


def _rest_days(book: Logbook, known: Known, limit: Limits) -> pl.DataFrame:
    """Days with a rest level, in order, with what each may be compared to.

    Added: rests (no running, no refuel), pair (so does the day before), step (level against the day before,
    null where that does not compare), air_c, change_c (temperature against the day before).
    """
    refuels = book.marks.filter(pl.col("kind") == "refuel").select(
        pl.col("began_at").dt.convert_time_zone(known.time_zone).dt.date().alias("day")
    )
    still = (pl.col("running_s") == 0.0).fill_null(False)
    next_day = (pl.col("day") - pl.col("day").shift(1)).dt.total_days() == 1
    level, temperature_c = pl.col("rest_fuel_fraction"), pl.coalesce("ambient_c", "rest_coolant_c")
    rise = (level - level.shift(1)).round(_DIGITS)
    jump = limit.value("fuel_lost_sudden_fraction")
    return (
        book.days.sort("day")
        .drop_nulls("rest_fuel_fraction")
        .with_columns(
            (still & ~pl.col("day").is_in(refuels["day"].implode())).alias("rests"),
            temperature_c.alias("air_c"),
        )
        .with_columns(
            (pl.col("rests") & pl.col("rests").shift(1, fill_value=False) & next_day).fill_null(False).alias("pair")
        )
        # a jump up is a refuel that nobody marked, a jump down is told by itself; the cut is the same on both sides,
        # for a sender that scatters would else seem to fall
        .with_columns(
            pl.when(pl.col("pair") & (rise.abs() <= jump)).then(rise).alias("step"),
            pl.when("pair").then(rise).alias("rise"),
            pl.when("pair").then((pl.col("air_c") - pl.col("air_c").shift(1)).abs()).alias("change_c"),
        )
    )


def _sudden(book: Logbook, known: Known, days: pl.DataFrame, limit: Limits) -> pl.DataFrame:
    """Days at rest on which the level fell at once and stayed down: day, fall, after."""
    before = (
        pl.when("pair").then(pl.col("rest_fuel_last_fraction").shift(1)).otherwise(pl.col("rest_fuel_first_fraction"))
    )
    last, first_next = pl.col("rest_fuel_last_fraction"), pl.col("rest_fuel_first_fraction").shift(-1)
    # the difference of two shares of a tank, without the noise of its last binary digits
    fall = (before - last).round(_DIGITS)
    within = (
        pl.col("rest_fuel_noise_fraction").fill_null(0.0).rolling_median(int(WEEK_DAYS), min_samples=1, center=True)
    )
    # from day to day: a fall is the difference of two levels
    between = scatter(days["rise"]).scatter or 0.0
    noise = limit.value("fuel_lost_noise") * pl.max_horizontal(within, pl.lit(between))
    cooling = limit.value("fuel_lost_per_c_fraction") * pl.col("rest_fuel_fraction") * pl.col("change_c").fill_null(0.0)
    allowed = pl.max_horizontal(noise, cooling, pl.lit(limit.value("fuel_lost_least_fraction")))
    # a reading that comes back was a bad one
    stayed = (first_next <= before - fall / 2).fill_null(True)
    by_days = (
        days.filter(pl.col("rests"), fall > limit.value("fuel_lost_sudden_fraction"), fall > allowed, stayed)
        if days.height
        else days
    )
    marks = book.marks.filter(pl.col("kind") == "fuel_loss", pl.col("value") > limit.value("fuel_lost_sudden_fraction"))
    by_marks = marks.select(
        pl.col("began_at").dt.convert_time_zone(known.time_zone).dt.date().alias("day"),
        pl.col("value").alias("fall"),
        pl.col("after"),
    )
    told = days.with_columns(fall.alias("fall"), last.alias("after")).join(by_days.select("day"), on="day", how="semi")
    return (
        pl.concat([told.select("day", "fall", "after"), by_marks])
        .sort("day", "fall")
        .unique("day", keep="last", maintain_order=True)
    )


def _told_sudden(known: Known, sudden: pl.DataFrame, days: pl.DataFrame, limit: Limits) -> Iterator[Outcome]:
    worst, last = sudden.sort("fall").row(-1, named=True), sudden.row(-1, named=True)
    level = _level_now(days)
    much = limit["fuel_lost_urgent_fraction"].broken_by(worst["fall"])
    is_low = limit["fuel_low_fraction"].broken_by(level)
    ended_at = day_ends(last["day"], known.time_zone)
    age_days = (days["day"][-1] - last["day"]).days
    severity = Severity.URGENT if much or is_low else Severity.SOON
    yield found(
        "fuel.lost_at_rest",
        eased(severity) if limit["fault_recent_days"].broken_by(age_days) and not is_low else severity,
        limit["fuel_lost_sudden_fraction"],
        worst["fall"],
        (day_begins(sudden["day"][0], known.time_zone), ended_at),
        variant="sudden",
        evidence={
            "times": sudden.height,
            "fall_fraction": worst["fall"],
            "after_fraction": worst["after"],
            "level_fraction": level,
            "on_date": day_begins(worst["day"], known.time_zone),
        },
    )


def _levels(steps: pl.DataFrame) -> pl.Series:
    """The steps from one day at rest to the next, set end to end from 0."""
    return pl.concat([pl.Series([0.0]), steps["step"].cum_sum().cast(pl.Float64)])


def _slope(steps: pl.DataFrame, limit: Limits) -> Slope:
    """Slope of the level over days at rest, in shares of the tank a day."""
    return theil_sen(pl.Series(range(steps.height + 1)), _levels(steps), limit.value("trend_confidence"))


def _week(slope: Slope) -> float:
    """What is lost in a week, as a share of the tank."""
    return _a_week(slope.per_x)


def _a_week(per_day: float | None) -> float:
    return round(-(per_day or 0.0) * WEEK_DAYS, _DIGITS)


def _falls(steps: pl.DataFrame, limit: Limits) -> bool:
    """It falls faster than the limit, surely, and by more than scatter, a least share and cooling account for."""
    levels = _levels(steps)
    if (most(levels) or 0.0) - (least(levels) or 0.0) <= limit.value("fuel_lost_least_fraction"):
        # no slope over so narrow a band can come to the least share, and working it out costs more than all the rest
        return False
    slope = _slope(steps, limit)
    noise = _scatter_of_a_fall(steps)
    ends = int(WEEK_DAYS)
    early, late = middle(steps["air_c"].head(ends)), middle(steps["air_c"].tail(ends))
    change_c = abs(late - early) if early is not None and late is not None else 0.0
    allowed = max(
        limit.value("fuel_lost_noise") * noise,
        limit.value("fuel_lost_least_fraction"),
        limit.value("fuel_lost_per_c_fraction") * (most(steps["rest_fuel_fraction"]) or 0.0) * change_c,
    )
    fall = _week(slope) / WEEK_DAYS * steps.height
    return limit["fuel_lost_week_fraction"].broken_by(_week(slope)) and slope.falls and fall > allowed


def _scatter_of_a_fall(steps: pl.DataFrame) -> float:
    """What the sender's scatter alone does to the whole fall: each stretch between two runs adds both of its ends."""
    stretches = 1 + int((steps["day"].diff().dt.total_days() > 1).sum())
    spread = scatter(steps["step"]).scatter
    # most steps of a coarse sender are none at all, and their median deviation is 0: then the plain deviation stands
    spread = spread or deviation(steps["step"])
    # a step is the difference of two medians: its variance is that of both ends of a stretch
    return spread * float(stretches**0.5)


def _since_it_began(steps: pl.DataFrame, limit: Limits) -> pl.DataFrame:
    """The steps since the level left its plateau, where enough of them are left to tell a slope by."""
    began = onset(_levels(steps)).row or 0
    since = steps.slice(began)
    return steps if limit["fuel_lost_days"].broken_by(since.height) or not _falls(since, limit) else since


def _told_slow(known: Known, steps: pl.DataFrame, days: pl.DataFrame, limit: Limits) -> Finding:
    slope = _slope(steps, limit)
    level = _level_now(days)
    is_low = limit["fuel_low_fraction"].broken_by(level)
    began_at = day_begins(steps["day"][0], known.time_zone)
    return found(
        "fuel.lost_at_rest",
        Severity.URGENT if is_low else Severity.SOON,
        limit["fuel_lost_week_fraction"],
        _week(slope),
        (began_at, day_ends(steps["day"][-1], known.time_zone)),
        variant="slow",
        evidence={
            "week_fraction": _week(slope),
            "week_low_fraction": _a_week(slope.high),
            "week_high_fraction": _a_week(slope.low),
            "days": steps.height,
            "fall_fraction": _week(slope) / WEEK_DAYS * steps.height,
            "level_fraction": level,
            "from_date": began_at,
        },
    )


def _level_now(days: pl.DataFrame) -> float:
    """The last level at rest."""
    last = days.row(-1, named=True)
    level = last["rest_fuel_last_fraction"]
    return float(last["rest_fuel_fraction"] if level is None else level)
