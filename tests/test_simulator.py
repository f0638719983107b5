"""The second simulator: the same set for the same seed, physics that a technician would believe, a truth that adds up.

All of it is invented. Nothing here tests a check; the simulator only has to be fit to test checks with.
"""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
import polars as pl
import pytest

import startworthy as sw
from startworthy.signals import BY_NAME, Mode
from tests.support.logs import as_readings
from tests.support.simulator import CADENCES, KINDS, simulate, story_of
from tests.support.simulator import battery as bat
from tests.support.simulator import engine as eng
from tests.support.simulator.csvfile import LAYOUTS, write_csv
from tests.support.simulator.visible import can_show

SEEDS = range(8)
LOAD_TEST_C = (-18.0, -12.0, -7.0, -1.0, 4.0, 10.0, 16.0, 20.0)
LOAD_TEST_V = (8.5, 8.7, 8.9, 9.1, 9.3, 9.4, 9.5, 9.6)
FIRST_CIRCLE = [
    "start.failed",
    "start.retried",
    "start.slow",
    "start.late",
    "start.reliability",
    "battery.crank_sag",
    "battery.crank_sag_growing",
    "battery.low_at_rest",
    "battery.charger_lost",
    "battery.overcharged",
    "battery.not_charged_by_engine",
    "battery.flat_forecast",
    "exercise.missed",
    "exercise.short",
    "exercise.light_load",
    "exercise.cold",
    "output.voltage_off",
    "output.frequency_off",
    "output.frequency_hunting",
    "output.load_step",
    "output.droop",
    "output.speed_mismatch",
    "cooling.overheat",
    "cooling.declining",
    "cooling.running_cold",
    "cooling.heater_off",
    "oil.low",
    "oil.declining",
    "oil.slow_to_build",
    "fuel.low",
    "fuel.run_out",
    "fuel.rate_high",
    "fuel.lost_at_rest",
    "fuel.part_full",
    "fuel.autonomy",
    "care.not_in_auto",
    "care.outage_missed",
    "care.stopped_by_power_cut",
    "care.service_due",
    "care.hours_disagree",
    "care.light_running",
    "log.gap",
    "log.clock_fault",
    "log.value_rejected",
    "log.sensor_stuck",
    "log.sensor_spikes",
    "log.conflict",
]
SECOND_CIRCLE = [
    "care.settings_changed",
    "care.left_locked_out",
    "care.protection_silent",
    "log.signal_lost",
    "start.no_preheat",
    "start.longer_after_rest",
    "start.slow_cranking",
    "start.stalled",
    "battery.bad_joint",
    "battery.dead_cell",
    "battery.not_recharged",
    "battery.standing_drain",
    "output.no_voltage",
    "output.overspeed",
    "output.load_not_taken",
    "output.overload",
    "exercise.moved",
]


@pytest.fixture(scope="module")
def healthy() -> dict[int, tuple[pl.DataFrame, object]]:
    return {seed: simulate("healthy", seed) for seed in SEEDS}


def test_the_same_seed_gives_the_same_set_and_another_seed_another():
    one, truth = simulate("healthy", 3, days=40)
    again, same = simulate("healthy", 3, days=40)
    other, _ = simulate("healthy", 4, days=40)
    assert one.equals(again)
    assert truth == same
    assert not one.equals(other)


def test_every_cadence_tells_the_same_story():
    truths = [simulate("healthy", 2, cadence=cadence, days=60)[1] for cadence in ("dense", "60", "300")]
    whole = truths[0]
    for truth in truths[1:]:
        assert [d.asked_at for d in truth.demand_list] == [d.asked_at for d in whole.demand_list]
        assert truth.attempts == whole.attempts
        assert truth.running_h == pytest.approx(whole.running_h, rel=0.01)


def test_an_unknown_kind_or_cadence_is_refused():
    with pytest.raises(KeyError):
        simulate("unheard of", 0)
    with pytest.raises(KeyError):
        simulate("healthy", 0, cadence="7")


def test_every_code_of_both_circles_has_a_kind_that_should_raise_it():
    raised = {code for kind in KINDS.values() for code in kind.expected}
    followed = {code for kind in KINDS.values() for code in kind.allowed}
    assert len(KINDS) > 32
    assert not KINDS["healthy"].expected
    # low rest volts and their forecast always follow from another fault
    assert set(FIRST_CIRCLE + SECOND_CIRCLE) - raised == {"battery.low_at_rest", "battery.flat_forecast"}
    assert {"battery.low_at_rest", "battery.flat_forecast"} <= followed


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_can_be_simulated_and_has_what_its_check_needs(kind):
    frame, truth = simulate(kind, 1, days=100)
    assert frame["at"].is_sorted()
    assert frame["at"].n_unique() == frame.height
    assert {"voltage_v", "voltage_l1_v"} & truth.columns
    needed = {c for c in KINDS[kind].columns if c != "voltage"}
    assert needed <= truth.columns
    assert set(frame.columns) - {"set_id", "at", "file", "line"} <= set(BY_NAME)
    for code in truth.expected:
        assert can_show(code, truth) in {"yes", "partly", "no"}


