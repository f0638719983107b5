"""Default limits against the published figures that they are taken from."""

from __future__ import annotations

import pytest

from startworthy.limits import BY_NAME

DGUV = "ISO 8528-5 classes, seen in DGUV Information 203-032"
TM_645 = "US Army TM 9-6115-645-24, 1-12"


@pytest.mark.published(DGUV)
@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("droop_fraction", 0.08), ("droop_g2_fraction", 0.05), ("droop_g3_fraction", 0.03),
        ("frequency_band_fraction", 0.025), ("frequency_band_g2_fraction", 0.015), ("frequency_band_g3_fraction", 0.005),
        ("voltage_band_fraction", 0.05), ("voltage_band_small_fraction", 0.10),
    ],
)  # fmt: skip
def test_governor_and_voltage_classes(name, value):
    assert BY_NAME[name].value == value
    assert BY_NAME[name].basis == "published"


@pytest.mark.published(f"{TM_645}: coolant trips at 225 F")
def test_coolant_stop():
    assert BY_NAME["coolant_stop_c"].value == pytest.approx((225 - 32) / 1.8, abs=0.5)


@pytest.mark.published(f"{TM_645}: oil stops at 15 psi, give or take 3; NIST SP 811: 1 psi is 6.894757 kPa")
def test_oil_stop():
    assert BY_NAME["oil_low_kpa"].value == pytest.approx(15 * 6.894757, abs=0.5)


@pytest.mark.published("ASTM D1250-80 table 54B: rho 840 kg/m3, 0.99154 at 25 C, 1.01261 at 0 C")
def test_what_cooling_takes_off_the_contents_is_allowed_for():
    per_c = (1.01261 / 0.99154 - 1) / 25
    assert per_c == pytest.approx(0.00084, abs=2e-5)
    assert BY_NAME["fuel_lost_per_c_fraction"].value > per_c
