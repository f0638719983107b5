"""The sample fleet: it can be rebuilt, stays small, is varied in form, and behaves as a set would.

All of it is invented. What is tested against outside figures here is the demonstration, never a check.
"""

from __future__ import annotations

import gzip
import io
import json
import re
import zipfile
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from startworthy.limits import BY_NAME as LIMITS
from startworthy.register import load_register
from startworthy.signals import MODE_WORDS, SIGNALS, UNITS
from tools.sample_fleet import build, layouts, specs, tank
from tools.sample_fleet.readings import Readings
from tools.sample_fleet.story import Story

ROOT = Path(__file__).resolve().parents[1]
LOGS = ROOT / "sample_logs"
TRUTH_FILE = ROOT / "tests" / "sample_truth.json"
TRUTH = json.loads(TRUTH_FILE.read_text(encoding="utf-8"))
MOST_BYTES = 6_000_000
SETS = pytest.mark.parametrize("set_id", [spec.set_id for spec in specs.FLEET])
HEALTHY = pytest.mark.parametrize("set_id", [spec.set_id for spec in specs.FLEET if spec.healthy])
DENSE = pytest.mark.parametrize("set_id", [spec.set_id for spec in specs.FLEET if spec.fast_s == 1])


@pytest.fixture(scope="module")
def fleet() -> dict[str, tuple[Story, Readings]]:
    return {spec.set_id: build.simulate(spec) for spec in specs.FLEET}


