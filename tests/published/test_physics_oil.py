"""The viscosity line against its worked example."""

from __future__ import annotations

import pytest

from startworthy.physics.oil import walther

EXAMPLE = "ASTM D341 worked example: 32 cSt at 40 C and 5.4 at 100 C, T = C + 273"
EXACT = "ASTM D341, the same oil with T = C + 273.15"


@pytest.mark.published(EXAMPLE)
def test_worked_example() -> None:
    oil = walther(32, 40, 5.4, 100, zero_c_k=273.0)
    assert round(oil.a, 4) == 9.5259
    assert round(oil.b, 4) == 3.7449
    assert round(oil.cst(80), 2) == 8.53


@pytest.mark.published(EXACT)
def test_the_same_oil_in_kelvin() -> None:
    oil = walther(32, 40, 5.4, 100)
    assert round(oil.a, 5) == 9.53082
    assert round(oil.b, 5) == 3.74658
    assert round(oil.cst(80), 2) == 8.53
