import json
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import plotly.graph_objects as go
import polars as pl
import pytest

from startworthy.logbook import tables
from startworthy.report.charts import logbook_charts, slow_chart
from startworthy.report.look import DARK, Chart, local_ms, plain, spread, stroke
from startworthy.words import Style
from tests.support import checked as made

STYLE = Style(zone=made.ZONE)


def _charts(units: str = "si") -> dict[str, Chart]:
    drawn = logbook_charts(made.book("HILL-01"), made.known("HILL-01"), Style(units, made.ZONE))  # type: ignore[arg-type]
    return {chart.key: chart for chart in drawn}


def test_a_full_logbook_has_all_its_charts() -> None:
    assert list(_charts()) == ["rest", "crank", "coolant", "fuel", "calendar", "minutes", "load"]


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("key", ["rest", "crank", "coolant", "fuel", "calendar", "minutes", "load"])
def test_plotly_takes_each_chart_and_json_can_hold_it(units: str, key: str) -> None:
    chart = _charts(units)[key]
    figure = go.Figure(chart.figure)
    assert len(figure.data) >= 1
    assert all(len(trace.x) == len(trace.y) > 0 for trace in figure.data)
    assert json.loads(json.dumps(chart.figure, allow_nan=False)) == chart.figure


@pytest.mark.parametrize("key", ["rest", "crank", "coolant", "fuel", "calendar", "minutes", "load"])
def test_each_chart_is_told_in_words_and_its_axes_have_titles(key: str) -> None:
    chart = _charts()[key]
    assert chart.title
    assert any(letter.isdigit() for letter in chart.words), "the words of a chart hold its figures"
    assert "{" not in chart.words
    axes = [chart.figure["layout"][name] for name in chart.figure["layout"] if name.startswith(("xaxis", "yaxis"))]
    titles = [axis["title"]["text"] for axis in axes]
    assert titles[0].endswith(made.ZONE) or "°C" in titles[0]
    assert all(titles[1:]) or key == "calendar"


def test_limits_are_dashed_and_named() -> None:
    layout = _charts()["rest"].figure["layout"]
    assert [line["line"]["dash"] for line in layout["shapes"]] == ["dash", "dash"]
    assert [note["text"] for note in layout["annotations"]] == ["low at rest 12.4 V", "lowest on float 13.1 V"]
    low, high = layout["yaxis"]["range"]
    assert all(low < line["y0"] < high for line in layout["shapes"])


def test_a_limit_of_the_register_is_the_one_drawn() -> None:
    own = made.known("HILL-01", own_limits={"coolant_high_c": 92.0})
    drawn = {c.key: c for c in logbook_charts(made.book("HILL-01"), own, STYLE)}
    assert drawn["coolant"].figure["layout"]["shapes"][0]["y0"] == 92.0


def test_american_units_move_points_and_limit_alike() -> None:
    si, us = _charts()["coolant"].figure, _charts("us")["coolant"].figure
    assert us["data"][0]["y"][0] == pytest.approx(si["data"][0]["y"][0] * 9 / 5 + 32, abs=0.06)
    assert us["layout"]["shapes"][0]["y0"] == pytest.approx(212.0)
    assert "°F" in us["layout"]["yaxis"]["title"]["text"]


def test_a_day_without_rows_breaks_the_line() -> None:
    line = _charts()["rest"].figure["data"][0]
    missing = local_ms(date(2026, 1, 2), made.ZONE)
    assert line["connectgaps"] is False
    assert [y for x, y in zip(line["x"], line["y"], strict=True) if x == missing] == [None]


def test_a_day_that_is_not_in_the_table_breaks_the_line_too() -> None:
    book = made.book("HILL-01")
    book = replace(book, days=book.days.filter(pl.col("day") != date(2025, 12, 1)))
    fuel = next(c for c in logbook_charts(book, made.known("HILL-01"), STYLE) if c.key == "fuel").figure["data"][0]
    missing = local_ms(date(2025, 12, 1), made.ZONE)
    assert [y for x, y in zip(fuel["x"], fuel["y"], strict=True) if x == missing] == [None]


def test_an_empty_logbook_has_no_charts() -> None:
    book = made.book("HILL-01")
    empty = replace(book, **{name: tables.empty(name) for name in ("attempts", "starts", "runs", "days", "marks")})
    assert logbook_charts(empty, made.known("HILL-01"), STYLE) == []


