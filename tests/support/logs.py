"""A set whose every value at any instant is known, so that it can be logged at any rate and the logbook held to the truth.

The figures are invented and plain on purpose (steps and straight lines): they show behaviour and prove no value.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np
import polars as pl

from startworthy.results import Readings
from startworthy.validate.clean import JUMPS, REFUSED

T0 = datetime(2026, 3, 2, tzinfo=UTC)


@dataclass(frozen=True)
class Start:
    """One demand: preheat, then cranks (seconds each) with pauses; the last one fires if `fires`."""

    at_s: float
    minutes: float = 20.0
    cranks: tuple[float, ...] = (2.0,)
    pause_s: float = 15.0
    preheat_s: float = 8.0
    fires: bool = True
    load_kw: float = 4.0
    mode: str = "automatic"
    mains_lost_s: float | None = None  # mains go this long before the demand, and come back with the stop

    @property
    def crank_spans(self) -> list[tuple[float, float]]:
        spans, t = [], self.at_s + self.preheat_s
        for seconds in self.cranks:
            spans.append((t, t + seconds))
            t += seconds + self.pause_s
        return spans

    @property
    def run_span(self) -> tuple[float, float] | None:
        begins = self.crank_spans[-1][1]
        return (begins, begins + self.minutes * 60.0) if self.fires else None


@dataclass(frozen=True)
class Truth:
    """A set over `days`, with its starts in order. Evaluates to signals at any instants (seconds from T0)."""

    days: float = 7.0
    starts: tuple[Start, ...] = ()
    float_v: float = 13.6
    crank_v: float = 10.4
    preheat_v: float = 12.6
    scale: float = 1.0  # 2 for a 24 V system
    leak_per_day: float = 0.0
    extra: dict[str, float] = field(default_factory=dict)

    def at(self, t: np.ndarray) -> dict[str, np.ndarray]:
        n = len(t)
        speed, battery = np.zeros(n), np.full(n, self.float_v)
        oil, coolant, fuel = np.zeros(n), np.full(n, 15.0), 0.8 - self.leak_per_day * t / 86400
        hours, mains, kw = np.full(n, 100.0), np.ones(n), np.zeros(n)
        mode = np.full(n, "automatic", dtype=object)
        for s in self.starts:
            first = s.crank_spans[0][0]
            battery[(t >= s.at_s) & (t < first)] = self.preheat_v
            for a, b in s.crank_spans:
                turning = (t >= a) & (t < b)
                speed[turning], battery[turning] = 200.0, self.crank_v
            last = s.run_span[1] if s.run_span else s.crank_spans[-1][1]
            mode[(t >= s.at_s - 60) & (t < last + 60)] = s.mode
            if s.mains_lost_s is not None:
                mains[(t >= s.at_s - s.mains_lost_s) & (t < last)] = 0.0
            if s.run_span is None:
                continue
            a, b = s.run_span
            ran = (t >= a) & (t < b)
            age = t - a
            speed[ran] = 1500.0
            battery[ran] = 14.2
            oil[ran] = np.minimum(300.0, 100.0 * age[ran])
            coolant[ran] = np.minimum(85.0, 15.0 + age[ran] / 10)
            cool = t >= b
            peak = min(85.0, 15.0 + (b - a) / 10)
            coolant[cool] = np.maximum(15.0, peak - (t[cool] - b) / 200)
            fuel -= 0.02 * np.clip(age, 0, b - a) / 3600
            hours += np.clip(age, 0, b - a) / 3600
            kw[ran & (age > 30) & (t < b - 60)] = s.load_kw
        on = speed > 700
        return {
            "voltage_v": np.where(on, 230.0, 0.0), "frequency_hz": np.where(on, 51.0, 0.0), "speed_rpm": speed, "power_kw": kw,
            "oil_kpa": oil, "coolant_c": coolant, "ambient_c": np.full(n, 15.0), "battery_v": battery * self.scale,
            "fuel_fraction": fuel, "hour_meter_h": np.floor(hours * 10) / 10, "mains_present": mains, "mode": mode,
        }  # fmt: skip

    def instants(self, dense_s: float, rest_s: float, *, offset_s: float = 0.0) -> np.ndarray:
        """Rows every `rest_s`, and every `dense_s` from 2 min before each demand to 2 min after its end."""
        t = [np.arange(offset_s, self.days * 86400, rest_s)]
        for s in self.starts if dense_s < rest_s else ():
            end = s.run_span[1] if s.run_span else s.crank_spans[-1][1]
            t.append(np.arange(s.at_s - 120 + offset_s, end + 120, dense_s))
        return np.unique(np.concatenate(t))


def readings_of(
    signals: dict[str, np.ndarray], t: np.ndarray, set_id: str = "A", drop: tuple[str, ...] = ()
) -> pl.DataFrame:
    """The frame of clean readings that these signals make at seconds t from T0."""
    at = pl.Series("at", (t * 1e6).round().astype("int64")).cast(pl.Duration("us")) + T0
    columns = {
        name: pl.Series(values.tolist(), dtype=pl.String).cast(pl.Categorical)
        if values.dtype == object
        else pl.Series(values, dtype=pl.Float64)
        for name, values in signals.items()
        if name not in drop
    }
    return pl.DataFrame(
        {"set_id": pl.Series([set_id] * len(t), dtype=pl.String).cast(pl.Categorical), "at": at, **columns}
    ).with_columns(
        pl.lit(0, pl.UInt16).alias("file"),
        pl.int_range(2, pl.len() + 2, dtype=pl.UInt32).alias("line"),
        pl.col("at").cast(pl.Datetime("us", "UTC")),
    )


def log(
    truth: Truth,
    dense_s: float = 1.0,
    rest_s: float = 60.0,
    *,
    set_id: str = "A",
    drop: tuple[str, ...] = (),
    offset_s: float = 0.0,
) -> pl.DataFrame:
    """The truth, logged: clean readings as the logbook takes them."""
    t = truth.instants(dense_s, rest_s, offset_s=offset_s)
    return readings_of(truth.at(t), t, set_id, drop)


def as_readings(frame: pl.DataFrame, jumps: pl.DataFrame | None = None) -> Readings:
    """Readings around a clean frame."""
    return Readings(frame, pl.DataFrame(schema=REFUSED), pl.DataFrame(schema=JUMPS) if jumps is None else jumps, ())


def instant(seconds: float) -> datetime:
    return T0 + timedelta(seconds=seconds)


Curve = float | Callable[[np.ndarray], np.ndarray]

_RUNNING: dict[str, Curve] = {
    "speed_rpm": 1500.0,
    "frequency_hz": 50.0,
    "voltage_v": 230.0,
    "oil_kpa": 350.0,
    "coolant_c": lambda age: np.minimum(82.0, 20.0 + age / 10),
    "battery_v": 14.2,
    "power_kw": 4.0,
}
_RESTING: dict[str, Curve] = {
    "speed_rpm": 0.0,
    "frequency_hz": 0.0,
    "voltage_v": 0.0,
    "oil_kpa": 0.0,
    "coolant_c": 20.0,
    "battery_v": 13.6,
    "power_kw": 0.0,
}


@dataclass(frozen=True)
class Runs:
    """Runs of one length, each signal drawn by hand: what it is at rest, and what it is while the set runs.

    begins_s: when each fires, seconds from T0. running: figures, or curves over the seconds since it fired. resting:
    figures, or curves over the seconds from T0. Both stand over plain defaults. always: the same, in any state. A
    crank of crank_s goes before each run, and preheat_s at preheat_v before that (curves over the seconds from T0).
    """

    begins_s: tuple[float, ...] = (7200.0,)
    minutes: float = 20.0
    days: float = 0.25
    running: Mapping[str, Curve] = field(default_factory=dict)
    resting: Mapping[str, Curve] = field(default_factory=dict)
    always: Mapping[str, Curve] = field(default_factory=dict)
    crank_s: float = 2.0
    crank_v: Curve = 10.4
    preheat_s: float = 0.0
    preheat_v: Curve = 12.8

    def at(self, t: np.ndarray) -> dict[str, np.ndarray]:
        """The signals at t seconds from T0."""
        running, resting = {**_RUNNING, **self.running}, {**_RESTING, **self.resting}
        signals = {name: _drawn(resting.get(name, 0.0), t) for name in {**running, **resting}}
        for begins in self.begins_s:
            turning = (t >= begins - self.crank_s) & (t < begins)
            glowing = (t >= begins - self.crank_s - self.preheat_s) & (t < begins - self.crank_s)
            signals["speed_rpm"][turning] = 200.0
            signals["battery_v"][turning] = _drawn(self.crank_v, t[turning])
            signals["battery_v"][glowing] = _drawn(self.preheat_v, t[glowing])
            ran = (t >= begins) & (t < begins + self.minutes * 60)
            for name, curve in running.items():
                signals[name][ran] = _drawn(curve, t[ran] - begins)
        return signals | {name: _drawn(curve, t) for name, curve in self.always.items()}

    def log(
        self, dense_s: float = 1.0, rest_s: float = 60.0, *, set_id: str = "A", drop: tuple[str, ...] = ()
    ) -> pl.DataFrame:
        """Clean readings: every `rest_s`, and every `dense_s` from 2 min before each run to 2 min after it."""
        near = self.begins_s if dense_s < rest_s else ()
        quick = [np.arange(begins - 120, begins + self.minutes * 60 + 120, dense_s) for begins in near]
        every = np.unique(np.concatenate([np.arange(0, self.days * 86400, rest_s), *quick]))
        return readings_of(self.at(every), every, set_id, drop)


def _drawn(curve: Curve, over: np.ndarray) -> np.ndarray:
    values = curve(over) if callable(curve) else np.full(len(over), curve)
    return np.array(values, dtype=object if values.dtype.kind in "OU" else float)


def spiked(frame: pl.DataFrame, name: str, value: float, *at_s: float) -> pl.DataFrame:
    """The frame with one value put in at each of these seconds from T0, where there is a row."""
    rows = pl.col("at").is_in([instant(s) for s in at_s])
    assert frame.filter(rows).height == len(at_s)
    return frame.with_columns(pl.when(rows).then(pl.lit(value)).otherwise(pl.col(name)).alias(name))
