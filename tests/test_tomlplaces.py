"""Places in a TOML text: the line of every key, held against texts that were built with known lines."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from startworthy.tomlplaces import MOST_PARTS, Path, dotted, places

NAMES = st.sampled_from(
    ["rated_kw", "sets", "HILL-01", "limits", "7", "a.b", "a]b", "[x]", "#no", "k = 1", "", "Ö", 'q"q', "it's", "tab\t", "\x07", "back\\"]
) | st.text(min_size=1, max_size=6)  # fmt: skip
FAKES = ["rated_kw = 1", '[sets."A"]', "# rated_kw", "a.b = {", "]", "'''", "= 5"]


def basic(text: str) -> str:
    """The text in double quotes, everything unusual escaped."""
    escapes = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t"}
    return '"' + "".join(escapes.get(c) or (c if c.isprintable() else f"\\U{ord(c):08x}") for c in text) + '"'


@dataclass
class Text:
    """A TOML text as it grows, and the line on which each path was first named."""

    said: list[str] = field(default_factory=list)
    lines: dict[Path, int] = field(default_factory=dict)

    def add(self, text: str) -> None:
        self.said.append(text)

    def name(self, path: Path) -> None:
        self.lines.setdefault(path, "".join(self.said).count("\n") + 1)


def key_of(draw: st.DrawFn, name: str) -> str:
    plain = name != "" and name.isascii() and name.replace("-", "").replace("_", "").isalnum()
    kinds = [basic(name)] + ([name, name] if plain else [])
    kinds += [f"'{name}'"] if name.isprintable() and "'" not in name else []
    return draw(st.sampled_from(kinds))


def value_of(draw: st.DrawFn, text: Text, path: Path, depth: int) -> None:
    kind = draw(st.sampled_from(["plain", "long", "list", "table"] if depth < 3 else ["plain", "long"]))
    if kind == "plain":
        text.add(
            draw(
                st.sampled_from(
                    [
                        "1",
                        "-2.5e3",
                        "true",
                        "nan",
                        "2024-01-02",
                        "2024-01-02 03:04:05Z",
                        "07:30:00",
                        "'#='",
                        '"]\\" ="',
                        '""',
                    ]
                )
            )
        )
    elif kind == "long":
        fake = draw(st.lists(st.sampled_from(FAKES), max_size=3))
        inside = "\n".join(fake)
        text.add(
            draw(st.sampled_from([f'"""\n{inside}"" \\" ""x"""', f'""""{inside}\n"""""']))
            if "'''" in inside
            else f"'''{inside}\n''''"
        )
    elif kind == "list":
        text.add("[" + draw(st.sampled_from(["", "\n  ", " # [a]\n"])))
        for number in range(draw(st.integers(0, 3))):
            text.name((*path, number))
            value_of(draw, text, (*path, number), depth + 1)
            text.add(draw(st.sampled_from([",", ", ", " # b = ']'\n , \n"])))
        text.add("]")
    else:
        text.add("{ ")
        names = draw(st.lists(NAMES, max_size=3, unique=True))
        for number, name in enumerate(names):
            text.add(", " if number else "")
            text.name((*path, name))
            text.add(f"{key_of(draw, name)} = ")
            value_of(draw, text, (*path, name), depth + 1)
        text.add(" }")


@st.composite
def texts(draw: st.DrawFn) -> Text:
    """Tables with and without lists of tables, keys with dots, comments: no path is given twice."""
    text = Text()
    pairs(draw, text, (), set())
    for number, name in enumerate(draw(st.lists(NAMES.filter(bool), max_size=4, unique=True))):
        # a table of the top level must not carry the name of a key there
        top = f"{number}{name}"
        many = draw(st.booleans())
        for turn in range(draw(st.integers(1, 2)) if many else 1):
            text.add(draw(st.sampled_from(["", "\n", "# [sets]\n", "  "])))
            path: Path = (top,)
            text.name(path)
            text.add(f"[[ {key_of(draw, top)} ]]" if many else f"[{key_of(draw, top)}]")
            path = (top, turn) if many else path
            text.name(path)
            text.add(draw(st.sampled_from(["\n", " # c = 1\n"])))
            pairs(draw, text, path, set())
            if draw(st.booleans()):
                below = "below " + draw(NAMES)
                written = key_of(draw, below)
                text.name((*path, below))
                text.name((*path, below, "deeper"))
                text.add(f"[{basic(top)} . {written}.deeper]\n")
                pairs(draw, text, (*path, below, "deeper"), set())
    return text


