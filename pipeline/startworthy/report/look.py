"""How charts look: one colour and one stroke for each signal everywhere, calm axes, limits as dashed lines.

Charts are plain dicts as plotly.js takes them: building them with the plotly package would take ten times as
long, and the tests hold them against it instead.
"""

from __future__ import annotations

import html
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

import polars as pl

from startworthy.limits import BY_NAME
from startworthy.words import Style, texts, unit_ending
from startworthy.words.plain import visible

INK = "#2b2a27"
PALE = "#8a867d"
RULE = "#d9d4c8"
FONT = "Charter, 'Bitstream Charter', 'Iowan Old Style', 'Palatino Linotype', Palatino, 'DejaVu Serif', serif"

DARK = {
    INK: "#e9e4d8",
    PALE: "#a39d90",
    RULE: "#4a463e",
    "#0072b2": "#6cb6f0",
    "#d55e00": "#ff9a55",
    "#00805e": "#45cf9f",
    "#882255": "#e58bb8",
    "#7a6216": "#d9bd5b",
    "#41719c": "#9cc7de",
    "#56524a": "#cfcabf",
}
"""Each colour of the charts on paper, and the one that takes its place on a dark page."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a signal is drawn: colour, line and marker, so that none is told by its colour alone."""

    colour: str
    dash: str
    symbol: str


# Blue, vermilion and green are those of Okabe and Ito's palette (green darkened for contrast on paper).
_STROKES = {
    "battery": Stroke("#0072b2", "solid", "circle"),
    "charger": Stroke("#41719c", "dot", "diamond"),
    "charge": Stroke("#41719c", "dashdot", "diamond"),
    "coolant": Stroke("#d55e00", "solid", "square"),
    "ambient": Stroke("#41719c", "dot", "triangle-up"),
    "oil": Stroke("#7a6216", "solid", "diamond"),
    "fuel": Stroke("#00805e", "solid", "triangle-down"),
    "voltage": Stroke("#882255", "solid", "triangle-right"),
    "mains": Stroke("#56524a", "dot", "triangle-left"),
    "frequency": Stroke("#56524a", "solid", "cross"),
    "speed": Stroke("#56524a", "solid", "x"),
}
_OTHER = Stroke("#56524a", "solid", "circle")


