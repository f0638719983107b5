"""A logbook built slice by slice is that of the whole: what lies beyond a slice moves nothing in it."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from startworthy.logbook.build import build
from startworthy.logbook.slices import build_spilled, by_slices
from startworthy.logbook.tables import TABLES
from startworthy.read import RawReadings
from startworthy.read.reasons import refused_schema
from startworthy.results import FileRead, Logbook, Readings
from startworthy.spill import Spill
from startworthy.validate import clean
from startworthy.validate.shares import clean_spilled
from tests.support.logs import as_readings
from tests.support.simulator import simulate


def spilled_of(readings: Readings, piece: int = 7_000) -> Readings:
    """The same readings on disk, in parts of a few thousand rows."""
    spill = Spill()
    spill.part_rows = piece
    for at in range(0, readings.frame.height, piece):
        spill.add(readings.frame[at : at + piece])
    return replace(readings, frame=readings.frame.clear(), spilled=spill.done())


def both(kind: str, seed: int, cadence: str, most: int) -> tuple[Logbook, Logbook]:
    """The logbook of the whole, and that of slices of about `most` rows."""
    frame, truth = simulate(kind, seed, cadence=cadence)
    readings = as_readings(frame)
    whole = build(readings, truth.register)
    lying = spilled_of(readings)
    assert lying.spilled is not None
    return whole, by_slices(lying, lying.spilled, readings.frame["set_id"][0], truth.register, most)


# what a slice tells from its own cranks, stretches and hour meter, and not from those of the whole set
OF_ALL_RUNS = ["running_s", "hunting_period_s", "hunting_chance", "cause"]


@pytest.mark.parametrize("kind", ["healthy", "charger_dead", "log_gaps", "leak"])
@pytest.mark.parametrize("seed", [4])
@pytest.mark.parametrize(("cadence", "most"), [("dense", 40_000), ("60", 40_000)])
def test_slices_and_the_whole_give_one_logbook(kind: str, seed: int, cadence: str, most: int) -> None:
    whole, sliced = both(kind, seed, cadence, most)
    assert sliced.known.keys() == whole.known.keys()
    assert sliced.signals == whole.signals
    assert sliced.span == whole.span
    assert sliced.refused == whole.refused
    assert whole.runs.height > 5
    for name in TABLES:
        mine, all_at_once = (getattr(book, name).drop(OF_ALL_RUNS, strict=False) for book in (sliced, whole))
        assert_frame_equal(mine, all_at_once, check_exact=False, rel_tol=1e-9, abs_tol=1e-9)


@pytest.mark.parametrize("kind", ["left_out_of_auto", "will_not_start", "fails_often"])
@pytest.mark.parametrize("cadence", ["dense", "60"])
def test_slices_with_few_cranks_each_count_as_the_whole_does(kind: str, cadence: str) -> None:
    whole, sliced = both(kind, 6, cadence, 40_000)
    counted = ["set_id", "demand", "attempts_at_least", "started", "run"]
    assert_frame_equal(sliced.starts.select(counted), whole.starts.select(counted))
    assert_frame_equal(sliced.marks, whole.marks)


@pytest.mark.parametrize("kind", ["healthy", "outage_missed", "will_not_start", "slow_starts", "power_cut"])
@pytest.mark.parametrize("seed", [3])
def test_a_set_thinned_at_rest_has_the_same_starts_and_runs(kind: str, seed: int) -> None:
    frame, truth = simulate(kind, seed, cadence="dense")
    readings = as_readings(_every_second(frame))
    assert readings.frame.height > 300_000
    whole = build(readings, truth.register)
    lying = spilled_of(readings)
    assert lying.spilled is not None
    thin = build_spilled(lying, lying.spilled, truth.register, 100_000)
    columns = ["attempts", "attempts_at_least", "started", "crank_s", "began_at"]
    assert_frame_equal(thin.starts.select(columns), whole.starts.select(columns))
    assert thin.runs["running_s"].to_list() == pytest.approx(whole.runs["running_s"].to_list())
    assert thin.runs["began_at"].to_list() == whole.runs["began_at"].to_list()
    assert thin.days["coverage"].to_list() == pytest.approx(whole.days["coverage"].to_list(), abs=0.002)
    volts = thin.days.select("day", "rest_battery_v").join(whole.days.select("day", "rest_battery_v"), on="day")
    assert (volts["rest_battery_v"] - volts["rest_battery_v_right"]).abs().max() < 0.05  # type: ignore[operator]
    assert thin.span == whole.span
    assert thin.refused == whole.refused


def _every_second(frame: pl.DataFrame) -> pl.DataFrame:
    """The last weeks of a log, a row every 5 s at rest too: each row at rest stands until the next, a little moved."""
    last = frame.filter(pl.col("at") > frame["at"].max() - pl.duration(days=21))
    grid = pl.DataFrame({"at": pl.datetime_range(last["at"][0], last["at"][-1], "5s", eager=True, time_zone="UTC")})
    new = grid.join(last.select("at"), on="at", how="anti").join_asof(last, on="at", strategy="backward")
    beside = new.join_asof(
        last.select(pl.col("at").alias("next_at")), left_on="at", right_on="next_at", strategy="forward"
    )
    calm = beside["next_at"] - beside["at"] < pl.Series([0]).cast(pl.Duration("us"))
    new = new.filter(~calm)
    wobble = (pl.int_range(pl.len()) % 7 - 3) * 0.005
    return pl.concat([last, new.with_columns(pl.col("battery_v") + wobble).select(last.columns)]).sort("at")


def test_repeats_and_refusals_are_counted_over_all_windows() -> None:
    frame, _ = simulate("healthy", 4, cadence="60")
    readings = as_readings(frame)
    rows = readings.frame.with_columns(
        pl.when(pl.int_range(pl.len()) % 9_000 == 5).then(1e6).otherwise("battery_v").alias("battery_v")
    )
    twice = pl.concat([rows, rows[1_000:3_000], rows[200_000:200_700]])
    file = FileRead("log.csv", "", "", twice.height, twice.height, 0, 0, 0, None, None, ("A",), ())
    raw = RawReadings(twice, pl.DataFrame(schema=refused_schema() | {"file": pl.Categorical}), (file,), ())
    at_once = clean(raw)
    spill = Spill()
    spill.part_rows = 7_000
    for at in range(0, twice.height, 7_000):
        spill.add(twice[at : at + 7_000])
    lying = replace(raw, frame=twice.clear(), spilled=spill.done())
    done = clean_spilled(lying, lying.spilled, 50_000)  # type: ignore[arg-type]
    assert done.files[0].rows_repeated == at_once.files[0].rows_repeated > 2_000
    assert done.files[0].rows_accepted == at_once.files[0].rows_accepted
    assert done.files[0].cells_emptied == at_once.files[0].cells_emptied > 20
    assert done.refused.sort("line").equals(at_once.refused.sort("line"))
    set_id = str(twice["set_id"][0])
    assert_frame_equal(done.rows_of(set_id).drop("line"), at_once.frame.drop("line"), check_column_order=False)
