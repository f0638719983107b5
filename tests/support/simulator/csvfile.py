"""Simulated readings as a CSV file, in one of several plain layouts: what the whole way through the reader is tested with."""

from __future__ import annotations

import gzip
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from startworthy.signals import TEXT_SIGNALS

LAYOUTS = ("iso", "semicolon", "us", "epoch")

_PLAIN = {
    "voltage_v": "Generator voltage", "voltage_l1_v": "Voltage L1", "voltage_l2_v": "Voltage L2", "voltage_l3_v": "Voltage L3",
    "current_a": "Current", "current_l1_a": "Current L1", "current_l2_a": "Current L2", "current_l3_a": "Current L3",
    "frequency_hz": "Frequency", "speed_rpm": "Engine speed", "power_kw": "Active power", "oil_kpa": "Oil pressure",
    "coolant_c": "Coolant temperature", "ambient_c": "Ambient temperature", "battery_v": "Battery voltage",
    "fuel_fraction": "Fuel level", "fuel_flow_lph": "Fuel rate", "hour_meter_h": "Run hours", "starts_counter": "Starts",
    "mains_present": "Mains present", "on_load": "Generator breaker", "mode": "Mode", "state": "State", "alarm": "Alarm",
}  # fmt: skip
_UNITS = {
    "v": "V", "a": "A", "hz": "Hz", "rpm": "rpm", "kw": "kW", "kpa": "kPa", "c": "°C", "fraction": "%", "lph": "L/h", "h": "h",
}  # fmt: skip


@dataclass(frozen=True)
class Written:
    """A file, and what a person would have to say with it: the zone of its naive times, if they are naive."""

    path: Path
    layout: str
    time_zone: str | None


def write_csv(frame: pl.DataFrame, folder: Path, layout: str, zone: str, *, no_value: str = "") -> Written:
    """Write the readings of one set. Raises KeyError for an unknown layout."""
    if layout not in LAYOUTS:
        raise KeyError(layout)
    set_id = str(frame["set_id"][0])
    out = frame.drop("file", "line", "set_id")
    names = [c for c in out.columns if c != "at"]
    exprs: list[pl.Expr] = []
    for name in names:
        unit = name.rsplit("_", 1)[-1] if name not in TEXT_SIGNALS else ""
        value = pl.col(name)
        if name in TEXT_SIGNALS:
            exprs.append(value.cast(pl.String).fill_null("none" if name == "alarm" else "").alias(_PLAIN[name]))
            continue
        if name in {"mains_present", "on_load"}:
            words = ("on", "off") if layout == "epoch" else ("yes", "no")
            exprs.append(pl.when(value > 0.5).then(pl.lit(words[0])).otherwise(pl.lit(words[1])).alias(_PLAIN[name]))
            continue
        label, unit_text = _PLAIN[name], _UNITS.get(unit, "")
        if unit == "fraction":
            value = value * 100
        if layout == "semicolon" and unit == "kpa":
            value, unit_text = value / 100, "bar"
        if layout == "us" and unit == "kpa":
            value, unit_text = value / 6.894757293168361, "psi"
        if layout == "us" and unit == "c":
            value, unit_text = value * 1.8 + 32, "°F"
        text = value.round(3).cast(pl.String).fill_null(no_value)
        if layout == "semicolon":
            text = text.str.replace(".", ",", literal=True)
        exprs.append(text.alias(f"{label} ({unit_text})" if unit_text else label))
    local = pl.col("at").dt.convert_time_zone(zone)
    time, zone_said = {
        "iso": (pl.col("at").dt.strftime("%Y-%m-%dT%H:%M:%SZ"), None),
        "semicolon": (local.dt.strftime("%d.%m.%Y %H:%M:%S"), zone),
        "us": (local.dt.strftime("%m/%d/%Y %I:%M:%S %p"), zone),
        "epoch": (pl.col("at").dt.epoch("s").cast(pl.String), None),
    }[layout]
    header = {"iso": "Time", "semicolon": "Date and time", "us": "Timestamp", "epoch": "timestamp"}[layout]
    table = out.select(time.alias(header), *exprs)
    path = folder / f"{set_id}.csv"
    table.write_csv(path, separator={"semicolon": ";", "epoch": "\t"}.get(layout, ","))
    if layout == "epoch":
        packed = path.with_suffix(".csv.gz")
        packed.write_bytes(gzip.compress(path.read_bytes(), 1))
        path.unlink()
        path = packed
    return Written(path, layout, zone_said)
