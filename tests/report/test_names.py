import re
import unicodedata
from pathlib import Path, PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.report.names import LONGEST, page_names, safe_name


@given(st.text())
def test_a_name_can_never_leave_its_folder(set_id: str) -> None:
    name = safe_name(set_id)
    assert re.fullmatch(r"[A-Za-z0-9_-]([A-Za-z0-9._-]{0,78}[A-Za-z0-9_-])?", name)
    assert name.lower() not in {"index", "con", "nul", "aux", "prn", "com1", "lpt1"}


@given(st.lists(st.text(max_size=12), unique=True))
def test_two_sets_never_share_a_file(set_ids: list[str]) -> None:
    names = page_names(set_ids)
    assert list(names) == set_ids
    assert len({name.lower() for name in names.values()}) == len(set_ids)
    assert all(len(name) <= LONGEST for name in names.values())


@pytest.mark.parametrize(
    ("set_id", "name"),
    [
        ("HILL-01", "HILL-01"),
        ("Hill pump station", "Hill-pump-station"),
        ("Café 3", "Cafe-3"),
        ("../../etc/passwd", "etc-passwd"),
        ("C:\\sets\\1", "C-sets-1"),
        (".hidden", "hidden"),
    ],
)
def test_a_plain_name_stays_readable(set_id: str, name: str) -> None:
    assert safe_name(set_id) == name


@pytest.mark.parametrize("set_id", ["index", "INDEX", "con", "nul.csv", "COM1", "", "///", "发电机", "x" * 81])
def test_reserved_empty_and_endless_names_get_a_hash(set_id: str) -> None:
    assert re.fullmatch(r".+-[0-9a-f]{8}", safe_name(set_id))


def test_names_that_differ_in_case_only_are_kept_apart_and_do_not_depend_on_order() -> None:
    one, other = page_names(["Hill", "HILL", "brook"]), page_names(["brook", "HILL", "Hill"])
    assert one == other
    assert one["Hill"].lower() != one["HILL"].lower()
    assert one["brook"] == "brook"


PATHS = [
    "../../etc/x", "..", ".", "/abs", "a/b", "a\\b", "C:\\x", "C:x", "\\\\host\\x", "//host/x", "file:///etc/x", "~/x", "~root",
    "$HOME", "%TEMP%", "a\0b", "a\nb", "-rf", "--out", "x|y", "x>y", "x:stream", "x?y*", "x ", " x", "x.", "x. .", "...", "",
    " ", "con", "CON.", "con .csv", "aux.csv", "NUL.tar.gz", "com¹", "LPT9.txt", "prn", "conin$", "index", "index.html", "Index.HTML",
    "findings.json", "refused.csv", "logbook", "__proto__", "constructor", "\udc80", "\udcff/../x", "\u202egpj.exe", "\u200b",
    "\u2024\u2024/x", "\uff0e\uff0e\uff0fx", "e" * 10_000, "é" * 10_000, "\U0001f600", "مولد", "发电机",
]  # fmt: skip


@pytest.mark.parametrize("set_id", PATHS, ids=ascii)
def test_no_name_of_a_set_chooses_a_path_or_a_device(set_id: str, tmp_path: Path) -> None:
    name = safe_name(set_id)
    assert re.fullmatch(r"[A-Za-z0-9_]([A-Za-z0-9._-]{0,78}[A-Za-z0-9_])?", name)
    assert (tmp_path / f"{name}.html").resolve().parent == tmp_path.resolve()
    assert PureWindowsPath(f"{name}.html").parts == (f"{name}.html",)
    assert f"{name}.html".lower() not in {"index.html", "findings.json", "refused.csv"}
    # a device is told by what stands before the first dot
    assert not re.fullmatch(r"(?i)con|prn|aux|nul|(com|lpt)\d", name.split(".")[0])


ALIKE = [
    ["Hill", "HILL", "hill", "hIll"],
    ["Café", "Cafe\u0301", "Cafe", "CAFE", "cafe"],
    ["a b", "a-b", "a/b", "a\\b", "a  b", "a\u00a0b", "a\tb", " a b ", "-a-b-"],
    ["１", "1", "①", "¹"],
    ["ﬁn", "fin", "FIN"],
    ["K", "\u212a", "k"],
    ["straße", "strasse", "STRASSE"],
    ["\u0130x", "ix", "Ix"],
    ["\u200bx", "x", "x\u200b", "x\u202e"],
    ["发电机", "发电", "\U0001f600", "", " ", "...", "set"],
    ["x" * 81, "x" * 82, "x" * 80, "X" * 80],
    ["con", "CON", "con.", "con.a", "con.b"],
    ["\ud800", "\udc00", "?"],
]


@pytest.mark.parametrize("set_ids", ALIKE, ids=ascii)
def test_sets_whose_names_fold_to_one_keep_a_page_each(set_ids: list[str]) -> None:
    names = page_names(set_ids)
    folded = {unicodedata.normalize("NFKC", name).casefold() for name in names.values()}
    assert len(folded) == len(names) == len(set_ids)
    assert page_names(set_ids[::-1]) == names, "a page keeps its name whatever the order of the sets"


def test_a_set_that_takes_the_hashed_name_of_another_does_not_take_its_page() -> None:
    taken = page_names(["Hill", "HILL"])["Hill"]
    names = page_names(["Hill", "HILL", taken, taken.upper(), safe_name("con")])
    assert len({name.lower() for name in names.values()}) == 5


@given(st.lists(st.sampled_from([one for group in ALIKE for one in group] + PATHS), unique=True))
def test_any_company_of_nasty_names_keeps_a_page_each(set_ids: list[str]) -> None:
    names = page_names(set_ids)
    assert len({name.lower() for name in names.values()}) == len(set_ids)
