"""Put a set together: traits by seed, the kind's fault, the story, the log in its steps, the register, and the truth."""

from __future__ import annotations

import zlib
from datetime import timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

from startworthy.register import Register
from tests.support.simulator import battery as bat
from tests.support.simulator import faults_running
from tests.support.simulator.climate import DAY, Floats, make_weather
from tests.support.simulator.episode import Episode
from tests.support.simulator.kinds import Kind, onset_of
from tests.support.simulator.logfaults import spoil
from tests.support.simulator.logger import Rows, instants, write
from tests.support.simulator.plan import make_plan
from tests.support.simulator.story import Story, tell
from tests.support.simulator.traits import Condition, Rng, Traits, draw, lph_full
from tests.support.simulator.truth import DemandTruth, Truth

CADENCES = ("dense", "10", "60", "300")
SHORT_DAYS = 40.0  # at 10 s throughout, only short spans
KINDS = faults_running.KINDS


def simulate(kind: str, seed: int, *, cadence: str = "dense", days: float = 182.0) -> tuple[pl.DataFrame, Truth]:
    """Half a year of one set as clean readings (see results.Readings), and what really happened.

    kind: a key of KINDS; seed: the set (the same story at every cadence); cadence: dense, 10, 60 or 300 (seconds
    throughout). At 10 the span is cut to its middle SHORT_DAYS. Raises KeyError for an unknown kind or cadence.
    """
    if cadence not in CADENCES:
        raise KeyError(cadence)
    what = KINDS[kind]
    story = _story(what, seed, days)
    log_rng = np.random.default_rng([seed, zlib.crc32(f"{kind} {cadence}".encode())])
    t = instants(story, cadence, log_rng)
    if cadence == "10":
        middle = (
            story.condition.onset_s
            if 0.1 * days * DAY < story.condition.onset_s < 0.9 * days * DAY
            else 0.5 * days * DAY
        )
        t = t[(t >= middle - SHORT_DAYS * DAY / 2) & (t < middle + SHORT_DAYS * DAY / 2)]
    rows = spoil(write(story, t, log_rng), story, what.log, story.condition.onset_s, log_rng)
    traits = story.traits
    register = _register(what, traits, story, log_rng)
    frame = _frame(rows, traits, log_rng)
    truth = _truth(what, seed, cadence, story, rows.t, register, frame)
    return frame, truth


def _story(kind: Kind, seed: int, days: float) -> Story:
    rng = np.random.default_rng([seed, zlib.crc32(kind.name.encode())])
    climate = str(rng.choice(kind.climate)) if kind.climate else None
    traits = draw(f"{kind.name.upper()}-{seed:03d}", rng, days, climate)
    if kind.columns and "coolant_c" in kind.columns:
        traits.air_cooled = False
    if kind.fit is not None:
        kind.fit(traits, rng)
    traits.columns |= set(kind.columns)
    if "coolant_c" in kind.columns or not traits.air_cooled:
        traits.columns.add("coolant_c")
    if traits.exercise_load > 0:
        traits.exercise_min = max(traits.exercise_min, (traits.warm_up_s + traits.cool_down_s) / 60 + 8)
    _sane(traits)
    condition = Condition(onset_of(kind, traits, rng), dict(kind.changes))
    plan = make_plan(traits, rng)
    if kind.plan is not None:
        kind.plan(traits, plan, condition, rng)
        plan.asks.sort(key=lambda ask: ask.at)
    offset = traits.begins.astimezone(ZoneInfo(traits.zone)).utcoffset() or timedelta()
    weather = make_weather(
        traits.climate,
        float(traits.begins.timetuple().tm_yday),
        days,
        offset.total_seconds() / 3600,
        traits.shelter_c,
        rng,
    )
    history = bat.History(traits.block, weather, traits.self_month)
    charge = (
        kind.charge
        if kind.charge is not None
        else (1.0 if traits.block.charger != "none" else float(rng.uniform(0.88, 0.96)))
    )
    fill = kind.fill if kind.fill is not None else float(rng.uniform(0.78, 0.96))
    return tell(Story(traits, plan, condition, weather, history), rng, first_fill=fill, charge=charge)


