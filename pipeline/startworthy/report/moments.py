"""A close look at the moment of a finding: the readings around it, thinned without losing their extremes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

from startworthy.findings import Finding
from startworthy.report.look import (
    PALE,
    Chart,
    axis,
    layout,
    level_line,
    limit_line,
    plain,
    points,
    scale,
    signal_name,
    spread,
    stroke,
)
from startworthy.results import Known, Sampling
from startworthy.signals import BY_NAME, TEXT_SIGNALS, Mode
from startworthy.words import Style, texts, unit_ending

MOST_POINTS = 1200
"""Points a trace: more than a chart has columns of dots on any screen."""
LONGEST = timedelta(days=14)
"""A finding may last for months; its moment is its beginning."""

_SPEED = "speed_rpm|frequency_hz"
_VOLTAGE = "voltage_v|voltage_l1_v|voltage_l12_v"
_LOAD = "power_kw|load_fraction"
_SIGNALS = {
    "start": ("battery_v", _SPEED, "oil_kpa"),
    "battery": ("battery_v", _SPEED),
    "exercise": (f"{_SPEED}|{_VOLTAGE}|oil_kpa", "battery_v"),
    "output": (_VOLTAGE, "frequency_hz|speed_rpm", _LOAD),
    "cooling": ("coolant_c", _SPEED, _LOAD),
    "oil": ("oil_kpa", _SPEED),
    "fuel": ("fuel_fraction|fuel_l", _SPEED),
    "care": ("mode", _SPEED),
    "log": ("battery_v|fuel_fraction|coolant_c|voltage_v|frequency_hz",),
}
"""What is drawn for each group of checks, top to bottom; `a|b` where either will do."""

_CRANK = timedelta(seconds=90)
_DAY = timedelta(days=1)
_ROOM = {
    "start": _CRANK,
    "battery": _DAY,
    "battery.crank_sag": _CRANK,
    "exercise": _DAY,
    "fuel": _DAY,
    "care": timedelta(hours=6),
    "log": timedelta(hours=6),
}
"""Time shown at least before and after, by check or by group."""
_ROOM_ELSE = timedelta(minutes=15)
_ONE_START = timedelta(minutes=10)
_AT_REST = {"battery.low_at_rest", "battery.charger_lost"}
"""Told at rest: cranks and runs within the window may leave the axis, or the fall would be too small to see."""
_ORDER: dict[str, dict[str, Any]] = {
    "mode": {"categoryorder": "array", "categoryarray": [mode.value for mode in reversed(Mode)]}
}
_ROWS_SHOWN = 6
_FEW = 150
"""Where rows are fewer than this, each is marked: what the log really holds."""


OwnRows = pl.DataFrame | Callable[[datetime, datetime], pl.DataFrame]


@dataclass(frozen=True, slots=True)
class OwnReadings:
    """One set: a slice of the whole frame, sorted by time, the gaps in it, what is known of it, its sampling.

    frame: or, where the readings are not held, what gives the rows between two instants.
    """

    frame: OwnRows
    gaps: pl.DataFrame
    known: Known
    sampling: Sampling


@dataclass(frozen=True, slots=True)
class _Window:
    """The rows that one chart shows, and the signals drawn of them, top to bottom."""

    frame: pl.DataFrame
    signals: tuple[str, ...]
    own: OwnReadings
    style: Style


def own_readings(frame: pl.DataFrame) -> Mapping[str, pl.DataFrame]:
    """Each set's rows as a slice of the sorted frame: nothing is copied. A set without rows is not in it."""
    if frame.is_empty():
        return {}
    # names become text after the count of rows, not before: that is a tenth of the work
    spells = frame.select(pl.col("set_id").rle()).unnest("set_id").cast({"value": pl.String})
    ends = spells["len"].cum_sum()
    return {
        name: frame.slice(end - length, length)
        for name, length, end in zip(spells["value"], spells["len"], ends, strict=True)
    }


