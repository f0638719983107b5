"""What a check can say: a finding, 'looked and clear', or 'could not look', and the answers made of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Literal

Evidence = str | int | float | bool | datetime | None


class Severity(StrEnum):
    """`urgent`: it may not start, carry or stop safely. `soon`: plan a visit. `note`: worth knowing."""

    URGENT = "urgent"
    SOON = "soon"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return list(Severity).index(self)


class Question(StrEnum):
    """The five questions of a report, in the order in which they are asked."""

    START = "start"
    CARRY = "carry"
    KEEP_RUNNING = "keep_running"
    CARE = "care"
    LOG = "log"


class Answer(StrEnum):
    """`unknown` is a real answer: the checks that carry the question could not be made."""

    NO = "no"
    DOUBTFUL = "doubtful"
    UNKNOWN = "unknown"
    YES = "yes"


class Reason(StrEnum):
    """Why a check could not be made. Its sentence stands in words/, under `reasons`."""

    SIGNAL_MISSING = "signal_missing"
    TOO_COARSE = "too_coarse"
    TOO_FEW = "too_few"
    TOO_SHORT = "too_short"
    NOT_IN_REGISTER = "not_in_register"
    NOTHING_SEEN = "nothing_seen"
    CONFLICT = "conflict"
    INTERNAL_ERROR = "internal_error"


Side = Literal["above", "below"]
Basis = Literal["published", "practice", "memory", "register", "learnt"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something is wrong with one set, with its evidence.

    `variant` picks the sentences in words/ (`default` unless the check tells several cases apart);
    `evidence` fills their places. A key's ending gives its unit (`_v`, `_s`, `_c`, `_at`: see words).
    """

    code: str
    severity: Severity
    question: Question
    began_at: datetime | None
    ended_at: datetime | None
    value: float | None = None
    unit: str = ""
    limit: float | None = None
    limit_name: str = ""
    side: Side | None = None
    per: str = ""
    basis: Basis | None = None
    source: str = ""
    variant: str = "default"
    evidence: Mapping[str, Evidence] = field(default_factory=dict)
    p_value: float | None = None
    """How often chance alone would show as much, where a statistical test stands behind it."""


@dataclass(frozen=True, slots=True)
class NotAssessed:
    """The check could not look, and why. `evidence` fills the places of the reason's sentence."""

    code: str
    reason: Reason
    evidence: Mapping[str, Evidence] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Clear:
    """The check looked and found nothing; `evidence` says at what (for example 26 starts, 180 days).

    p_value: of the statistical test that found nothing: it counts among the tests of the run all the same.
    """

    code: str
    evidence: Mapping[str, Evidence] = field(default_factory=dict)
    p_value: float | None = None


Outcome = Finding | NotAssessed | Clear
