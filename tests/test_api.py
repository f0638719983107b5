"""The stages as functions: paths or readings in, typed results out, and every row accounted for."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import polars as pl
import pytest

import startworthy as sw
from startworthy.api import understand
from startworthy.check import CATALOGUE
from startworthy.findings import Answer, Question
from startworthy.problems import InputError
from startworthy.results import Checked
from tests.support.logs import Start, Truth, log

TRUTH = Truth(days=20, starts=tuple(Start(d * 86400.0 + 36000) for d in (2, 9, 16)))


def written(folder: Path, name: str = "WELL-1.csv") -> Path:
    """The truth as a plain file, at one row a minute with close rows around the starts."""
    frame = log(TRUTH, 1.0, 300.0)
    named = frame.select(
        pl.col("at").dt.strftime("%Y-%m-%dT%H:%M:%S+00:00").alias("Time"),
        pl.col("voltage_v").alias("Voltage [V]"),
        pl.col("frequency_hz").alias("Frequency [Hz]"),
        pl.col("speed_rpm").alias("Speed [rpm]"),
        pl.col("oil_kpa").alias("Oil pressure [kPa]"),
        pl.col("coolant_c").alias("Coolant temperature [°C]"),
        pl.col("battery_v").alias("Battery voltage [V]"),
        (pl.col("fuel_fraction") * 100).round(1).alias("Fuel level [%]"),
        pl.col("mode").cast(pl.String).alias("Mode"),
    )
    path = folder / name
    named.write_csv(path)
    return path


def test_a_file_goes_through_all_stages(tmp_path: Path) -> None:
    path = written(tmp_path)
    checked = sw.check(path, strict=True)
    assert isinstance(checked, Checked)
    one = checked.sets[0]
    assert one.set_id == "WELL-1"
    assert one.facts["demands"] == one.facts["runs"] == one.facts["attempts"] == 3
    assert one.answers[Question.START] is Answer.YES
    assert one.findings == ()
    said = sorted([f.code for f in one.findings] + [c.code for c in one.clear] + [n.code for n in one.not_assessed])
    assert said == sorted(CATALOGUE), "each code stands in exactly one place"


def test_the_stages_one_by_one_give_the_same(tmp_path: Path) -> None:
    path = written(tmp_path)
    readings = sw.read(path)
    book = sw.logbook(readings)
    whole = sw.check(readings, strict=True)
    assert whole.logbook.starts.equals(book.starts)
    assert whole.sets[0].facts == sw.check(path, strict=True).sets[0].facts
    files = sw.report(whole, tmp_path / "out", formats={"json", "csv"})
    assert {f.name for f in files} >= {"findings.json", "findings.csv"}


def test_since_and_until_leave_readings_out_but_lose_no_row(tmp_path: Path) -> None:
    path = written(tmp_path)
    since, until = datetime(2026, 3, 8, tzinfo=UTC), datetime(2026, 3, 15)
    part = sw.check(path, since=since, until=until)
    assert part.sets[0].facts["demands"] == 1
    assert part.readings.frame["at"].min() >= since
    file = part.readings.files[0]
    assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated


def test_the_register_beside_a_log_is_found(tmp_path: Path) -> None:
    path = written(tmp_path)
    (tmp_path / "sets.toml").write_text('[sets."WELL-1"]\nsite = "Well house"\nrated_kw = 11\n')
    assert sw.check(path).sets[0].known.entry.site == "Well house"


def test_one_bad_file_never_costs_the_others(tmp_path: Path) -> None:
    written(tmp_path)
    (tmp_path / "broken.csv").write_bytes(b"\x00\x01\x02\x03" * 50)
    (tmp_path / "empty.csv").write_bytes(b"")
    checked = sw.check(tmp_path)
    assert [s.set_id for s in checked.sets] == ["WELL-1"]
    assert sorted(Path(p.file).name for p in checked.readings.problems) == ["broken.csv", "empty.csv"]


def test_nothing_to_read_is_an_input_error(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        sw.check(tmp_path / "nowhere.csv")
    assert caught.value.problems[0].code == "file_missing"


def test_a_layout_that_was_shown_reads_the_file_the_same(tmp_path: Path) -> None:
    path = written(tmp_path)
    (shown,) = understand(path)
    assert shown.layout is not None
    kept = tmp_path / "mine.toml"
    kept.write_text(shown.layout.to_toml(), encoding="utf-8")
    assert sw.read(path, layout=kept).frame.equals(sw.read(path).frame)


@pytest.mark.parametrize("order", ["before", "after"])
def test_stage_packages_are_functions_whatever_was_imported_first(order: str) -> None:
    if order == "after":
        import startworthy.check.run
        import startworthy.logbook.build
        import startworthy.report.page  # noqa: F401
    assert all(callable(getattr(sw, name)) for name in ("read", "logbook", "check", "report"))