def moment_chart(finding: Finding, key: str, own: OwnReadings, style: Style) -> Chart | None:
    """The readings around a finding's beginning; None where it has no moment or fewer than two rows lie there."""
    if finding.began_at is None:
        return None
    began = finding.began_at
    ended = min(finding.ended_at or began, began + LONGEST)
    title = "zoom" if ended == (finding.ended_at or began) else "zoom_began"
    if _least_room(finding) == _CRANK and finding.ended_at is not None and ended - began > _ONE_START:
        # several starts are meant; a crank is only seen close up, so the last of them is shown
        began, ended = finding.ended_at - _CRANK / 3, finding.ended_at
        title = "zoom_last"
    room = _room(finding, ended - began, own.sampling)
    low, high = _reached(began, -room), _reached(ended, room)
    window = own.frame(low, high) if callable(own.frame) else _between(own.frame, low, high)
    choices = _SIGNALS.get(finding.code.split(".")[0], ())
    signals = [name for choice in choices if (name := _with_values(window, choice)) is not None]
    if window.height < 2 or not signals:
        return None
    words, figure = _drawn(finding, _Window(window, tuple(signals), own, style))
    return Chart(key, texts("report")["finding"][title], words, figure)


def _reached(at: datetime, by: timedelta) -> datetime:
    """The instant that far away; the same where the calendar ends, as a wild clock may ask for."""
    try:
        return at + by
    except OverflowError:
        return at


def _room(finding: Finding, length: timedelta, sampling: Sampling) -> timedelta:
    least = _least_room(finding)
    close = sampling.start_s if least == _CRANK else None
    interval = close or sampling.rest_s or sampling.running_s or 0.0
    return max(least, timedelta(seconds=_ROWS_SHOWN * interval), length / 4)


def _least_room(finding: Finding) -> timedelta:
    return _ROOM.get(finding.code) or _ROOM.get(finding.code.split(".")[0], _ROOM_ELSE)


def _between(frame: pl.DataFrame, low: datetime, high: datetime) -> pl.DataFrame:
    at = frame["at"]
    first, last = at.search_sorted(low, side="left"), at.search_sorted(high, side="right")
    return frame.slice(first, last - first)


def _with_values(window: pl.DataFrame, choice: str) -> str | None:
    there = (name for name in choice.split("|") if name in window.columns)
    return next((name for name in there if window[name].count() >= 2), None)


def _drawn(finding: Finding, shown: _Window) -> tuple[str, dict[str, Any]]:
    window, signals, style = shown.frame, shown.signals, shown.style
    names = texts("report")["chart"]
    # one offset for the whole window: a change of the clock within it must not fold the line back on itself
    offset = window["at"][0].astimezone(ZoneInfo(style.zone)).utcoffset() or timedelta(0)
    data: list[dict[str, Any]] = []
    axes: dict[str, dict[str, Any]] = {}
    parts: list[str] = []
    last_axis = "y" if len(signals) == 1 else f"y{len(signals)}"
    zone = f"{style.zone} (UTC{_signed(offset)})"
    ends_ms = [_moved(window["at"][0], offset), _moved(window["at"][-1], offset)]
    x = axis(names["time_axis"].format(zone=zone), type="date", anchor=last_axis, range=ends_ms)
    figure: dict[str, Any] = {"data": data}
    height = 110 + (190 if len(signals) == 1 else 135 * len(signals))
    figure["layout"] = layout(x, {}, height=height, showlegend=False, shapes=_shade(finding, window, offset))
    figure["layout"]["margin"] |= {"t": 10}
    share = 1.0 / len(signals)
    for number, signal in enumerate(signals):
        ref = "y" if number == 0 else f"y{number + 1}"
        line = _broken(window.select("at", signal).drop_nulls(), signal, shown.own)
        trace, title = _trace(line, signal, offset, style)
        data.append(trace | {"yaxis": ref})
        below = 0.05 if number < len(signals) - 1 else 0.0
        top = 1 - number * share
        domain = [round(top - share + below, 4), round(top, 4)]
        if signal in TEXT_SIGNALS:
            axes["yaxis" + ref[1:]] = axis(title, type="category", domain=domain, **_ORDER.get(signal, {}))
            parts.append(signal_name(signal))
        else:
            levels = _limits(finding, signal, ref, shown, figure)
            bounds = trace["y"]
            if finding.code in _AT_REST and signal == "battery_v":
                bounds = [line[signal].quantile(share_of) for share_of in (0.02, 0.98)]
            axes["yaxis" + ref[1:]] = axis(title, range=spread(bounds, *levels), domain=domain)
            parts.append(_part(signal, window[signal], style))
    figure["layout"] |= axes
    ends = {"began_at": window["at"][0], "ended_at": window["at"][-1]}
    words = style.fill(names["moment"]["words"], {**ends, "parts": "; ".join(parts)})
    drawn = max(len(trace["x"]) for trace in data)
    if drawn < max(window[signal].count() for signal in signals):
        words = style.fill(names["moment"]["thinned"], {"words": words, "shown": drawn, "total": window.height})
    return words, figure


