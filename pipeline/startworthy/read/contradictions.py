"""Units that the header states and the values contradict: told with the evidence, never converted in silence.

A column is looked at only where its lowest and highest number already say that something is off. Then it is judged
by quantiles, at rest and while running apart, so that a spike, a sentinel or a sender that has failed (nothing in
every row, or full scale) decides nothing. Bounds are common practice, no source: what no small diesel set shows as
stated, in any climate. Where the stated unit stays possible it is believed, at most with a note.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import polars as pl

from startworthy.read.columns import Wanted
from startworthy.read.looks import Look, Quantiles, by_set, look_of
from startworthy.signals import LINE_VOLTAGES, PHASE_CURRENTS, PHASE_VOLTAGES, UNITS, Quantity, Signal, Unit


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a stated unit is not believed. `ask`: it can hardly be, the column is left alone; else a note is all."""

    ask: bool
    choices: str
    seen: str


Test = Callable[[Look], bool]


def _never(look: Look) -> bool:
    return False


@dataclass(frozen=True, slots=True)
class Rule:
    """What is possible and what is usual for one signal, in its inner unit.

    within: a column whose lowest and highest number lie in here is not looked at. impossible: the look cannot be that
    of a set. doubtful: it can, but hardly. usual: the look of a set, by which another unit is offered.
    """

    within: tuple[float, float]
    impossible: Test
    usual: Test
    others: tuple[str, ...]
    doubtful: Test = _never
    least_high: float = 0.0
    """A column that never comes this high is looked at as well."""


def _heats(hot: float) -> Test:
    """Hotter than can be for a quarter of all running, varying as a warm engine does; or colder than any place."""

    def impossible(look: Look) -> bool:
        run, rest = look.run, look.rest
        if look.every.q95 < -60.0 or look.every.q05 > 200.0:
            return True
        if run is None or run.q75 <= hot or run.distinct < 5 or run.q75 - run.q25 > 90.0:
            return False
        return rest is None or rest.q50 < run.q75 - 5.0

    return impossible


def _warm(low: float, high: float) -> Test:
    def usual(look: Look) -> bool:
        run, rest = look.run, look.rest
        if rest is not None and not -45.0 <= rest.q50 <= 70.0:
            return False
        return low <= run.q75 <= high if run is not None else -45.0 <= look.every.q05 <= look.every.q95 <= high

    return usual


def _air(median: float, top: float) -> Test:
    def impossible(look: Look) -> bool:
        # While running, a sensor beside the engine is hot for good reason
        air = look.rest or look.every
        if look.told and look.rest is None:
            return False
        varies = air.distinct >= 5 and air.q95 - air.q05 >= 2.0
        return varies and (air.q50 >= median or air.q95 >= top or air.q95 < -60.0)

    return impossible


def _air_usual(look: Look) -> bool:
    air = look.rest or look.every
    return air.q05 >= -45.0 and air.q95 <= 60.0 and air.q50 <= 45.0


def _oil(look: Look) -> bool:
    """No engine runs on, cold starts included, at a pressure at which its protection stops it; nor above 10 bar."""
    run, rest = look.run, look.rest
    if run is None or run.distinct < 5 or run.q50 <= 0:
        return False
    if rest is not None and rest.q50 > 0.3 * run.q50:
        return False
    return run.q99 <= 110.0 or run.q50 > 1000.0


def _oil_usual(look: Look) -> bool:
    return look.run is not None and 120.0 <= look.run.q50 <= 700.0 and look.run.q99 <= 1100.0


def _fuel(look: Look) -> bool:
    """A set that runs with its tank never above 1 % full, or more than full."""
    every = look.every
    if every.q50 > 1.5:
        return True
    return look.run is not None and _hundredth(look)


def _hundredth(look: Look) -> bool:
    every = look.every
    return every.q99 <= 0.0101 and every.q05 >= 0.0002 and every.q99 >= 0.001 and every.distinct >= 5


def _fuel_usual(look: Look) -> bool:
    return look.every.q50 >= 0.02 and look.every.q99 <= 1.1 and look.every.q05 >= 0.0


def _load(look: Look) -> bool:
    run = look.run
    if run is None or run.distinct < 5:
        return False
    return run.q50 > 2.5 or (run.q99 <= 0.02 and run.q50 >= 0.0005 and (look.power_kw or 0.0) >= 1.0)