@pytest.fixture(scope="module")
def rebuilt(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("sample_logs")
    build.build(out, out / "truth.json")
    return out


def unpacked(path: Path) -> bytes:
    """The CSV inside: how well an archive is packed depends on the library, what it holds does not."""
    if path.suffix == ".gz":
        return gzip.decompress(path.read_bytes())
    if path.suffix == ".zip":
        with zipfile.ZipFile(path) as archive:
            return b"".join(archive.read(name) for name in archive.namelist())
    return path.read_bytes()


def running(story: Story, at: np.ndarray, *, after_s: float = 0.0, before_s: float = 0.0) -> np.ndarray:
    """Rows from `after_s` after firing to `before_s` before the stop of any run."""
    inside = np.zeros(at.size, dtype=bool)
    for demand in story.demands:
        if demand.trace is not None:
            inside |= (at >= demand.fired_at + after_s) & (at < demand.stop_at - before_s)
    return inside


def long_at_rest(story: Story, at: np.ndarray, hours: float = 4.0) -> np.ndarray:
    """Rows with mains, and no demand at that time nor in the hours before."""
    rest = np.ones(at.size, dtype=bool)
    for demand in story.demands:
        rest &= (at < demand.asked_at - 1) | (at > demand.quiet_at + hours * 3600)
    for began, ended in story.mains_off:
        rest &= (at < began) | (at > ended + hours * 3600)
    return rest


# --- made anew -------------------------------------------------------------------------------------------


@SETS
def test_the_generator_makes_the_file_that_is_kept(rebuilt: Path, set_id: str) -> None:
    file = TRUTH[set_id]["file"]
    assert unpacked(rebuilt / file) == unpacked(LOGS / file)


def test_the_truth_that_is_kept_is_that_of_the_generator(rebuilt: Path) -> None:
    assert (rebuilt / "truth.json").read_bytes() == TRUTH_FILE.read_bytes()


def test_building_twice_gives_the_same_bytes(rebuilt: Path, fleet: dict[str, tuple[Story, Readings]]) -> None:
    for spec in specs.FLEET:
        layout = layouts.LAYOUTS[spec.set_id]
        assert layouts.write(layout, spec, fleet[spec.set_id][1]) == (rebuilt / layout.file).read_bytes(), layout.file


def test_nothing_but_the_logs_and_their_papers_lies_in_the_folder() -> None:
    kept = {path.name for path in LOGS.iterdir()}
    assert kept == {entry["file"] for entry in TRUTH.values()} | {"sets.toml", "README.md", "report.png"}


def test_the_logs_stay_small() -> None:
    assert sum(path.stat().st_size for path in LOGS.iterdir()) < MOST_BYTES


# --- varied in form --------------------------------------------------------------------------------------


def test_at_least_four_layouts_differ_clearly() -> None:
    forms = {(x.separator, x.decimal, x.encoding, x.units, x.times[0][1]) for x in layouts.LAYOUTS.values()}
    assert len(forms) >= 4
    assert {x.separator for x in layouts.LAYOUTS.values()} == {",", ";", "\t"}
    assert {Path(x.file).suffix for x in layouts.LAYOUTS.values()} == {".csv", ".gz", ".zip"}
    assert any(len(x.times) == 2 for x in layouts.LAYOUTS.values())
    assert any(x.preamble for x in layouts.LAYOUTS.values())


def test_the_windows_file_is_windows_1252_with_decimal_commas() -> None:
    raw = unpacked(LOGS / TRUTH["HUT-02"]["file"])
    head = raw.split(b"\r\n", 3)
    assert b";\xb0C;" in head[1]
    assert re.match(rb"15\.10\.2025 00:00:00;0;0,0;", head[2])
    with pytest.raises(UnicodeDecodeError):
        raw.decode("utf-8")


@SETS
def test_every_line_has_as_many_fields_as_the_header(set_id: str) -> None:
    layout = layouts.LAYOUTS[set_id]
    lines = unpacked(LOGS / layout.file).decode(layout.encoding).split(layout.line_end)
    lines = lines[len(layout.preamble) :]
    assert lines.pop() == ""
    assert {line.count(layout.separator) for line in lines} == {lines[0].count(layout.separator)}
    header_rows = 2 if layout.units == "row" else 1
    assert len(lines) - header_rows == TRUTH[set_id]["rows"]


@SETS
def test_headers_units_and_words_are_ordinary_trade_words(set_id: str) -> None:
    aliases = {alias: signal for signal in SIGNALS for alias in signal.aliases}
    for column in layouts.LAYOUTS[set_id].columns:
        name = column.header.casefold().replace("_", " ")
        if isinstance(column, layouts.Number):
            named = layouts.LAYOUTS[set_id].units == "name"
            stem, _, unit = name.rpartition(" ") if named and name not in aliases else (name, "", column.unit)
            assert stem in aliases, column.header
            if unit:
                assert UNITS[unit.casefold().removeprefix("°")].quantity is aliases[stem].quantity
        else:
            assert name in aliases, column.header


@SETS
def test_mode_words_are_known(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    for column in layouts.LAYOUTS[set_id].columns:
        if isinstance(column, layouts.Word) and column.key == "mode":
            said = {dict(column.says).get(word, word) for word in fleet[set_id][1].words["mode"]}
            assert {word.casefold() for word in said} <= MODE_WORDS.keys()


def test_local_times_repeat_an_hour_in_october_and_skip_one_in_march() -> None:
    lines = unpacked(LOGS / TRUTH["HUT-02"]["file"]).decode("cp1252").splitlines()
    twice = [line for line in lines if line.startswith("26.10.2025 02:30:00;")]
    assert len(twice) == 2
    assert any(line.startswith("29.03.2026 01:55:00;") for line in lines)
    assert not any(line.startswith("29.03.2026 02:") for line in lines)


# --- the register and the truth --------------------------------------------------------------------------


def test_the_register_reads_and_knows_every_set() -> None:
    register = load_register(LOGS / "sets.toml")
    assert register.sets.keys() == TRUTH.keys()
    for spec in specs.FLEET:
        entry = register.of(spec.set_id)
        assert register.zone_of(spec.set_id) == spec.zone
        assert entry.site == spec.site
        assert entry.rated_kw in (None, spec.engine.rated_kw)
        assert entry.rated_voltage_v in (None, spec.engine.rated_v)
        assert entry.rated_frequency_hz in (None, spec.engine.rated_hz)
        assert entry.rated_rpm in (None, spec.engine.rated_rpm)
        assert entry.battery_nominal_v in (None, spec.battery_v)
        assert entry.battery_ah in (None, spec.battery_ah)
        assert entry.tank_litres in (None, spec.tank_l)
        assert entry.exercise.minutes in (None, spec.exercise.minutes)


def test_some_keys_are_left_out_so_that_inference_shows() -> None:
    register = load_register(LOGS / "sets.toml")
    entries = [register.of(set_id) for set_id in TRUTH]
    for key in ("rated_kw", "rated_frequency_hz", "rated_rpm", "battery_nominal_v", "tank_litres"):
        assert {getattr(entry, key) is None for entry in entries} == {True, False}, key
    assert {entry.exercise.every_days is None for entry in entries} == {True, False}


def test_two_are_healthy_and_each_of_the_others_has_one_fault() -> None:
    faults = {spec.set_id: {code for code, _, _ in spec.expected} for spec in specs.FLEET}
    assert [set_id for set_id, codes in faults.items() if not codes] == ["PUMP-01", "HUT-02"]
    told = {
        spec.set_id: [
            spec.charger_dies,
            spec.leak_from,
            spec.fouls_from,
            *[v.left_off_until for v in spec.visits],
        ]
        for spec in specs.FLEET
    }
    assert {set_id: sum(x is not None for x in what) for set_id, what in told.items()} == {
        set_id: int(bool(codes)) for set_id, codes in faults.items()
    }
    groups = {code.split(".")[0] for codes in faults.values() for code in codes}
    assert groups == {"battery", "start", "cooling", "care", "exercise", "fuel"}


@SETS
def test_the_truth_is_within_the_log(set_id: str) -> None:
    told = TRUTH[set_id]
    demands = told["demand_list"]
    assert told["demands"] == len(demands)
    assert told["failed_demands"] == sum(d["running_from"] is None for d in demands)
    assert told["runs"] == told["demands"] - told["failed_demands"]
    asked = [d["asked_at"] for d in demands]
    assert asked == sorted(asked)
    assert told["from"] < asked[0]
    assert all(d["running_to"] is None or d["running_to"] < told["to"] for d in demands)
    days = (datetime.fromisoformat(told["to"]) - datetime.fromisoformat(told["from"])).days
    assert 90 <= days <= 184


# --- as a set behaves ------------------------------------------------------------------------------------


@SETS
def test_rows_ascend_and_come_at_the_logger_s_own_rates(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    story, taken = fleet[set_id]
    steps = np.diff(taken.at)
    longest = 45 * 60 if story.spec.logger_off else story.spec.rest_s
    assert steps.min() >= 1
    assert story.spec.rest_s <= steps.max() <= longest
    if story.spec.fast_s == 1:
        for demand in story.demands:
            around = (taken.at > demand.asked_at) & (taken.at < demand.fired_at + 60)
            assert set(np.diff(taken.at[around])) == {1}


@DENSE
def test_attempts_can_be_counted_from_the_rows(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    _, taken = fleet[set_id]
    speed, step = taken.numbers["speed_rpm"], np.diff(taken.at, prepend=taken.at[0] - 300)
    standing = np.concatenate([[True], speed[:-1] == 0])
    engaged = (speed > 0) & standing & (step == 1)
    assert int(engaged.sum()) == TRUTH[set_id]["attempts"]


@pytest.mark.published(
    "battery load-test table (BCI style), as reprinted in service manuals: 9.6 V at 20 C ... 8.5 V at -18 C"
)
@HEALTHY
def test_a_healthy_crank_stays_above_the_load_test_table(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    table_c, table_v = (-18, -12, -7, -1, 4, 10, 16, 20), (8.5, 8.7, 8.9, 9.1, 9.3, 9.4, 9.5, 9.6)
    story, taken = fleet[set_id]
    volts = taken.numbers["battery_v"]
    for demand in story.demands:
        crank = demand.attempts[-1]
        rows = (taken.at >= crank.crank_at + 0.5) & (taken.at < crank.crank_end)
        if rows.sum():
            limit = np.interp(story.weather.room(demand.asked_at), table_c, table_v)
            assert np.median(volts[rows]) > limit + 0.3


@HEALTHY
def test_a_healthy_battery_rests_on_float(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    story, taken = fleet[set_id]
    rest = taken.numbers["battery_v"][long_at_rest(story, taken.at)]
    assert rest.min() > LIMITS["battery_float_low_12_v"].value + 0.3
    assert rest.max() < 14.4


def test_the_dead_charger_drains_the_battery_until_three_attempts_fail(
    fleet: dict[str, tuple[Story, Readings]],
) -> None:
    story, taken = fleet["BOOST-03"]
    dies = datetime(2025, 11, 5, 2, 40, tzinfo=ZoneInfo(specs.VALLEY_ZONE)).timestamp()
    rest = long_at_rest(story, taken.at)
    volts = taken.numbers["battery_v"]
    assert volts[rest & (taken.at < dies)].min() > 13.5
    after = volts[rest & (taken.at > dies + 6 * 3600)]
    assert after.max() < LIMITS["battery_float_low_12_v"].value
    assert np.median(after[-500:]) < LIMITS["battery_rest_low_12_v"].value - 0.2
    last = story.demands[-1]
    assert last.trace is None
    assert [a.fired for a in last.attempts] == [False] * 3
    assert [len(d.attempts) for d in story.demands[:-1]] == [1] * (len(story.demands) - 1)


@SETS
def test_preheat_pulls_the_battery_down_by_no_more_than_about_two_volts(
    set_id: str, fleet: dict[str, tuple[Story, Readings]]
) -> None:
    story, taken = fleet[set_id]
    per_12v = taken.numbers["battery_v"] / (story.spec.battery_v / 12)
    for demand in story.demands:
        crank = demand.attempts[0]
        heating = (taken.at >= crank.preheat_at) & (taken.at < crank.crank_at)
        if story.spec.fast_s > 1 or not heating.any():
            continue
        dip = per_12v[np.flatnonzero(heating)[0] - 1] - np.median(per_12v[heating])
        assert 0.4 < dip < 2.2
        assert 0.8 < np.median(per_12v[heating]) - crank.volts < 4.0


@SETS
def test_output_stays_in_its_bands_once_it_has_settled(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    story, taken = fleet[set_id]
    settled = running(story, taken.at, after_s=15, before_s=1)
    rated = story.spec.engine
    for key, values in taken.numbers.items():
        if key.startswith("voltage_"):
            assert np.abs(values[settled] / rated.rated_v - 1).max() < 0.02
    share = taken.numbers["frequency_hz"][settled] / rated.rated_hz
    line = 1 + rated.droop * (1 - taken.numbers["power_kw"][settled] / rated.rated_kw)
    assert np.abs(share - line).max() < 0.01
    speed = taken.numbers["speed_rpm"][settled] / rated.rated_rpm
    np.testing.assert_allclose(share, speed, rtol=1e-9)


@SETS
def test_oil_pressure_builds_in_seconds_and_holds(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    story, taken = fleet[set_id]
    oil = taken.numbers["oil_kpa"]
    assert oil[running(story, taken.at, after_s=5, before_s=1)].min() > LIMITS["oil_warn_kpa"].value
    assert oil.max() < 500
    standing = taken.numbers["speed_rpm"] == 0
    assert oil[standing].max() < 5


@SETS
def test_only_the_fouled_radiator_overheats(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    story, taken = fleet[set_id]
    hottest = taken.numbers["coolant_c"][running(story, taken.at)].max()
    hot_runs = [
        d for d in story.demands if d.trace is not None and d.trace.coolant_c.max() > LIMITS["coolant_high_c"].value
    ]
    if set_id == "CLINIC-04":
        assert [d.ended_by for d in hot_runs] == ["coolant"]
        assert hottest > LIMITS["coolant_stop_c"].value
        over = hot_runs[0].trace
        assert over is not None
        assert (over.coolant_c > LIMITS["coolant_high_c"].value).sum() > 60
    else:
        assert not hot_runs
        assert hottest < 90


@SETS
def test_coolant_creeps_up_after_a_hot_stop_and_then_cools(
    set_id: str, fleet: dict[str, tuple[Story, Readings]]
) -> None:
    story, taken = fleet[set_id]
    hot = [d for d in story.demands if d.trace is not None and 80 < d.trace.coolant_c[-1] < 100]
    for demand in hot:
        soak = (taken.at > demand.stop_at) & (taken.at < demand.stop_at + 1200)
        rise = taken.numbers["coolant_c"][soak].max() - demand.trace.coolant_c[-1]
        assert 3 < rise < 12
    assert hot or set_id == "MAST-06"


@SETS
def test_fuel_is_conserved(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    story, taken = fleet[set_id]
    spec, told = story.spec, TRUTH[set_id]
    refuelled = story.filled[-1][1]
    left = float(story.litres(story.last_s))
    assert left == pytest.approx(
        spec.fuel_first * spec.tank_l + refuelled - told["fuel_used_l"] - told["fuel_leaked_l"], abs=0.05
    )
    shown = taken.numbers["fuel_fraction"][-200:].mean()
    swollen = float(tank.swelling(story.weather.tank(story.last_s)))
    assert shown == pytest.approx(left * swollen / spec.tank_l, abs=0.01)
    assert taken.numbers["fuel_fraction"].min() > LIMITS["fuel_low_fraction"].value + 0.1
    assert (told["fuel_leaked_l"] > 0) == (set_id == "MAST-06")


@pytest.mark.published(
    "ASTM D1250-80, table 54B: a diesel of 840 kg/m3 at 15 C has VCF 0.99154 at 25 C and 1.01261 at 0 C"
)
@pytest.mark.parametrize(("fuel_c", "vcf"), [(25.0, 0.99154), (0.0, 1.01261)])
def test_fuel_swells_as_the_table_says(fuel_c: float, vcf: float) -> None:
    assert 1 / float(tank.swelling(np.array(fuel_c))) == pytest.approx(vcf, abs=5e-6)


@SETS
def test_hour_meter_and_counter_agree_with_the_runs(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    _, taken = fleet[set_id]
    meter, counter = taken.numbers["hour_meter_h"], taken.numbers["starts_counter"]
    assert meter[-1] - meter[0] == pytest.approx(TRUTH[set_id]["running_h"], abs=0.11)
    assert counter[-1] - counter[0] == TRUTH[set_id]["runs"]
    assert (np.diff(meter) >= 0).all()


def test_the_hut_lives_through_a_hard_winter(fleet: dict[str, tuple[Story, Readings]]) -> None:
    story, taken = fleet["HUT-02"]
    assert -24 < taken.numbers["ambient_c"].min() < -21
    cold = [a.crank_end - a.crank_at for d in story.demands for a in d.attempts if story.weather.room(d.asked_at) < -10]
    assert len(cold) >= 3
    assert 3 < min(cold) < max(cold) < 6.5
    assert "battery low" in set(taken.words["alarm"])


@SETS
def test_mains_losses_are_taken_over_within_seconds(set_id: str, fleet: dict[str, tuple[Story, Readings]]) -> None:
    story, _ = fleet[set_id]
    outages = [d for d in story.demands if d.cause == "outage" and d.trace is not None]
    for demand in outages:
        lost = next(began for began, ended in story.mains_off if began <= demand.asked_at < ended)
        assert 2 < demand.fired_at - lost < 18
    unanswered = len(story.mains_off) - sum(d.cause == "outage" for d in story.demands)
    assert unanswered == (1 if set_id == "SPRING-05" else 0)


@SETS
def test_exercises_come_weekly_but_for_what_the_story_says(
    set_id: str, fleet: dict[str, tuple[Story, Readings]]
) -> None:
    story, _ = fleet[set_id]
    at = np.array([d.asked_at for d in story.demands if d.trace is not None])
    longest_days = float(np.diff(at).max()) / 86400
    missed = longest_days > story.spec.exercise.minutes / 1440 + 7 * LIMITS["exercise_missed_intervals"].value
    assert missed == (set_id == "SPRING-05")
    planned = 60 * story.spec.exercise.minutes
    lasted = [d.stop_at - d.fired_at for d in story.demands if d.cause == "exercise" and d.trace is not None]
    assert planned <= min(lasted) <= max(lasted) < planned + 10


def test_archives_carry_no_time_of_making() -> None:
    for entry in TRUTH.values():
        raw = (LOGS / entry["file"]).read_bytes()
        if entry["file"].endswith(".gz"):
            assert raw[4:8] == b"\0\0\0\0"
        elif entry["file"].endswith(".zip"):
            with zipfile.ZipFile(io.BytesIO(raw)) as archive:
                assert {info.date_time for info in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


@SETS
def test_cells_without_a_value_are_few_and_counted(set_id: str) -> None:
    layout = layouts.LAYOUTS[set_id]
    raw = unpacked(LOGS / layout.file).decode(layout.encoding)
    lost = raw.count(f"{layout.separator}{layout.no_value}{layout.separator}") if layout.no_value else 0
    assert lost == TRUTH[set_id]["no_value_cells"]
    assert lost < 0.2 * LIMITS["log_refused_fraction"].value * TRUTH[set_id]["rows"]