def _trace(line: pl.DataFrame, signal: str, offset: timedelta, style: Style) -> tuple[dict[str, Any], str]:
    """The trace of one signal, and the title of its axis."""
    factor, add, unit = scale(signal, BY_NAME[signal].unit, style)
    text, name = signal in TEXT_SIGNALS, signal_name(signal)
    if text:
        y: list[Any] = [word if word is None else plain(word) for word in line[signal].cast(pl.String)]
    else:
        y = (line[signal] * factor + add).round(3).to_list()
    look = stroke(signal)
    mode = "lines+markers" if line.height <= _FEW else "lines"
    x = (line["at"] + offset).dt.epoch("ms").to_list()
    trace = points(x, y, name, look.colour, mode=mode, symbol=look.symbol, size=5)
    shape = "hv" if text else "linear"
    trace["line"] = {"color": look.colour, "width": 1.6, "dash": look.dash, "shape": shape}
    trace["hovertemplate"] = f"%{{x|%Y-%m-%d %H:%M:%S}}: %{{y}} {unit}<extra></extra>"
    return trace, texts("report")["chart"]["value_axis"].format(signal=name, unit=unit) if unit else name


def _part(signal: str, column: pl.Series, style: Style) -> str:
    unit = unit_ending(BY_NAME[signal].unit)
    low, high = (style.number(float(v), unit) for v in (column.min(), column.max()) if isinstance(v, int | float))
    values = {"signal": signal_name(signal), "lowest": low, "highest": high}
    return style.fill(texts("report")["chart"]["moment"]["part"], values)


def _signed(offset: timedelta) -> str:
    minutes = round(offset.total_seconds() / 60)
    hours, rest = divmod(abs(minutes), 60)
    return f"{'-' if minutes < 0 else '+'}{hours}" + (f":{rest:02d}" if rest else "")


def _broken(line: pl.DataFrame, signal: str, own: OwnReadings) -> pl.DataFrame:
    """The line thinned, with a null in each gap and in each long spell without values: nothing is bridged."""
    if line.is_empty():
        return line
    instant = timedelta(microseconds=1)
    quiet = timedelta(seconds=max(900.0, 5 * (own.sampling.rest_s or 0.0)))
    steps = line.select(at=pl.col("at").shift(1) + instant, step=pl.col("at").diff())
    first, last = line["at"][0], line["at"][-1]
    inside = own.gaps.filter((pl.col("began_at") >= first) & (pl.col("began_at") < last))
    breaks = pl.concat(
        [steps.filter(pl.col("step") > quiet).select("at"), inside.select(at=pl.col("began_at") + instant)]
    ).unique()
    empty = breaks.with_columns(pl.lit(None, line.schema[signal]).alias(signal))
    return pl.concat([thinned(line, signal), empty]).sort("at")