def pairs(draw: st.DrawFn, text: Text, base: Path, used: set[str]) -> None:
    for name in draw(st.lists(NAMES, max_size=3, unique=True)):
        text.add(draw(st.sampled_from(["", "  ", "\n\n", "# x = 2\n"])))
        path = (*base, name)
        text.name(path)
        text.add(key_of(draw, name))
        for inner in draw(st.lists(NAMES, max_size=2)):
            path = (*path, inner)
            text.add(" . ")
            text.name(path)
            text.add(key_of(draw, inner))
        text.add(draw(st.sampled_from([" = ", "="])))
        value_of(draw, text, path, 0)
        text.add(draw(st.sampled_from(["\n", "  # rated_kw = 7\n"])))


def paths_of(data: Any, above: Path = ()) -> set[Path]:
    """Every path of what the standard library read."""
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return {path for part, value in items for path in ({(*above, part)} | paths_of(value, (*above, part)))}


@given(texts())
def test_every_key_has_the_line_on_which_it_was_written(text: Text) -> None:
    whole = "".join(text.said)
    assert paths_of(tomllib.loads(whole)) == set(text.lines), whole
    found = places(whole)
    assert found.lines == text.lines, whole
    assert found.sound_until is None
    assert not found.again
    assert not found.deep


@given(texts(), st.data())
def test_what_the_library_reads_is_followed_to_the_end(text: Text, data: st.DataObject) -> None:
    whole = "".join(text.said)
    at = data.draw(st.integers(0, len(whole)))
    cut = data.draw(st.integers(at, min(at + 9, len(whole))))
    changed = (
        whole[:at]
        + data.draw(st.sampled_from(["", '"', "'", "[", "]", "{", "\n", "=", ".", "#", "\\", "a = 1\n"]))
        + whole[cut:]
    )
    found = places(changed)
    try:
        read = tomllib.loads(changed)
    except tomllib.TOMLDecodeError:
        assert all(1 <= line <= changed.count("\n") + 1 for line in found.lines.values())
        return
    assert set(found.lines) == paths_of(read), changed
    assert found.sound_until is None


@given(st.text("ab\"'[]{}=.,#\\\n 1-", max_size=60))
@example('a = """\\')
@example("[[a]]\n[a.b]\n[[a]]\n[a.b]\n")
def test_no_text_upsets_it(text: str) -> None:
    found = places(text)
    try:
        read = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(found.lines) == paths_of(read)


@pytest.mark.parametrize(
    ("text", "again"),
    [
        ("a = 1\nb = 2\na = 3\n", ((("a",), 1, 3),)),
        ("[s.A]\nx = 1\n\n[s.A]\n", ((("s", "A"), 1, 4),)),
        ('[s.A]\nx = 1\n"x" = 2\n', ((("s", "A", "x"), 2, 3),)),
        ("[s.A.b]\n[s.A]\n[[l]]\nx = 1\n[[l]]\nx = 1\n", ()),
    ],
)
def test_what_is_given_twice_is_told_with_both_lines(text: str, again: tuple[tuple[Path, int, int], ...]) -> None:
    assert places(text).again == again


@pytest.mark.parametrize(
    ("text", "line"), [("a = 1\nb = [1,\n2\n", 2), ('a = 1\n\nb = """x\n\n', 3), ('a = "1" 2\n', 1), ("a = 1\n[x\n", 2)]
)
def test_how_far_a_text_is_sound(text: str, line: int) -> None:
    assert places(text).sound_until == line


@pytest.mark.parametrize(
    "text", [".".join("a" * 100_000) + " = 1", "a = " + "[" * 100_000, "[" + "a." * 99 + "a]\n", "a = " + "{a=" * 200]
)
def test_what_is_nested_without_end_is_told_at_once(text: str) -> None:
    assert places(text).deep


def test_a_few_keys_within_keys_are_no_matter() -> None:
    assert not places(".".join("a" * MOST_PARTS) + " = 1").deep


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("sets", "HILL-01", "rated_kw"), "sets.HILL-01.rated_kw"),
        (("sets", "a.b", "x"), 'sets."a.b".x'),
        (("c", 'q"\\'), 'c."q\\"\\\\"'),
        (("curve", 0, 1), "curve#1#2"),
    ],
)
def test_a_path_is_written_as_toml_writes_it(path: Path, text: str) -> None:
    assert dotted(path) == text