def test_a_log_without_battery_fuel_and_load_still_shows_when_it_ran() -> None:
    book = made.book("HILL-01")
    none = pl.lit(None, pl.Float64)
    book = replace(
        book,
        attempts=book.attempts.with_columns(battery_min_v=none, battery_mean_v=none),
        days=book.days.with_columns(rest_battery_v=none, rest_fuel_fraction=none),
        runs=book.runs.with_columns(coolant_max_c=none, load_kw_mean=none, load_fraction_mean=none),
    )
    keys = [chart.key for chart in logbook_charts(book, made.known("HILL-01"), STYLE)]
    assert keys == ["calendar", "minutes", "load"]


def test_the_hour_that_comes_twice_is_drawn_in_wall_clock_time() -> None:
    before = local_ms(datetime(2025, 10, 26, 0, 30, tzinfo=UTC), made.ZONE)
    assert before == local_ms(datetime(2025, 10, 26, 1, 30, tzinfo=UTC), made.ZONE)
    assert datetime.fromtimestamp(before / 1000, UTC) == datetime(2025, 10, 26, 2, 30, tzinfo=UTC)


def test_signals_are_told_apart_by_more_than_colour() -> None:
    looks = [stroke(name) for name in ("battery_v", "coolant_c", "ambient_c", "oil_kpa", "fuel_fraction", "voltage_v")]
    assert len({look.colour for look in looks}) == len({(look.dash, look.symbol) for look in looks}) == len(looks)
    assert stroke("voltage_l1_v") == stroke("voltage_v")
    assert all(look.colour in DARK for look in looks)


def test_text_for_a_chart_cannot_hold_tags() -> None:
    assert plain("<a href='x'>&") == "&lt;a href='x'&gt;&amp;"


@pytest.mark.parametrize(
    ("values", "also", "low", "high"),
    [([5.0, 5.0], (), 4.5, 5.5), ([0.0, 0.0], (), -0.15, 0.5), ([-2.0], (3.0,), -2.4, 3.4)],
)
def test_an_axis_holds_all_its_values(values: list[float], also: tuple[float, ...], low: float, high: float) -> None:
    assert spread(values, *also) == pytest.approx([low, high])


def test_an_axis_of_nothing_is_left_to_the_library() -> None:
    assert spread([None, None]) is None


def test_what_took_days_is_shown_on_the_days_about_it_with_its_own_time_shaded() -> None:
    low = made.findings()[1]
    chart = slow_chart(low, "moment-2", made.book("HILL-01"), made.known("HILL-01"), STYLE)
    assert chart is not None
    assert chart.key == "moment-2"
    assert chart.words.endswith("Shaded: the finding.")
    go.Figure(chart.figure)
    days = chart.figure["data"][0]["x"]
    assert min(days) == local_ms(low.began_at.date() - timedelta(days=21), made.ZONE)
    band = chart.figure["layout"]["shapes"][-1]
    assert (band["x0"], band["x1"]) == (local_ms(low.began_at, made.ZONE), local_ms(low.ended_at, made.ZONE))


def test_what_was_quick_is_not_shown_on_days() -> None:
    sudden = made.findings()[4]
    book = made.book("HILL-01")
    assert slow_chart(sudden, "m", book, made.known("HILL-01"), STYLE) is None
    assert slow_chart(made.findings()[3], "m", book, made.known("HILL-01"), STYLE) is None
    assert slow_chart(replace(made.findings()[1], ended_at=None), "m", book, made.known("HILL-01"), STYLE) is None


def test_missed_exercises_are_shown_on_a_calendar() -> None:
    missed = replace(made.findings()[1], code="exercise.missed")
    chart = slow_chart(missed, "moment-1", made.book("HILL-01"), made.known("HILL-01"), STYLE)
    assert chart is not None
    assert chart.figure["layout"]["yaxis"]["ticktext"][0] == "Mon"
    go.Figure(chart.figure)


def _strings(value: object, key: str = "") -> Iterator[tuple[str, str]]:
    """Every text in a figure with the key that it stands under."""
    if isinstance(value, str):
        yield key, value
    elif isinstance(value, dict):
        for name, one in value.items():
            yield from _strings(one, name)
    elif isinstance(value, list):
        for one in value:
            yield from _strings(one, key)


def test_no_chart_holds_markup_but_its_own() -> None:
    texts = [pair for units in ("si", "us") for chart in _charts(units).values() for pair in _strings(chart.figure)]
    assert len(texts) > 300
    for key, text in texts:
        own = re.sub(r"<br>|<extra>[^<>]*</extra>", "", text) if key == "hovertemplate" else text
        assert "<" not in own, (key, text)
        assert not re.search(r"https?:|javascript:", text)


def test_text_in_a_chart_is_shown_and_never_drawn_from() -> None:
    assert plain("<a href='javascript:x'>\u202e\x1b") == "&lt;a href='javascript:x'&gt;[U+202E]␛"
