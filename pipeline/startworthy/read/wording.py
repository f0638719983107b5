"""Words of mode, flag, alarm and state columns to their meaning: each word is looked up once, whatever the rows."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from startworthy.read import names
from startworthy.read.layout import NULL_WORDS
from startworthy.signals import FALSE_WORDS, MODE_WORDS, NO_ALARM_WORDS, TRUE_WORDS, Quantity, Signal


def dtype_of(signal: Signal) -> pl.DataType:
    """Flags become 0.0 or 1.0, texts stay words."""
    return pl.Float64() if signal.quantity is Quantity.FLAG else pl.Categorical()


def to_meaning(text: pl.Series, signal: Signal, nulls: Sequence[str]) -> tuple[pl.Series, pl.Series | None]:
    """The meaning of each word, null for none; and the positions of words that are not known (None: no such word)."""
    words = text.cast(pl.Categorical)
    meaning: dict[str, str | float | None] = {}
    unknown: list[str] = []
    seen = words.unique()
    for word in seen.cast(pl.String).to_list():
        if word is None:
            continue
        said = meaning_of(word, signal, nulls)
        meaning[word] = None if said is False else said
        if said is False:
            unknown.append(word)
    kind = dtype_of(signal)
    if not meaning:
        return pl.Series([None], dtype=kind).new_from_index(0, len(text)), None
    # Through the words' codes: looking each row's word up would cost as much as parsing a column of numbers
    codes = words.to_physical()
    table: list[str | float | None] = [None] * (
        max((code for code in seen.to_physical() if code is not None), default=0) + 1
    )
    for word, code in zip(seen.cast(pl.String), seen.to_physical(), strict=True):
        if word is not None:
            table[code] = meaning[word]
    mapped = pl.Series(table, dtype=kind).gather(codes)
    if not unknown:
        return mapped, None
    return mapped, words.is_in(pl.Series(unknown, dtype=pl.Categorical).implode()).fill_null(False).arg_true()


def meaning_of(word: str, signal: Signal, nulls: Sequence[str]) -> str | float | bool | None:
    """What a word means for a signal: text or 0/1, None for "no value", False where it is not known."""
    plain = " ".join(word.casefold().split())
    empty = plain in nulls or plain in NULL_WORDS
    if signal.name == "alarm":
        return None if empty or plain in NO_ALARM_WORDS or names.means_nothing(plain) else word.strip()
    if empty:
        return None
    if signal.name == "mode":
        mode = MODE_WORDS.get(plain) or names.mode_named(plain)
        return mode.value if mode is not None else False
    if signal.quantity is Quantity.FLAG:
        known = True if plain in TRUE_WORDS else False if plain in FALSE_WORDS else names.truth_named(plain)
        return False if known is None else float(known)
    if signal.name == "state":
        return names.state_named(plain) or plain
    return plain
