"""The vocabulary: every signal that a log may carry, with its unit inside, its physical range and its names in the trade.

Inside the program each signal has one name, and the name ends in its unit (`battery_v`, `oil_kpa`,
`coolant_c`); fractions are 0 to 1. What a header may call it stands in `aliases` (lower case, single
spaces, without the unit); how a stated unit turns into the inner one stands in `UNITS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

Misfit = Literal["cell", "row"]


class Quantity(StrEnum):
    """What kind of thing a signal measures; units convert within a quantity only."""

    VOLTAGE = "voltage"
    CURRENT = "current"
    FREQUENCY = "frequency"
    SPEED = "speed"
    PRESSURE = "pressure"
    TEMPERATURE = "temperature"
    FRACTION = "fraction"
    VOLUME = "volume"
    FLOW = "flow"
    POWER = "power"
    DURATION = "duration"
    COUNT = "count"
    FLAG = "flag"
    TEXT = "text"


@dataclass(frozen=True, slots=True)
class Signal:
    """One signal: `low` and `high` bound what is physically possible, both ends allowed.

    `misfit` says what a value outside that range costs: only its own cell (the usual case: a broken fuel
    sender must not cost the battery volts of the same row) or the whole row.
    """

    name: str
    quantity: Quantity
    unit: str
    low: float | None
    high: float | None
    aliases: tuple[str, ...]
    misfit: Misfit = "cell"


@dataclass(frozen=True, slots=True)
class Unit:
    """A spelling's meaning: inner value = (stated value + offset) * factor, in the quantity's inner unit."""

    quantity: Quantity
    factor: float
    offset: float = 0.0


def _signal(name: str, quantity: Quantity, unit: str, low: float | None, high: float | None, *aliases: str) -> Signal:
    return Signal(name, quantity, unit, low, high, aliases)


_PHASE_WORDS = {
    "l1": ("l1", "phase 1", "phase a", "phase l1", "u1", "l1 n", "a n", "an"),
    "l2": ("l2", "phase 2", "phase b", "phase l2", "u2", "l2 n", "b n", "bn"),
    "l3": ("l3", "phase 3", "phase c", "phase l3", "u3", "l3 n", "c n", "cn"),
    "l12": ("l1 l2", "l12", "ab", "a b", "u12", "line 1 2"),
    "l23": ("l2 l3", "l23", "bc", "b c", "u23", "line 2 3"),
    "l31": ("l3 l1", "l31", "ca", "c a", "u31", "line 3 1"),
}


def _phase_aliases(phase: str, *nouns: str) -> tuple[str, ...]:
    """Both word orders of each phase and noun, and the phase words that already say what they measure."""
    found: list[str] = [word for word in _PHASE_WORDS[phase] if word.startswith("u")] if "voltage" in nouns else []
    for noun in nouns:
        for word in _PHASE_WORDS[phase]:
            found += [f"{noun} {word}", f"{word} {noun}"]
    return tuple(dict.fromkeys(found))


def _voltage(phase: str, high: float) -> Signal:
    nouns = ("voltage", "volts", "generator voltage", "gen voltage", "output voltage", "v")
    return _signal(f"voltage_{phase}_v", Quantity.VOLTAGE, "V", 0.0, high, *_phase_aliases(phase, *nouns))


def _current(phase: str) -> Signal:
    nouns = ("current", "amps", "generator current", "gen current", "load current", "i")
    return _signal(f"current_{phase}_a", Quantity.CURRENT, "A", 0.0, 5000.0, *_phase_aliases(phase, *nouns))


# Ranges are what a sensor on a working or broken small set can truly report, not what is healthy; common
# practice, no source. They only keep the impossible out: health is a matter for the checks.
# fmt: off
SIGNALS: tuple[Signal, ...] = (
    _signal(
        "voltage_v", Quantity.VOLTAGE, "V", 0.0, 1000.0,
        "voltage", "volts", "generator voltage", "gen voltage", "generator volts", "gen volts", "output voltage",
        "ac voltage", "alternator voltage", "genset voltage", "set voltage", "line voltage", "output volts", "ac volts",
        "u gen", "v gen",
    ),
    _voltage("l1", 700.0),
    _voltage("l2", 700.0),
    _voltage("l3", 700.0),
    _voltage("l12", 1000.0),
    _voltage("l23", 1000.0),
    _voltage("l31", 1000.0),
    _signal(
        "current_a", Quantity.CURRENT, "A", 0.0, 5000.0,
        "current", "amps", "amperes", "load current", "generator current", "gen current", "output current",
        "ac current", "load amps",
    ),
    _current("l1"),
    _current("l2"),
    _current("l3"),
    _signal(
        "frequency_hz", Quantity.FREQUENCY, "Hz", 0.0, 100.0,
        "frequency", "freq", "generator frequency", "gen frequency", "gen freq", "output frequency", "ac frequency",
        "alternator frequency", "genset frequency", "hz", "f", "hertz",
    ),
    _signal(
        "speed_rpm", Quantity.SPEED, "rpm", 0.0, 5000.0,
        "speed", "engine speed", "rpm", "engine rpm", "revolutions", "engine revolutions", "rev", "revs",
    ),
    _signal(
        "power_kw", Quantity.POWER, "kW", -50.0, 2000.0,
        "power", "active power", "real power", "load", "load power", "generator power", "gen power", "output power",
        "total power", "total active power", "kw", "load kw", "power total", "genset power",
    ),
    _signal(
        "load_fraction", Quantity.FRACTION, "1", -0.1, 2.0,
        "load percent", "percent load", "load level", "load ratio", "load factor", "generator load", "gen load",
        "relative load",
    ),
    _signal(
        "oil_kpa", Quantity.PRESSURE, "kPa", -10.0, 1500.0,
        "oil pressure", "oil press", "engine oil pressure", "oil", "lube oil pressure", "lubricating oil pressure",
        "oilp",
    ),
    _signal(
        "coolant_c", Quantity.TEMPERATURE, "Cel", -50.0, 160.0,
        "coolant temperature", "coolant temp", "coolant", "engine coolant temperature", "engine coolant temp",
        "water temperature", "water temp", "engine temperature", "engine temp", "cooling water temperature",
        "jacket water temperature", "jacket water", "cooling water", "ect", "coolant water temperature",
        "cylinder head temperature",
    ),
    _signal(
        "oil_c", Quantity.TEMPERATURE, "Cel", -50.0, 200.0,
        "oil temperature", "oil temp", "engine oil temperature", "engine oil temp", "sump temperature",
        "lube oil temperature",
    ),
    _signal(
        "ambient_c", Quantity.TEMPERATURE, "Cel", -60.0, 80.0,
        "ambient temperature", "ambient temp", "ambient", "ambient air temperature", "outside temperature",
        "outdoor temperature", "air temperature", "outside air temperature", "room temperature", "air temp",
        "outside temp", "ambient air",
    ),
    _signal(
        "enclosure_c", Quantity.TEMPERATURE, "Cel", -60.0, 120.0,
        "enclosure temperature", "canopy temperature", "enclosure temp", "canopy temp", "enclosure", "canopy",
    ),
    _signal(
        "battery_v", Quantity.VOLTAGE, "V", 0.0, 40.0,
        "battery voltage", "battery volts", "battery", "batt voltage", "batt volts", "batt", "starter battery voltage",
        "starter battery", "starting battery voltage", "starting battery", "dc voltage", "bat", "bat voltage", "vbat",
        "vbatt", "u batt", "u bat", "dc supply", "supply voltage", "dc supply voltage", "control module voltage",
        "engine battery voltage", "engine battery", "plant battery voltage", "plant battery",
    ),
    _signal(
        "charger_v", Quantity.VOLTAGE, "V", 0.0, 60.0,
        "charger voltage", "battery charger voltage", "charger volts", "charger", "battery charger",
        "charger output voltage",
    ),
    _signal(
        "charge_alternator_v", Quantity.VOLTAGE, "V", 0.0, 60.0,
        "charge alternator voltage", "charging alternator voltage", "charge alternator", "charge alt voltage",
        "charging alternator",
    ),
    _signal(
        "charger_a", Quantity.CURRENT, "A", -200.0, 200.0,
        "charger current", "battery charger current", "battery current", "charging current", "batt current",
    ),
    _signal(
        "fuel_fraction", Quantity.FRACTION, "1", 0.0, 1.1,
        "fuel level", "fuel", "tank level", "diesel level", "fuel tank level", "fuel tank", "tank", "level fuel",
        "diesel", "fuel percent",
    ),
    _signal(
        "fuel_l", Quantity.VOLUME, "L", 0.0, 50000.0,
        "fuel volume", "fuel quantity", "tank volume", "fuel in tank", "fuel content", "tank contents",
        "fuel remaining",
    ),
    _signal(
        "fuel_flow_lph", Quantity.FLOW, "L/h", 0.0, 1000.0,
        "fuel rate", "fuel flow", "fuel consumption", "fuel consumption rate", "fuel use", "engine fuel rate",
    ),
    _signal(
        "hour_meter_h", Quantity.DURATION, "h", 0.0, 200000.0,
        "run hours", "running hours", "engine hours", "hour meter", "hours", "engine run hours", "hours run",
        "operating hours", "runtime hours", "run time hours", "total hours", "engine run time", "total run time",
        "run time", "runtime", "engine running hours", "hourmeter", "total run hours", "running time", "operating time",
        "total running hours", "engine hour meter", "service hours", "genset hours",
    ),
    _signal(
        "starts_counter", Quantity.COUNT, "1", 0.0, 1000000.0,
        "starts", "start count", "start counter", "number of starts", "starts counter", "engine starts", "total starts",
        "no of starts", "crank count", "start attempts", "starts total",
    ),
    _signal(
        "mains_present", Quantity.FLAG, "1", 0.0, 1.0,
        "mains present", "mains", "mains ok", "mains available", "utility present", "utility", "utility available",
        "utility ok", "mains healthy", "grid present", "grid", "grid ok", "normal source available", "mains on",
        "mains state", "mains status", "utility on", "grid available", "mains supply", "utility status", "grid status",
        "mains good",
    ),
    _signal(
        "mains_v", Quantity.VOLTAGE, "V", 0.0, 1000.0,
        "mains voltage", "utility voltage", "mains volts", "grid voltage", "utility volts", "mains voltage l1",
        "mains l1 voltage", "incoming voltage", "normal source voltage", "mains l1", "mains voltage l1 n",
    ),
    _signal(
        "mains_hz", Quantity.FREQUENCY, "Hz", 0.0, 100.0,
        "mains frequency", "utility frequency", "grid frequency", "mains freq",
    ),
    _signal(
        "on_load", Quantity.FLAG, "1", 0.0, 1.0,
        "generator breaker", "gen breaker", "breaker closed", "generator breaker closed", "gen breaker closed",
        "on load", "generator contactor", "gen on load", "load on generator", "breaker", "generator on load",
        "load taken",
    ),
    _signal(
        "mode", Quantity.TEXT, "", None, None,
        "mode", "operating mode", "controller mode", "control mode", "selector", "mode switch", "switch position",
        "control position", "selector position", "mode selector", "key switch",
    ),
    _signal(
        "state", Quantity.TEXT, "", None, None,
        "state", "engine state", "status", "engine status", "set state", "set status", "generator state",
        "generator status", "run state", "run status", "genset state", "genset status", "gen state", "gen status",
        "operating state", "running state",
    ),
    _signal(
        "alarm", Quantity.TEXT, "", None, None,
        "alarm", "alarms", "fault", "faults", "alarm text", "event", "events", "message", "warning", "fault text",
        "active alarms", "active alarm", "event text", "alarm message", "warnings", "fault message", "event message",
        "shutdown", "trip",
    ),
)
# fmt: on

BY_NAME: dict[str, Signal] = {signal.name: signal for signal in SIGNALS}

TEXT_SIGNALS: tuple[str, ...] = tuple(s.name for s in SIGNALS if s.quantity is Quantity.TEXT)
NUMBER_SIGNALS: tuple[str, ...] = tuple(s.name for s in SIGNALS if s.quantity is not Quantity.TEXT)
PHASE_VOLTAGES = ("voltage_l1_v", "voltage_l2_v", "voltage_l3_v")
LINE_VOLTAGES = ("voltage_l12_v", "voltage_l23_v", "voltage_l31_v")
PHASE_CURRENTS = ("current_l1_a", "current_l2_a", "current_l3_a")

_PSI_KPA = 6.894757293168361  # NIST SP 811, appendix B (from memory): pound-force per square inch
_KGF_CM2_KPA = 98.0665  # NIST SP 811, appendix B (from memory): kilogram-force per square centimetre
_US_GAL_L = 3.785411784  # NIST SP 811, appendix B (from memory)
_IMP_GAL_L = 4.54609  # NIST SP 811, appendix B (from memory)

# Spellings are compared after case folding and without spaces, brackets and degree signs. UCUM codes first.
# fmt: off
UNITS: dict[str, Unit] = {
    "v": Unit(Quantity.VOLTAGE, 1.0), "volt": Unit(Quantity.VOLTAGE, 1.0), "volts": Unit(Quantity.VOLTAGE, 1.0),
    "vdc": Unit(Quantity.VOLTAGE, 1.0), "vac": Unit(Quantity.VOLTAGE, 1.0), "kv": Unit(Quantity.VOLTAGE, 1000.0),
    "mv": Unit(Quantity.VOLTAGE, 0.001), "a": Unit(Quantity.CURRENT, 1.0), "amp": Unit(Quantity.CURRENT, 1.0),
    "amps": Unit(Quantity.CURRENT, 1.0), "ma": Unit(Quantity.CURRENT, 0.001), "hz": Unit(Quantity.FREQUENCY, 1.0),
    "mhz": Unit(Quantity.FREQUENCY, 0.001), "rpm": Unit(Quantity.SPEED, 1.0), "1/min": Unit(Quantity.SPEED, 1.0),
    "min-1": Unit(Quantity.SPEED, 1.0), "r/min": Unit(Quantity.SPEED, 1.0), "/min": Unit(Quantity.SPEED, 1.0),
    "kpa": Unit(Quantity.PRESSURE, 1.0), "bar": Unit(Quantity.PRESSURE, 100.0), "mbar": Unit(Quantity.PRESSURE, 0.1),
    "mpa": Unit(Quantity.PRESSURE, 1000.0), "psi": Unit(Quantity.PRESSURE, _PSI_KPA),
    "[psi]": Unit(Quantity.PRESSURE, _PSI_KPA), "psig": Unit(Quantity.PRESSURE, _PSI_KPA),
    "pa": Unit(Quantity.PRESSURE, 0.001), "hpa": Unit(Quantity.PRESSURE, 0.1),
    "kgf/cm2": Unit(Quantity.PRESSURE, _KGF_CM2_KPA), "cel": Unit(Quantity.TEMPERATURE, 1.0), "c": Unit(Quantity.TEMPERATURE, 1.0),
    "degc": Unit(Quantity.TEMPERATURE, 1.0), "celsius": Unit(Quantity.TEMPERATURE, 1.0),
    "degf": Unit(Quantity.TEMPERATURE, 5.0 / 9.0, -32.0), "[degf]": Unit(Quantity.TEMPERATURE, 5.0 / 9.0, -32.0),
    "f": Unit(Quantity.TEMPERATURE, 5.0 / 9.0, -32.0), "fahrenheit": Unit(Quantity.TEMPERATURE, 5.0 / 9.0, -32.0),
    "k": Unit(Quantity.TEMPERATURE, 1.0, -273.15), "kelvin": Unit(Quantity.TEMPERATURE, 1.0, -273.15),
    "%": Unit(Quantity.FRACTION, 0.01), "percent": Unit(Quantity.FRACTION, 0.01), "pct": Unit(Quantity.FRACTION, 0.01),
    "1": Unit(Quantity.FRACTION, 1.0), "fraction": Unit(Quantity.FRACTION, 1.0), "l": Unit(Quantity.VOLUME, 1.0),
    "litre": Unit(Quantity.VOLUME, 1.0), "litres": Unit(Quantity.VOLUME, 1.0), "liter": Unit(Quantity.VOLUME, 1.0),
    "liters": Unit(Quantity.VOLUME, 1.0), "ltr": Unit(Quantity.VOLUME, 1.0), "m3": Unit(Quantity.VOLUME, 1000.0),
    "gal": Unit(Quantity.VOLUME, _US_GAL_L), "usgal": Unit(Quantity.VOLUME, _US_GAL_L),
    "[gal_us]": Unit(Quantity.VOLUME, _US_GAL_L), "impgal": Unit(Quantity.VOLUME, _IMP_GAL_L),
    "[gal_br]": Unit(Quantity.VOLUME, _IMP_GAL_L), "ukgal": Unit(Quantity.VOLUME, _IMP_GAL_L),
    "l/h": Unit(Quantity.FLOW, 1.0), "lph": Unit(Quantity.FLOW, 1.0), "gal/h": Unit(Quantity.FLOW, _US_GAL_L),
    "gph": Unit(Quantity.FLOW, _US_GAL_L), "kw": Unit(Quantity.POWER, 1.0), "w": Unit(Quantity.POWER, 0.001),
    "mw": Unit(Quantity.POWER, 1000.0), "watt": Unit(Quantity.POWER, 0.001), "watts": Unit(Quantity.POWER, 0.001),
    "h": Unit(Quantity.DURATION, 1.0), "hr": Unit(Quantity.DURATION, 1.0), "hrs": Unit(Quantity.DURATION, 1.0),
    "hours": Unit(Quantity.DURATION, 1.0), "hour": Unit(Quantity.DURATION, 1.0),
    "min": Unit(Quantity.DURATION, 1.0 / 60.0), "s": Unit(Quantity.DURATION, 1.0 / 3600.0),
    "sec": Unit(Quantity.DURATION, 1.0 / 3600.0), "seconds": Unit(Quantity.DURATION, 1.0 / 3600.0),
}
# fmt: on
"""`gal` without a country is the US gallon by UCUM's `[gal_us]`; the reader says so. `mhz` after case folding
is millihertz: no set has a megahertz. `mw` is a megawatt only after its spelling was seen to be `MW`."""


class Mode(StrEnum):
    """The position of the set's selector: whether it will answer a demand by itself."""

    AUTOMATIC = "automatic"
    MANUAL = "manual"
    OFF = "off"
    TEST = "test"


