"""How each logger writes its file: six layouts of ordinary trade words, none of them a product's own."""

from __future__ import annotations

import gzip
import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import polars as pl

from tools.sample_fleet import specs
from tools.sample_fleet.readings import NO_VALUE_KEY, Readings
from tools.sample_fleet.specs import Spec
from tools.sample_fleet.weather import Floats

_KPA_PSI = 1 / 6.894757293168361  # NIST SP 811, appendix B
_L_GAL = 1 / 3.785411784  # NIST SP 811, appendix B


def _same(values: Floats) -> Floats:
    return values


def _fahrenheit(values: Floats) -> Floats:
    return values * 1.8 + 32.0


def _percent(values: Floats) -> Floats:
    return values * 100.0


def _bar(values: Floats) -> Floats:
    return values / 100.0


def _psi(values: Floats) -> Floats:
    return values * _KPA_PSI


def _gallons(values: Floats) -> Floats:
    return values * _L_GAL


@dataclass(frozen=True, slots=True)
class Number:
    """A column of numbers: header, unit as written, key in the readings, decimals, conversion."""

    header: str
    unit: str
    key: str
    decimals: int = 0
    convert: Callable[[Floats], Floats] = _same


@dataclass(frozen=True, slots=True)
class Word:
    """A column of words; `says` replaces the story's words by the logger's."""

    header: str
    key: str
    says: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """A file's form. `times`: header and strftime format of each time column; empty means epoch seconds.

    `units`: `row` has them in a second header row, `[]` and `()` behind the name, `name` within it.
    `zone` None writes the set's local time without offset.
    """

    file: str
    times: tuple[tuple[str, str], ...]
    columns: tuple[Number | Word, ...]
    units: Literal["row", "[]", "()", "name"]
    separator: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    line_end: str = "\n"
    zone: str | None = None
    preamble: tuple[str, ...] = ()
    set_column: str = ""
    trailing: bool = False
    no_value: str = ""


LAYOUTS: dict[str, Layout] = {
    specs.PUMP.set_id: Layout(
        file="PUMP-01.csv.gz",
        times=(("Time", "%Y-%m-%dT%H:%M:%S+00:00"),),
        zone="UTC",
        units="[]",
        columns=(
            Number("Voltage L1", "V", "voltage_l1_v", 1),
            Number("Voltage L2", "V", "voltage_l2_v", 1),
            Number("Voltage L3", "V", "voltage_l3_v", 1),
            Number("Frequency", "Hz", "frequency_hz", 2),
            Number("Engine speed", "rpm", "speed_rpm"),
            Number("Active power", "kW", "power_kw", 2),
            Number("Oil pressure", "bar", "oil_kpa", 2, _bar),
            Number("Coolant temperature", "°C", "coolant_c", 1),
            Number("Ambient temperature", "°C", "ambient_c", 1),
            Number("Battery voltage", "V", "battery_v", 2),
            Number("Fuel level", "%", "fuel_fraction", 0, _percent),
            Number("Run hours", "h", "hour_meter_h", 1),
            Number("Starts", "", "starts_counter"),
            Word("Mode", "mode", (("Auto", "automatic"), ("Manual", "manual"))),
            Word("Mains present", "mains"),
        ),
    ),
    specs.HUT.set_id: Layout(
        file="HUT-02.zip",
        times=(("Date/Time", "%d.%m.%Y %H:%M:%S"),),
        units="row",
        separator=";",
        decimal=",",
        encoding="cp1252",
        line_end="\r\n",
        no_value="---",
        columns=(
            Number("Generator voltage", "V", "voltage_l1_v"),
            Number("Frequency", "Hz", "frequency_hz", 1),
            Number("Speed", "1/min", "speed_rpm"),
            Number("Oil pressure", "bar", "oil_kpa", 1, _bar),
            Number("Coolant", "°C", "coolant_c"),
            Number("Outside temperature", "°C", "ambient_c"),
            Number("Battery", "V", "battery_v", 1),
            Number("Mains voltage", "V", "mains_v"),
            Number("Fuel level", "%", "fuel_fraction", 0, _percent),
            Number("Running hours", "h", "hour_meter_h", 1),
            Word("Selector", "mode"),
            Word("Alarm", "alarm"),
        ),
    ),
    specs.BOOST.set_id: Layout(
        file="BOOST-03.csv",
        times=(("Date", "%Y-%m-%d"), ("Time", "%H:%M:%S")),
        units="()",
        preamble=("Standby set log", "Set: BOOST-03", "Site: Upper Ostrel pressure booster", ""),
        columns=(
            Number("Gen voltage", "V", "voltage_l1_v"),
            Number("Gen frequency", "Hz", "frequency_hz", 1),
            Number("Oil pressure", "kPa", "oil_kpa"),
            Number("Coolant temp", "°C", "coolant_c"),
            Number("Battery volts", "V", "battery_v", 2),
            Number("Fuel level", "%", "fuel_fraction", 0, _percent),
            Number("Engine hours", "h", "hour_meter_h", 1),
            Number("Engine speed", "rpm", "speed_rpm"),
            Word("Mode", "mode"),
            Word("Fault", "alarm"),
        ),
    ),
    specs.CLINIC.set_id: Layout(
        file="CLINIC-04.csv.gz",
        times=(("Timestamp", "%m/%d/%Y %I:%M:%S %p"),),
        units="()",
        separator="\t",
        columns=(
            Number("Output voltage", "V", "voltage_l1_v", 1),
            Number("Freq", "Hz", "frequency_hz", 2),
            Number("RPM", "rpm", "speed_rpm"),
            Number("Load", "kW", "power_kw", 1),
            Number("Oil press", "psi", "oil_kpa", 0, _psi),
            Number("Coolant temp", "°F", "coolant_c", 0, _fahrenheit),
            Number("Ambient temp", "°F", "ambient_c", 0, _fahrenheit),
            Number("Batt volts", "V", "battery_v", 2),
            Number("Fuel remaining", "gal", "fuel_l", 1, _gallons),
            Number("Hour meter", "h", "hour_meter_h", 1),
            Word("Utility", "mains", (("no", "OFF"), ("yes", "ON"))),
            Word("Key switch", "mode", (("Auto", "AUTO"), ("Manual", "MANUAL"))),
            Word("Alarm", "alarm"),
        ),
    ),
    specs.SPRING.set_id: Layout(
        file="SPRING-05.csv.gz",
        times=(("epoch_s", ""),),
        units="name",
        columns=(
            Number("generator_voltage_v", "", "voltage_l1_v"),
            Number("frequency_hz", "", "frequency_hz", 2),
            Number("active_power_kw", "", "power_kw", 1),
            Number("oil_pressure_kpa", "", "oil_kpa"),
            Number("coolant_temperature_c", "", "coolant_c"),
            Number("battery_voltage_v", "", "battery_v", 2),
            Number("mains_voltage_v", "", "mains_v"),
            Number("fuel_level_pct", "", "fuel_fraction", 0, _percent),
            Number("run_hours_h", "", "hour_meter_h", 1),
            Number("start_count", "", "starts_counter"),
            Word("mode", "mode", (("Auto", "auto"), ("Manual", "manual"), ("Off", "off"))),
            Word("alarm", "alarm"),
        ),
    ),
    specs.MAST.set_id: Layout(
        file="MAST-06.csv.gz",
        times=(("Date Time", "%Y-%m-%d %H:%M:%S"),),
        units="()",
        separator=";",
        set_column="Set ID",
        trailing=True,
        no_value="65535",
        columns=(
            Number("AC voltage", "V", "voltage_l1_v", 1),
            Number("AC frequency", "Hz", "frequency_hz", 2),
            Number("Oil pressure", "kPa", "oil_kpa"),
            Number("Water temperature", "°C", "coolant_c", 1),
            Number("Air temperature", "°C", "ambient_c", 1),
            Number("Starter battery", "V", "battery_v", 1),
            Number("Tank level", "%", "fuel_fraction", 0, _percent),
            Number("Operating hours", "h", "hour_meter_h", 1),
            Word("Operating mode", "mode"),
        ),
    ),
}


