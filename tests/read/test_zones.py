"""Face values of a clock to UTC: doubled hours, rows out of order, and every zone as the standard library has it."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.read.zones import changes_of, to_utc


def test_a_night_that_stands_twice_in_a_file_is_told_apart_both_times() -> None:
    night = ["00:30", "01:30", "02:30", "02:30", "03:30"]
    local = [datetime.fromisoformat(f"2024-10-27 {clock}") for clock in night * 2]
    micros = pl.Series(local, dtype=pl.Datetime("us")).cast(pl.Int64).to_numpy()
    utc, missing = to_utc(micros, "Europe/Berlin")
    assert not missing.any()
    assert ((utc[1:5] - utc[:4]) == 3600_000_000).all()
    assert (utc[5:] == utc[:5]).all()


def test_rows_slightly_out_of_order_in_the_doubled_hour_are_no_step_back() -> None:
    local = [datetime(2024, 10, 27, 2, 0) + timedelta(seconds=s) for s in (0, 1, 3, 2, 4, 5)]
    micros = pl.Series(local, dtype=pl.Datetime("us")).cast(pl.Int64).to_numpy()
    utc, _ = to_utc(micros, "Europe/Berlin")
    assert (micros - utc == 2 * 3600_000_000).all()


@given(
    st.sampled_from(
        ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "America/Sao_Paulo"]
    ),
    st.datetimes(datetime(2000, 1, 1), datetime(2040, 1, 1)),
)
def test_agrees_with_the_zone_of_the_standard_library(zone: str, face: datetime) -> None:
    micros = np.array([(face - datetime(1970, 1, 1)) // timedelta(microseconds=1)], np.int64)
    utc, missing = to_utc(micros, zone)
    aware = face.replace(tzinfo=ZoneInfo(zone))
    back = aware.astimezone(ZoneInfo("UTC")).astimezone(ZoneInfo(zone)).replace(tzinfo=None)
    assert bool(missing[0]) == (back != face)
    if not missing[0]:
        expected = aware.astimezone(ZoneInfo("UTC")).replace(tzinfo=None)
        assert int(utc[0]) == (expected - datetime(1970, 1, 1)) // timedelta(microseconds=1)


TZ = "IANA time zone database, files europe, northamerica, australasia, southamerica and asia"
# zone, first instant (UTC) of half a year or more that holds a step back and a step forward, with their instants
HALF_YEARS = [
    ("Europe/Berlin", "2024-03-25", ("2024-03-31 01:00", "2024-10-27 01:00")),
    ("America/New_York", "2024-03-05", ("2024-03-10 07:00", "2024-11-03 06:00")),
    ("Australia/Lord_Howe", "2024-04-01", ("2024-04-06 15:00", "2024-10-05 15:30")),
    ("America/Sao_Paulo", "2018-02-10", ("2018-02-18 02:00", "2018-11-04 03:00")),
    ("Asia/Kolkata", "2024-03-25", ()),
]


@pytest.mark.published(TZ)
@pytest.mark.parametrize(("zone", "first", "changes"), HALF_YEARS)
def test_the_changes_of_these_zones_lie_where_the_database_has_them(
    zone: str, first: str, changes: tuple[str, ...]
) -> None:
    day = (datetime.fromisoformat(first) - datetime(1970, 1, 1)).days
    at = [datetime(1970, 1, 1) + timedelta(microseconds=us) for us, _, _ in changes_of(zone, day, day + 270)]
    assert [f"{t:%Y-%m-%d %H:%M}" for t in at] == list(changes)


@pytest.mark.parametrize(("zone", "first", "_changes"), HALF_YEARS)
@pytest.mark.parametrize("minutes", [1, 5, 15])
@pytest.mark.parametrize("newest_first", [False, True])
def test_naive_times_through_both_changes_are_the_instants_they_were(
    zone: str, first: str, _changes: tuple[str, ...], minutes: int, newest_first: bool
) -> None:
    begin = datetime.fromisoformat(first)
    utc = np.arange(0, 260 * 1440, minutes) * 60_000_000 + (begin - datetime(1970, 1, 1)) // timedelta(microseconds=1)
    face = pl.Series(utc).cast(pl.Datetime("us", "UTC")).dt.convert_time_zone(zone).dt.replace_time_zone(None)
    local = face.cast(pl.Int64).to_numpy()
    if newest_first:
        local, utc = local[::-1], utc[::-1]
    got, missing = to_utc(np.ascontiguousarray(local), zone)
    assert not missing.any()
    assert (got == utc).all()