def stroke(signal: str) -> Stroke:
    """The stroke of a signal, by the first word of its name."""
    return _STROKES.get(signal.split("_", maxsplit=1)[0], _OTHER)


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart: `figure` as plotly.js takes it, `words` the same in a sentence for who cannot see it."""

    key: str
    title: str
    words: str
    figure: dict[str, Any]


def plain(text: str) -> str:
    """Text that plotly.js shows as it is: it would read tags and links in it otherwise."""
    return html.escape(visible(text), quote=False)


def local_ms(at: datetime | date, zone: str) -> int:
    """Wall-clock time as the milliseconds that plotly.js draws without any zone of its own."""
    if isinstance(at, datetime):
        return round(at.astimezone(ZoneInfo(zone)).replace(tzinfo=UTC).timestamp() * 1000)
    return round(datetime(at.year, at.month, at.day, tzinfo=UTC).timestamp() * 1000)


def local_column(name: str, zone: str) -> pl.Expr:
    """A column of UTC instants as wall-clock milliseconds (see `local_ms`)."""
    return pl.col(name).dt.convert_time_zone(zone).dt.replace_time_zone(None).dt.epoch("ms").alias(name)


def day_ms(name: str) -> pl.Expr:
    """A column of days as milliseconds (see `local_ms`)."""
    return pl.col(name).cast(pl.Datetime("ms")).dt.epoch("ms").alias(name)


def numbers(column: pl.Series, factor: float = 1.0, offset: float = 0.0, digits: int = 3) -> list[float | None]:
    """The values as a list in printed units, short enough for a page; nulls stay."""
    return (column.cast(pl.Float64) * factor + offset).round(digits).to_list()


def spread(values: Iterable[float | None], *also: float | None, pad: float = 0.08) -> list[float] | None:
    """An axis range that holds all values and the limits in `also`, with a little room; None for no values."""
    known = [v for v in (*values, *also) if v is not None]
    if not known:
        return None
    low, high = min(known), max(known)
    room = (high - low) * pad or max(abs(high) * 0.05, 0.5)
    # what cannot be negative does not get an axis that is, beyond the width of its line
    floor = low - room if low < 0 else max(low - room, -0.3 * room)
    return [round(floor, 4), round(high + room, 4)]


def axis(title: str, **more: Any) -> dict[str, Any]:
    """One axis with its title and unit."""
    shown = {
        "title": {"text": plain(title), "standoff": 8},
        "automargin": True,
        "zeroline": False,
        "gridcolor": RULE,
        "linecolor": PALE,
        "showline": True,
        "ticks": "outside",
        "tickcolor": PALE,
        "ticklen": 4,
    }
    return shown | more


def layout(x: dict[str, Any], y: dict[str, Any], *, height: int = 300, **more: Any) -> dict[str, Any]:
    """The layout that all charts share."""
    shared = {
        "height": height,
        "margin": {"l": 60, "r": 12, "t": 34, "b": 52},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": FONT, "size": 13, "color": INK},
        "legend": {
            "orientation": "h",
            "x": 0,
            "y": 1.01,
            "yanchor": "bottom",
            "xanchor": "left",
            "itemclick": False,
            "itemdoubleclick": False,
        },
        "hovermode": "closest",
        "dragmode": False,
        "xaxis": {"showgrid": False, **x},
        "yaxis": y,
        "shapes": [],
        "annotations": [],
    }
    return shared | more


def points(
    x: list[Any],
    y: list[float | None],
    name: str,
    colour: str,
    *,
    mode: str = "markers",
    symbol: str = "circle",
    size: Any = 6,
) -> dict[str, Any]:
    """One trace. A null in `y` breaks its line: nothing is drawn across it."""
    trace: dict[str, Any] = {"type": "scatter", "mode": mode, "x": x, "y": y, "name": plain(name)}
    trace["connectgaps"] = False
    if "markers" in mode:
        outline = {"width": 1.5 if symbol.endswith("-open") else 0, "color": colour}
        trace["marker"] = {"color": colour, "symbol": symbol, "size": size, "opacity": 1, "line": outline}
    return trace


def level_line(figure: dict[str, Any], at: float, label: str, *, y: str = "y") -> None:
    """Draw a dashed line across the figure at `at`, in printed units, with its label."""
    level = round(at, 4)
    line = {"color": INK, "width": 1.2, "dash": "dash"}
    across = {"type": "line", "xref": "paper", "x0": 0, "x1": 1, "yref": y, "y0": level, "y1": level, "line": line}
    note = {
        "xref": "paper",
        "x": 1,
        "xanchor": "right",
        "yref": y,
        "y": level,
        "yanchor": "bottom",
        "showarrow": False,
        "text": plain(label),
        "font": {"size": 12, "color": INK},
    }
    figure["layout"]["shapes"].append(across)
    if label:
        figure["layout"]["annotations"].append(note)


def limit_line(figure: dict[str, Any], name: str, at: float, value: str, *, y: str = "y") -> None:
    """Draw a limit: `at` in printed units, `value` the same as text."""
    label = texts("report")["chart"]["limit_label"].format(name=limit_name(name) if name else "", value=value)
    level_line(figure, at, label.strip(), y=y)


def say(chart: str, key: str, style: Style, **values: Any) -> str:
    """A sentence of a chart, filled. Local days stand in it as they are."""
    plain_days = {
        name: value.isoformat() if isinstance(value, date) and not isinstance(value, datetime) else value
        for name, value in values.items()
    }
    return style.fill(texts("report")["chart"][chart][key], plain_days)


def day_axis(style: Style) -> dict[str, Any]:
    """An axis of local days."""
    return axis(texts("report")["chart"]["day_axis"].format(zone=style.zone), type="date")


def time_axis(style: Style) -> dict[str, Any]:
    """An axis of local time."""
    return axis(texts("report")["chart"]["time_axis"].format(zone=style.zone), type="date")


def whole_days(days: pl.DataFrame, *columns: str) -> pl.DataFrame:
    """One row for each day from first to last: a day without rows is a null, so that no line bridges it."""
    first, last = days["day"].min(), days["day"].max()
    if not isinstance(first, date) or not isinstance(last, date):
        return days.select("day", *columns)
    every = pl.DataFrame({"day": pl.date_range(first, last, "1d", eager=True)})
    return every.join(days.select("day", *columns), on="day", how="left").sort("day")


def middle(column: pl.Series) -> float | None:
    """The median, or None where there is none."""
    median = column.median()
    return float(median) if isinstance(median, int | float) else None


def limit_name(name: str) -> str:
    """A limit's name in words; one that no chart draws is told by what it is per."""
    known = texts("report")["limits"].get(name)
    return str(known or (BY_NAME[name].per if name in BY_NAME else name.replace("_", " ")))


def signal_name(name: str) -> str:
    """A signal's name in words."""
    return str(texts("report")["signals"].get(name, name.replace("_", " ")))


def scale(signal: str, unit: str, style: Style) -> tuple[float, float, str]:
    """Factor, offset and printed unit for a signal whose inner unit is `unit`, as signals.py has it."""
    factor, offset, printed = style.scale(unit_ending(unit))
    return factor, offset, "" if signal in {"mains_present", "on_load", "starts_counter"} else printed