def _load_usual(look: Look) -> bool:
    return look.run is not None and 0.03 <= look.run.q50 <= 1.3


def _between(low: float, high: float, of: str = "every") -> Test:
    """The median lies in [low, high]."""

    def test(look: Look) -> bool:
        seen: Quantiles | None = getattr(look, of)
        return seen is not None and low <= seen.q50 <= high

    return test


def _outside(low: float, high: float, of: str = "every") -> Test:
    def test(look: Look) -> bool:
        seen: Quantiles | None = getattr(look, of)
        return seen is not None and seen.q50 > 0 and not low <= seen.q50 <= high

    return test


def _power(look: Look) -> bool:
    if look.power_ratio is not None:
        return not 0.02 <= look.power_ratio <= 50.0
    return look.run is not None and look.run.q50 > 2000.0


def _power_usual(look: Look) -> bool:
    if look.power_ratio is not None:
        return 0.1 <= look.power_ratio <= 5.0
    return look.run is not None and 0.3 <= look.run.q75 <= 2000.0


def _power_slight(look: Look) -> bool:
    """Watts in tenths, or a load that would not light a lamp: possible, if nothing is ever connected."""
    return (
        look.run is not None and look.power_ratio is None and 0.001 <= look.run.q75 <= 0.05 and look.run.distinct >= 10
    )


_MILLI_V, _KILO_V = ("V", "mV"), ("V", "mV", "kV")
_HEAT = ("Cel", "degF", "K")
_BATTERY = Rule((0.0, 60.0), _outside(3.0, 60.0), _between(7.0, 40.0), _MILLI_V, least_high=3.0)
_VOLTS = Rule((-1.0, 1000.0), _outside(2.0, 2000.0, "run"), _between(80.0, 760.0, "run"), _KILO_V, least_high=2.0)
_AMPS = Rule((-1500.0, 1500.0), _outside(0.0, 5000.0, "run"), _between(0.3, 1000.0, "run"), ("A", "mA"))
_HERTZ = Rule((0.0, 100.0), _outside(5.0, 150.0, "run"), _between(40.0, 70.0, "run"), ("Hz", "mHz"), least_high=5.0)
_RULES: dict[str, Rule] = {
    "coolant_c": Rule((-60.0, 125.0), _heats(125.0), _warm(50.0, 115.0), _HEAT),
    "oil_c": Rule((-60.0, 150.0), _heats(150.0), _warm(50.0, 140.0), _HEAT),
    "ambient_c": Rule((-60.0, 49.0), _air(50.0, 75.0), _air_usual, _HEAT),
    "enclosure_c": Rule((-60.0, 60.0), _air(62.0, 95.0), _air_usual, _HEAT),
    "oil_kpa": Rule((-50.0, 1000.0), _oil, _oil_usual, ("kPa", "bar", "psi", "MPa"), least_high=120.0),
    "fuel_fraction": Rule((-1.0, 1.5), _fuel, _fuel_usual, ("%", "fraction"), _hundredth, least_high=0.0102),
    "load_fraction": Rule((-1.0, 2.5), _load, _load_usual, ("%", "fraction"), least_high=0.021),
    "battery_v": _BATTERY, "charger_v": _BATTERY, "charge_alternator_v": _BATTERY,
    "mains_v": Rule((-1.0, 1000.0), _outside(2.0, 2000.0), _between(80.0, 760.0), _KILO_V),
    "mains_hz": Rule((0.0, 100.0), _outside(5.0, 150.0), _between(40.0, 70.0), ("Hz", "mHz"), least_high=5.0),
    "frequency_hz": _HERTZ, "voltage_v": _VOLTS, **dict.fromkeys((*PHASE_VOLTAGES, *LINE_VOLTAGES), _VOLTS),
    "current_a": _AMPS, **dict.fromkeys(PHASE_CURRENTS, _AMPS),
    "power_kw": Rule((-500.0, 200.0), _power, _power_usual, ("kW", "W"), _power_slight, least_high=0.2),
}  # fmt: skip
# Heads of air-cooled engines are hotter than any water, and "engine temperature" may be that of the head
_HEAD = ("head", "zylinder", "culasse", "culata", "cabeçote", "engine", "motor", "moteur")
_HEAD_RULE = Rule((-60.0, 160.0), _heats(160.0), _warm(55.0, 115.0), _HEAT)


