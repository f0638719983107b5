import re

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