def write(layout: Layout, spec: Spec, readings: Readings) -> bytes:
    """The file's bytes, the same for the same readings on every run (archives carry no time of making)."""
    text = io.StringIO()
    text.writelines(line + "\n" for line in _head(layout))
    body = _body(layout, spec, readings)
    body.write_csv(text, include_header=False, separator=layout.separator, quote_style="never")
    raw = text.getvalue().replace("\n", layout.line_end).encode(layout.encoding)
    if layout.file.endswith(".gz"):
        packed = io.BytesIO()
        with gzip.GzipFile("", "wb", 9, packed, mtime=0) as stream:
            stream.write(raw)
        return packed.getvalue()
    if layout.file.endswith(".zip"):
        packed = io.BytesIO()
        member = zipfile.ZipInfo(f"{spec.set_id}.csv", (1980, 1, 1, 0, 0, 0))
        member.create_system, member.external_attr = 3, 0o644 << 16
        with zipfile.ZipFile(packed, "w") as archive:
            archive.writestr(member, raw, zipfile.ZIP_DEFLATED, 9)
        return packed.getvalue()
    return raw


def _head(layout: Layout) -> list[str]:
    names = [name for name, _ in layout.times]
    units = [""] * len(names)
    if layout.set_column:
        names.insert(0, layout.set_column)
        units.insert(0, "")
    for column in layout.columns:
        unit = column.unit if isinstance(column, Number) else ""
        bracketed = unit and layout.units in ("[]", "()")
        names.append(f"{column.header} {layout.units[0]}{unit}{layout.units[1]}" if bracketed else column.header)
        units.append(unit)
    ends = layout.separator if layout.trailing else ""
    rows = [names, units] if layout.units == "row" else [names]
    return [*layout.preamble, *(layout.separator.join(row) + ends for row in rows)]


def _body(layout: Layout, spec: Spec, readings: Readings) -> pl.DataFrame:
    local = pl.from_epoch(pl.Series("at", readings.at), time_unit="s").dt.replace_time_zone("UTC")
    local = local.dt.convert_time_zone(layout.zone or spec.zone)
    series = [pl.Series(layout.set_column, [spec.set_id] * readings.at.size)] if layout.set_column else []
    for name, form in layout.times:
        series.append((local.dt.strftime(form) if form else pl.Series(readings.at).cast(pl.String)).alias(name))
    for column in layout.columns:
        if isinstance(column, Word):
            said = pl.Series(column.header, readings.words[column.key])
            series.append(said.replace(dict(column.says)) if column.says else said)
            continue
        written = _written(column.convert(readings.numbers[column.key]), column.decimals, layout.decimal)
        if column.key == NO_VALUE_KEY and layout.no_value:
            written = np.where(readings.no_value, layout.no_value, written)
        series.append(pl.Series(column.header, written))
    if layout.trailing:
        series.append(pl.Series("", [""] * readings.at.size))
    return pl.DataFrame(series)


def _written(values: Floats, decimals: int, decimal: str) -> np.ndarray:
    """Fixed decimals; each distinct value is spelt once, as there are few of them."""
    distinct, where = np.unique(np.round(values, decimals) + 0.0, return_inverse=True)
    spelt = np.array([f"{value:.{decimals}f}".replace(".", decimal) for value in distinct])
    return spelt[where]
