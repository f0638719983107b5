"""What explain prints comes from the catalogue, the limits and the words, and from nowhere else."""

from __future__ import annotations

import pytest

from startworthy.check import CATALOGUE, GROUPS
from startworthy.check.explain import WIDTH, explain, limit_line
from startworthy.limits import BY_NAME, Limits
from startworthy.words import Style, check_text


@pytest.mark.parametrize("code", CATALOGUE)
def test_one_check_with_all_its_limits(code):
    text = explain(code)
    lines = text.splitlines()
    assert lines[0] == code
    assert lines[1] == check_text(code).title
    assert all(len(line) <= WIDTH for line in lines)
    assert text.endswith("\n")
    flat = " ".join(text.split())
    for part in (check_text(code).computes, check_text(code).needs, check_text(code).fooled_by):
        assert " ".join(part.split()) in flat
    for name in CATALOGUE[code].limits:
        assert limit_line(BY_NAME[name], Style()) in flat


def test_the_whole_catalogue_in_the_order_of_the_report():
    lines = explain().splitlines()
    listed = [line.split()[0] for line in lines if line.split() and line.split()[0] in CATALOGUE]
    assert sorted(listed) == sorted(CATALOGUE)
    order = [module.__name__.rsplit(".", 1)[-1] for module in GROUPS]
    groups = [order.index(code.split(".")[0]) for code in listed]
    assert groups == sorted(groups)
    assert all(len(line) <= WIDTH for line in lines)


def test_an_unknown_code_is_refused_with_the_nearest():
    with pytest.raises(KeyError, match=r"'battery.low_at_rst'; did you mean battery\.low_at_rest"):
        explain("battery.low_at_rst")
    with pytest.raises(KeyError, match="zzz"):
        explain("zzz")


def test_a_limit_says_where_it_comes_from():
    assert limit_line(BY_NAME["coolant_stop_c"], Style()) == (
        "coolant_stop_c: raised above 107 °C (set); published: US Army TM 9-6115-645-24, 1-12: 225 F"
    )
    assert limit_line(BY_NAME["coolant_high_c"], Style("us")) == (
        "coolant_high_c: raised above 212 °F (set); common practice, no source"
    )
    own = Limits({"coolant_high_c": 96.0})
    assert limit_line(own["coolant_high_c"], Style()) == "coolant_high_c: raised above 96 °C (set); from the register"
    assert "raised above 96 °C" in explain("cooling.overheat", limits=own)