def _sane(traits: Traits) -> None:
    """What a careful installer would not leave: a tank too small for its outages, a rare exercise without a charger."""
    traits.engine.rated_kw = traits.rated_kw
    if traits.block.charger == "none":
        traits.exercise_days, traits.exercise_min = 7.0, max(traits.exercise_min, 20.0)
        traits.block.drain_a = min(traits.block.drain_a, 0.012)
    used = lph_full(traits.engine) * max(traits.exercise_load, 0.2) * traits.exercise_min / 60
    traits.tank.litres = max(traits.tank.litres, float(np.ceil(4 * used)))


def _stepped(values: Floats, step: float) -> Floats:
    return np.asarray(np.round(np.round(values / step) * step, 6))


def _frame(rows: Rows, traits: Traits, rng: Rng) -> pl.DataFrame:
    """Clean readings, as `read` and `validate` would hand them on: steps of the logger, canonical names, UTC."""
    steps = traits.steps
    by_name = {
        "fuel_fraction": traits.tank.step, "current_a": 0.1, "fuel_flow_lph": 0.1, "mains_present": 1.0, "on_load": 1.0,
        "starts_counter": 1.0, **{k: v for k, v in steps.items() if k != "voltage"},
    }  # fmt: skip
    given: dict[str, Any] = {}
    for name, values in rows.numbers.items():
        group = "voltage" if name.startswith("voltage") else "current" if name.startswith("current") else name
        if group not in traits.columns:
            continue
        step = steps["voltage"] if group == "voltage" else by_name.get(name, 0.1)
        if name == "hour_meter_h":
            given[name] = np.floor(values / step + 1e-6) * step
        else:
            given[name] = _stepped(values, step)
        if not np.isfinite(given[name]).all():
            given[name] = np.where(np.isfinite(given[name]), given[name], np.nan)
    columns = {name: pl.Series(name, values, dtype=pl.Float64, nan_to_null=True) for name, values in given.items()}
    for name, words in rows.words.items():
        if name in traits.columns:
            columns[name] = pl.Series(name, words.tolist(), dtype=pl.String).cast(pl.Categorical)
    at = pl.Series("at", (rows.t * 1e6).round().astype("int64")).cast(pl.Duration("us")) + traits.begins
    n = rows.t.size
    return pl.DataFrame(
        {"set_id": pl.Series([traits.set_id] * n, dtype=pl.String).cast(pl.Categorical), "at": at, **columns}
    ).with_columns(
        pl.lit(0, pl.UInt16).alias("file"), pl.int_range(2, pl.len() + 2, dtype=pl.UInt32).alias("line"),
        pl.col("at").cast(pl.Datetime("us", "UTC")),
    )  # fmt: skip


def _register(kind: Kind, traits: Traits, story: Story, rng: Rng) -> Register:
    """Full, partial or none by the seed; what the kind's check stands on is always there."""
    plan = {
        "every_days": 30.0 if traits.exercise_days == 28 else traits.exercise_days,
        "minutes": traits.exercise_min,
    }
    loaded = traits.exercise_load >= 0.4
    full: dict[str, Any] = {
        "site": "somewhere", "time_zone": traits.zone, "rated_kw": traits.rated_kw, "rated_voltage_v": traits.volts,
        "rated_frequency_hz": traits.hz, "rated_rpm": float(traits.rpm), "battery_nominal_v": traits.battery_v,
        "battery_ah": traits.block.ah, "battery_type": "agm" if traits.block.sealed else "flooded",
        "charger": traits.block.charger != "none", "tank_litres": traits.tank.litres, "tank_shape": traits.tank.shape,
        "coolant_heater": traits.heater_c is not None, "air_cooled": traits.air_cooled, "preheat": not traits.direct,
        "governor_class": "G1", "exercise": plan | ({"min_load_fraction": 0.3} if loaded else {}),
        "service": {"every_hours": 250.0, "every_months": 24.0, "last_hours": max(0.0, traits.hours_first - 20), "last_date": traits.first_day - timedelta(days=30)},
    }  # fmt: skip
    if traits.phases == 3 and "three" in traits.columns:
        full["rated_voltage_v"] = round(traits.volts / np.sqrt(3))
    style = traits.register_style
    entry = full if style == "full" else {}
    if style == "partial":
        entry = {key: value for key, value in full.items() if rng.random() < 0.5}
        if "tank_litres" in entry:
            entry["tank_shape"] = full["tank_shape"]
        if "battery_type" not in entry and traits.block.sealed:
            entry["battery_type"] = "agm"
    entry = dict(entry)
    for key in kind.register:
        if key in full:
            entry[key] = full[key]
    if "tank_litres" in entry:
        entry["tank_shape"] = full["tank_shape"]
    if "type_10" in kind.register:
        entry["type_10"] = True
    if "service_overdue" in kind.register:
        used = story.hours[-1][1]
        entry["service"] = {
            "every_hours": 250.0,
            "every_months": 12.0,
            "last_hours": max(0.0, used - 270.0),
            "last_date": traits.first_day - timedelta(days=300),
        }
    if kind.log == "conflict":
        entry["rated_frequency_hz"] = 110 - traits.hz
        entry["battery_nominal_v"] = 36 - traits.battery_v
        entry.pop("rated_rpm", None)
    return Register.model_validate({"sets": {traits.set_id: entry}} if entry else {})


