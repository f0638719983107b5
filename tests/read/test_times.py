"""Ways to write a time, and from the face value of a clock to UTC."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from startworthy.read.layout import Layout
from tests.support.reader import Got, read_text, stamps, table


def with_times(folder: Path, *times: object, header: str = "Time", name: str = "P-1.csv", **how: object) -> Got:
    return read_text(folder, table([(header, "Battery voltage [V]"), *((t, 12.6) for t in times)]), name, **how)


@pytest.mark.parametrize(
    ("written", "utc"),
    [
        ("2026-01-05T10:00:00Z", "2026-01-05 10:00:00"),
        ("2026-01-05T10:00:00+01:00", "2026-01-05 09:00:00"),
        ("2026-01-05 10:00:00 -0700", "2026-01-05 17:00:00"),
        ("2026-01-05T10:00:00.250Z", "2026-01-05 10:00:00"),
        ("2026-01-05 10:00:00", "2026-01-05 10:00:00"),
        ("2026/01/05 10:00", "2026-01-05 10:00:00"),
        ("20260105T100000Z", "2026-01-05 10:00:00"),
        ("05-Jan-2026 10:00:00", "2026-01-05 10:00:00"),
        ("Jan 5, 2026 10:00:00 PM", "2026-01-05 22:00:00"),
        ("1767607200", "2026-01-05 10:00:00"),
        ("1767607200000", "2026-01-05 10:00:00"),
        ("1767607200.0", "2026-01-05 10:00:00"),
    ],
)
def test_one_instant_in_many_writings(tmp_path: Path, written: str, utc: str) -> None:
    text = table([("Time", "Battery voltage [V]"), *((f'"{written}"', v) for v in (12.6, 12.5))])
    assert read_text(tmp_path, text).times() == [utc] * 2


def test_offsets_may_differ_from_row_to_row(tmp_path: Path) -> None:
    got = with_times(tmp_path, "2026-10-25T02:30:00+02:00", "2026-10-25T02:30:00+01:00", "2026-10-25T02:30:00Z")
    assert got.times("%H:%M") == ["00:30", "01:30", "02:30"]


def test_date_and_time_in_two_columns(tmp_path: Path) -> None:
    rows = [("25/12/2026", "23:59:30", 12.6), ("26/12/2026", "00:00:30", 12.5)]
    got = read_text(tmp_path, table([("Date", "Time", "Battery voltage [V]"), *rows]))
    assert got.times() == ["2026-12-25 23:59:30", "2026-12-26 00:00:30"]


@pytest.mark.parametrize("sep", ["/", ".", "-"])
@pytest.mark.parametrize(("last", "day_first"), [("13{s}02{s}2026", True), ("02{s}13{s}2026", False)])
def test_order_of_day_and_month_is_told_by_one_date_anywhere(
    tmp_path: Path, sep: str, last: str, day_first: bool
) -> None:
    # so far below that the first look at the file does not reach it
    many = [f"{n % 12 + 1:02}{sep}{n % 12 + 1:02}{sep}2026 10:{n % 60:02}:00" for n in range(9000)]
    got = with_times(tmp_path, *many, f"01{sep}02{sep}2026 11:00:00", last.format(s=sep) + " 12:00:00")
    assert got.times()[-2:] == [
        "2026-02-01 11:00:00" if day_first else "2026-01-02 11:00:00",
        "2026-02-13 12:00:00",
    ]


def test_dates_that_leave_it_open_are_asked_for(tmp_path: Path) -> None:
    times = ("01/02/2026 10:00:00", "02/02/2026 10:00:00")
    got = with_times(tmp_path, *times)
    assert got.problem.code == "ambiguous_dates"
    assert got.line == (
        f'{tmp_path / "P-1.csv"}:1: Time: "01/02/2026 10:00:00" can be day or month first, '
        "and no date in the file tells which; add --date-order dmy or --date-order mdy"
    )
    assert with_times(tmp_path, *times, date_order="dmy").times("%m-%d") == ["02-01", "02-02"]
    assert with_times(tmp_path, *times, date_order="mdy").times("%m-%d") == ["01-02", "02-02"]


def test_twelve_hour_clock(tmp_path: Path) -> None:
    got = with_times(
        tmp_path,
        "2026-01-05 11:59:00 AM", "2026-01-05 12:00:00 PM", "2026-01-05 1:05:00 PM", "2026-01-06 12:01:00 AM",
    )  # fmt: skip
    assert got.times() == ["2026-01-05 11:59:00", "2026-01-05 12:00:00", "2026-01-05 13:05:00", "2026-01-06 00:01:00"]


def test_elapsed_time_is_refused_with_what_mends_it(tmp_path: Path) -> None:
    got = with_times(tmp_path, 0, 1.5, 3, header="Elapsed time [s]")
    assert got.line == (
        f"{tmp_path / 'P-1.csv'}:1: Elapsed time [s]: is elapsed time, not a time of day; "
        'say in a layout file when it began: time_origin = "2024-01-01T00:00:00Z"'
    )


@pytest.mark.parametrize(
    ("unit", "values"),
    [("s", (0, 1.5, 90)), ("ms", (0, 1500, 90000)), ("min", (0, 0.025, 1.5)), ("h", (0, 0.025 / 60, 0.025))],
)
def test_elapsed_time_with_its_origin(tmp_path: Path, unit: str, values: tuple[float, ...]) -> None:
    layout = Layout(time_origin=datetime(2026, 1, 5, 10, tzinfo=UTC))
    got = with_times(tmp_path, *values, header=f"Elapsed time [{unit}]", layout=layout)
    assert got.times("%H:%M:%S%.3f") == ["10:00:00.000", "10:00:01.500", "10:01:30.000"]


def test_clock_without_a_date_is_asked_for_and_taken_from_the_name(tmp_path: Path) -> None:
    clock = ("23:59:00", "00:01:00", "00:03:00")
    assert with_times(tmp_path, *clock).line == (
        f"{tmp_path / 'P-1.csv'}:1: Time: is a clock time without a date; say in a layout file on which day it began: "
        'time_origin = "2024-01-01T00:00:00"'
    )
    stated = with_times(tmp_path, *clock, layout=Layout(time_origin=datetime(2026, 1, 5)))
    assert stated.times()[0] == "2026-01-05 23:59:00"
    got = with_times(tmp_path, *clock, name="WELL_2026-01-05.csv")
    assert got.times() == ["2026-01-05 23:59:00", "2026-01-06 00:01:00", "2026-01-06 00:03:00"], "midnight passed"
    assert "date 2026-01-05 from the file name" in got.file.notes


def test_a_name_with_two_dates_gives_none(tmp_path: Path) -> None:
    assert (
        with_times(tmp_path, "10:00:00", "10:01:00", name="2026-01-05_to_2026-01-09.csv").problem.code
        == "clock_without_date"
    )


def test_three_midnights(tmp_path: Path) -> None:
    clock = [f"{h % 24:02}:00:00" for h in range(0, 73, 6)]
    got = with_times(tmp_path, *clock, name="20260105.csv")
    assert got.times()[-1] == "2026-01-08 00:00:00"


# -- clocks put forward and back ----------------------------------------------------------------------------------
# Europe/Vienna: 2026-03-29 02:00 -> 03:00 and 2026-10-25 03:00 -> 02:00; America/Denver: 2026-03-08 and 2026-11-01.


@pytest.mark.published("from memory, and the installed zone database: EU and US rules")
@pytest.mark.parametrize(
    ("zone", "local", "utc"),
    [
        (
            "Europe/Vienna",
            ("2026-10-25 01:30:00", "2026-10-25 02:00:00", "2026-10-25 02:30:00", "2026-10-25 02:00:00",
             "2026-10-25 02:30:00", "2026-10-25 03:00:00"),
            ("2026-10-24 23:30:00", "2026-10-25 00:00:00", "2026-10-25 00:30:00", "2026-10-25 01:00:00",
             "2026-10-25 01:30:00", "2026-10-25 02:00:00"),
        ),
        (
            "America/Denver",
            ("2026-11-01 00:30:00", "2026-11-01 01:00:00", "2026-11-01 01:30:00", "2026-11-01 01:00:00",
             "2026-11-01 01:30:00", "2026-11-01 02:00:00"),
            ("2026-11-01 06:30:00", "2026-11-01 07:00:00", "2026-11-01 07:30:00", "2026-11-01 08:00:00",
             "2026-11-01 08:30:00", "2026-11-01 09:00:00"),
        ),
    ],
)  # fmt: skip
def test_the_repeated_hour_is_told_by_file_order(
    tmp_path: Path, zone: str, local: tuple[str, ...], utc: tuple[str, ...]
) -> None:
    assert with_times(tmp_path, *local, zone=zone).times() == list(utc)
    backwards = with_times(tmp_path, *reversed(local), zone=zone)
    assert backwards.times() == list(reversed(utc)), "newest first"


@pytest.mark.published("from memory, and the installed zone database: EU and US rules")
@pytest.mark.parametrize(
    ("zone", "local", "utc"),
    [
        ("Europe/Vienna", ("2026-03-29 01:59:00", "2026-03-29 02:30:00", "2026-03-29 03:00:00"),
         ("2026-03-29 00:59:00", "2026-03-29 01:00:00")),
        ("America/Denver", ("2026-03-08 01:59:00", "2026-03-08 02:30:00", "2026-03-08 03:00:00"),
         ("2026-03-08 08:59:00", "2026-03-08 09:00:00")),
    ],
)  # fmt: skip
def test_the_missing_hour_is_refused_with_its_reason(
    tmp_path: Path, zone: str, local: tuple[str, ...], utc: tuple[str, ...]
) -> None:
    got = with_times(tmp_path, *local, zone=zone)
    assert got.times() == list(utc)
    assert got.refused("line", "reason", "cost") == [(3, "no_such_time", "row")]


@pytest.mark.published("from memory, and the installed zone database: EU and US rules")
@pytest.mark.parametrize(("zone", "begin"), [("Europe/Vienna", datetime(2026, 10, 24, 12, tzinfo=UTC)), ("America/Denver", datetime(2026, 10, 31, 12, tzinfo=UTC)),
                                             ("Europe/Vienna", datetime(2026, 3, 28, 12, tzinfo=UTC)), ("America/Denver", datetime(2026, 3, 7, 12, tzinfo=UTC))])  # fmt: skip
@pytest.mark.parametrize("step", [60, 600, 900, 3600])
def test_a_day_across_a_change_comes_back_whole(tmp_path: Path, zone: str, begin: datetime, step: int) -> None:
    from datetime import timedelta
    from zoneinfo import ZoneInfo

    n = 86_400 // step
    instants = [begin + timedelta(seconds=i * step) for i in range(n)]
    local = [i.astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M:%S") for i in instants]
    got = with_times(tmp_path, *local, zone=zone)
    assert got.times() == [i.strftime("%Y-%m-%d %H:%M:%S") for i in instants]
    assert got.file.rows_accepted == n


def test_bad_and_missing_times_are_told_apart(tmp_path: Path) -> None:
    times = stamps(6)
    times[1], times[3], times[4] = "", "2026-13-45T99:00:00Z", "yesterday"
    got = with_times(tmp_path, *times)
    assert got.refused("line", "reason", "cost") == [
        (3, "no_time", "row"), (5, "bad_time", "row"), (6, "bad_time", "row"),
    ]  # fmt: skip


def test_rows_out_of_order_are_sorted_and_the_step_noted(tmp_path: Path) -> None:
    times = stamps(6)
    got = with_times(tmp_path, *times[3:], *times[:3])
    assert got.frame["at"].is_sorted()
    assert got.frame["line"].to_list() == [5, 6, 7, 2, 3, 4]
    assert got.readings.jumps["step_s"].to_list() == [-300.0]


@pytest.mark.published("POSIX, strptime %y: 69 to 99 are 1969 to 1999, 00 to 68 are 2000 to 2068")
@pytest.mark.parametrize(
    ("written", "read"),
    [("00", 2000), ("07", 2007), ("26", 2026), ("68", 2068), ("69", 1969), ("70", 1970), ("80", 1980), ("99", 1999)],
)
def test_years_of_two_digits(tmp_path: Path, written: str, read: int) -> None:
    got = with_times(tmp_path, *(f"{day}.06.{written} 12:00:00" for day in range(13, 19)))
    assert got.times("%Y-%m-%d %H:%M") == [f"{read}-06-{day} 12:00" for day in range(13, 19)]
