"""Running hours of slow logs held to their hour meter, and left alone where the meter is no witness. Invented figures."""

from __future__ import annotations

from dataclasses import replace

import polars as pl
import pytest

from startworthy.logbook.build import build
from startworthy.register import Register
from tests.support.logs import Start, Truth, as_readings, instant, log

DAY = 86400.0
# twenty exercises at the same second of the minute, 12 min 35 s long, and outages at odd times
EXERCISES = tuple(Start(d * 2 * DAY + 36000, minutes=12 + 35 / 60, cranks=(2.0,)) for d in range(1, 21))
OUTAGES = tuple(
    Start(d * DAY + 3000 + 1017.0 * d, minutes=31.3 + d, cranks=(2.0,), mains_lost_s=5.0) for d in (7, 15, 33)
)
TRUTH = Truth(days=42, starts=tuple(sorted(EXERCISES + OUTAGES, key=lambda s: s.at_s)))
REGISTER = Register.model_validate({"sets": {"A": {"rated_kw": 10}}})


def true_h(truth: Truth) -> float:
    return sum(s.minutes for s in truth.starts if s.fires) / 60


def metered(
    frame: pl.DataFrame, truth: Truth, step_h: float, *, lead_s: float = 0.0, pace: float = 1.0
) -> pl.DataFrame:
    """The hour meter that counts from `lead_s` before each run, at `pace`, and shows whole steps."""
    hours = pl.lit(100.03)
    for start in truth.starts:
        if start.run_span is not None:
            a, b = start.run_span
            since = (pl.col("at") - instant(a - lead_s)).dt.total_milliseconds() / 1e3
            hours = hours + since.clip(0, b - a + lead_s) / 3600 * pace
    return frame.with_columns(((hours / step_h + 1e-9).floor() * step_h).alias("hour_meter_h"))


def said_h(frame: pl.DataFrame) -> float:
    return float(build(as_readings(frame), REGISTER).runs["running_s"].sum()) / 3600


def by_rows_h(frame: pl.DataFrame) -> float:
    return said_h(frame.drop("hour_meter_h"))


@pytest.mark.parametrize("offset_s", [0.0, 13.0, 31.0, 50.0])
@pytest.mark.parametrize("step_h", [0.01, 0.1, 1.0])
def test_hours_of_slow_rows_agree_with_the_meter(offset_s: float, step_h: float) -> None:
    """Rows that meet each exercise at the same second are off by the same seconds each time; the sum of them is not."""
    frame = metered(log(TRUTH, 60, 60, offset_s=offset_s), TRUTH, step_h)
    rows, meter = by_rows_h(frame), said_h(frame)
    assert abs(meter - true_h(TRUTH)) <= abs(rows - true_h(TRUTH)) + 0.01
    if step_h <= 0.1 and rows > true_h(TRUTH):
        assert meter == pytest.approx(true_h(TRUTH), rel=0.005)


def test_the_rows_alone_would_have_been_wrong() -> None:
    frame = log(TRUTH, 60, 60, offset_s=13.0)
    assert by_rows_h(frame) > 1.015 * true_h(TRUTH)


def test_each_run_stays_within_its_bounds() -> None:
    runs = build(as_readings(metered(log(TRUTH, 60, 60, offset_s=13.0), TRUTH, 0.1)), REGISTER).runs
    assert ((runs["running_low_s"] <= runs["running_s"]) & (runs["running_s"] <= runs["running_high_s"])).all()


@pytest.mark.parametrize("offset_s", [0.0, 13.0, 31.0, 50.0])
@pytest.mark.parametrize("lead_s", [12.0, 20.0])
def test_a_meter_that_counts_from_the_demand_makes_nothing_worse(offset_s: float, lead_s: float) -> None:
    frame = metered(log(TRUTH, 60, 60, offset_s=offset_s), TRUTH, 0.1, lead_s=lead_s)
    assert abs(said_h(frame) - true_h(TRUTH)) <= abs(by_rows_h(frame) - true_h(TRUTH)) + 0.005 * true_h(TRUTH)


@pytest.mark.parametrize("pace", [0.8, 0.9, 1.1, 1.5])
def test_a_meter_that_goes_wrong_is_not_believed(pace: float) -> None:
    frame = metered(log(TRUTH, 60, 60, offset_s=13.0), TRUTH, 0.1, pace=pace)
    assert said_h(frame) == pytest.approx(by_rows_h(frame))


def test_a_meter_that_fell_or_steps_at_rest_or_in_a_gap_is_not_believed() -> None:
    frame = metered(log(TRUTH, 60, 60, offset_s=13.0), TRUTH, 0.1)
    late = pl.col("at") > instant(20 * DAY + 7000)
    swapped = frame.with_columns(pl.when(late).then(pl.col("hour_meter_h") - 100).otherwise(pl.col("hour_meter_h")))
    creeps = frame.with_columns(
        pl.col("hour_meter_h") + ((pl.col("at") - instant(0)).dt.total_seconds() / DAY).floor() / 10
    )
    ran = EXERCISES[9].run_span
    assert ran is not None
    cut = frame.filter(~pl.col("at").is_between(instant(ran[0] - 900), instant(ran[1] + 900)))
    for name, changed in (("swapped", swapped), ("creeps", creeps), ("cut", cut)):
        assert said_h(changed) == pytest.approx(by_rows_h(changed)), name


def test_close_rows_need_no_meter() -> None:
    frame = metered(log(TRUTH, 1, 60), TRUTH, 0.1, lead_s=5.0)
    assert said_h(frame) == pytest.approx(by_rows_h(frame))
    assert said_h(frame) == pytest.approx(true_h(TRUTH), rel=0.001)


def test_each_set_has_its_own_meter() -> None:
    other = replace(TRUTH, starts=tuple(replace(s, minutes=s.minutes + 0.5) for s in TRUTH.starts))
    a = metered(log(TRUTH, 60, 60, offset_s=13.0, set_id="A"), TRUTH, 0.1)
    b = metered(log(other, 60, 60, offset_s=50.0, set_id="B"), other, 0.01)
    frames = [f.with_columns(pl.col("set_id").cast(pl.String)) for f in (a, b)]
    whole = pl.concat(frames).with_columns(pl.col("set_id").cast(pl.Categorical)).sort("set_id", "at")
    runs = build(as_readings(whole), REGISTER).runs
    for name, alone in (("A", a), ("B", b)):
        assert runs.filter(pl.col("set_id") == name)["running_s"].sum() / 3600 == pytest.approx(said_h(alone))


def test_a_run_that_breaks_off_went_on_for_up_to_one_interval() -> None:
    """The supply of the logger is cut while the set runs: the last row says that it ran, the next comes in an hour."""
    ran = EXERCISES[3].run_span
    assert ran is not None
    frame = log(TRUTH, 60, 60, offset_s=13.0, drop=("hour_meter_h",))
    cut = frame.filter(~pl.col("at").is_between(instant(ran[1] - 300), instant(ran[1] + 3600)))
    run = build(as_readings(cut), REGISTER).runs.filter(pl.col("began_at").is_between(instant(ran[0]), instant(ran[1])))
    last = (run["ended_at"] - run["began_at"]).dt.total_seconds().item()
    assert run["running_low_s"].item() == last
    assert run["running_high_s"].item() == last + 60 + 60
    ends = frame.filter(pl.col("at") < instant(ran[1] - 300))
    run = build(as_readings(ends), REGISTER).runs[-1]
    assert run["running_high_s"].item() == run["running_low_s"].item() + 60, "nothing is known past the log's end"
