"""Text that a log, a file name or a register might hold to get out of where it belongs, and a page taken apart."""

from __future__ import annotations

import json
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any

from hypothesis import strategies as st

MARKUP = [
    "<script>alert(1)</script>",
    "</script><script>alert(1)</script>",
    "</title><img src=x onerror=alert(1)>",
    "</style><style>*{display:none}</style>",
    "<!--<script>",
    "-->",
    "]]>",
    "<svg onload=alert(1)>",
    "<iframe src=javascript:alert(1)>",
    "<a href='javascript:alert(1)'>x</a>",
    "<b>bold</b><br>%{x}<extra>y</extra>",
    "javascript:alert(1)",
    "data:text/html,<script>alert(1)</script>",
    "http://example.org/x.png",
    "\" onmouseover=alert(1) x=\"",
    "' autofocus onfocus=alert(1) '",
    "`onclick=alert(1)`",
    "&lt;script&gt;alert(1)&lt;/script&gt;",
    "&#60;img src=x onerror=alert(1)&#62;",
    "&quot;&amp;&#0;&notit;",
    "url(http://example.org)",
    "{{7*7}}{% raw %}{# #}",
    "{set_id.__class__}{0}%s${7*7}",
    "\\u003cscript\\u003e\\\"",
    "<meta http-equiv=refresh content='0;url=http://example.org'>",
    "<base href=http://example.org>",
    "<form action=http://example.org><input name=x>",
    "<template id=chart-library>",
]  # fmt: skip
PATHS = [
    "../../etc/x",
    "..",
    "/abs",
    "C:\\x",
    "\\\\host\\x",
    "a/b",
    "CON",
    "NUL",
    "aux.csv",
    "x.",
    " x ",
    "index",
    "index.html",
]
KEYS = ["findings.json", "__proto__", "constructor", "toString", "hasOwnProperty", "null", "undefined", "true", "1e999"]
FORMULAS = ["=1+1", "@SUM(1)", "+1+cmd|' /C calc'!A0", "-2+3", "＝1+1", 'b;=HYPERLINK("http://example.org";"x")']
UNSEEN = [
    "gpj.\u202etxt",
    "HILL\u200b-01",
    "\u2066HILL\u2069",
    "\u2028x\u2029",
    "\u3164",
    "x\u00ad",
    "\ufeffx",
    "x\x85y",
    "x\x9b2Jy",
]
SCRIPTS = ["مولد الطوارئ", "גנרטור", "发电机", "\U0001f600\u200d\U0001f525", "e\u0301" * 40, "ＨＩＬＬ", "x" * 10_000]
NASTY = [*MARKUP, *PATHS, *KEYS, *FORMULAS, *UNSEEN, *SCRIPTS]

ESCAPES = ["\x1b[2J\x1b[H", "\x1b]0;owned\x07", "a\rb", "a\nb: all is well", "\0", "\x7f", "\t", "\ud800", "\udcff"]
"""What a table as text can hardly carry, and a register, a file name or another program's frame can."""


def any_text() -> st.SearchStrategy[str]:
    """Text of all characters, and the nasty ones by themselves and within other text. No lone surrogate."""
    loose = st.text(st.characters(codec="utf-8"), max_size=40)
    whole = st.sampled_from(NASTY)
    return st.one_of(whole, loose, st.tuples(loose, whole, loose).map("".join))


class Apart(HTMLParser):
    """A page: its elements in order with their attributes, its text, and the text of each script by its id."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, tuple[tuple[str, str | None], ...]]] = []
        self.ends: list[str] = []
        self.scripts: dict[str, str] = {}
        self.text = ""
        self.comments: list[str] = []
        self._in = ""
        self._id = ""
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, tuple(attrs)))
        self._in, self._id = tag, dict(attrs).get("id") or ""

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        raise AssertionError(f"no page of ours closes {tag} at once")

    def handle_endtag(self, tag: str) -> None:
        self.ends.append(tag)
        self._in = ""

    def handle_comment(self, data: str) -> None:
        self.comments.append(data)

    def handle_data(self, data: str) -> None:
        if self._in == "script":
            self.scripts[self._id] = self.scripts.get(self._id, "") + data
        elif self._in != "style":
            self.text += data

    def skeleton(self) -> list[tuple[str, tuple[tuple[str, str | None], ...]]]:
        """Elements and attributes; where a link to a set's page leads is left out, for it follows the name."""
        return [
            (tag, tuple((k, "" if k == "href" and not (v or "").startswith("#") else v) for k, v in attrs))
            for tag, attrs in self.elements
        ]

    def kinds(self) -> set[tuple[str, tuple[str, ...]]]:
        """Each kind of element by its name and the names of its attributes."""
        return {(tag, tuple(name for name, _ in attrs)) for tag, attrs in self.elements}

    def figures(self) -> Iterator[Any]:
        """What the charts are drawn from."""
        return (json.loads(text) for key, text in self.scripts.items() if key.startswith("data-"))
