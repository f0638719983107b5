"""Face values of a clock to UTC: doubled hours, rows out of order, and every zone as the standard library has it."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
from hypothesis import given
from hypothesis import strategies as st

from startworthy.read.zones import to_utc


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
