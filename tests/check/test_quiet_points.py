"""The twenty points of section 10 of the trade notes: each has its tests, by number, in one of the files beside this one."""

from __future__ import annotations

import re
from pathlib import Path


def test_all_twenty_points_have_a_test():
    texts = [path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_quiet_*.py")]
    numbers = {int(n) for text in texts for n in re.findall(r"(?m)^def test_point_(\d\d)_", text)}
    assert numbers == set(range(1, 21))
