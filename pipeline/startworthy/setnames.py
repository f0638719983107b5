"""Sets of the logs and sets of the register: a typing error in an id leaves all figures of a set unused in silence."""

from __future__ import annotations

import difflib
import re
from collections.abc import Collection

_MOST_COMPARED = 200
_LIKE = 0.75


def unmatched(in_register: Collection[str], in_logs: Collection[str]) -> list[tuple[str, str]]:
    """Pairs of an id that only the register has and one that only the logs have, where one looks meant for the other.

    Ids are numbered things: PUMP-01 and PUMP-02 are no typing error of each other. Two ids pair when they are the same
    but for case, marks, leading zeros or O for 0; when they have the same numbers and nearly the same letters; or when
    they are alike and no others are left over.
    """
    spare = sorted(set(in_register).difference(in_logs))
    missing = sorted(set(in_logs).difference(in_register))
    by_skeleton = {_skeleton(name): name for name in spare}
    pairs = [(by_skeleton[_skeleton(name)], name) for name in missing if _skeleton(name) in by_skeleton]
    ours, theirs = {one for one, _ in pairs}, {other for _, other in pairs}
    spare = [name for name in spare if name not in ours]
    missing = [name for name in missing if name not in theirs]
    if len(spare) > _MOST_COMPARED or len(missing) > _MOST_COMPARED:
        return pairs
    alone = len(spare) == len(missing) == 1
    for name in missing:
        like = [(_likeness(one, name), one) for one in spare if alone or _numbers(one) == _numbers(name)]
        best = max(like, default=(0.0, ""))
        if best[0] >= _LIKE:
            pairs.append((best[1], name))
            spare.remove(best[1])
    return pairs


def _skeleton(name: str) -> str:
    plain = re.sub(r"[\W_]+", "", name[:100].casefold()).replace("o", "0")
    return re.sub(r"(?<!\d)0+(?=\d)", "", plain) or name


def _numbers(name: str) -> list[int]:
    return [int(digits) for digits in re.findall(r"[0-9]+", name[:100])]


def _likeness(one: str, other: str) -> float:
    return difflib.SequenceMatcher(None, one[:100].casefold(), other[:100].casefold(), autojunk=False).ratio()
