"""Limits: the edge, what may be put in their place, and what may not."""

from __future__ import annotations

import math

import pytest

from startworthy.limits import BY_NAME, LIMITS, Limit, Limits

limits = pytest.mark.parametrize("limit", LIMITS, ids=lambda limit: limit.name)


@limits
def test_the_edge_itself_does_not_break_it(limit: Limit):
    inside, outside = (-math.inf, math.inf) if limit.side == "above" else (math.inf, -math.inf)
    assert not limit.broken_by(limit.value)
    assert limit.broken_by(math.nextafter(limit.value, outside))
    assert not limit.broken_by(math.nextafter(limit.value, inside))


@limits
def test_it_says_what_it_is(limit: Limit):
    assert limit.per
    assert limit.sane[0] <= limit.value <= limit.sane[1]
    assert bool(limit.source) == (limit.basis == "published")
    # the unit stands in the name, but for shares of something, counts and multiples
    ends = {"V": "_v", "s": "_s", "h": "_h", "Cel": "_c", "kPa": "_kpa", "kW": "_kw", "d": "_days"} | {
        "L": "_l",
        "L/h": "_lph",
        "Hz": "_hz",
        "rpm": "_rpm",
        "min": "_minutes",
        "mo": "_months",
        "A.h": "_ah",
    }
    if limit.unit in ends:
        assert limit.name.endswith(ends[limit.unit])
    else:
        assert limit.unit in {"", "1"}
        assert (limit.unit == "1") == limit.name.endswith(
            ("_fraction", "_share", "trend_confidence", "false_discovery_rate")
        )


def test_names_are_unique():
    assert len(BY_NAME) == len(LIMITS)


def test_a_register_puts_its_own_value_and_the_limit_says_so():
    own = Limits({"coolant_high_c": 96.0})
    assert own.value("coolant_high_c") == 96.0
    assert (own["coolant_high_c"].basis, own["coolant_high_c"].source) == ("register", "register")
    assert own["coolant_stop_c"] == BY_NAME["coolant_stop_c"]


def test_an_unknown_name_is_refused_with_the_nearest():
    with pytest.raises(KeyError, match="did you mean coolant_high_c"):
        Limits({"coolant_hihg_c": 96.0})


@pytest.mark.parametrize("value", [20.0, 400.0, math.nan, math.inf])
def test_a_value_that_cannot_be_is_refused(value):
    with pytest.raises(ValueError, match="outside"):
        Limits({"coolant_high_c": value})


def test_published_without_a_source_cannot_be_built():
    with pytest.raises(ValueError, match="names its source"):
        Limit("x_v", 1.0, "V", "above", "published", "", (0.0, 2.0), "x")


@pytest.mark.parametrize(
    ("wider", "narrower"),
    [
        ("coolant_stop_c", "coolant_high_c"), ("oil_warn_kpa", "oil_low_kpa"), ("fuel_low_fraction", "fuel_stop_fraction"),
        ("battery_rest_low_12_v", "battery_rest_flat_12_v"), ("battery_float_low_12_v", "battery_rest_low_12_v"),
        ("battery_float_low_24_v", "battery_rest_low_24_v"), ("start_slow_cold_s", "start_slow_warm_s"),
        ("not_in_auto_long_h", "not_in_auto_h"), ("not_in_auto_h", "not_in_auto_now_h"),
        ("fuel_lost_urgent_fraction", "fuel_lost_sudden_fraction"), ("log_refused_many_fraction", "log_refused_carrier_fraction"),
        ("log_refused_carrier_fraction", "log_refused_fraction"),
    ],
)  # fmt: skip
def test_limits_of_two_severities_lie_in_their_order(wider, narrower):
    assert BY_NAME[wider].value > BY_NAME[narrower].value
