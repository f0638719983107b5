import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import plotly.graph_objects as go
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.findings import Finding, Question, Severity
from startworthy.report.look import local_ms
from startworthy.report.moments import MOST_POINTS, OwnReadings, moment_chart, own_readings, thinned
from startworthy.results import Sampling
from startworthy.words import Style
from tests.support import checked as made

STYLE = Style(zone=made.ZONE)
FRAME = made.readings_frame("HILL-01")
BOOK = made.book("HILL-01")
OWN = OwnReadings(FRAME, BOOK.marks.filter(pl.col("kind") == "gap"), made.known("HILL-01"), Sampling(300.0, 10.0, 1.0))


def _finding(code: str, began: datetime, ended: datetime | None = None, **more: object) -> Finding:
    return Finding(code, Severity.SOON, Question.START, began, ended, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("finding", made.findings(), ids=lambda f: f.code)
def test_each_finding_with_a_moment_has_a_chart_that_plotly_takes(finding: Finding) -> None:
    chart = moment_chart(finding, "moment-1", OWN, STYLE)
    assert chart is not None
    assert len(go.Figure(chart.figure).data) >= 1
    json.dumps(chart.figure, allow_nan=False)
    assert "{" not in chart.words


def test_of_what_lasted_long_the_beginning_is_shown_and_said() -> None:
    began = made.BEGAN + timedelta(days=30)
    chart = moment_chart(_finding("battery.charger_lost", began, began + timedelta(days=60)), "m", OWN, STYLE)
    assert chart is not None
    assert chart.title == "How it began"
    low, high = chart.figure["layout"]["xaxis"]["range"]
    assert high - low < timedelta(days=25).total_seconds() * 1000


def test_a_finding_over_the_whole_log_has_no_moment() -> None:
    assert moment_chart(replace(made.findings()[0], began_at=None), "m", OWN, STYLE) is None


def test_a_moment_without_rows_has_no_chart() -> None:
    long_ago = datetime(2001, 1, 1, tzinfo=UTC)
    assert moment_chart(_finding("cooling.overheat", long_ago, long_ago), "m", OWN, STYLE) is None


def test_a_crank_is_shown_close_up_though_the_set_rests_at_five_minutes() -> None:
    chart = moment_chart(made.findings()[0], "m", OWN, STYLE)
    assert chart is not None
    battery = chart.figure["data"][0]
    assert max(battery["x"]) - min(battery["x"]) <= 4 * 60_000
    assert battery["mode"] == "lines+markers" or len(battery["x"]) > 150
    assert min(battery["y"]) < 9.0


def test_of_several_starts_the_last_is_shown() -> None:
    last = made.BEGAN + timedelta(days=113, hours=9, seconds=140)
    several = _finding("battery.crank_sag", made.BEGAN + timedelta(days=92, hours=9), last, limit=9.1, unit="V")
    chart = moment_chart(several, "m", OWN, STYLE)
    assert chart is not None
    assert chart.title == "The last of them"
    assert max(chart.figure["data"][0]["x"]) == pytest.approx(local_ms(last, made.ZONE) + 90_000, abs=15_000)


def test_a_gap_is_never_bridged() -> None:
    gap = made.BEGAN + timedelta(days=60)
    chart = moment_chart(_finding("log.gap", gap, gap + timedelta(hours=26)), "m", OWN, STYLE)
    assert chart is not None
    trace = chart.figure["data"][0]
    empty = [x for x, y in zip(trace["x"], trace["y"], strict=True) if y is None]
    began, ended = local_ms(gap, made.ZONE), local_ms(gap + timedelta(hours=26), made.ZONE)
    assert trace["connectgaps"] is False
    assert any(began - 300_001 <= x <= ended for x in empty)


def test_a_short_gap_is_broken_by_its_mark() -> None:
    at = [made.BEGAN + timedelta(seconds=60 * n) for n in range(10)]
    frame = pl.DataFrame({"at": at, "coolant_c": [20.0 + n for n in range(10)]}).with_columns(
        pl.col("at").dt.cast_time_unit("us")
    )
    gaps = pl.DataFrame({"began_at": [at[4]]}).with_columns(pl.col("began_at").dt.cast_time_unit("us"))
    own = OwnReadings(frame, gaps, made.known("X"), Sampling(60.0, 60.0, 60.0))
    chart = moment_chart(_finding("cooling.overheat", at[5], at[5]), "m", own, STYLE)
    assert chart is not None
    assert chart.figure["data"][0]["y"] == [20, 21, 22, 23, 24, None, 25, 26, 27, 28, 29]


@settings(max_examples=30)
@given(st.integers(min_value=0, max_value=2**32 - 1), st.integers(min_value=2001, max_value=40_000))
def test_thinning_keeps_first_last_lowest_and_highest(seed: int, rows: int) -> None:
    rng = np.random.default_rng(seed)
    values = rng.normal(size=rows)
    values[rng.integers(rows)], values[rng.integers(rows)] = 50.0, -50.0
    at = pl.Series("at", np.arange(rows) * 1_000_000).cast(pl.Datetime("us", "UTC"))
    line = pl.DataFrame({"at": at, "battery_v": values})
    kept = thinned(line, "battery_v")
    assert kept.height <= MOST_POINTS
    assert kept["at"].is_sorted()
    assert (kept["battery_v"].min(), kept["battery_v"].max()) == (values.min(), values.max())
    assert (kept["at"][0], kept["at"][-1]) == (at[0], at[-1])


def test_of_a_mode_only_the_changes_are_drawn_and_none_is_lost() -> None:
    chart = moment_chart(made.findings()[2], "m", OWN, STYLE)
    assert chart is not None
    mode = chart.figure["data"][0]
    assert mode["y"] == ["automatic", "automatic", "off", "off", "automatic", "automatic"]
    assert mode["line"]["shape"] == "hv"


def test_the_limit_is_drawn_only_where_it_is_a_level_of_the_signal() -> None:
    def dashed(number: int) -> list[float]:
        chart = moment_chart(made.findings()[number], "m", OWN, STYLE)
        assert chart is not None
        return [s["y0"] for s in chart.figure["layout"]["shapes"] if s["line"].get("dash") == "dash"]

    assert dashed(0) == [9.1]
    assert dashed(3) == [100.0]
    assert dashed(4) == [], "a share lost within a day is no level of the tank"


def test_a_change_of_the_clock_does_not_fold_the_line_back() -> None:
    change = datetime(2025, 10, 26, 1, 0, tzinfo=UTC)
    at = pl.datetime_range(
        change - timedelta(hours=3), change + timedelta(hours=3), "1m", time_unit="us", time_zone="UTC", eager=True
    )
    frame = pl.DataFrame({"at": at, "coolant_c": [50.0] * len(at)})
    own = OwnReadings(frame, BOOK.marks.clear(), made.known("X"), Sampling(60.0, 60.0, 60.0))
    chart = moment_chart(
        _finding("cooling.overheat", change - timedelta(hours=1), change + timedelta(hours=1)), "m", own, STYLE
    )
    assert chart is not None
    x = chart.figure["data"][0]["x"]
    assert all(b > a for a, b in pairwise(x))
    assert chart.figure["layout"]["xaxis"]["title"]["text"].endswith("(UTC+2)")


def test_each_set_gets_its_own_rows() -> None:
    one, other = made.readings_frame("A", days=2, gap_day=None), made.readings_frame("B", days=3, gap_day=None)
    slices = own_readings(pl.concat([one, other]))
    assert {name: frame.height for name, frame in slices.items()} == {"A": one.height, "B": other.height}
    assert slices["B"]["at"].to_list() == other["at"].to_list()
    assert own_readings(one.clear()) == {}
