"""The evidence of a clock's marks, in words: each that the program writes has its own."""

from __future__ import annotations

import re
from pathlib import Path

import startworthy.validate.clock as clock
from startworthy.words import texts


def test_every_piece_of_evidence_has_words() -> None:
    code = "".join(path.read_text() for path in sorted(Path(clock.__file__).parent.glob("*.py")))
    written = set(re.findall(r'(?:text=|how\[\w+\] = |"clock_\w+", (?:first, last, )?)"([a-z_]+)"', code))
    assert {"bounds", "end", "start", "refused", "never_set", "no_order", "follows_on", "ran_through"} <= written
    assert written <= set(texts("report")["clock"])
