"""Text out of a file made fit to be looked at: what steers, hides or reorders is shown as what it is.

A name in a log may hold a line break, an escape that clears a terminal, or a mark that turns the text after it
round. Two names may differ in nothing that can be seen. None of that is markup, so escaping does not touch it.
"""

from __future__ import annotations

import re
import unicodedata

LONGEST = 200
"""Characters of one line on a terminal."""

# Control, format, surrogate, private, unassigned; line and paragraph separators. Spaces of all widths stay.
_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
# letters and marks by their category, and yet nothing is drawn for them
_BLANK = {0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x180B, 0x180C, 0x180D, 0x180F, 0x2800, 0x3164, 0xFFA0}
_CONTROL_PICTURES = 0x2400


class _Shown(dict[int, str]):
    """Each character by its code as a page shows it; filled as characters turn up."""

    def __missing__(self, code: int) -> str:
        shown = chr(code)
        if code < 0x20:
            shown = chr(_CONTROL_PICTURES + code)
        elif code == 0x7F:
            shown = "\N{SYMBOL FOR DELETE}"
        elif _unseen(shown):
            shown = f"[U+{code:04X}]"
        self[code] = shown
        return shown


class _Printed(dict[int, str]):
    """Each character by its code as a terminal gets it."""

    def __missing__(self, code: int) -> str:
        shown = chr(code)
        if _unseen(shown):
            shown = "\N{REPLACEMENT CHARACTER}"
        elif unicodedata.category(shown) == "Zs":
            shown = " "
        self[code] = shown
        return shown


_SHOWN, _PRINTED = _Shown(), _Printed()


def _unseen(character: str) -> bool:
    return unicodedata.category(character) in _UNSEEN or ord(character) in _BLANK


def visible(text: str) -> str:
    """The text with every character that cannot be seen as a picture of it (`␛`, `␊`) or its number (`[U+202E]`).

    Covers control characters, marks of direction, zero widths, fillers, lone surrogates and what Unicode has not
    assigned. Text of letters, digits, signs, accents and spaces comes back as it is.
    """
    if text.isascii() and text.isprintable():
        return text
    return text.translate(_SHOWN)


def without_surrogates(text: str) -> str:
    """The text with a replacement character for each lone surrogate: a file name may hold them, UTF-8 cannot."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return re.sub(r"[\ud800-\udfff]", "\N{REPLACEMENT CHARACTER}", text)
    return text


def one_line(text: str, longest: int | None = LONGEST) -> str:
    """The text on one line of a terminal: what is not seen is a replacement character, and no text is endless.

    longest: characters at most; None for no bound.
    """
    clean = text if text.isascii() and text.isprintable() else text.translate(_PRINTED)
    return clean if longest is None or len(clean) <= longest else f"{clean[: longest - 1]}…"


def one_path(path: str, longest: int = LONGEST) -> str:
    """A path on one line, as `one_line`; of one too long the end is kept, where the file's own name is."""
    clean = one_line(path, None)
    return clean if len(clean) <= longest else f"…{clean[1 - longest :]}"