def _truth(
    kind: Kind, seed: int, cadence: str, story: Story, t: Floats, register: Register, frame: pl.DataFrame
) -> Truth:
    first, last = float(t[0]), float(t[-1])
    traits = story.traits
    inside = [e for e in story.episodes if e.ask.at > first and (e.fired_at or e.attempts[0][0]) <= last]
    demands = tuple(
        DemandTruth(
            e.ask.at,
            e.ask.cause,
            tuple(e.attempts),
            e.ran if e.ran is None else (e.ran[0], min(e.ran[1], last)),
            e.ended_by,
            _burnt(story, e, last),
        )
        for e in inside
    )
    ran = [d.ran for d in demands if d.ran is not None]
    onset = story.condition.onset_s
    return Truth(
        kind=kind.name, seed=seed, cadence=cadence, set_id=traits.set_id, begins=traits.begins, days=traits.days,
        onset=traits.begins + timedelta(seconds=onset) if np.isfinite(onset) else None,
        expected=kind.expected, allowed=kind.allowed,
        demands=len(demands), failed_demands=sum(d.ran is None for d in demands),
        attempts=sum(len(d.attempts) for d in demands), runs=len(ran), running_h=sum(b - a for a, b in ran) / 3600,
        fuel_used_l=sum(d.fuel_l for d in demands), demand_list=demands, register=register,
        columns=frozenset(frame.columns) - {"set_id", "at", "file", "line"},
        rest_row_s=traits.rest_row_s if cadence == "dense" else float(cadence),
        run_row_s=traits.run_row_s if cadence == "dense" else float(cadence), notes=tuple(story.plan.notes),
        figures={
            "climate": traits.climate.name, "zone": traits.zone, "battery_v": traits.battery_v, "charger": traits.block.charger,
            "hz": traits.hz, "rpm": traits.rpm, "kw": traits.rated_kw, "exercise": (traits.exercise_days, traits.exercise_min, traits.exercise_load),
            "tank_l": traits.tank.litres, "tank_shape": traits.tank.shape, "fuel_step": traits.tank.step, "style": traits.register_style, "refuels": len(story.refuels),
            "onset_s": onset, "cut": any(e.ends > last for e in inside),
        },
    )  # fmt: skip


def _burnt(story: Story, episode: Episode, last: float) -> float:
    """Litres that a run burnt up to the log's last row."""
    if episode.fired_at is None:
        return 0.0
    at, litres = zip(*story.fuel, strict=True)
    span = np.interp([episode.fired_at, min(episode.stop_at + 0.5, last)], at, litres)
    return float(span[0] - span[1])


def story_of(kind: str, seed: int, days: float = 182.0) -> Story:
    """The story behind `simulate`, for tests of the simulator itself."""
    return _story(KINDS[kind], seed, days)
