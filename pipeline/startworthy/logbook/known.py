"""What is known of each set: the register's word first, and where it is silent what the readings themselves tell.

Everything inferred is kept with its evidence, so that the report can show on what it stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import polars as pl

from startworthy.limits import Limits
from startworthy.register import Register
from startworthy.results import Conflict, Known
from startworthy.signals import LINE_VOLTAGES, PHASE_VOLTAGES

# Nominal supply voltages in use (IEC 60038 and common older ones). A running set within 4 % of one is taken for it.
NOMINAL_VOLTAGES = (
    100.0,
    110.0,
    115.0,
    120.0,
    127.0,
    200.0,
    208.0,
    220.0,
    230.0,
    240.0,
    277.0,
    347.0,
    380.0,
    400.0,
    415.0,
    440.0,
    480.0,
    600.0,
    690.0,
)
_CLASS_DROOP = {"G1": "droop_fraction", "G2": "droop_g2_fraction", "G3": "droop_g3_fraction"}
_CLASS_BAND = {
    "G1": "frequency_band_fraction",
    "G2": "frequency_band_g2_fraction",
    "G3": "frequency_band_g3_fraction",
}
SYNCHRONOUS_RPM = (750.0, 900.0, 1000.0, 1200.0, 1500.0, 1800.0, 3000.0, 3600.0)
_SAMPLE_ROWS = 200_000
CONTRADICTS, VOLTS_CONTRADICT = 0.15, 0.25
"""A register and a log further apart than this do not speak of one set: 50 and 60 Hz are a fifth apart. Practice.

A regulator may be off by a tenth and more, while kinds of voltage lie apart by half and more."""
SURELY_HZ = (-0.03, 0.06)
"""So near to 50 or 60 Hz a governor would have to be off by a tenth of the other to be taken for it."""


@dataclass(frozen=True, slots=True)
class Tellers:
    """Which signals of a set can tell that it runs, with their thresholds (on at or above, off below)."""

    speed: tuple[float, float] | None = None
    frequency: tuple[float, float] | None = None
    voltage: tuple[float, float] | None = None
    power: bool = False
    oil: bool = False
    state: bool = False

    def name(self) -> str:
        """The signal named as the one that told: the strongest there is."""
        for name in ("speed", "frequency", "voltage", "state", "power", "oil"):
            if getattr(self, name):
                return name
        return "battery"


@dataclass(frozen=True, slots=True)
class Profile:
    """What the row pass needs to know of a set. Sets with equal profiles are worked on together."""

    battery_nominal_v: float | None
    rated_frequency_hz: float | None
    rated_rpm: float | None
    rated_voltage_v: float | None
    rated_kw: float | None
    time_zone: str
    oil_low_kpa: float
    coolant_high_c: float
    oil_settle_s: float
    tellers: Tellers
    coolant_stop_c: float = 107.0
    altitude_m: float = 0.0
    droop_fraction: float = 0.08
    frequency_band_fraction: float = 0.025
    overcharge_v: float | None = None
    float_low_v: float | None = None
    """Rest volts from which a battery is taken to be on float."""
    highest_kw: float | None = None
    """Highest load of the set's whole log, where only a slice of it is looked at; None: the rows at hand hold it."""


def output_voltage(columns: Iterable[str]) -> pl.Expr:
    """The set's output voltage as one figure a row: the lone voltage, else the mean of phases, else of lines."""
    there = set(columns)
    choices = [pl.col("voltage_v")] if "voltage_v" in there else []
    for group in (PHASE_VOLTAGES, LINE_VOLTAGES):
        own = [pl.col(name) for name in group if name in there]
        if own:
            choices.append(pl.mean_horizontal(own) if len(own) > 1 else own[0])
    if not choices:
        return pl.lit(None, dtype=pl.Float64)
    return pl.coalesce(choices) if len(choices) > 1 else choices[0]