def test_truth_adds_up(healthy):
    for _frame, truth in healthy.values():
        assert truth.demands == len(truth.demand_list)
        assert truth.attempts == sum(len(d.attempts) for d in truth.demand_list)
        assert truth.runs + truth.failed_demands == truth.demands
        assert truth.running_h == pytest.approx(sum(d.ran[1] - d.ran[0] for d in truth.demand_list) / 3600)
        assert truth.fuel_used_l == pytest.approx(sum(d.fuel_l for d in truth.demand_list))
        assert truth.failed_demands == 0
        asked = [d.asked_at for d in truth.demand_list]
        assert asked == sorted(asked)
        for d in truth.demand_list:
            assert d.asked_at <= d.attempts[0][0]
            assert d.attempts[-1][1] <= d.ran[0]
            assert [fired for *_, fired in d.attempts] == [False] * (len(d.attempts) - 1) + [True]


def test_the_hour_meter_counts_the_running_time_and_the_tank_loses_what_is_burnt():
    for seed in SEEDS:
        story = story_of("healthy", seed)
        ran = sum(e.ran[1] - e.ran[0] for e in story.episodes if e.ran) / 3600
        assert story.hours[-1][1] - story.hours[0][1] == pytest.approx(ran)
        litres = np.array([litres for _, litres in story.fuel])
        filled = np.clip(np.diff(litres), 0, None).sum()
        assert litres[0] + filled - litres[-1] == pytest.approx(sum(e.fuel_l for e in story.episodes), rel=1e-6)
        assert litres.max() <= story.traits.tank.litres


def test_a_healthy_set_looks_as_a_technician_expects(healthy):
    for frame, truth in healthy.values():
        rest = frame.filter(pl.col("frequency_hz") == 0)
        k = truth.figures["battery_v"] / 12
        volts = rest["battery_v"] / k
        assert 12.4 < volts.median() < 14.4
        assert volts.max() < 14.8
        running = frame.filter(pl.col("frequency_hz") > 0.9 * truth.figures["hz"])
        assert (running["frequency_hz"] / truth.figures["hz"]).quantile(0.99) < 1.08
        assert (running["frequency_hz"] / truth.figures["hz"]).median() > 0.98
        if "coolant_c" in frame.columns:
            assert frame["coolant_c"].max() < 100
        if "oil_kpa" in frame.columns:
            assert rest["oil_kpa"].median() < 30
            assert running["oil_kpa"].quantile(0.02) > 150
        if "fuel_fraction" in frame.columns:
            assert frame["fuel_fraction"].min() > 0.25
        if "mode" in frame.columns:
            assert set(frame["mode"].cast(pl.String).unique()) <= set(Mode)
            assert (rest["mode"].cast(pl.String) == "automatic").mean() > 0.9
        if "power_kw" in frame.columns:
            assert frame["power_kw"].max() <= 1.05 * truth.figures["kw"]


@pytest.mark.published("lowest volts at half the cold-cranking amperes by temperature: battery load-test table (BCI)")
def test_a_healthy_battery_stays_above_the_load_test_table_while_cranking():
    """By the settled volts, not by the inrush, which goes far below on any battery."""
    for seed in range(30):
        story = story_of("healthy", seed)
        for e in story.episodes:
            began, ended, _ = e.attempts[-1]
            settled = (e.t >= began + 0.4) & (e.t < ended)
            if settled.sum() >= 3:
                warmth = float(story.weather.site_c(began))
                assert np.median(e.trace["battery"][settled]) > np.interp(warmth, LOAD_TEST_C, LOAD_TEST_V) - 0.05