def thinned(line: pl.DataFrame, signal: str) -> pl.DataFrame:
    """At most MOST_POINTS rows that show the same line, its first, last, lowest and highest among them.

    line: `at` and the signal, sorted, without nulls. Of a text signal only the rows beside a change stay.
    """
    if signal in TEXT_SIGNALS:
        text = line[signal].cast(pl.String)
        changed = (text != text.shift(1)).fill_null(True) | (text != text.shift(-1)).fill_null(True)
        return line.filter(changed).head(MOST_POINTS)
    if line.height <= MOST_POINTS:
        return line
    from tsdownsample import MinMaxLTTBDownsampler

    at, values = line["at"].dt.epoch("us").to_numpy(), line[signal].to_numpy()
    chosen = MinMaxLTTBDownsampler().downsample(at, values, n_out=MOST_POINTS - 40)  # type: ignore[no-untyped-call]
    # the method may drop the very extremes, which are what a reader looks for
    ends = [0, line.height - 1, int(values.argmin()), int(values.argmax())]
    return line[np.unique(np.concatenate([chosen, ends])).astype(np.int64)]


def _shade(finding: Finding, window: pl.DataFrame, offset: timedelta) -> list[dict[str, Any]]:
    """The finding's own time: a pale band, or a dotted line where it is an instant."""
    if finding.began_at is None:
        return []
    first, last = window["at"][0], window["at"][-1]
    began = min(max(finding.began_at, first), last)
    ended = max(min(finding.ended_at or began, last), began)
    ends = {"x0": _moved(began, offset), "x1": _moved(ended, offset)}
    whole = {"yref": "paper", "y0": 0, "y1": 1, "layer": "below", **ends}
    # a band narrower than a hundredth of the chart would not be seen
    if ended - began < (last - first) / 100:
        return [{**whole, "type": "line", "x1": ends["x0"], "line": {"color": PALE, "width": 1.5, "dash": "dot"}}]
    return [{**whole, "type": "rect", "fillcolor": PALE, "opacity": 0.16, "line": {"width": 0}}]


def _moved(at: datetime, offset: timedelta) -> int:
    return round((at + offset).astimezone(UTC).timestamp() * 1000)


def _limits(finding: Finding, signal: str, ref: str, shown: _Window, figure: dict[str, Any]) -> list[float]:
    """Draw the finding's limit where it is a level of this signal. Returns the levels, in printed units."""
    if finding.limit is None:
        return []
    known, style = shown.own.known, shown.style
    factor, add, _ = scale(signal, BY_NAME[signal].unit, style)
    value = style.quantity(finding.limit, finding.unit)
    if _is_level(finding, signal):
        level = finding.limit * factor + add
        limit_line(figure, finding.limit_name, level, value, y=ref)
        return [level]
    rated = known.rated_voltage_v if signal.startswith("voltage") else None
    rated = known.rated_frequency_hz if signal == "frequency_hz" else rated
    middle = shown.frame[signal].median()
    banded = finding.code in {"output.voltage_off", "output.frequency_off"} and finding.unit == "1"
    # a band about the rated value; where another voltage is logged than the rated one, it would mislead
    if not banded or not rated or not isinstance(middle, float) or abs(middle / rated - 1) > 0.3:
        return []
    own = signal.startswith("voltage") == finding.code.endswith("voltage_off")
    levels = [rated * (1 - finding.limit), rated * (1 + finding.limit)] if own else []
    for number, level in enumerate(levels):
        if number == 0:
            limit_line(figure, finding.limit_name, level, value, y=ref)
        else:
            level_line(figure, level, "", y=ref)
    return levels


def _is_level(finding: Finding, signal: str) -> bool:
    """Whether the limit is a level of this signal, and not a change, a share or a time."""
    if finding.unit == "1":
        return signal == "fuel_fraction" and finding.limit_name in {"fuel_low_fraction", "fuel_stop_fraction"}
    return finding.unit == BY_NAME[signal].unit and finding.unit in {"V", "Cel", "kPa", "Hz", "rpm"}
