"""Range, order, repeats and clock steps: no row disappears, and what is impossible is counted."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pandera.errors
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from startworthy.read import RawReadings
from startworthy.results import ColumnRead, FileRead
from startworthy.signals import BY_NAME, NUMBER_SIGNALS
from startworthy.validate import checked_readings, clean

T0 = datetime(2026, 1, 5, tzinfo=UTC)


def raw(rows: list[dict[str, object]], signals: tuple[str, ...] = ("battery_v", "coolant_c")) -> RawReadings:
    frame = pl.DataFrame(
        rows,
        schema={
            "set_id": pl.String,
            "at": pl.Datetime("us", "UTC"),
            **dict.fromkeys(signals, pl.Float64),
            "file": pl.UInt16,
            "line": pl.UInt32,
        },
    ).with_columns(pl.col("set_id").cast(pl.Categorical))
    files = tuple(
        FileRead(f"log{n}.csv", "0" * 64, "plain", frame.filter(file=n).height, frame.filter(file=n).height, 0, 0, 0, None, None, ("A",),
                 tuple(ColumnRead(f"Header of {s}", s) for s in signals))
        for n in range(max([1, *(int(r["file"]) + 1 for r in rows)]))
    )  # fmt: skip
    none = pl.DataFrame(
        schema={
            "file": pl.String,
            "line": pl.UInt32,
            "column": pl.String,
            "value": pl.String,
            "reason": pl.String,
            "cost": pl.String,
        }
    )
    return RawReadings(frame, none, files, ())


def row(
    n: int,
    *,
    set_id: str = "A",
    battery_v: float | None = 12.7,
    coolant_c: float | None = 15.0,
    file: int = 0,
    line: int | None = None,
) -> dict[str, object]:
    return {
        "set_id": set_id,
        "at": T0 + timedelta(seconds=n),
        "battery_v": battery_v,
        "coolant_c": coolant_c,
        "file": file,
        "line": line or n + 2,
    }


def test_an_impossible_value_costs_its_own_cell_only() -> None:
    got = clean(raw([row(0), row(1, coolant_c=900.0), row(2)]))
    assert got.frame.height == 3
    assert got.frame["coolant_c"].to_list() == [15.0, None, 15.0]
    assert got.frame["battery_v"].to_list() == [12.7] * 3
    assert got.refused.row(0, named=True) == {
        "file": "log0.csv", "line": 3, "column": "Header of coolant_c", "value": "900.0", "reason": "out_of_range", "cost": "cell", "set_id": "A", "signal": "coolant_c",
    }  # fmt: skip
    assert got.files[0].cells_emptied == 1
    assert got.files[0].rows_accepted == 3


@pytest.mark.parametrize("name", NUMBER_SIGNALS)
def test_both_ends_of_every_range_are_allowed_and_nothing_beyond(name: str) -> None:
    low, high = BY_NAME[name].low, BY_NAME[name].high
    values = [low, high, low - 1e-6, high + 1e-3, float("nan"), float("inf")]
    rows = [
        {"set_id": "A", "at": T0 + timedelta(seconds=n), name: v, "file": 0, "line": n + 2}
        for n, v in enumerate(values)
    ]
    got = clean(raw(rows, (name,)))
    assert got.frame[name].to_list() == [low, high, None, None, None, None]
    assert got.refused["line"].to_list() == [4, 5, 6, 7]


def test_rows_of_one_instant_stay_in_file_order_and_only_true_repeats_go() -> None:
    got = clean(raw([row(5, line=2), row(0, line=3), row(5, line=4), row(5, battery_v=11.0, line=5)]))
    assert got.frame["line"].to_list() == [3, 2, 5]
    assert got.files[0].rows_repeated == 1
    assert got.files[0].rows_accepted == 3


def test_the_same_log_sent_twice_counts_once() -> None:
    first = [row(n) for n in range(20)]
    again = [row(n, file=1) for n in range(10, 25)]
    got = clean(raw(first + again))
    assert got.frame.height == 25
    assert [f.rows_repeated for f in got.files] == [0, 10]
    for file in got.files:
        assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated


def test_a_clock_set_back_is_told_in_file_order_and_costs_no_row() -> None:
    got = clean(raw([row(0), row(300), row(600), row(0, line=50, battery_v=12.5), row(300, line=51, battery_v=12.5)]))
    assert got.frame.height == 5
    step = got.jumps.row(0, named=True)
    assert (step["step_s"], step["line"], step["before_at"]) == (-600.0, 50, T0 + timedelta(seconds=600))
    assert got.jumps.height == 1


def test_a_file_in_reversed_order_says_nothing_of_its_clock() -> None:
    got = clean(raw([row(300 * n, line=1000 - n) for n in reversed(range(200))]))
    assert got.jumps.is_empty()
    assert got.frame["at"].is_sorted()


def test_sets_that_take_turns_in_a_file_are_no_clock_steps() -> None:
    rows = [row(n, set_id=s, line=2 * n + k + 2) for n in range(10) for k, s in enumerate("BA")]
    got = clean(raw(rows))
    assert got.jumps.is_empty()
    assert got.frame["set_id"].cast(pl.String).to_list() == ["A"] * 10 + ["B"] * 10


def test_the_model_refuses_what_the_masks_should_have_caught() -> None:
    frame = clean(raw([row(0), row(1)])).frame
    with pytest.raises(pandera.errors.SchemaErrors):
        checked_readings(frame.with_columns(pl.lit(99.0).alias("battery_v")))


cells = st.one_of(st.none(), st.floats(allow_nan=True, allow_infinity=True), st.sampled_from([12.7, 65535.0, -9999.0]))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 30), st.sampled_from("AB"), cells, cells, st.integers(0, 1)), max_size=60))
def test_no_row_disappears(told: list[tuple[int, str, float | None, float | None, int]]) -> None:
    rows = [row(n, set_id=s, battery_v=b, coolant_c=c, file=f, line=k + 2) for k, (n, s, b, c, f) in enumerate(told)]
    given_rows = raw(rows)
    got = clean(given_rows)
    assert sum(f.rows_accepted for f in got.files) == got.frame.height
    for file in got.files:
        assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated
    assert got.frame.select(pl.col("battery_v", "coolant_c").is_nan().any()).row(0) in {(False, False), (None, None)}
    emptied = given_rows.frame.select(pl.col("battery_v", "coolant_c").count()).row(0)
    kept = got.frame.select(pl.col("battery_v", "coolant_c").count()).row(0)
    again = given_rows.frame.height - got.frame.height
    assert sum(emptied) - sum(kept) - got.refused.height <= 2 * again
    assert got.frame.sort("set_id", "at", maintain_order=True).equals(got.frame)
