"""The charts of when a set ran: a calendar, the length of each run against the plan, hours and load."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import polars as pl

from startworthy.report.look import (
    INK,
    PALE,
    Chart,
    axis,
    day_ms,
    layout,
    level_line,
    local_column,
    middle,
    numbers,
    points,
    say,
    stroke,
    time_axis,
    whole_days,
)
from startworthy.results import Known, Logbook
from startworthy.words import Style, texts

MOST_POINTS = 2000
"""Runs drawn; of more the last are drawn, and the tables hold all."""

_MINUTE_S = 60.0
_DAY_MS = 86_400_000
_SYMBOLS = {"exercise": "circle", "outage": "square", "manual": "diamond", "unknown": "circle-open"}
"""The cause of a run by the shape of its mark."""


def _by_day(runs: pl.DataFrame, zone: str) -> pl.DataFrame:
    """Minutes run and the cause of the longest run, by local day of the run's beginning."""
    day = pl.col("began_at").dt.convert_time_zone(zone).dt.date()
    return (
        runs.with_columns(day=day, minutes=pl.col("running_s").fill_null(0) / _MINUTE_S)
        .sort("minutes", descending=True)
        .group_by("day")
        .agg(pl.col("minutes").sum(), pl.col("cause").first())
    )


def calendar_chart(book: Logbook, known: Known, style: Style) -> Chart | None:
    """Weeks across, weekdays down; a mark on each day on which it ran, larger the longer, at most twelve months."""
    last = book.days["day"].max()
    if not isinstance(last, date):
        return None
    names, causes = texts("report")["chart"]["calendar"], texts("report")["causes"]
    # more weeks than these cannot be told apart on paper
    days = whole_days(book.days.filter(pl.col("day") > last - timedelta(weeks=53)), "coverage")
    days = days.join(_by_day(book.runs, style.zone), on="day", how="left").with_columns(
        week=pl.col("day").dt.truncate("1w"), weekday=pl.col("day").dt.weekday() - 1
    )
    full = known.exercise_minutes or middle(days["minutes"]) or 1.0
    days = days.with_columns(size=6 + 9 * (pl.col("minutes") / full).clip(0, 1))
    ran, idle = days.filter(pl.col("minutes").is_not_null()), days.filter(pl.col("minutes").is_null())
    logged = pl.col("coverage").fill_null(0) > 0
    data: list[dict[str, Any]] = []

    def dots(part: pl.DataFrame, name: str, text: list[str], *, colour: str, symbol: str, size: Any) -> None:
        if part.height:
            weeks = part.select(day_ms("week"))["week"].to_list()
            marks = points(weeks, part["weekday"].to_list(), name, colour, symbol=symbol, size=size)
            data.append(marks | {"text": text, "hovertemplate": f"%{{text}}<extra>{name}</extra>"})

    for part, name, symbol, size in (
        (idle.filter(logged), "at_rest", "circle", 3),
        (idle.filter(~logged), "no_log", "line-ns-open", 7),
    ):
        dots(part, names[name], part["day"].cast(pl.String).to_list(), colour=PALE, symbol=symbol, size=size)
    for cause, symbol in _SYMBOLS.items():
        part = ran.filter(pl.col("cause") == cause)
        minutes = part.select("day", "minutes").iter_rows()
        text = [f"{day:%Y-%m-%d}: {style.value('run_minutes', length)}" for day, length in minutes]
        dots(part, causes[cause], text, colour=INK, symbol=symbol, size=numbers(part["size"], digits=1))
    x = axis(names["x"].format(zone=style.zone), type="date")
    y = axis("", tickvals=list(range(7)), ticktext=names["weekdays"], range=[6.6, -0.6], showgrid=False)
    figure = {"data": data, "layout": layout(x, y, height=280)}
    values = {
        "ran": ran.height,
        "count": days.filter(logged).height,
        "began_date": days["day"][0],
        "ended_date": days["day"][-1],
    }
    every = known.exercise_every_days
    if every is None:
        words = say("calendar", "words", style, **values)
    else:
        words = say("calendar", "words_plan", style, **values, every_days=every)
    return Chart("calendar", names["title"], words, figure)


