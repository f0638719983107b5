"""What signals, units, modes and flags are called in German, French, Spanish and Portuguese.

A name leads to one signal or to none: a word that could mean two quantities is in no list, and nothing is
matched by likeness. The tables are made at the first header that is not an English one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import TypeVar

from startworthy.read.names.language import Language, every, key_of, keys_of, spelled_out, variants_of
from startworthy.signals import UNITS, Mode, Quantity, Unit

__all__ = [
    "aliases_of", "column_words", "is_hours", "languages", "means_nothing", "mode_named", "signal_named", "state_named",
    "truth_named", "unit_spelled",
]  # fmt: skip

_T = TypeVar("_T")
_PHASES = {
    "l1": ("l1", "1", "r"), "l2": ("l2", "2", "s"), "l3": ("l3", "3", "t"),
}  # fmt: skip
_LINES = {
    "l12": ("l1 l2", "l12", "u12", "1 2", "r s", "rs"), "l23": ("l2 l3", "l23", "u23", "2 3", "s t", "st"),
    "l31": ("l3 l1", "l31", "u31", "3 1", "t r", "tr"),
}  # fmt: skip
# The same words name another signal where the unit stated is of another quantity; common practice, no source.
_SIBLINGS = {
    ("fuel_fraction", Quantity.VOLUME): "fuel_l", ("fuel_l", Quantity.FRACTION): "fuel_fraction",
    ("load_fraction", Quantity.POWER): "power_kw", ("power_kw", Quantity.FRACTION): "load_fraction",
    ("power_kw", Quantity.CURRENT): "current_a",
}  # fmt: skip
_ENGINE_SIGNALS = frozenset(
    {"speed_rpm", "oil_kpa", "oil_c", "coolant_c", "fuel_flow_lph", "hour_meter_h", "starts_counter"}
)


@cache
def languages() -> tuple[Language, ...]:
    """German, French, Spanish, Portuguese."""
    from startworthy.read.names.french import FRENCH
    from startworthy.read.names.german import GERMAN
    from startworthy.read.names.portuguese import PORTUGUESE
    from startworthy.read.names.spanish import SPANISH

    return GERMAN, FRENCH, SPANISH, PORTUGUESE


def aliases_of(language: Language) -> dict[str, tuple[str, ...]]:
    """All names of each signal in one language, phases included; for tests and for people, the reader looks keys up."""
    found = {signal: every(patterns) for signal, patterns in language.signals.items()}
    for nouns, kind, unit in ((every(language.volts), "voltage", "v"), (every(language.amps), "current", "a")):
        for phase, words in _beside(language).items():
            if kind == "voltage" or len(phase) == 2:
                texts = (text for noun in nouns for word in words for text in (f"{noun} {word}", f"{word} {noun}"))
                found[f"{kind}_{phase}_{unit}"] = tuple(dict.fromkeys(texts))
    return found


def _beside(language: Language) -> dict[str, tuple[str, ...]]:
    """What stands beside "voltage" or "current" for each phase ("l1") and pair of lines ("l12")."""
    return {
        phase: (words[0], f"{words[0]} n", *(f"{p} {w}" for p in language.phases for w in words))
        for phase, words in _PHASES.items()
    } | {
        line: (*words[:3], *(f"{p} {w}" for p in language.phases for w in words), *words[4:])
        for line, words in _LINES.items()
    }  # fmt: skip


@cache
def _phases() -> tuple[Mapping[str, str], frozenset[str], frozenset[str]]:
    """Key of a phase's words to the phase; keys of the nouns for voltage and for current."""
    beside = {
        key_of(word): phase for language in languages() for phase, words in _beside(language).items() for word in words
    }
    volts, amps = (
        frozenset(key for language in languages() for noun in every(nouns(language)) for key in keys_of(noun))
        for nouns in (_volts, _amps)
    )
    return beside, volts, amps


def _volts(language: Language) -> tuple[str, ...]:
    return language.volts


def _amps(language: Language) -> tuple[str, ...]:
    return language.amps


def _of_phase(key: str) -> str | None:
    """The signal of one phase or pair of lines: a noun and the phase, in either order."""
    beside, volts, amps = _phases()
    for cut in range(1, len(key)):
        for noun, phase in ((key[:cut], beside.get(key[cut:])), (key[cut:], beside.get(key[:cut]))):
            if phase is not None and noun in volts:
                return f"voltage_{phase}_v"
            if phase is not None and noun in amps and len(phase) == 2:
                return f"current_{phase}_a"
    return None


