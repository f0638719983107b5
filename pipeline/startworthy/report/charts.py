"""The charts of a set's logbook, from its five tables alone. One without anything to draw is left out."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import polars as pl

from startworthy.findings import Finding
from startworthy.report.charts_runs import calendar_chart, load_chart, minutes_chart
from startworthy.report.look import (
    INK,
    PALE,
    Chart,
    axis,
    day_axis,
    day_ms,
    layout,
    limit_line,
    local_column,
    local_ms,
    middle,
    numbers,
    points,
    say,
    spread,
    stroke,
    time_axis,
    whole_days,
)
from startworthy.results import Known, Logbook
from startworthy.words import Style, texts

MOST_POINTS = 2000
"""Markers a trace; of more attempts the last are drawn, and the tables hold all."""


def logbook_charts(book: Logbook, known: Known, style: Style) -> list[Chart]:
    """All charts of the logbook of one set, in the order of the page."""
    drawn = (
        rest_chart(book, known, style),
        crank_chart(book, known, style),
        coolant_chart(book, known, style),
        fuel_chart(book, known, style),
        calendar_chart(book, known, style),
        minutes_chart(book, known, style),
        load_chart(book, style),
    )
    return [chart for chart in drawn if chart is not None]


def rest_chart(book: Logbook, known: Known, style: Style) -> Chart | None:
    """Battery at rest, day by day, with the scatter of each day and whether it was on float."""
    seen = book.days.filter(pl.col("rest_battery_v").is_not_null()).sort("day")
    if seen.is_empty():
        return None
    days = whole_days(
        book.days, "rest_battery_v", "rest_battery_low_v", "rest_battery_high_v", "on_charge"
    ).with_columns(
        up=pl.col("rest_battery_high_v") - pl.col("rest_battery_v"),
        down=pl.col("rest_battery_v") - pl.col("rest_battery_low_v"),
    )
    names, look = texts("report")["chart"], stroke("battery_v")
    volts = numbers(days["rest_battery_v"])
    line = points(days.select(day_ms("day"))["day"].to_list(), volts, names["mean_day"], look.colour, mode="lines")
    line |= {
        "line": {"color": look.colour, "width": 1.6},
        "hovertemplate": "%{x|%Y-%m-%d}: %{y:.2f} V<extra></extra>",
        # a filled band cannot have holes, so the scatter of each day is a thin bar of its own
        "error_y": {
            "type": "data",
            "symmetric": False,
            "array": numbers(days["up"].clip(0)),
            "arrayminus": numbers(days["down"].clip(0)),
            "width": 0,
            "thickness": 1,
            "color": PALE,
        },
    }
    data = [line]
    for held, name, symbol in ((True, "on_float", "circle"), (False, "off_float", "circle-open")):
        part = days.filter(pl.col("on_charge") == held)
        if part.height:
            x, y = part.select(day_ms("day"))["day"].to_list(), numbers(part["rest_battery_v"])
            dots = points(x, y, names[name], look.colour, symbol=symbol, size=5 if held else 7)
            data.append(dots | {"hoverinfo": "skip"})
    limits = _battery_limits(known)
    bounds = [*numbers(days["rest_battery_low_v"]), *numbers(days["rest_battery_high_v"]), *volts]
    y_axis = axis(names["rest"]["y"], range=spread(bounds, *(value for _, value in limits)))
    figure = {"data": data, "layout": layout(day_axis(style), y_axis)}
    for name, value in limits:
        limit_line(figure, name, value, style.quantity(value, "V"))
    by_volts = seen.sort("rest_battery_v")
    words = say(
        "rest",
        "words",
        style,
        count=seen.height,
        lowest_v=by_volts["rest_battery_v"][0],
        lowest_date=by_volts["day"][0],
        highest_v=by_volts["rest_battery_v"][-1],
        highest_date=by_volts["day"][-1],
        last_v=seen["rest_battery_v"][-1],
        last_date=seen["day"][-1],
    )
    return Chart("rest", names["rest"]["title"], words, figure)


def _battery_limits(known: Known) -> list[tuple[str, float]]:
    """Name and volts of the limits at rest and on float, as the checks use them for this battery."""
    from startworthy.check.battery.rest import rest_low_v

    nominal = known.battery_nominal_v
    if nominal not in {12.0, 24.0}:
        return []
    rest, on_float = f"battery_rest_low_{nominal:.0f}_v", f"battery_float_low_{nominal:.0f}_v"
    return [(rest, rest_low_v(known, known.limits)), (on_float, known.limits.value(on_float))]


def crank_chart(book: Logbook, known: Known, style: Style) -> Chart | None:
    """Battery while cranking against temperature, attempt by attempt, with the limit that falls with the cold."""
    # the temperature that most attempts have is the one drawn against: a chart has one axis
    seen = book.attempts.filter(pl.col("battery_min_v").is_not_null()).tail(MOST_POINTS)
    ambient = seen["ambient_c"].count() >= seen["coolant_before_c"].count()
    against = "ambient_c" if ambient else "coolant_before_c"
    there = seen.filter(pl.col(against).is_not_null())
    if there.is_empty():
        return None
    factor, offset, unit = style.scale("c")
    names, colour = texts("report")["chart"]["crank"], stroke("battery_v").colour
    fired, failed = there.filter("fired"), there.filter(~pl.col("fired"))
    data: list[dict[str, Any]] = []
    for part, column, name, symbol, ink in (
        (fired, "battery_mean_v", "mean", "circle", colour),
        (fired, "battery_min_v", "lowest", "triangle-down-open", colour),
        (failed, "battery_min_v", "failed", "x", INK),
    ):
        if part[column].count():
            x = numbers(part[against], factor, offset, 1)
            when = pl.col("began_at").dt.convert_time_zone(style.zone).dt.strftime("%Y-%m-%d %H:%M")
            dots = points(x, numbers(part[column]), names[name], ink, symbol=symbol, size=8)
            hover = f"%{{text}}<br>%{{y:.2f}} V, %{{x:.0f}} {unit}<extra></extra>"
            data.append(dots | {"text": part.select(when)["began_at"].to_list(), "hovertemplate": hover})
    data += _crank_limit(known, there[against], names["limit"], style)
    x_axis = axis(names["x_ambient" if ambient else "x_coolant"].format(unit=unit))
    y_axis = axis(names["y"], range=spread(v for trace in data for v in trace["y"]))
    worst = seen.sort("battery_min_v").row(0, named=True)
    key, values = ("words", {"temperature_c": worst[against]}) if worst[against] is not None else ("words_cold", {})
    words = say(
        "crank",
        key,
        style,
        count=seen.height,
        lowest_v=worst["battery_min_v"],
        lowest_at=worst["began_at"],
        **values,
    )
    return Chart("crank", names["title"], words, {"data": data, "layout": layout(x_axis, y_axis)})


def _crank_limit(known: Known, seen_c: pl.Series, name: str, style: Style) -> list[dict[str, Any]]:
    """The load-test table, shifted to the limit in force, over the temperatures that were seen."""
    from startworthy.physics.battery import load_test

    nominal = known.battery_nominal_v
    low, high = seen_c.min(), seen_c.max()
    if nominal not in {12.0, 24.0} or not isinstance(low, float) or not isinstance(high, float):
        return []
    table = load_test(nominal)
    at_20 = known.limits.value(f"battery_crank_low_{nominal:.0f}_v")
    at = [low, *(c for c in table.x if low < c < high), high] if high > low else [low - 1, low + 1]
    factor, offset, _ = style.scale("c")
    x = [round(c * factor + offset, 2) for c in at]
    y: list[float | None] = [round(at_20 + table.at(c) - table.y[-1], 3) for c in at]
    line = points(x, y, name, INK, mode="lines")
    return [line | {"line": {"color": INK, "width": 1.2, "dash": "dash"}, "hoverinfo": "skip"}]


def coolant_chart(book: Logbook, known: Known, style: Style) -> Chart | None:
    """Coolant before, warm and at its highest, run by run, over ambient."""
    runs = book.runs.filter(pl.col("coolant_max_c").is_not_null()).tail(MOST_POINTS)
    if runs.is_empty():
        return None
    factor, offset, unit = style.scale("c")
    names = texts("report")["chart"]["coolant"]
    x = runs.select(local_column("began_at", style.zone))["began_at"].to_list()
    hot, cold = stroke("coolant_c").colour, stroke("ambient_c").colour
    data = []
    for column, name, symbol, colour in (
        ("coolant_max_c", "highest", "triangle-up", hot),
        ("coolant_warm_c", "warm", "square-open", hot),
        ("coolant_before_c", "before", "circle-open", hot),
        ("ambient_c", "ambient", "line-ew-open", cold),
    ):
        if runs[column].count():
            y = numbers(runs[column], factor, offset, 1)
            hover = f"%{{x|%Y-%m-%d %H:%M}}: %{{y:.0f}} {unit}<extra>{names[name]}</extra>"
            data.append(points(x, y, names[name], colour, symbol=symbol, size=8) | {"hovertemplate": hover})
    limit = known.limits["coolant_high_c"]
    at = limit.value * factor + offset
    y_axis = axis(names["y"].format(unit=unit), range=spread((v for t in data for v in t["y"]), at))
    figure = {"data": data, "layout": layout(time_axis(style), y_axis)}
    limit_line(figure, limit.name, at, style.quantity(limit.value, limit.unit))
    worst = runs.sort("coolant_max_c").row(-1, named=True)
    words = say(
        "coolant",
        "words",
        style,
        count=runs.height,
        highest_c=worst["coolant_max_c"],
        highest_at=worst["began_at"],
        median_c=middle(runs["coolant_warm_c"]),
    )
    return Chart("coolant", names["title"], words, figure)


def fuel_chart(book: Logbook, known: Known, style: Style) -> Chart | None:
    """Fuel level at rest, day by day, with refuels and losses where they were seen."""
    seen = book.days.filter(pl.col("rest_fuel_fraction").is_not_null()).sort("day")
    if seen.is_empty():
        return None
    names, look = texts("report")["chart"]["fuel"], stroke("fuel_fraction")
    days = whole_days(book.days, "rest_fuel_fraction")
    x, y = days.select(day_ms("day"))["day"].to_list(), numbers(days["rest_fuel_fraction"], 100, digits=1)
    # a line of a day or two would be drawn as nothing at all
    line = points(x, y, names["level"], look.colour, mode="lines" if days.height > 3 else "lines+markers")
    line |= {"line": {"color": look.colour, "width": 1.8}, "hovertemplate": "%{x|%Y-%m-%d}: %{y:.1f} %<extra></extra>"}
    data = [line]
    count = {}
    for kind, name, symbol in (("refuel", "refuel", "triangle-up"), ("fuel_loss", "loss", "x")):
        marks = book.marks.filter(pl.col("kind") == kind)
        count[name] = marks.height
        drawn = marks.filter(pl.col("after").is_between(0, 1.1)).tail(MOST_POINTS)
        if drawn.height:
            at = drawn.select(local_column("began_at", style.zone))["began_at"].to_list()
            hover = f"%{{x|%Y-%m-%d %H:%M}}: %{{y:.1f}} %<extra>{names[name]}</extra>"
            dots = points(at, numbers(drawn["after"], 100, digits=1), names[name], INK, symbol=symbol, size=10)
            data.append(dots | {"hovertemplate": hover})
    figure = {"data": data, "layout": layout(day_axis(style), axis(names["y"], range=[0, 108]))}
    for limit in (known.limits["fuel_low_fraction"], known.limits["fuel_stop_fraction"]):
        limit_line(figure, limit.name, limit.value * 100, style.quantity(limit.value, limit.unit))
    lowest = seen.sort("rest_fuel_fraction")
    words = say(
        "fuel",
        "words",
        style,
        count=seen.height,
        lowest_fraction=lowest["rest_fuel_fraction"][0],
        lowest_date=lowest["day"][0],
        last_fraction=seen["rest_fuel_fraction"][-1],
        last_date=seen["day"][-1],
        refuels=count["refuel"],
        losses=count["loss"],
    )
    return Chart("fuel", names["title"], words, figure)


_SLOW = {
    "battery.low_at_rest": "rest",
    "exercise.missed": "calendar",
    "exercise.short": "minutes",
    "fuel.lost_at_rest": "fuel",
    "fuel.low": "fuel",
}
"""What is told over days is seen on the chart of the days, not among the rows."""
_SLOW_LEAST = timedelta(days=2)
_SLOW_ROOM = timedelta(days=21)


def slow_chart(finding: Finding, key: str, book: Logbook, known: Known, style: Style) -> Chart | None:
    """A finding that took days, on the logbook's own chart cut to its time; None for any other finding."""
    kind, began, ended = _SLOW.get(finding.code), finding.began_at, finding.ended_at
    if kind is None or began is None or ended is None or ended - began < _SLOW_LEAST:
        return None
    low, high = began - _SLOW_ROOM, ended + _SLOW_ROOM
    cut = replace(
        book,
        days=book.days.filter(pl.col("day").is_between(low.date(), high.date())),
        runs=book.runs.filter(pl.col("began_at").is_between(low, high)),
        marks=book.marks.filter(pl.col("began_at").is_between(low, high)),
    )
    draw = {"rest": rest_chart, "fuel": fuel_chart, "calendar": calendar_chart, "minutes": minutes_chart}[kind]
    chart = draw(cut, known, style)
    if chart is None:
        return None
    words = chart.words
    if kind != "calendar":
        band = {"type": "rect", "yref": "paper", "y0": 0, "y1": 1, "layer": "below", "line": {"width": 0}}
        ends = {"x0": local_ms(began, style.zone), "x1": local_ms(ended, style.zone)}
        chart.figure["layout"]["shapes"].append({**band, **ends, "fillcolor": PALE, "opacity": 0.16})
        words = f"{words} {texts('report')['chart']['shaded']}"
    return replace(chart, key=key, words=words)