def minutes_chart(book: Logbook, known: Known, style: Style) -> Chart | None:
    """The length of each run, by its cause, against the planned minutes."""
    runs = book.runs.filter(pl.col("running_s").is_not_null()).tail(MOST_POINTS)
    if runs.is_empty():
        return None
    names, causes = texts("report")["chart"]["minutes"], texts("report")["causes"]
    data = []
    for cause, symbol in _SYMBOLS.items():
        part = runs.filter(pl.col("cause") == cause)
        if part.height:
            minutes = numbers(part["running_s"], 1 / _MINUTE_S, digits=2)
            x = part.select(local_column("began_at", style.zone))["began_at"].to_list()
            dots = points(x, minutes, causes[cause], INK, symbol=symbol, size=7)
            dots["hovertemplate"] = "%{x|%Y-%m-%d %H:%M}: %{y:.0f} min<extra></extra>"
            # a stem to the ground shows a length better than a dot in the air
            dots["error_y"] = {
                "type": "data",
                "symmetric": False,
                "array": [0] * len(minutes),
                "arrayminus": minutes,
                "width": 0,
                "thickness": 1.4,
                "color": PALE,
            }
            data.append(dots)
    planned = known.exercise_minutes
    longest = runs["running_s"].max()
    top = max(planned or 0.0, float(longest) / _MINUTE_S if isinstance(longest, float) else 0.0)
    y = axis(names["y"], range=[0, round(top * 1.12 + 1, 1)])
    figure = {"data": data, "layout": layout(time_axis(style), y)}
    values = {
        "count": runs.height,
        "shortest_s": runs["running_s"].min(),
        "median_s": middle(runs["running_s"]),
        "longest_s": longest,
    }
    if planned is None:
        return Chart("minutes", names["title"], say("minutes", "words", style, **values), figure)
    level_line(figure, planned, f"{names['plan']} {style.value('plan_minutes', planned)}")
    words = say("minutes", "words_plan", style, **values, plan_minutes=planned)
    return Chart("minutes", names["title"], words, figure)


def load_chart(book: Logbook, style: Style) -> Chart | None:
    """Running hours week by week, and over them the mean load of each run where it is known."""
    runs = book.runs.filter(pl.col("running_s").is_not_null())
    if runs.is_empty():
        return None
    names = texts("report")["chart"]["load"]
    week = pl.col("began_at").dt.convert_time_zone(style.zone).dt.date().dt.truncate("1w")
    weeks = runs.group_by(week.alias("week")).agg(hours=pl.col("running_s").sum() / 3600).sort("week")
    bars: dict[str, Any] = {
        "type": "bar",
        "x": weeks.select(day_ms("week"))["week"].to_list(),
        "y": numbers(weeks["hours"], digits=2),
        "name": names["hours"],
        "width": 5 * _DAY_MS,
        "offset": 0,
        "marker": {"color": PALE},
        "hovertemplate": "%{x|%Y-%m-%d}: %{y:.2f} h<extra></extra>",
    }
    # running time is told in hours in the trade, however long
    running = f"{float(runs['running_s'].sum()) / 3600:.1f} h"
    fraction = runs["load_fraction_mean"].count() > 0
    column, ending, unit = ("load_fraction_mean", "fraction", "%") if fraction else ("load_kw_mean", "kw", "kW")
    loaded = runs.filter(pl.col(column).is_not_null())
    if loaded.is_empty():
        shown = layout(time_axis(style), axis(names["y_hours"], rangemode="tozero"), height=240, showlegend=False)
        words = say("load", "words_hours", style, running=running)
        return Chart("load", names["title_hours"], words, {"data": [bars], "layout": shown})
    drawn = loaded.tail(MOST_POINTS)
    at = drawn.select(local_column("began_at", style.zone))["began_at"].to_list()
    y = numbers(drawn[column], 100 if fraction else 1, digits=1)
    dots = points(at, y, names["load"], stroke("power_kw").colour, symbol="diamond", size=7)
    dots |= {"yaxis": "y2", "hovertemplate": f"%{{x|%Y-%m-%d %H:%M}}: %{{y:.0f}} {unit}<extra></extra>"}
    upper = axis(names["y_fraction" if fraction else "y_kw"], domain=[0.54, 1], rangemode="tozero")
    lower = axis(names["y_hours"], domain=[0, 0.44], rangemode="tozero")
    figure = {"data": [bars, dots], "layout": layout(time_axis(style), lower, height=380, yaxis2=upper)}
    median_load = style.value(f"load_{ending}", middle(loaded[column]))
    words = say(
        "load",
        "words",
        style,
        running=running,
        known=loaded.height,
        count=runs.height,
        median_load=median_load,
    )
    return Chart("load", names["title"], words, figure)