def known_and_profiles(frame: pl.DataFrame, register: Register) -> tuple[dict[str, Known], dict[str, Profile]]:
    """Known and Profile of every set in the readings (sorted by set_id, at)."""
    figures = _figures(frame)
    known: dict[str, Known] = {}
    profiles: dict[str, Profile] = {}
    for row in figures.iter_rows(named=True):
        set_id = row["set_id"]
        known[set_id] = _known(set_id, row, register)
        profiles[set_id] = _profile(known[set_id], row)
    return known, profiles


def _figures(frame: pl.DataFrame) -> pl.DataFrame:
    """One row a set: medians while running and at rest, and which signals move."""
    there = set(frame.columns)

    def col(name: str) -> pl.Expr:
        return pl.col(name) if name in there else pl.lit(None, dtype=pl.Float64).alias(name)

    volts = output_voltage(there)
    turning = (col("frequency_hz") > 20.0) | (col("speed_rpm") > 400.0)
    if "frequency_hz" not in there and "speed_rpm" not in there:
        turning = volts > 50.0
    running = (
        frame.lazy()
        .filter(turning)
        .group_by("set_id")
        .agg(
            col("frequency_hz").filter(col("frequency_hz") > 20.0).median().alias("hz"),
            col("speed_rpm").filter(col("speed_rpm") > 400.0).median().alias("rpm"),
            col("speed_rpm").filter(col("speed_rpm") > 400.0).quantile(0.1).alias("rpm_low"),
            col("speed_rpm").filter(col("speed_rpm") > 400.0).quantile(0.9).alias("rpm_high"),
            volts.filter(volts > 50.0).median().alias("volts"),
            pl.len().alias("turning_rows"),
            (col("speed_rpm") > 400.0).sum().alias("speed_rows"),
            (col("frequency_hz") > 20.0).sum().alias("frequency_rows"),
        )
    )
    state_tells = pl.col("state").cast(pl.String).str.contains("run|load").any() if "state" in there else pl.lit(False)
    stride = max(1, frame.height // (_SAMPLE_ROWS * max(1, frame["set_id"].n_unique())))
    battery = (
        frame.lazy()
        .select("set_id", col("battery_v"))
        .gather_every(stride)
        .group_by("set_id")
        .agg(pl.col("battery_v").median())
    )
    whole = (
        frame.lazy()
        .group_by("set_id")
        .agg(
            pl.len().alias("rows"),
            (volts > 50.0).sum().alias("voltage_rows"),
            (col("power_kw") > 0.2).sum().alias("power_rows"),
            col("oil_kpa").max().alias("oil_high"),
            col("oil_kpa").min().alias("oil_low"),
            state_tells.alias("state_tells"),
        )
    )
    return (
        whole.join(running, on="set_id", how="left")
        .join(battery, on="set_id", how="left")
        .with_columns(pl.col("set_id").cast(pl.String))
        .sort("set_id")
        .collect()
    )


def _known(set_id: str, row: Mapping[str, float | None], register: Register) -> Known:
    entry = register.of(set_id)
    inferred: dict[str, str] = {}
    conflicts: list[Conflict] = []

    def told(
        name: str,
        register_value: float | None,
        seen: float | None,
        unit: str,
        evidence: str,
        *,
        apart: float = CONTRADICTS,
    ) -> float | None:
        if register_value is not None and (seen is None or abs(seen / register_value - 1) <= apart):
            return float(register_value)
        if seen is None:
            return None
        if register_value is not None:
            conflicts.append(Conflict(name, float(register_value), seen, unit, evidence))
        inferred[name] = evidence
        return seen

    hz = row["hz"]
    near_hz = None if hz is None or not 40 < hz < 70 else (50.0 if hz < 55 else 60.0)
    if hz and near_hz and entry.rated_frequency_hz is not None:
        near_hz = near_hz if SURELY_HZ[0] <= hz / near_hz - 1 <= SURELY_HZ[1] else None
    frequency = told(
        "rated_frequency_hz", entry.rated_frequency_hz, near_hz, "Hz", f"{hz or 0:.1f} Hz while running (median)"
    )
    rpm = _steady_rpm(row, frequency)
    rated_rpm = told("rated_rpm", entry.rated_rpm, rpm, "rpm", f"{row['rpm'] or 0:.0f} rpm while running (median)")
    volts = row["volts"]
    nominal = min(NOMINAL_VOLTAGES, key=lambda v: abs(v - volts)) if volts else None
    nominal = nominal if volts and nominal and abs(volts / nominal - 1) <= 0.04 else None
    voltage = told(
        "rated_voltage_v",
        entry.rated_voltage_v,
        nominal,
        "V",
        f"{volts or 0:.0f} V while running (median)",
        apart=VOLTS_CONTRADICT,
    )
    battery = row["battery_v"]
    system = None if battery is None else 12.0 if 7 < battery < 16.5 else 24.0 if 18 < battery < 33 else None
    battery_v = told(
        "battery_nominal_v", entry.battery_nominal_v, system, "V", f"{battery or 0:.1f} V over the log (median)"
    )
    return Known(
        set_id,
        entry,
        Limits(entry.limits),
        battery_v,
        frequency,
        rated_rpm,
        voltage,
        entry.rated_kw,
        register.zone_of(set_id),
        exercise_every_days=entry.exercise.every_days,
        exercise_minutes=entry.exercise.minutes,
        inferred=inferred,
        conflicts=tuple(conflicts),
    )


def _steady_rpm(row: Mapping[str, float | None], frequency: float | None) -> float | None:
    """The synchronous speed nearest to a steady running speed; None where speed roams, as no generating set's does."""
    rpm, low, high = row["rpm"], row["rpm_low"], row["rpm_high"]
    if rpm is None or low is None or high is None or (high - low) > 0.15 * rpm:
        return None
    allowed = [n for n in SYNCHRONOUS_RPM if frequency is None or (120 * frequency / n) % 2 == 0]
    nearest = min(allowed, key=lambda n: abs(n - rpm))
    return nearest if abs(rpm / nearest - 1) < 0.12 else None


def _profile(known: Known, row: Mapping[str, float | None]) -> Profile:
    rows = row["rows"] or 1
    rpm, hz, volts = known.rated_rpm, known.rated_frequency_hz, known.rated_voltage_v
    speed = (0.5 * rpm, 0.3 * rpm) if rpm else (400.0, 250.0)
    speed_on = bool(row["speed_rows"])
    # volts and frequency that nearly always stand, while speed says that the set mostly rests, are the busbar's
    busbar = speed_on and (row["frequency_rows"] or 0) > 0.9 * rows and (row["speed_rows"] or 0) < 0.5 * rows
    volts_busbar = speed_on and (row["voltage_rows"] or 0) > 0.9 * rows and (row["speed_rows"] or 0) < 0.5 * rows
    tellers = Tellers(
        speed=speed if speed_on else None,
        frequency=((0.5 * hz, 0.3 * hz) if hz else (25.0, 15.0)) if row["frequency_rows"] and not busbar else None,
        voltage=((0.5 * volts, 0.3 * volts) if volts else (50.0, 30.0))
        if row["voltage_rows"] and not volts_busbar
        else None,
        power=bool(row["power_rows"]),
        oil=(row["oil_high"] or 0) > 100.0 and (row["oil_low"] if row["oil_low"] is not None else 999.0) < 50.0,
        state=bool(row["state_tells"]),
    )
    limits = known.limits
    return Profile(
        known.battery_nominal_v,
        hz,
        rpm,
        volts,
        known.rated_kw,
        known.time_zone,
        limits.value("oil_low_kpa"),
        limits.value("coolant_high_c"),
        limits.value("oil_settle_s"),
        tellers,
        limits.value("coolant_stop_c"),
        known.entry.altitude_m or 0.0,
        limits.value(_CLASS_DROOP[known.entry.governor_class or "G1"]),
        limits.value(_CLASS_BAND[known.entry.governor_class or "G1"]),
        limits.value(f"battery_over_{known.battery_nominal_v:.0f}_v") if known.battery_nominal_v else None,
        limits.value(f"battery_float_low_{known.battery_nominal_v:.0f}_v") if known.battery_nominal_v else None,
    )
