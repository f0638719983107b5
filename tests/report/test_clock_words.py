"""The evidence of a clock's marks, in words: each that the program writes has its own."""

from __future__ import annotations

from startworthy.logbook.tables import MARKS
from startworthy.validate.clock import EVIDENCE
from startworthy.words import texts


def test_every_piece_of_evidence_and_every_mark_has_words() -> None:
    assert set(texts("report")["clock"]) == set(EVIDENCE)
    assert set(texts("report")["marks"]) == set(MARKS)