def doubt_of(
    column: Wanted, span: tuple[float, float], rows: Callable[[], tuple[pl.DataFrame, pl.DataFrame]]
) -> Doubt | None:
    """Whether the stated unit of a column can be what its values are in; None where nothing speaks against it.

    span: lowest and highest number of the column as written. rows: gives all rows and an even sample of them, with all
    columns in inner units, `at`, and `set_id` where a file holds many; asked only where the span says that something
    is off. A file of several sets is judged set by set: one that does not fit is enough to ask.
    """
    signal, unit = column.signal, column.unit
    if unit is None or not column.stated or column.sure:
        return None
    if signal.name == "hour_meter_h":
        from startworthy.read.hourmeter import hours_doubt

        return hours_doubt(column, span, rows)
    rule = _rule_of(column)
    low, high = ((number + unit.offset) * unit.factor for number in span)
    if rule is None or low == high:
        return None
    some: pl.DataFrame | None = None
    if rule.within[0] <= low and rule.least_high <= high <= rule.within[1]:
        some = _lower_sets(rows()[1], signal.name, rule.least_high) if rule.least_high > 0 else None
        if some is None:
            return None
    for own, name in by_set(rows()[1] if some is None else some, named=some is not None):
        doubt = _doubt(signal, unit, column.spelling, rule, own)
        if doubt is not None:
            return Doubt(doubt.ask, doubt.choices, f"{name}{doubt.seen}")
    return None


def _lower_sets(sample: pl.DataFrame, name: str, least_high: float) -> pl.DataFrame | None:
    """The rows of those sets of a file that never come as high as the file does; None where there is none."""
    if "set_id" not in sample.columns or sample["set_id"].n_unique() == 1:
        return None
    tops = sample.group_by("set_id").agg(pl.col(name).max()).filter(pl.col(name).is_between(0, least_high, "none"))
    return sample.filter(pl.col("set_id").is_in(tops["set_id"].implode())) if tops.height else None


def _rule_of(column: Wanted) -> Rule | None:
    if column.signal.name == "coolant_c" and any(word in column.header.casefold() for word in _HEAD):
        said = column.header.casefold()
        return _RULES["coolant_c"] if any(w in said for w in _WATER) else _HEAD_RULE
    return _RULES.get(column.signal.name)


_WATER = ("coolant", "water", "kühl", "kuehl", "kuhl", "wasser", "eau", "refroid", "refrig", "agua", "água", "arrefec")


def _doubt(signal: Signal, unit: Unit, spelling: str, rule: Rule, frame: pl.DataFrame) -> Doubt | None:
    look = look_of(signal, frame)
    if look is None:
        return None
    impossible = rule.impossible(look)
    if not impossible and not rule.doubtful(look):
        return None
    fits = [
        name for name in rule.others
        if UNITS[name.casefold()] != unit and rule.usual(look.taken_as(unit, UNITS[name.casefold()]))
    ]  # fmt: skip
    if signal.quantity is Quantity.FREQUENCY and not fits and look.run is not None and _turns(look.run):
        fits = ["rpm, which is a speed"]
    if not fits:
        return None
    return Doubt(impossible, " or ".join(fits), _seen(look, unit, spelling))


def _turns(run: Quantiles) -> bool:
    return 700.0 <= run.q50 <= 3800.0


def _seen(look: Look, unit: Unit, spelling: str) -> str:
    def written(value: float) -> str:
        return f"{round(value / unit.factor - unit.offset, 3):g}"

    def span(q: Quantiles) -> str:
        low, high = written(q.q05), written(q.q95)
        return low if low == high else f"{low} to {high}"

    parts = [f"{span(look.run)} while running"] if look.run is not None else []
    parts += [f"{span(look.rest)} at rest"] if look.rest is not None else []
    if look.power_ratio is not None:
        parts.append(f"{look.power_ratio:.2g} times volts and amperes")
    return ", ".join(parts) or f"{span(look.every)} {spelling}"


def figures_of(doubt: Doubt, column: Wanted) -> Mapping[str, str]:
    """What the sentence of the problem needs."""
    return {"unit": column.spelling or column.signal.unit, "seen": doubt.seen, "choices": doubt.choices}
