"""The pages as text: one for each set, whole in itself, and one over all sets."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, partial
from importlib.resources import files
from typing import Any

import jinja2
from markupsafe import Markup

from startworthy.findings import Answer, Evidence, Question, Severity
from startworthy.report.cells import Where
from startworthy.report.files_view import reading_view
from startworthy.report.library import library, policy
from startworthy.report.look import DARK
from startworthy.report.moments import OwnRows, own_readings
from startworthy.report.order import own_style, standing
from startworthy.report.view import set_view, written_line
from startworthy.results import Checked, SetResult
from startworthy.words import Style, finding_text, texts
from startworthy.words.plain import visible

MOST_CHARACTERS = 2000
"""Of one text in a page: no log makes a page endless."""


@dataclass(frozen=True, slots=True)
class IndexRow:
    """One set on the page over all sets. `answers`: short question, answer key and answer word."""

    set_id: str
    site: str
    href: str
    worst: str
    worst_severity: str
    answers: tuple[tuple[str, str, str], ...]


def set_pages(
    checked: Checked, names: Mapping[str, str], style: Style, where: Where, *, index: bool = True
) -> Iterator[tuple[str, str]]:
    """File name and text of each set's page, one at a time: a page holds some two million characters.

    names: set to file stem. index: whether a page over all sets goes with them.
    """
    rows = own_readings(checked.readings.frame)
    none = checked.readings.frame.clear()
    for result in checked.sets:
        own = own_style(style, result)
        readings: OwnRows = rows.get(result.set_id, none)
        if checked.readings.spilled is not None:
            readings = partial(checked.readings.rows_of, result.set_id)
        view = set_view(checked, result, readings, own, where)
        context = {
            "view": view,
            "reading": reading_view(checked.readings, result.set_id, own),
            "library": library(),
            "packed": Markup(library().packed),  # noqa: S704 - letters, digits, + / =
            "dark": _script_json(DARK),
            "policy": policy(style=_asset("page.css"), script=_asset("page.js")),
            "script": Markup(_asset("page.js")),  # noqa: S704 - our own file
            "index": "index.html" if index else "",
        }
        yield f"{names[result.set_id]}.html", _render("set.html", context)


def index_page(checked: Checked, names: Mapping[str, str], style: Style) -> str:
    """The page over all sets, worst first."""
    ordered = sorted(checked.sets, key=lambda result: (standing(result), result.set_id))
    rows = [_index_row(result, names, own_style(style, result)) for result in ordered]
    counted = {
        "sets": len(ordered),
        "urgent": sum(any(f.severity is Severity.URGENT for f in r.findings) for r in ordered),
        "soon": sum(bool(r.findings) and r.findings[0].severity is Severity.SOON for r in ordered),
        "unknown": sum(Answer.UNKNOWN in r.answers.values() for r in ordered),
    }
    lead = style.fill(texts("report")["index"]["lead"], counted) if len(ordered) > 1 else ""
    context = {
        "rows": rows,
        "lead": lead,
        "policy": policy(style=_asset("page.css")),
        "written": written_line(checked),
    }
    return _render("index.html", context)


def _index_row(result: SetResult, names: Mapping[str, str], style: Style) -> IndexRow:
    short, words = texts("report")["short_questions"], texts("general")["answers"]
    answers = tuple((short[q.value], result.answers[q].value, words[result.answers[q].value]) for q in Question)
    worst = result.findings[0] if result.findings else None
    return IndexRow(
        result.set_id,
        result.known.entry.site or "",
        f"{names[result.set_id]}.html",
        finding_text(worst, style).title if worst else "",
        texts("general")["severities"][worst.severity.value] if worst else "",
        answers,
    )


def _render(template: str, context: Mapping[str, Any]) -> str:
    shared = {"words": texts("report"), "general": texts("general"), "css": Markup(_asset("page.css"))}  # noqa: S704 - our own file
    return _environment().get_template(template).render(**shared, **context)


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("startworthy.report"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        finalize=_fit,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["script_json"] = _script_json
    return environment


def _fit(value: Any) -> Any:
    """What every place of a template passes through before it is escaped: text as it can be seen, and not endless."""
    if not isinstance(value, str) or isinstance(value, Markup):
        return value
    if len(value) > MOST_CHARACTERS:
        cut: dict[str, Evidence] = {"shown": value[:MOST_CHARACTERS], "total": len(value)}
        value = Style().fill(texts("report")["page"]["cut"], cut)
    return visible(value)


def _script_json(value: Any) -> Markup:
    """JSON that may stand inside a script element: nothing in it can end the element or begin another."""
    try:
        text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    except ValueError:
        text = json.dumps(_finite(value), ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return Markup(text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e"))  # noqa: S704


def _finite(value: Any) -> Any:
    """The value with None for each number that JSON does not have: a chart has a hole there, and the page stands."""
    if isinstance(value, Mapping):
        return {key: _finite(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(one) for one in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


@cache
def _asset(name: str) -> str:
    return (files("startworthy.report") / "templates" / name).read_text(encoding="utf-8")
