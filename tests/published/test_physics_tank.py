"""Level and contents of a lying cylinder against published figures."""

from __future__ import annotations

import pytest

from startworthy.physics.tank import cylinder_depth, cylinder_fraction

CIVIL = "civil engineering handbook, horizontal cylindrical tank, per cent of depth and of volume"
SEGMENT = "segment of a circle: V = L[R^2 acos((R-h)/R) - (R-h) sqrt(2Rh-h^2)], flat ends"


@pytest.mark.published(CIVIL)
@pytest.mark.parametrize(("depth", "volume", "digits"), [(0.16, 0.103, 3), (0.44, 0.424, 3)])
def test_contents_by_depth_as_the_handbook_prints_them(depth: float, volume: float, digits: int) -> None:
    assert round(cylinder_fraction(depth), digits) == volume


@pytest.mark.published(SEGMENT)
@pytest.mark.parametrize(("depth", "volume"), [(0.16, 0.1033), (0.20, 0.14238), (0.44, 0.4238)])
def test_contents_by_depth(depth: float, volume: float) -> None:
    assert cylinder_fraction(depth) == pytest.approx(volume, abs=5e-5)
    assert cylinder_depth(volume) == pytest.approx(depth, abs=1e-4)