# Compared after case folding, whole text. Trade words; common practice, no source.
# fmt: off
MODE_WORDS: dict[str, Mode] = {
    "auto": Mode.AUTOMATIC, "automatic": Mode.AUTOMATIC, "auto mode": Mode.AUTOMATIC, "in auto": Mode.AUTOMATIC,
    "aut": Mode.AUTOMATIC, "standby": Mode.AUTOMATIC, "automatic mode": Mode.AUTOMATIC, "remote": Mode.AUTOMATIC,
    "manual": Mode.MANUAL, "man": Mode.MANUAL, "hand": Mode.MANUAL, "run": Mode.MANUAL, "manual mode": Mode.MANUAL,
    "local": Mode.MANUAL, "manual run": Mode.MANUAL, "on": Mode.MANUAL, "off": Mode.OFF, "stop": Mode.OFF,
    "stopped": Mode.OFF, "stop/reset": Mode.OFF, "reset": Mode.OFF, "out of service": Mode.OFF, "locked out": Mode.OFF,
    "lockout": Mode.OFF, "inhibited": Mode.OFF, "disabled": Mode.OFF, "off mode": Mode.OFF, "test": Mode.TEST,
    "test mode": Mode.TEST, "exercise": Mode.TEST, "exercising": Mode.TEST,
}
# fmt: on

# fmt: off
NO_ALARM_WORDS: frozenset[str] = frozenset({
    "", "-", "--", "---", "none", "no alarm", "no alarms", "no fault", "no faults", "ok", "normal", "0", "n/a", "na",
    "null", "nil", "clear", "cleared", "healthy", "no", "false", "no active alarms", "no events",
})
# fmt: on
# fmt: off
TRUE_WORDS: frozenset[str] = frozenset({
    "1", "1.0", "true", "yes", "y", "on", "present", "ok", "available", "healthy", "normal", "closed", "good", "up",
    "live", "t",
})
# fmt: on
# fmt: off
FALSE_WORDS: frozenset[str] = frozenset({
    "0", "0.0", "false", "no", "n", "off", "absent", "lost", "failed", "fail", "failure", "unavailable", "open", "down",
    "dead", "missing", "out", "f",
})
# fmt: on
# fmt: off
SENTINELS: tuple[float, ...] = (
    65535.0, 65534.0, 32767.0, -32768.0, 9999.0, -9999.0, 99999.0, -99999.0, 4294967295.0, 2147483647.0, -999.0, 999.9,
)
# fmt: on
"""Numbers that loggers write for 'no value'. A sentinel is honoured only where it lies outside the signal's range, after conversion or before."""
