"""Many tests, few false finds: what statistics alone say has to hold among all the tests of a run."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from startworthy.check.answers import answers_of
from startworthy.check.frame import Entry
from startworthy.findings import Clear, Finding
from startworthy.results import SetResult
from startworthy.statistics.multiple import benjamini_hochberg

BY_CHANCE = "by_chance"
"""Key of a `Clear` whose finding did not hold: its sentence stands in words/general."""


def hold_false_discoveries(
    results: Iterable[SetResult], rate: float, catalogue: Mapping[str, Entry]
) -> tuple[SetResult, ...]:
    """The results, with findings that a test made taken back where they do not hold at that false-discovery rate.

    Every test of the run counts, those that found nothing too: `p_value` of findings and of `Clear`. A finding
    without one stands on what was seen and is not touched. rate: the share of false ones among the finds that
    is put up with (Benjamini and Hochberg 1995). What is taken back becomes `Clear`, and the answers follow.
    """
    sets = list(results)
    tested: list[tuple[int, Finding | Clear]] = []
    for n, result in enumerate(sets):
        tested += [(n, one) for one in result.findings if one.p_value is not None]
        tested += [(n, one) for one in result.clear if one.p_value is not None]
    if not tested:
        return tuple(sets)
    holds = benjamini_hochberg([one.p_value for _, one in tested], rate).rejected
    for n, result in enumerate(sets):
        gone = [
            one
            for (of, one), held in zip(tested, holds, strict=True)
            if of == n and isinstance(one, Finding) and not held
        ]
        if gone:
            sets[n] = _without(result, gone, catalogue)
    return tuple(sets)


def _without(result: SetResult, gone: list[Finding], catalogue: Mapping[str, Entry]) -> SetResult:
    """The result with these findings as `Clear`, but for a code that has another finding left."""
    left = tuple(finding for finding in result.findings if not any(finding is one for one in gone))
    codes = {finding.code for finding in left}
    chance = {one.code: Clear(one.code, {BY_CHANCE: True}, one.p_value) for one in gone if one.code not in codes}
    return replace(
        result,
        findings=left,
        clear=(*result.clear, *chance.values()),
        answers=answers_of(left, result.not_assessed, catalogue),
    )
