"""findings.json: the result for other programs. Stable, versioned, with its JSON Schema beside this module."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import fields, replace
from datetime import UTC, date, datetime
from importlib.resources import files
from typing import Any

from startworthy.findings import Finding, Question
from startworthy.limits import LIMITS
from startworthy.results import Checked, FileRead, Known, SetResult
from startworthy.words import Style, finding_text, reason_text
from startworthy.words.plain import without_surrogates

SCHEMA_VERSION = 1
"""Raised when a key goes or changes its meaning; keys may be added within one version."""


def findings_document(checked: Checked, style: Style) -> dict[str, Any]:
    """The document, in the shape of findings.schema.json: plain values only, times as text in UTC, no NaN.

    Sentences are in `style`, with the zone of each set; numbers are in the inner units.
    """
    return {
        "schema_version": SCHEMA_VERSION,
        "tool": {"name": "startworthy", "version": checked.version},
        "generated_at": utc_text(checked.generated_at),
        "files": [_file(one) for one in checked.readings.files],
        "sets": [_set(result, replace(style, zone=result.known.time_zone)) for result in checked.sets],
    }


def document_text(document: Mapping[str, Any]) -> str:
    """The document as text. A lone surrogate, which no UTF-8 can hold, is written as a replacement character.

    Raises ValueError for NaN and infinity, which JSON does not have.
    """
    return without_surrogates(json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1)) + "\n"


def schema_text() -> str:
    """The JSON Schema (draft 2020-12) of findings.json."""
    return (files("startworthy.report") / "findings.schema.json").read_text(encoding="utf-8")


def utc_text(at: datetime) -> str:
    """`2026-01-04T03:04:05Z`; parts of a second only where there are any."""
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _file(file: FileRead) -> dict[str, Any]:
    return {
        "path": file.path,
        "sha256": file.sha256,
        "layout": file.layout,
        "rows_read": file.rows_read,
        "rows_accepted": file.rows_accepted,
        "rows_refused": file.rows_refused,
        "rows_repeated": file.rows_repeated,
        "cells_emptied": file.cells_emptied,
        "sets": list(file.set_ids),
        "notes": list(file.notes),
    }


def _set(result: SetResult, style: Style) -> dict[str, Any]:
    return {
        "set_id": result.set_id,
        "site": result.known.entry.site,
        "from": utc_text(result.began_at),
        "to": utc_text(result.ended_at),
        "answers": {question.value: result.answers[question].value for question in Question},
        "facts": {name: _plain(value) for name, value in result.facts.items()},
        "findings": [_finding(finding, style) for finding in result.findings],
        "clear": [one.code for one in result.clear],
        "not_assessed": [{"code": one.code, "reason": reason_text(one, style)} for one in result.not_assessed],
        "known": _known(result.known),
        "inferred": dict(result.known.inferred),
        "sampling": {one.name: _plain(getattr(result.sampling, one.name)) for one in fields(result.sampling)},
    }


def _finding(finding: Finding, style: Style) -> dict[str, Any]:
    text = finding_text(finding, style)
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "question": finding.question.value,
        "title": text.title,
        "detail": text.detail,
        "began_at": _plain(finding.began_at),
        "ended_at": _plain(finding.ended_at),
        "value": _plain(finding.value),
        "limit": _plain(finding.limit),
        "unit": finding.unit,
        "advice": list(text.advice),
        "source": finding.source,
        "limit_name": finding.limit_name,
        "side": finding.side,
        "per": finding.per,
        "basis": finding.basis,
        "variant": finding.variant,
        "p_value": _plain(finding.p_value),
        "evidence": {name: _plain(value) for name, value in finding.evidence.items()},
    }


def _known(known: Known) -> dict[str, Any]:
    names = [
        one.name for one in fields(known) if one.name not in {"set_id", "entry", "limits", "inferred", "conflicts"}
    ]
    own = [limit.name for limit in LIMITS if known.limits[limit.name].basis == "register"]
    limits = {name: _plain(known.limits.value(name)) for name in own}
    return {name: _plain(getattr(known, name)) for name in names} | {"limits": limits}


def _plain(value: Any) -> Any:
    """A value that JSON has: times and dates as text, NaN and infinity as null."""
    if isinstance(value, datetime):
        return utc_text(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    return value
