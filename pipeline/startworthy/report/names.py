"""File names for sets. A log never chooses a path: what it calls a set is turned into a plain name first."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable

LONGEST = 80
_RESERVED = {
    "",
    "con",
    "prn",
    "aux",
    "nul",
    "index",
    *(f"{port}{n}" for port in ("com", "lpt") for n in range(10)),
}
"""Device names of one widespread system, and the page over all sets."""


def safe_name(set_id: str) -> str:
    """A file name without ending for a set: [A-Za-z0-9._-], 1 to 80 characters, not reserved.

    No dot or hyphen first or last, and no device by its name, with or without an ending. Accents are taken off;
    every other character that is not allowed becomes a hyphen. What would be empty, reserved or too long ends in a
    short hash of the whole id.
    """
    plain = unicodedata.normalize("NFKD", set_id).encode("ascii", "ignore").decode("ascii")
    name = re.sub(r"-{2,}", "-", re.sub(r"[^A-Za-z0-9._-]", "-", plain)).strip(".-")
    # the part before the first dot is what a device name is told by
    if name.split(".")[0].lower() in _RESERVED or len(name) > LONGEST:
        return _hashed(name or "set", set_id)
    return name


def page_names(set_ids: Iterable[str]) -> dict[str, str]:
    """Each set's own file name. Names that would be one (case does not count) get a short hash each."""
    ids = list(dict.fromkeys(set_ids))
    plain = {set_id: safe_name(set_id) for set_id in ids}
    often = Counter(name.lower() for name in plain.values())
    names: dict[str, str] = {}
    taken: set[str] = set()
    # names that stand alone come first, so that no hashed name can take one of theirs
    for set_id in sorted(ids, key=lambda one: often[plain[one].lower()] > 1):
        name, salt = plain[set_id], ""
        if often[name.lower()] > 1:
            name = _hashed(name, set_id)
        while name.lower() in taken:
            salt += "+"
            name = _hashed(plain[set_id], set_id + salt)
        taken.add(name.lower())
        names[set_id] = name
    return {set_id: names[set_id] for set_id in ids}


def _hashed(name: str, set_id: str) -> str:
    mark = hashlib.sha256(set_id.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    # no dot: a device is told by what stands before the first one, whatever follows
    return f"{name[: LONGEST - 9].replace('.', '-').rstrip('-') or 'set'}-{mark}"
