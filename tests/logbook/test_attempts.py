"""Attempts told by the battery alone: levels are the battery's own, not fixed volts. Invented figures, common practice."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest

from startworthy.logbook.build import build
from startworthy.register import Register
from tests.support.logs import Start, Truth, as_readings, instant, log

DAY = 86400.0
FIRES = Start(DAY + 36000, cranks=(2.0,))
FAILS = Start(3 * DAY + 36000, cranks=(10.0, 10.0, 10.0), fires=False)
SECOND = Start(5 * DAY + 36000, cranks=(10.0, 2.0))
SET = Truth(days=7, starts=(FIRES, FAILS, SECOND))
# rest, preheat and crank of one battery
LEVELS = {
    "float": (13.6, 12.6, 10.9),
    "good": (12.7, 12.2, 11.2),
    "low": (11.9, 10.9, 7.6),
    "flat": (8.8, 7.3, 3.5),
    "flat, deep preheat": (8.8, 6.1, 3.8),
}


def book(frame: pl.DataFrame):
    return build(as_readings(frame), Register.model_validate({"sets": {"A": {"rated_kw": 10}}}))


def at_level(name: str, truth: Truth = SET) -> Truth:
    rest, preheat, crank = LEVELS[name]
    return replace(truth, float_v=rest, preheat_v=preheat, crank_v=crank)


@pytest.mark.parametrize("scale", [1.0, 2.0])
@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("dense", [1.0, 2.0])
def test_cranks_are_told_from_their_preheat_at_any_charge(level: str, dense: float, scale: float) -> None:
    b = book(log(replace(at_level(level), scale=scale), dense, drop=("speed_rpm",)))
    assert b.starts["attempts"].to_list() == [1, 3, 2]
    assert b.starts["started"].to_list() == [True, False, True]
    assert b.attempts["crank_s"].to_list() == pytest.approx([2, 10, 10, 10, 10, 2], abs=dense)
    assert b.starts["preheat_s"].to_list() == pytest.approx([8.0] * 3, abs=dense)


@pytest.mark.parametrize("level", LEVELS)
def test_a_starter_that_cannot_turn_the_engine_has_cranked(level: str) -> None:
    """Speed shows cranking as a rule, but stands at zero in the demand that failed."""
    since, until = FAILS.at_s - 10, FAILS.at_s + 200
    stalled = pl.col("at").is_between(instant(since), instant(until))
    frame = log(at_level("good")).with_columns(
        pl.when(stalled).then(0.0).otherwise(pl.col("speed_rpm")).alias("speed_rpm")
    )
    rest, preheat, crank = LEVELS[level]
    volts = pl.col("battery_v").replace_strict({12.7: rest, 12.2: preheat, 11.2: min(crank, 9.0), 14.2: 14.2})
    frame = frame.with_columns(pl.when(stalled).then(volts).otherwise(pl.col("battery_v")).alias("battery_v"))
    b = book(frame)
    assert b.starts["attempts"].to_list() == [1, 3, 2]


@pytest.mark.parametrize("drop", [(), ("speed_rpm",)])
@pytest.mark.parametrize("inrush_v", [4.0, 6.5, 8.8])
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_the_inrush_of_a_crank_hides_neither_the_rest_of_it_nor_the_next(
    drop: tuple[str, ...], inrush_v: float, scale: float
) -> None:
    """The first row of a crank may lie far below the others; a short crank may show that row only."""
    truth = replace(
        at_level("good"), scale=scale, starts=(FIRES, FAILS, replace(SECOND, cranks=(10.0, 1.0), preheat_s=5.0))
    )
    first = pl.any_horizontal([pl.col("at") == instant(a) for s in truth.starts for a, _ in s.crank_spans])
    frame = log(truth, drop=drop).with_columns(
        pl.when(first).then(inrush_v * scale).otherwise(pl.col("battery_v")).alias("battery_v")
    )
    b = book(frame)
    assert b.starts["attempts"].to_list() == [1, 3, 2]
    assert b.attempts["rows"].to_list() == [2, 10, 10, 10, 10, 1]


@pytest.mark.parametrize(
    ("level", "alone"),
    [*((name, True) for name in ("float", "good", "low", "flat")), *((name, False) for name in LEVELS)],
)
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_preheat_alone_is_no_attempt_at_any_charge(level: str, alone: bool, scale: float) -> None:
    """With other starts to compare it with and without. 2.7 V below a flat rest, and nothing else, may be either."""
    lone = Start(6 * DAY, cranks=(0.0,), fires=False, preheat_s=12.0)
    truth = replace(SET, starts=(lone,) if alone else (*SET.starts, lone))
    b = book(log(replace(at_level(level, truth), scale=scale), drop=("speed_rpm",)))
    assert b.starts["attempts"].to_list() == ([] if alone else [1, 3, 2])


@pytest.mark.parametrize("level", ["float", "good", "low", "flat"])
def test_a_set_that_does_not_preheat_cranks_all_the_same(level: str) -> None:
    direct = tuple(replace(s, preheat_s=0.0) for s in SET.starts)
    b = book(log(at_level(level, replace(SET, starts=direct)), drop=("speed_rpm",)))
    assert b.starts["attempts"].to_list() == [1, 3, 2]
    assert b.starts["preheat_s"].to_list() == [0.0] * 3


def test_a_crank_that_pulls_the_battery_down_more_and_more_is_one() -> None:
    """Volts sink and recover slowly; each demand is three attempts of ten seconds, not more."""
    truth = at_level("flat", replace(SET, starts=(FAILS,)))
    since = pl.min_horizontal(
        [
            pl.when(pl.col("at") >= instant(a)).then((pl.col("at") - instant(a)).dt.total_milliseconds() / 1e3)
            for a, _ in FAILS.crank_spans
        ]
    )
    sinking = 4.3 - 0.3 * since
    frame = log(truth, drop=("speed_rpm",))
    cranks = pl.col("battery_v") == 3.5
    after = (since >= 10) & (since < 20) & ~cranks
    frame = frame.with_columns(
        pl.when(cranks)
        .then(sinking)
        .when(after)
        .then(8.8 - 1.4 * (-(since - 10) / 4.0).exp())
        .otherwise(pl.col("battery_v"))
        .alias("battery_v")
    )
    b = book(frame)
    assert b.starts["attempts"].to_list() == [3]
    assert b.attempts["crank_s"].to_list() == pytest.approx([10.0] * 3, abs=1.0)


def test_a_preheat_seen_without_its_crank_is_not_the_crank() -> None:
    """A warm engine fires between two rows: the start is known, and cranked for a second at most."""
    truth = replace(at_level("low"), starts=(FIRES, replace(SECOND, cranks=(0.6,)), replace(FIRES, at_s=6 * DAY)))
    b = book(log(truth, drop=("speed_rpm",), offset_s=0.7))
    assert b.starts["attempts"].to_list() == [1, 1, 1]
    assert b.starts["crank_s"].max() <= 2.5


def state_of(words: list[tuple[float, float, str]]) -> pl.Expr:
    said = pl.lit("ready")
    for since, until, word in words:
        said = (
            pl.when(pl.col("at").is_between(instant(since), instant(until), closed="left"))
            .then(pl.lit(word))
            .otherwise(said)
        )
    return said.cast(pl.Categorical).alias("state")


SPANS = FAILS.crank_spans
SEQUENCE = [
    (FAILS.at_s, SPANS[0][0], "preheat"),
    *((a, b, "cranking") for a, b in SPANS),
    *((SPANS[i][1], SPANS[i + 1][0], "pause") for i in (0, 1)),
    (SPANS[-1][1], SPANS[-1][1] + 7200, "locked out"),
]


@pytest.mark.parametrize("drop", [(), ("battery_v",), ("battery_v", "speed_rpm")])
@pytest.mark.parametrize("offset_s", range(0, 60, 5))
def test_the_state_tells_a_failed_start_between_slow_rows(drop: tuple[str, ...], offset_s: int) -> None:
    """Whatever row of the sequence is met: cranking, preheat before a lock-out, or none (then nothing is known)."""
    frame = log(at_level("flat"), 60, 60, offset_s=float(offset_s), drop=drop).with_columns(state_of(SEQUENCE))
    b = book(frame)
    met = frame["state"].cast(pl.String).is_in(["preheat", "cranking"]).any()
    assert b.starts["started"].to_list() == ([True, False, True] if met else [True, True])
    assert b.starts["attempts"].null_count() == b.starts.height


def test_a_lock_out_alone_or_a_state_of_waiting_is_no_failed_start() -> None:
    ran = SECOND.run_span
    assert ran is not None
    for words in (
        [(2 * DAY, 2 * DAY + 7200, "locked out")],
        [(2 * DAY, 2 * DAY + 7200, "no start request")],
        [(ran[0], ran[1], "running"), (ran[1], ran[1] + 3600, "locked out")],
        [(2 * DAY, 2 * DAY + 600, "preheat"), (2 * DAY + 3600, 2 * DAY + 7200, "locked out")],
    ):
        b = book(log(replace(SET, starts=(FIRES, SECOND)), 60, 60).with_columns(state_of(words)))
        assert b.starts["started"].to_list() == [True, True], words


def test_a_state_that_says_failed_again_and_again_tells_of_one_failure() -> None:
    flaps = [(2 * DAY + 60 * i, 2 * DAY + 60 * i + 60, "failed to start" if i % 2 else "off") for i in range(20)]
    b = book(log(replace(SET, starts=(FIRES,)), 60, 60).with_columns(state_of(flaps)))
    assert b.starts["started"].to_list() == [True, False]
    assert b.starts["told_by"].to_list()[1] == "state"


def test_among_close_rows_a_state_that_is_read_late_blurs_nothing() -> None:
    late = [(a + 2, b + 2, word) for a, b, word in SEQUENCE]
    b = book(log(at_level("good"), drop=("speed_rpm",)).with_columns(state_of(late)))
    assert b.starts["attempts"].to_list() == [1, 3, 2]
    assert b.attempts["crank_s"].to_list() == pytest.approx([2, 10, 10, 10, 10, 2], abs=1)