def test_cold_oil_slows_the_starter_and_a_bad_joint_costs_volts():
    block = bat.Block(75, 0.005, False, 0.05, "compensated", 13.6)
    warm, cold = (
        bat.crank(block, 1.0, c, float(eng.walther(88, 14.4, c)), worn=1, joint_ohm=0, starter=1, dead_cells=0)
        for c in (20, -20)
    )
    joint = bat.crank(block, 1.0, 20, 240.0, worn=1, joint_ohm=0.0075, starter=1, dead_cells=0)
    worn = bat.crank(block, 1.0, 20, 240.0, worn=1, joint_ohm=0, starter=0.5, dead_cells=0)
    assert warm.rpm > 1.2 * cold.rpm
    assert warm.volts > cold.volts + 1
    assert warm.amps < cold.amps
    assert joint.volts < warm.volts - 0.8
    assert worn.rpm < 0.8 * warm.rpm
    assert worn.volts >= warm.volts
    assert warm.inrush_v < warm.volts - 3


@pytest.mark.published(
    "open-circuit volts of a 12 V battery at 100 / 50 % charge: handbook table (BCI style) 12.65, 12.24"
)
def test_open_circuit_volts_lie_near_the_handbook_table():
    assert bat.open_circuit_v(1.0, False) == pytest.approx(12.65, abs=0.12)
    assert bat.open_circuit_v(0.5, False) == pytest.approx(12.24, abs=0.12)


@pytest.mark.published("Walther (ASTM D341), 32 cSt at 40 C and 5.4 at 100 C give 8.53 cSt at 80 C")
def test_viscosity_follows_the_walther_line():
    assert float(eng.walther(32.0, 5.4, 80.0)) == pytest.approx(8.53, abs=0.01)


@pytest.mark.published(
    "horizontal cylinder: 10.33 % volume at 16 % depth, 42.38 % at 44 %: civil engineering handbook 10.3, 42.4"
)
def test_depth_of_a_horizontal_cylinder():
    tank = eng.Tank(100.0, "horizontal_cylinder", 0.01, 0.0, 0.0, swells=False)
    assert float(tank.depth(np.array([10.33]), np.array([15.0]))[0]) == pytest.approx(0.16, abs=0.001)
    assert float(tank.depth(np.array([42.38]), np.array([15.0]))[0]) == pytest.approx(0.44, abs=0.001)


def test_coolant_creeps_up_after_a_stop_and_then_falls_towards_its_surroundings():
    engine = story_of("healthy", 0).traits.engine
    since = np.array([0.0, 300.0, 600.0, 12 * 3600.0])
    _, water = eng.cooling(engine, 80.0, 60.0, since)
    assert 1.0 < water[1:3].max() - water[0] < 15.0
    assert water[3] < 10.0


def test_the_exercise_keeps_its_local_hour_over_a_clock_change():
    found = 0
    for seed in range(12):
        story = story_of("healthy", seed)
        if not story.traits.follows_dst or story.plan.notes:
            continue
        begins = pl.Series([story.traits.begins]).dt.convert_time_zone("UTC")
        asked = [a.at for a in story.plan.asks if a.cause == "exercise"]
        local = (
            pl.select(begins.alias("b"))["b"].repeat_by(len(asked)).explode()
            + pl.Series([int(a * 1e6) for a in asked]).cast(pl.Duration("us"))
        ).dt.convert_time_zone(story.traits.zone)
        late = [a for a in asked if any(m[0] - 3600 < a < m[1] + 3600 for m in story.plan.modes)]
        hours = (local.dt.hour().cast(pl.Int32) * 60 + local.dt.minute()).to_list()
        assert len(set(hours)) <= 1 + len(late)
        found += 1
    assert found


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_written_csv_reads_back_as_it_was(layout, tmp_path):
    frame, truth = simulate("healthy", 5, cadence="300", days=60)
    written = write_csv(frame, tmp_path, layout, truth.figures["zone"])
    back = sw.read(written.path, time_zone=written.time_zone).frame
    assert back.height == frame.height
    assert back["at"].to_list() == frame["at"].dt.truncate("1s").to_list()
    assert back["battery_v"].to_list() == pytest.approx(frame["battery_v"].to_list())
    if "oil_kpa" in frame.columns:
        assert back["oil_kpa"].to_list() == pytest.approx(frame["oil_kpa"].to_list(), abs=0.5)


@pytest.mark.parametrize("cadence", [c for c in CADENCES if c != "10"])
def test_the_checks_take_a_simulated_set(cadence):
    frame, truth = simulate("healthy", 1, cadence=cadence, days=60)
    one = sw.check(as_readings(frame), register=truth.register, strict=True).sets[0]
    assert one.set_id == truth.set_id


def test_it_shares_no_code_with_the_sample_fleet():
    for path in (Path(__file__).parent / "support" / "simulator").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = (
                [a.name for a in node.names]
                if isinstance(node, ast.Import)
                else [node.module or ""]
                if isinstance(node, ast.ImportFrom)
                else []
            )
            assert not any(name.startswith("tools") for name in names), path.name
