"""The shape of one language's words, and how spellings of a word are brought to one key."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import product

from startworthy.signals import Mode, Quantity

_LINKS = frozenset({
    "de", "du", "des", "del", "do", "da", "dos", "das", "la", "le", "les", "el", "der", "vom", "of", "the",
})  # fmt: skip
"""Words that only join others: "pression de l'huile" is "pression huile"."""
_ELIDED = re.compile(r"\b([dl])['’´`]\s*")
_CHOICE = re.compile(r"\{([^{}]*)\}")
_APART = re.compile(r"[\s_/\\.,:;|#()\[\]<>\"'’´`–—-]+")
_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})


@dataclass(frozen=True, slots=True)
class Language:
    """Trade words of one language, in its own spelling. "{a,b}c" stands for "ac" and "bc".

    signals: inner name of a signal to what a header may call it. by_unit: what names a signal only together with a
    unit of that quantity. volts, amps: what stands beside a phase; phases: "L1" and its kin in this language.
    units: key of signals.UNITS to spelled-out units. modes, states, no_alarm, true, false: words in cells.
    times, elapsed, sets, names, values, unit_words: what columns other than signals are called.
    """

    signals: Mapping[str, tuple[str, ...]]
    by_unit: Mapping[Quantity, Mapping[str, tuple[str, ...]]]
    volts: tuple[str, ...]
    amps: tuple[str, ...]
    phases: tuple[str, ...]
    units: Mapping[str, tuple[str, ...]]
    modes: Mapping[Mode, tuple[str, ...]]
    states: Mapping[str, tuple[str, ...]]
    no_alarm: tuple[str, ...]
    true: tuple[str, ...]
    false: tuple[str, ...]
    times: tuple[str, ...]
    elapsed: tuple[str, ...]
    sets: tuple[str, ...]
    names: tuple[str, ...]
    values: tuple[str, ...]
    unit_words: tuple[str, ...]
    engine: tuple[str, ...] = ()
    generator: tuple[str, ...] = ()
    months: tuple[tuple[str, ...], ...] = field(default=())


def spelled_out(pattern: str) -> tuple[str, ...]:
    """Every text that a pattern with {choices} stands for."""
    parts = [part.split(",") if n % 2 else [part] for n, part in enumerate(_CHOICE.split(pattern))]
    return tuple(dict.fromkeys(" ".join("".join(choice).split()) for choice in product(*parts)))


def every(patterns: Iterable[str]) -> tuple[str, ...]:
    """All texts of all patterns, in their order."""
    return tuple(dict.fromkeys(text for pattern in patterns for text in spelled_out(pattern)))


def plain(text: str) -> str:
    """Lower case, without accents: `Kühlmittel` becomes `kuhlmittel`."""
    folded = text.casefold()
    if folded.isascii():
        return folded
    folded = folded.replace("œ", "oe").replace("æ", "ae").replace("−", "-")
    return "".join(c for c in unicodedata.normalize("NFKD", folded) if not unicodedata.combining(c))


def key_of(text: str) -> str:
    """What two spellings of one name share: no accents, no joints, none of the words that only join others."""
    words = _APART.split(_ELIDED.sub(" ", plain(text)))
    return "".join(word for word in words if word and word not in _LINKS)


def keys_of(text: str) -> tuple[str, ...]:
    """The keys of a word of ours: umlauts may be written with or without their dots, or with an e."""
    if text.isascii():
        return (key_of(text),)
    folded = unicodedata.normalize("NFC", text.casefold())
    return tuple(dict.fromkeys((key_of(folded), key_of(folded.translate(_UMLAUTS)))))


def variants_of(text: str) -> tuple[str, ...]:
    """A word as it may stand where words are compared whole: as it is, without accents, umlauts with an e."""
    folded = unicodedata.normalize("NFC", text.casefold())
    if folded.isascii():
        return (folded,)
    return tuple(dict.fromkeys((folded, plain(folded), plain(folded.translate(_UMLAUTS)))))
