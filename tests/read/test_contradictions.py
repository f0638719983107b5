"""Stated units that the values contradict, and units that change in mid-file. Invented figures: they show behaviour.

The bounds are common practice, no source (contradictions.py, unitchange.py).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from startworthy.read.layout import Layout
from tests.support.reader import Got, read_file, read_text
from tests.support.simulator import simulate
from tests.support.simulator.csvfile import write_csv

DAYS, RUN_MIN = 21, 25
HEADERS = {
    "speed_rpm": "Engine speed (rpm)", "voltage_v": "Generator voltage (V)", "current_a": "Current (A)",
    "power_kw": "Power (kW)", "oil_kpa": "Oil pressure (kPa)", "coolant_c": "Coolant temperature (°C)",
    "ambient_c": "Ambient temperature (°C)", "battery_v": "Battery voltage (V)", "fuel_fraction": "Fuel level (%)",
    "frequency_hz": "Frequency (Hz)", "hour_meter_h": "Run hours (h)",
}  # fmt: skip
DOUBTS = ("unit_contradicted", "unit_changed")
Edit = Callable[[np.ndarray], np.ndarray]


def log(
    seed: int = 1, *, ambient: tuple[float, float] = (12.0, 7.0), coolant: float = 82.0, days: int = DAYS
) -> dict[str, np.ndarray]:
    """A set that runs 25 minutes a day under load, one row a minute. ambient: mean and swing of the day, in Celsius."""
    rng = np.random.default_rng(seed)
    minute = np.arange(days * 1440)
    into = minute % 1440 - 600
    on = (into >= 0) & (into < RUN_MIN)
    warm = np.clip(into / 12.0, 0.0, 1.0) * on
    cool = np.where(into >= RUN_MIN, np.exp(-(into - RUN_MIN) / 90.0), 0.0)
    air = ambient[0] + ambient[1] * np.sin(2 * np.pi * (minute - 540) / 1440) + rng.normal(0, 0.3, len(minute))
    noise = rng.normal(0, 1, len(minute))
    return {
        "speed_rpm": on * np.round(1500 + 4 * noise), "voltage_v": on * np.round(230 + 0.6 * noise, 1),
        "current_a": on * np.round(14 + 0.8 * noise, 1), "power_kw": on * np.round(3.1 + 0.2 * noise, 2),
        "frequency_hz": on * np.round(50.2 + 0.05 * noise, 2),
        "oil_kpa": on * np.round(330 + 130 * np.exp(-np.clip(into, 0, 99) / 5.0) + 6 * noise),
        "coolant_c": np.round(air + 3 + (coolant - air - 3) * np.maximum(warm, cool) + 0.4 * noise, 1),
        "ambient_c": np.round(air, 1), "battery_v": np.round(13.6 + 0.3 * on + 0.03 * noise, 2),
        "fuel_fraction": np.round(0.95 - 0.5 * np.cumsum(on) / max(on.sum(), 1), 2) * 100.0,
        "hour_meter_h": np.round(412.0 + np.cumsum(on) / 60.0, 2),
    }  # fmt: skip


def written(columns: dict[str, np.ndarray], headers: dict[str, str] | None = None) -> str:
    at = pl.datetime_range(
        pl.datetime(2026, 1, 5), pl.datetime(2027, 1, 1), "1m", time_zone="UTC", eager=True
    ).head(len(columns["speed_rpm"]))  # fmt: skip
    named = {({**HEADERS, **(headers or {})})[name]: values for name, values in columns.items()}
    return pl.DataFrame({"Time": at.dt.strftime("%Y-%m-%dT%H:%M:%SZ"), **named}).write_csv()


def doubts(got: Got) -> list[str]:
    assert [p for p in got.readings.problems if p.fatal] == []
    notes = [note for note in got.file.notes if "could be" in note]
    return [f"{p.code} {p.column}" for p in got.readings.problems if p.code in DOUBTS] + notes


F: Edit = lambda c: np.round(c * 1.8 + 32, 1)  # noqa: E731


@pytest.mark.parametrize(
    ("signal", "header", "edit", "choice"),
    [
        ("coolant_c", "Coolant temperature (°C)", F, "degF"),
        ("coolant_c", "Coolant temperature (°C)", lambda c: c + 273.15, "K"),
        ("coolant_c", "Engine temperature (°C)", F, "degF"),
        ("ambient_c", "Ambient temperature (°C)", lambda c: F(c + 12), "degF"),
        ("ambient_c", "Ambient temperature (°C)", lambda c: c + 273.15, "K"),
        ("oil_kpa", "Oil pressure (kPa)", lambda p: np.round(p / 6.894757, 1), "psi"),
        ("oil_kpa", "Oil pressure (kPa)", lambda p: np.round(p / 100, 2), "bar"),
        ("oil_kpa", "Oil pressure (bar)", lambda p: p, "kPa"),
        ("oil_kpa", "Oil pressure (bar)", lambda p: np.round(p / 6.894757, 1), "psi"),
        ("oil_kpa", "Oil pressure (psi)", lambda p: p, "kPa"),
        ("fuel_fraction", "Fuel level (%)", lambda f: f / 100, "fraction"),
        ("fuel_fraction", "Fuel level (fraction)", lambda f: f, "%"),
        ("battery_v", "Battery voltage (V)", lambda v: v * 1000, "mV"),
        ("battery_v", "Battery voltage (mV)", lambda v: v, "V"),
        ("voltage_v", "Generator voltage (V)", lambda v: v / 1000, "kV"),
        ("frequency_hz", "Frequency (Hz)", lambda f: f * 30, "rpm, which is a speed"),
        ("frequency_hz", "Frequency (Hz)", lambda f: f * 1000, "mHz"),
        ("frequency_hz", "Frequency (mHz)", lambda f: f, "Hz"),
        ("power_kw", "Power (kW)", lambda p: p * 1000, "W"),
        ("power_kw", "Power (W)", lambda p: p, "kW"),
        ("hour_meter_h", "Run hours (s)", lambda h: h, "h"),
        ("hour_meter_h", "Run hours (min)", lambda h: h, "h"),
        ("hour_meter_h", "Run hours (h)", lambda h: np.round(h * 60), "min"),
        ("hour_meter_h", "Run hours (h)", lambda h: np.round(h * 3600), "s"),
    ],
)
def test_a_unit_that_can_hardly_be_is_asked_about_and_the_column_left_alone(
    tmp_path: Path, signal: str, header: str, edit: Edit, choice: str
) -> None:
    columns = log()
    columns[signal] = edit(columns[signal])
    got = read_text(tmp_path, written(columns, {signal: header}))
    assert doubts(got) == [f"unit_contradicted {header}"]
    (problem,) = got.readings.problems
    assert problem.values["choices"] == choice
    assert problem.values["seen"]
    assert signal not in got.frame.columns
    assert got.column(header).signal is None
    assert set(got.frame.columns) >= set(columns) - {signal}
    stated = Layout.model_validate({"columns": {header: {"signal": signal, "unit": header.split("(")[1].rstrip(")")}}})
    again = read_text(tmp_path, written(columns, {signal: header}), layout=stated)
    assert doubts(again) == [], "a layout's word is believed"
    assert again.column(header).signal == signal


def test_the_sentence_says_what_was_seen_and_what_mends_it(tmp_path: Path) -> None:
    columns = log()
    columns["oil_kpa"] = np.round(columns["oil_kpa"] / 6.894757, 1)
    got = read_text(tmp_path, written(columns))
    assert got.line.startswith(
        f"{tmp_path / 'P-1.csv'}:1: Oil pressure (kPa): is stated in kPa, which its values can hardly be (47"
    )
    assert "while running, 0 at rest: psi?); left alone; add to a layout file: " in got.line


def test_watts_in_tenths_are_read_as_stated_with_a_note(tmp_path: Path) -> None:
    columns = {name: values for name, values in log().items() if name != "current_a"}
    got = read_text(tmp_path, written(columns, {"power_kw": "Power (W)"}))
    assert got.readings.problems == ()
    assert got.column("Power (W)").signal == "power_kw"
    assert [note for note in got.file.notes if "could be kW" in note] != []


def stuck(value: float) -> Edit:
    return lambda c: np.full_like(c, value)


@pytest.mark.parametrize(
    ("name", "how", "edits", "headers"),
    [
        ("temperate", {}, {}, {}),
        ("arctic", {"ambient": (-28.0, 8.0), "coolant": 68.0}, {}, {}),
        ("cold run", {"ambient": (-20.0, 6.0), "coolant": 45.0}, {}, {}),
        ("death valley", {"ambient": (39.0, 9.0), "coolant": 98.0}, {}, {}),
        ("sensor in the sun", {"ambient": (45.0, 20.0), "coolant": 104.0}, {}, {}),
        ("hot", {"ambient": (36.0, 8.0), "coolant": 112.0}, {}, {}),
        ("air-cooled", {"coolant": 150.0}, {}, {"coolant_c": "Cylinder head temperature (°C)"}),
        ("air-cooled, in the desert", {"ambient": (39.0, 9.0), "coolant": 155.0}, {}, {"coolant_c": "Engine temperature (°C)"}),
        ("24 volts", {}, {"battery_v": lambda v: v * 2}, {}),
        ("open coolant sender", {}, {"coolant_c": stuck(150.0)}, {}),
        ("coolant sender at nothing", {}, {"coolant_c": stuck(0.0)}, {}),
        ("open oil sender", {}, {"oil_kpa": stuck(1000.0)}, {}),
        ("oil sender at nothing", {}, {"oil_kpa": stuck(0.0)}, {}),
        ("oil sender stuck", {}, {"oil_kpa": stuck(40.0)}, {}),
        ("tired oil", {}, {"oil_kpa": lambda p: p * 0.45}, {}),
        ("empty tank", {}, {"fuel_fraction": stuck(1.0)}, {}),
        ("no load", {}, {"power_kw": stuck(0.0), "current_a": stuck(0.0)}, {}),
        ("open ambient sensor", {}, {"ambient_c": stuck(80.0)}, {}),
        ("dead battery", {}, {"battery_v": stuck(0.9)}, {}),
        ("whole degrees", {}, {"coolant_c": np.round, "ambient_c": np.round}, {}),
    ],
)  # fmt: skip
def test_nothing_sound_or_merely_broken_is_accused(
    tmp_path: Path, name: str, how: dict[str, object], edits: dict[str, Edit], headers: dict[str, str]
) -> None:
    columns = log(**how)  # type: ignore[arg-type]
    for signal, edit in edits.items():
        columns[signal] = edit(columns[signal])
    assert doubts(read_text(tmp_path, written(columns, headers))) == [], name


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    seed=st.integers(0, 10_000), mean=st.floats(-30, 38), swing=st.floats(0.5, 12), warm=st.floats(40, 105),
    us=st.booleans(), days=st.integers(2, 30),
)  # fmt: skip
def test_no_climate_and_no_thermostat_is_accused(
    tmp_path: Path, seed: int, mean: float, swing: float, warm: float, us: bool, days: int
) -> None:
    columns = log(seed, ambient=(mean, swing), coolant=max(warm, mean + 15), days=days)
    headers = {}
    if us:
        columns |= {name: F(columns[name]) for name in ("coolant_c", "ambient_c")}
        columns["oil_kpa"] = np.round(columns["oil_kpa"] / 6.894757, 1)
        headers = {
            "coolant_c": "Coolant temperature (°F)", "ambient_c": "Ambient temperature (°F)", "oil_kpa": "Oil pressure (psi)",
        }  # fmt: skip
    assert doubts(read_text(tmp_path, written(columns, headers))) == []


@pytest.mark.parametrize(("seed", "layout"), [(0, "iso"), (1, "us"), (2, "semicolon"), (5, "us"), (7, "iso")])
def test_simulated_healthy_sets_are_not_accused(tmp_path: Path, seed: int, layout: str) -> None:
    frame, truth = simulate("healthy", seed, cadence="300")
    file = write_csv(frame, tmp_path, layout, truth.figures["zone"])
    assert doubts(read_file(file.path, zone=file.time_zone or "UTC")) == []


SAMPLES = sorted(
    p for p in (Path(__file__).parents[2] / "sample_logs").iterdir() if p.suffix in (".csv", ".gz", ".zip")
)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.name)
def test_sample_logs_are_not_accused(path: Path) -> None:
    assert [p for file in [read_file(path)] for p in file.readings.problems if p.code in DOUBTS] == []


@pytest.mark.parametrize(
    ("signal", "header", "stated", "edit", "other"),
    [
        ("coolant_c", "Coolant temperature (°C)", lambda c: c, F, "degF"),
        ("coolant_c", "Coolant temperature (°F)", F, lambda c: c, "Cel"),
        ("ambient_c", "Ambient temperature (°C)", lambda c: c + 8, lambda c: F(c + 8), "degF"),
        ("ambient_c", "Ambient temperature (°F)", F, lambda c: c, "Cel"),
        ("oil_kpa", "Oil pressure (kPa)", lambda p: p, lambda p: np.round(p / 6.894757, 1), "psi"),
        ("oil_kpa", "Oil pressure (bar)", lambda p: p / 100, lambda p: np.round(p / 6.894757, 1), "psi"),
        ("oil_kpa", "Oil pressure (psi)", lambda p: np.round(p / 6.894757, 1), lambda p: p, "kPa"),
        ("fuel_fraction", "Fuel level (%)", lambda f: f, lambda f: f / 100, "fraction"),
        ("fuel_fraction", "Fuel level (fraction)", lambda f: f / 100, lambda f: f, "%"),
        ("battery_v", "Battery voltage (V)", lambda v: v, lambda v: v * 1000, "mV"),
        ("power_kw", "Power (kW)", lambda p: p, lambda p: p * 1000, "W"),
        ("power_kw", "Power (W)", lambda p: p * 1000, lambda p: p, "kW"),
        ("frequency_hz", "Frequency (Hz)", lambda f: f, lambda f: f * 1000, "mHz"),
    ],
)
def test_a_change_of_unit_is_told_with_its_line_and_the_other_units_values_are_taken_out(
    tmp_path: Path, signal: str, header: str, stated: Edit, edit: Edit, other: str
) -> None:
    columns, turn = log(), 12 * 1440 + 300
    before, after = stated(columns[signal]), edit(columns[signal])
    columns[signal] = np.concatenate([before[:turn], after[turn:]])
    got = read_text(tmp_path, written(columns, {signal: header}))
    assert doubts(got) == [f"unit_changed {header}"]
    (problem,) = got.readings.problems
    assert problem.values["other"] == other
    line = turn + 2
    assert problem.line is not None
    # At rest some values are 0 in every unit: the turn is then known to the run
    assert line - 1440 <= problem.line <= line if (before == 0).any() else problem.line == line
    kept = got.raw.frame.filter(pl.col(signal).is_not_null())
    assert kept["line"].max() == problem.line - 1
    emptied = got.raw.refused.filter(reason="unit_changed")
    assert emptied["column"].cast(pl.String).unique().to_list() == [header]
    assert emptied.height == len(after) - (problem.line - 2)
    assert got.file.rows_read == got.file.rows_accepted == len(after)
    assert got.file.cells_emptied == emptied.height


def test_the_first_part_is_taken_out_where_it_is_the_one_that_cannot_be(tmp_path: Path) -> None:
    columns, turn = log(), 9 * 1440 + 60
    columns["coolant_c"] = np.concatenate([F(columns["coolant_c"])[:turn], columns["coolant_c"][turn:]])
    got = read_text(tmp_path, written(columns))
    assert doubts(got) == ["unit_changed Coolant temperature (°C)"]
    assert got.raw.frame.filter(pl.col("coolant_c").is_not_null())["line"].min() == turn + 2


def test_a_change_and_its_undoing(tmp_path: Path) -> None:
    columns = log(days=30)
    own = columns["coolant_c"]
    columns["coolant_c"] = np.concatenate([own[: 10 * 1440], F(own)[10 * 1440 : 20 * 1440], own[20 * 1440 :]])
    got = read_text(tmp_path, written(columns))
    assert doubts(got) == ["unit_changed Coolant temperature (°C)"]
    emptied = got.raw.refused.filter(reason="unit_changed")["line"]
    assert (emptied.min(), emptied.max()) == (10 * 1440 + 2, 20 * 1440 + 1)


def later(change: Edit) -> Edit:
    def edit(values: np.ndarray) -> np.ndarray:
        half = len(values) // 2
        return np.concatenate([values[:half], change(values[half:])])

    return edit


@pytest.mark.parametrize(
    ("name", "signal", "edit", "header"),
    [
        ("a refuel", "fuel_fraction", lambda f: np.where(np.arange(len(f)) < len(f) // 2, f - 45, f), "Fuel level (%)"),
        ("a theft", "fuel_fraction", later(lambda f: f - 60), "Fuel level (%)"),
        ("the tank run dry", "fuel_fraction", later(lambda f: f * 0 + 1.0), "Fuel level (%)"),
        ("a sender that fails to nothing", "oil_kpa", later(lambda p: p * 0), "Oil pressure (kPa)"),
        ("a new oil sender", "oil_kpa", later(lambda p: p * 1.3), "Oil pressure (kPa)"),
        ("oil pressure lost by half", "oil_kpa", later(lambda p: p * 0.5), "Oil pressure (kPa)"),
        ("a coolant sender that opens", "coolant_c", later(lambda c: c * 0 + 150), "Coolant temperature (°C)"),
        ("a coolant sender that reads 20 K more", "coolant_c", later(lambda c: c + 20), "Coolant temperature (°C)"),
        ("a thermostat repaired", "coolant_c", lambda c: np.where(np.arange(len(c)) < len(c) // 2, np.minimum(c, 48), c), "Coolant temperature (°C)"),
        ("a heater switched on", "coolant_c", later(lambda c: np.maximum(c, 42)), "Coolant temperature (°C)"),
        ("winter to summer", "ambient_c", lambda c: c - 25 + 50 * np.arange(len(c)) / len(c), "Ambient temperature (°C)"),
        ("summer to winter in F", "ambient_c", lambda c: F(c + 25 - 50 * np.arange(len(c)) / len(c)), "Ambient temperature (°F)"),
        ("a cold snap in F", "ambient_c", lambda c: F(later(lambda x: x - 20)(c)), "Ambient temperature (°F)"),
        ("a battery that dies", "battery_v", later(lambda v: v * 0.1), "Battery voltage (V)"),
        ("load taken off for good", "power_kw", later(lambda p: p * 0.02), "Power (kW)"),
    ],
)  # fmt: skip
def test_what_happens_to_sets_is_no_change_of_unit(
    tmp_path: Path, name: str, signal: str, edit: Edit, header: str
) -> None:
    columns = log()
    columns[signal] = edit(columns[signal])
    assert doubts(read_text(tmp_path, written(columns, {signal: header}))) == [], name


def test_one_of_two_sets_in_a_file_in_another_unit(tmp_path: Path) -> None:
    one, two = log(1, days=8), log(2, days=8)
    two["oil_kpa"] = np.round(two["oil_kpa"] / 6.894757, 1)
    frames = [
        pl.read_csv(written(c).encode()).insert_column(1, pl.Series("Set", [s] * len(c["speed_rpm"])))
        for s, c in (("A", one), ("B", two))
    ]
    got = read_text(tmp_path, pl.concat(frames).write_csv())
    assert doubts(got) == ["unit_contradicted Oil pressure (kPa)"]
    assert str(got.problem.values["seen"]).startswith("set B: ")


def test_a_header_again_with_another_unit_is_never_read_by_the_first(tmp_path: Path) -> None:
    columns = log(days=2)
    text = written(columns).splitlines()
    half = len(text) // 2
    other = text[0].replace("Oil pressure (kPa)", "Oil pressure (psi)")
    got = read_text(tmp_path, "\n".join([*text[:half], other, *text[half:]]) + "\n")
    assert got.raw.frame["line"].max() <= half
    assert got.file.rows_read == len(text)
    assert got.file.rows_accepted == half - 1
