"""Text cells to numbers: decimal and thousands marks, words that mean no value, and the cells that are no number."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import polars as pl

from startworthy.read.marks import APOSTROPHES, SPACES
from startworthy.signals import Unit

_LIKE = dict.fromkeys(SPACES, SPACES) | dict.fromkeys(APOSTROPHES, APOSTROPHES)
"""Thousands marks that programs write for one another: kinds of space, and of apostrophe."""


def to_numbers(
    text: pl.Series, decimal: str, group: str, nulls: Sequence[str]
) -> tuple[pl.Series, pl.Series | None, int]:
    """Float64 of the cells; a mask of cells that are neither number nor null word (None: no such cell); null words met.

    The quick cast comes first; only cells that it leaves over are looked at again, without spaces and thousands marks.
    """
    marked = text if decimal == "." else text.str.replace(decimal, ".", literal=True)
    numbers = marked.cast(pl.Float64, strict=False)
    mixed = decimal != "." and bool(text.str.contains(".", literal=True).any())
    if not mixed and numbers.null_count() == text.null_count() and math.isfinite(numbers.sum()):
        return numbers, None, 0
    finite = numbers.is_finite().fill_null(False)
    if mixed:
        # "1.5" among decimal commas is not 1.5 for sure: the point may part thousands
        finite &= ~text.str.contains(".", literal=True).fill_null(False)
    left = (~finite & text.is_not_null()).arg_true()
    # The minus of printed text (U+2212) means what the hyphen means
    again = text.gather(left).str.strip_chars().str.replace("^\u2212", "-")
    word = again.str.to_lowercase().is_in(list(nulls))
    if group:
        # Thousands marks have to part thousands: "12,6" is no 126
        g, d = f"[{re.escape(_LIKE.get(group, group))}]", re.escape(decimal)
        parted = again.str.contains(rf"^[+-]?\d{{1,3}}(?:{g}\d{{3}})+(?:{d}\d*)?$")
        again = again.zip_with(parted.not_(), again.str.replace_all(g, ""))
        again = again.zip_with(again.str.contains(g).not_(), _no_text(len(again)))
    if decimal != ".":
        again = again.zip_with(again.str.contains(".", literal=True).not_(), _no_text(len(again)))
        again = again.str.replace(decimal, ".", literal=True)
    second = again.cast(pl.Float64, strict=False)
    second = second.zip_with(second.is_finite().fill_null(False) & ~word, _nothing(len(second)))
    numbers = numbers.zip_with(finite, _nothing(len(numbers))).scatter(left, second)
    bad = left.filter(second.is_null() & ~word)
    return numbers, bad if len(bad) else None, int(word.sum())


def to_inner(values: pl.Series, unit: Unit) -> pl.Series:
    """Values in the quantity's inner unit."""
    if unit.offset:
        values = values + unit.offset
    return values * unit.factor if unit.factor != 1.0 else values


def _no_text(length: int) -> pl.Series:
    return pl.Series([None], dtype=pl.String).new_from_index(0, length)


def _nothing(length: int) -> pl.Series:
    return pl.Series([None], dtype=pl.Float64).new_from_index(0, length)
