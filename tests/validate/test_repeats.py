"""Uploads that say again what others said: counted as repeated, the fuller row kept, the counts those of one log."""

from __future__ import annotations

from datetime import timedelta

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.support.clocks import cleaned, counts, kinds, simulated

SETS = [("healthy", 0, "60"), ("fails_often", 4, "dense"), ("power_cut", 6, "300")]
every_set = pytest.mark.parametrize(("kind", "seed", "cadence"), SETS)


def the_log(kind: str, seed: int, cadence: str) -> pl.DataFrame:
    return simulated(seed, cadence, 20.0, kind)[0]


def rounded(log: pl.DataFrame, digits: int) -> pl.DataFrame:
    return log.with_columns(pl.col(pl.Float64).round(digits))


@every_set
def test_a_file_sent_twice_under_two_names_is_one_log(kind: str, seed: int, cadence: str) -> None:
    log = the_log(kind, seed, cadence)
    done = cleaned(log, log)
    assert [f.rows_repeated for f in done.files] == [0, log.height]
    assert counts(done) == counts(cleaned(log))
    assert kinds(done) == [("repeated_upload", None)]
    (told,) = done.jumps.iter_rows(named=True)
    assert (told["before_at"], told["at"], told["rows"], told["file"]) == (log["at"][0], log["at"][-1], log.height, 1)


@every_set
@pytest.mark.parametrize("digits", [0, 1])
@pytest.mark.parametrize("coarse_first", [False, True])
def test_of_two_exports_the_row_with_more_digits_stays(
    kind: str, seed: int, cadence: str, digits: int, coarse_first: bool
) -> None:
    log = the_log(kind, seed, cadence)
    a, b = log.height // 2, log.height // 2 - 200
    fine, coarse = log[:a], rounded(log[b:], digits)
    done = cleaned(coarse, fine) if coarse_first else cleaned(fine, coarse)
    assert sum(f.rows_repeated for f in done.files) == 200
    overlap = done.frame.filter(pl.col("at").is_between(log["at"][b], log["at"][a - 1]))
    assert overlap["battery_v"].equals(log["battery_v"][b:a])
    assert done.frame.height == log.height


@every_set
@pytest.mark.parametrize("late", [1, -1])
def test_an_upload_whose_stamps_are_a_second_beside(kind: str, seed: int, cadence: str, late: int) -> None:
    log = the_log(kind, seed, cadence)
    a, b = log.height // 2, log.height // 2 - 300
    again = log[b:].with_columns(at=pl.col("at") + timedelta(seconds=late))
    done = cleaned(log[:a], again)
    assert sum(f.rows_repeated for f in done.files) >= 290
    got, clean = counts(done), counts(cleaned(log))
    assert {n: got[n] for n in got if n != "running_h"} == {n: clean[n] for n in clean if n != "running_h"}
    assert got["running_h"] == pytest.approx(clean["running_h"], abs=0.01)


def test_rows_that_lack_cells_give_way_and_those_that_add_one_stay() -> None:
    log = the_log("healthy", 0, "60")[:500]
    less = log.with_columns(coolant_c=pl.lit(None, pl.Float64))
    for uploads in ((log, less), (less, log)):
        done = cleaned(*uploads)
        assert done.frame.height == 500
        assert done.frame["coolant_c"].null_count() == 0
    other = log.with_columns(battery_v=pl.lit(None, pl.Float64))
    assert cleaned(less, other).frame.height == 1000


def test_rows_that_disagree_both_stay() -> None:
    log = the_log("healthy", 0, "60")[:500]
    other = log.with_columns(battery_v=pl.col("battery_v") + 0.37)
    done = cleaned(log, other)
    assert done.frame.height == 1000
    assert sum(f.rows_repeated for f in done.files) == 0


def test_two_looks_within_one_second_of_one_file_are_not_repeated() -> None:
    log = the_log("healthy", 0, "60")[:100]
    twice = pl.concat([log, rounded(log, 1).with_columns(battery_v=pl.lit(12.8))]).sort("at", maintain_order=True)
    exact = twice.with_columns(battery_v=pl.when(pl.int_range(pl.len()) % 2 == 0).then(12.84).otherwise(12.8))
    assert cleaned(exact).frame.height == 200


@every_set
def test_a_piece_put_in_twice_within_one_file(kind: str, seed: int, cadence: str) -> None:
    log = the_log(kind, seed, cadence)
    a, b = log.height // 2, log.height // 3
    done = cleaned(pl.concat([log[:a], log[b:]]))
    assert done.frame["at"].equals(log["at"])
    assert done.files[0].rows_repeated == a - b
    assert kinds(done) == [("repeated_upload", None)]


@given(st.lists(st.tuples(st.floats(0, 1), st.floats(0.05, 0.6)), min_size=1, max_size=5), st.integers(0, 2))
@settings(max_examples=25, deadline=None)
def test_uploads_that_overlap_in_any_way_are_one_log(spans: list[tuple[float, float]], digits: int) -> None:
    log = the_log("healthy", 0, "60")
    parts = [log[int(a * log.height) : int((a + b) * log.height)] for a, b in spans]
    parts = [p if n % 2 else rounded(p, digits) for n, p in enumerate(parts) if p.height]
    done = cleaned(log, *parts)
    assert done.frame.height == log.height
    assert done.frame.drop("file", "line").equals(log.drop("file", "line"))