@cache
def _names() -> tuple[Mapping[str, str], Mapping[tuple[str, Quantity], str]]:
    """Key to signal, and key with the quantity of a stated unit to signal."""
    alone: dict[str, str] = {}
    beside: dict[tuple[str, Quantity], str] = {}
    for language in languages():
        for signal, patterns in language.signals.items():
            for key in (key for alias in every(patterns) for key in keys_of(alias)):
                alone.setdefault(key, signal)
        for quantity, own in language.by_unit.items():
            for signal, patterns in own.items():
                for key in (key for alias in every(patterns) for key in keys_of(alias)):
                    beside.setdefault((key, quantity), signal)
    return alone, beside


@cache
def _around() -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Words for the engine and for the generator that may stand before or behind a name."""
    engine = {key for language in languages() for word in language.engine for key in keys_of(word)}
    generator = {key for language in languages() for word in language.generator for key in keys_of(word)}
    return tuple(sorted(engine, key=len, reverse=True)), tuple(sorted(generator, key=len, reverse=True))


def signal_named(words: str, quantity: Quantity | None) -> str | None:
    """The inner name of the signal that words of any of the languages name, or None. quantity: of the unit stated."""
    key = key_of(words)
    if len(key) < 2:
        return None
    found = _looked_up(key, quantity) or _of_phase(key)
    if found is not None:
        return found
    engine, generator = _around()
    for word in (*engine, *generator):
        for rest in (key.removeprefix(word), key.removesuffix(word)):
            if rest != key and len(rest) > 3:
                signal = _looked_up(rest, quantity)
                if signal is not None and (word in generator or signal in _ENGINE_SIGNALS):
                    return signal
    return None


def _looked_up(key: str, quantity: Quantity | None) -> str | None:
    alone, beside = _names()
    if quantity is not None:
        if (key, quantity) in beside:
            return beside[key, quantity]
        signal = alone.get(key)
        return _SIBLINGS.get((signal, quantity), signal) if signal is not None else None
    return alone.get(key)


@cache
def _units() -> Mapping[str, Unit]:
    return {
        key: UNITS[unit]
        for language in languages() for unit, texts in language.units.items()
        for text in texts for key in _unit_keys(text)
    }  # fmt: skip


def _unit_keys(text: str) -> tuple[str, ...]:
    return tuple(variant.replace(" ", "").replace(".", "") for variant in variants_of(text))


def unit_spelled(text: str) -> Unit | None:
    """The unit that a word of any of the languages names: "Std.", "tr/min", "litros"."""
    return next((_units()[key] for key in _unit_keys(text) if key in _units()), None)


def is_hours(words: str) -> bool:
    """Whether a name of the hour meter says itself that it counts hours."""
    return any(
        word in key_of(words)
        for word in ("stunden", "bstd", "heures", "horas", "horimetro", "horometro", "horametre", "cuentahoras")
    )


@cache
def _modes() -> Mapping[str, Mode]:
    return _by_key((mode, words) for language in languages() for mode, words in language.modes.items())


@cache
def _states() -> Mapping[str, str]:
    return _by_key((state, words) for language in languages() for state, words in language.states.items())


@cache
def _truths() -> Mapping[str, bool]:
    return _by_key(
        (said, words) for language in languages() for said, words in ((True, language.true), (False, language.false))
    )


@cache
def _no_alarm() -> frozenset[str]:
    return frozenset(key for language in languages() for word in every(language.no_alarm) for key in keys_of(word))


def _by_key(pairs: Iterable[tuple[_T, Iterable[str]]]) -> dict[str, _T]:
    found: dict[str, _T] = {}
    for meaning, words in pairs:
        for key in (key for word in every(words) for key in keys_of(word)):
            found.setdefault(key, meaning)
    return found


def mode_named(word: str) -> Mode | None:
    """The position of the selector that a word names, or None."""
    return _modes().get(key_of(word))


def state_named(word: str) -> str | None:
    """The English word for a state of the set ("running", "stopped", "cranking"), or None."""
    return _states().get(key_of(word))


def truth_named(word: str) -> bool | None:
    """Whether a word of a flag column says yes or no, or None."""
    return _truths().get(key_of(word))


def means_nothing(word: str) -> bool:
    """Whether a word of an alarm column says that there is no alarm."""
    return key_of(word) in _no_alarm()


def column_words(of: Callable[[Language], Iterable[str]]) -> tuple[str, ...]:
    """Words for a kind of column in all languages, each with and without accents: `column_words(lambda w: w.times)`."""
    return tuple(
        dict.fromkeys(
            variant
            for language in languages() for pattern in of(language) for word in spelled_out(pattern)
            for variant in variants_of(word)
        )
    )  # fmt: skip
