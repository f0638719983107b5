"""Whose summer time a step is, against the instants of the IANA time zone database."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from startworthy.summertime import nearest_step, summer_time, zone_of

TZ = "IANA time zone database, rules EU, US, AN, LH, Brazil, NZ"
# zone, last face value before the change, first after it
STEPS = [
    ("Europe/Berlin", "2024-03-31 01:59", "2024-03-31 03:00"),
    ("Europe/Berlin", "2024-10-27 02:59", "2024-10-27 02:00"),
    ("Europe/London", "2024-03-31 00:59", "2024-03-31 02:00"),
    ("Europe/London", "2024-10-27 01:59", "2024-10-27 01:00"),
    ("Europe/Athens", "2024-10-27 03:59", "2024-10-27 03:00"),
    ("America/New_York", "2024-03-10 01:59", "2024-03-10 03:00"),
    ("America/New_York", "2024-11-03 01:59", "2024-11-03 01:00"),
    ("Australia/Sydney", "2024-04-07 02:59", "2024-04-07 02:00"),
    ("Australia/Lord_Howe", "2024-04-07 01:59", "2024-04-07 01:30"),
    ("Australia/Lord_Howe", "2024-10-06 01:59", "2024-10-06 02:30"),
    ("America/Sao_Paulo", "2018-02-17 23:59", "2018-02-17 23:00"),
    ("America/Sao_Paulo", "2018-11-03 23:59", "2018-11-04 01:00"),
    ("Pacific/Auckland", "2024-09-29 01:59", "2024-09-29 03:00"),
]


@pytest.mark.published(TZ)
@pytest.mark.parametrize(("zone", "before", "after"), STEPS)
@pytest.mark.parametrize("days", [0, 3, 7])
def test_steps_of_every_rule_are_named_and_no_other_night_is(zone: str, before: str, after: str, days: int) -> None:
    one, two = (datetime.fromisoformat(t) + timedelta(days=days) for t in (before, after))
    # a week away another rule may change, but never this one
    assert (summer_time(one, two, 60.0) == zone) == (days == 0)


@pytest.mark.parametrize("usual_s", [1.0, 60.0, 300.0, 600.0])
def test_the_interval_of_the_log_is_allowed_for(usual_s: float) -> None:
    change = datetime(2024, 10, 27, 3, 0)
    before = change - timedelta(seconds=usual_s / 2)
    assert summer_time(before, before + timedelta(seconds=usual_s - 3600), usual_s) == "Europe/Berlin"
    assert summer_time(before, before + timedelta(seconds=usual_s), usual_s) is None
    assert summer_time(before, before - timedelta(minutes=20), min(usual_s, 300.0)) is None


def test_the_first_pair_that_fits_names_the_zone() -> None:
    berlin = (datetime(2024, 3, 31, 1, 59), datetime(2024, 3, 31, 3, 0))
    other = (datetime(2024, 3, 20, 1, 59), datetime(2024, 3, 20, 3, 0))
    assert zone_of([other, berlin], 60.0) == "Europe/Berlin"
    assert zone_of([other], 60.0) is None
    assert (nearest_step(-3540.0), nearest_step(1860.0)) == (3600.0, 1800.0)
