"""The list of kinds. Figures are invented: each fault is made big enough that a technician would act on it."""

from __future__ import annotations

from tests.support.simulator import kinds as k
from tests.support.simulator.kinds import BATTERY, KINDS, STARTS, kind
from tests.support.simulator.traits import Rng, Traits

__all__ = ["KINDS"]

STEP = 0.0
COLD = ("continental",)
WARM = ("desert", "tropical", "maritime", "temperate", "southern")
MILD = ("maritime", "temperate", "southern")
V, BATT, HZ = "voltage", "battery_v", "frequency_hz"


def _rarely(traits: Traits, rng: Rng) -> None:
    k.weekly(traits, rng)
    traits.exercise_days = 14.0
    traits.outages_month = 0.0


def _plan_45(traits: Traits, rng: Rng) -> None:
    traits.exercise_days, traits.exercise_min, traits.exercise_load, traits.heater_c = 28.0, 45.0, 0.0, None


def _light(traits: Traits, rng: Rng) -> None:
    traits.exercise_load, traits.base_load, traits.outages_month = 0.0, 0.1, 2.5


def _silent_oil(traits: Traits, rng: Rng) -> None:
    k.loaded_long(traits, rng)
    traits.engine.oil_hot_kpa = 280.0


def _swings(traits: Traits, rng: Rng) -> None:
    k.gusty(traits, rng)
    traits.run_row_s, traits.exercise_load, traits.cool_down_s = 1.0, 0.7, 60.0


def _pulsed(traits: Traits, rng: Rng) -> None:
    k.with_charger(traits, rng)
    k.weekly(traits, rng)


kind("healthy")

# battery and charger
kind(
    "charger_dead",
    "battery.charger_lost",
    f"{BATTERY} {STARTS}",
    changes={"charger_dead": (0, 1, STEP)},
    columns=(BATT,),
    fit=k.with_charger,
)
kind(
    "standing_drain",
    "battery.standing_drain",
    f"{BATTERY} {STARTS}",
    changes={"drain_more_a": (0, 0.25, STEP)},
    columns=(BATT,),
    fit=k.no_charger,
    register=("battery_ah",),
)
kind(
    "battery_weak",
    "battery.crank_sag",
    f"{BATTERY} {STARTS} battery.bad_joint",
    changes={"worn": (2.9, 3.1, 30)},
    columns=(BATT,),
    onset=(0.01, 0.02),
    fit=_pulsed,
)
kind(
    "battery_ageing",
    "battery.crank_sag_growing",
    f"{BATTERY} {STARTS}",
    changes={"worn": (1.0, 2.9, 110)},
    columns=(BATT,),
    onset=(0.2, 0.3),
    fit=_pulsed,
)
kind(
    "dead_cell",
    "battery.dead_cell",
    f"{BATTERY} {STARTS} battery.bad_joint",
    changes={"dead_cells": (0, 1, STEP)},
    columns=(BATT,),
    fit=k.no_charger,
)
kind(
    "bad_joint",
    "battery.bad_joint",
    f"{BATTERY} {STARTS}",
    changes={"joint_ohm": (0, 0.0075, STEP), "joint_scatter": (0, 0.22, STEP)},
    columns=(BATT,),
    fit=_pulsed,
)
kind(
    "battery_flat",
    "start.failed battery.charger_lost",
    f"{BATTERY} {STARTS}",
    changes={"charger_dead": (0, 1, STEP), "drain_more_a": (0, 0.06, STEP), "reset_h": (6, 6, 0)},
    columns=(BATT, "alarm"),
    onset=(0.2, 0.35),
    fit=lambda t, r: (k.with_charger(t, r), _rarely(t, r), setattr(t.block, "ah", 50.0))[0],
)
kind(
    "charger_high",
    "battery.overcharged",
    changes={"charger_shift": (0, 1.5, STEP)},
    columns=(BATT,),
    fit=k.with_charger,
)
kind(
    "alternator_dead",
    "battery.not_charged_by_engine",
    f"{BATTERY} {STARTS}",
    changes={"alternator_dead": (0, 1, STEP)},
    columns=(BATT,),
    fit=k.no_charger,
)
kind(
    "not_recharged",
    "battery.not_recharged",
    f"{BATTERY} {STARTS}",
    changes={"alternator_dead": (0, 1, STEP), "drain_more_a": (0, 0.02, STEP)},
    columns=(BATT,),
    fit=k.no_charger,
)

# starting
kind(
    "air_in_fuel",
    "start.retried",
    STARTS,
    changes={"dry_tries": (0, 1, STEP), "dry_share": (0, 0.8, STEP)},
    columns=(BATT,),
    fit=k.weekly,
)
kind(
    "will_not_start",
    "start.failed",
    STARTS + " start.retried",
    changes={"no_fire": (0, 0.5, STEP), "reset_h": (5, 5, 0)},
    columns=(BATT, "alarm"),
    fit=k.weekly,
)
kind(
    "fails_often",
    "start.reliability start.failed",
    STARTS,
    changes={"no_fire": (0.3, 0.3, STEP), "reset_h": (5, 5, 0)},
    columns=(BATT, "alarm"),
    onset=(0.02, 0.03),
    fit=k.weekly,
)
kind(
    "slow_starts",
    "start.slow",
    STARTS,
    changes={"fire_factor": (1, 4.6, 20)},
    columns=(BATT,),
    climate=WARM,
    fit=lambda t, r: (k.weekly(t, r), setattr(t, "crank_limit_s", 15.0))[0],
)
kind(
    "plugs_dead",
    "start.no_preheat",
    STARTS,
    changes={"plugs": (1, 0.0, STEP)},
    columns=(BATT, "coolant_c"),
    climate=COLD,
    fit=lambda t, r: (k.glows(t, r), setattr(t, "crank_limit_s", 20.0), setattr(t, "air_cooled", False))[0],
)
kind(
    "fuel_runs_back",
    "start.longer_after_rest",
    STARTS,
    changes={"rest_more_s": (6, 6, STEP)},
    columns=(BATT, "coolant_c", "speed_rpm"),
    onset=(0.0, 0.01),
    climate=MILD,
    fit=lambda t, r: (
        k.pickup(t, r),
        _rarely(t, r),
        setattr(t, "crank_limit_s", 15.0),
        setattr(t, "air_cooled", False),
    )[0],
    plan=k.long_rests,
)
kind(
    "starter_worn",
    "start.slow_cranking",
    STARTS,
    changes={"starter": (1, 0.45, STEP)},
    columns=(BATT, "speed_rpm"),
    fit=k.pickup,
)
kind(
    "stalls",
    "start.stalled",
    STARTS,
    changes={"stall": (0, 0.6, STEP), "reset_h": (5, 5, 0)},
    columns=("speed_rpm",),
    fit=k.weekly,
)
kind(
    "starts_late",
    "start.late",
    "care.settings_changed",
    changes={"late_s": (0, 25, STEP)},
    columns=("mains_present", V, HZ),
    register=("type_10",),
    fit=k.outages,
    plan=k.lasting_outage,
)

# exercise and care
kind(
    "left_out_of_auto",
    "care.not_in_auto",
    "exercise.missed care.outage_missed care.left_locked_out battery.flat_forecast",
    columns=("mode",),
    plan=k.leave_off,
)
kind(
    "locked_out",
    "care.left_locked_out",
    "exercise.missed care.outage_missed start.failed start.retried start.reliability",
    changes={"no_fire": (0, 1, STEP), "reset_h": (9000, 9000, 0)},
    columns=("mode", "alarm", BATT),
    fit=k.weekly,
)
kind(
    "exercise_stopped",
    "exercise.missed",
    "care.settings_changed battery.not_recharged exercise.only_by_hand",
    plan=k.stop_exercises,
    fit=k.weekly,
)
kind(
    "exercise_moved",
    "exercise.moved",
    "care.settings_changed exercise.missed",
    plan=k.move_exercises,
    fit=k.weekly,
)
kind(
    "exercise_short",
    "exercise.short",
    "care.settings_changed exercise.cold exercise.moved",
    plan=k.shorten_exercises,
    fit=lambda t, r: (k.weekly(t, r), setattr(t, "exercise_min", 20.0))[0],
    register=("exercise",),
)
kind(
    "exercise_unloaded",
    "exercise.light_load",
    "care.light_running care.settings_changed exercise.cold cooling.running_cold",
    changes={"exercise_load": (1, 0.1, STEP)},
    columns=("power_kw",),
    register=("rated_kw", "exercise", "min_load"),
    fit=k.loaded,
)
kind(
    "light_running",
    "care.light_running",
    "exercise.light_load exercise.cold cooling.running_cold",
    changes={"exercise_load": (1, 1, STEP)},
    columns=("power_kw",),
    register=("rated_kw",),
    onset=(0.0, 0.01),
    fit=_light,
)
kind(
    "exercise_cold",
    "exercise.cold",
    "cooling.running_cold exercise.light_load care.light_running",
    changes={"exercise_load": (1, 1, STEP)},
    columns=("coolant_c",),
    register=("exercise",),
    onset=(0.0, 0.01),
    climate=COLD,
    fit=lambda t, r: (_plan_45(t, r), setattr(t, "air_cooled", False))[0],
)
kind(
    "outage_missed",
    "care.outage_missed",
    "care.left_locked_out",
    columns=("mains_present",),
    plan=k.miss_outages,
)
kind(
    "power_cut",
    "care.stopped_by_power_cut",
    "log.gap care.no_cool_down care.settings_changed",
    columns=("speed_rpm", "hour_meter_h"),
    plan=k.cut_stops,
    fit=k.weekly,
)
kind(
    "service_overdue",
    "care.service_due",
    changes={"exercise_load": (1, 1, STEP)},
    columns=("hour_meter_h",),
    register=("service_overdue",),
    onset=(0.0, 0.01),
)
kind(
    "settings_changed",
    "care.settings_changed",
    STARTS,
    changes={"preheat_s": (10, 2, STEP), "cool_down_s": (180, 0, STEP)},
    columns=(BATT, "power_kw"),
    fit=lambda t, r: (
        k.glows(t, r),
        k.loaded(t, r),
        setattr(t, "preheat_s", 10.0),
        setattr(t, "cool_down_s", 180.0),
    )[0],
    climate=MILD,
)

# output
kind(
    "regulator_off",
    "output.voltage_off",
    changes={"volts_factor": (1, 0.80, 5)},
    columns=(V,),
    register=("rated_voltage_v",),
    fit=k.weekly,
)
kind(
    "governor_off",
    "output.frequency_off",
    "output.droop output.sags_at_load",
    changes={"speed_factor": (1, 0.93, STEP)},
    columns=(HZ,),
    register=("rated_frequency_hz",),
    fit=k.loaded,
)
kind(
    "hunting",
    "output.frequency_hunting",
    "output.load_step",
    changes={"hunt": (0, 0.05, STEP)},
    columns=(HZ,),
    fit=k.loaded,
)
kind(
    "steep_droop",
    "output.droop",
    "output.frequency_off output.sags_at_load output.load_step",
    changes={"droop_more": (0, 0.10, STEP)},
    columns=(HZ, "power_kw"),
    register=("rated_kw",),
    fit=lambda t, r: (k.gusty(t, r), setattr(t, "outages_month", 2.5), setattr(t, "exercise_load", 0.75))[0],
)
kind(
    "weak_step",
    "output.load_step",
    "output.frequency_off output.frequency_hunting",
    changes={"swing_factor": (1, 3.6, STEP), "slow_factor": (1, 10.0, STEP)},
    columns=(HZ, V, "power_kw"),
    register=("rated_kw",),
    fit=_swings,
)
kind(
    "no_voltage",
    "output.no_voltage",
    "output.voltage_off output.load_not_taken output.speed_mismatch",
    changes={"excited": (1, 0, STEP)},
    columns=("speed_rpm", V),
    fit=k.weekly,
)
kind(
    "overspeed",
    "output.overspeed",
    "output.frequency_off care.left_locked_out care.protection_silent exercise.missed",
    changes={"overspeed": (1, 1.2, STEP), "reset_h": (5, 5, 0)},
    columns=("speed_rpm", HZ),
    fit=k.weekly,
)
kind(
    "load_not_taken",
    "output.load_not_taken",
    "care.light_running exercise.light_load",
    changes={"outage_load": (1, 0, STEP)},
    columns=("mains_present", "power_kw"),
    fit=k.outages,
    plan=k.lasting_outage,
)
kind(
    "overload",
    "output.overload",
    "output.frequency_off output.voltage_off cooling.overheat care.left_locked_out output.sags_at_load exercise.missed cooling.declining",
    changes={"outage_load": (1, 1, STEP)},
    columns=("power_kw", "mains_present"),
    register=("rated_kw",),
    fit=lambda t, r: (k.outages(t, r), setattr(t, "base_load", 1.16))[0],
    plan=k.lasting_outage,
    onset=(0.01, 0.02),
)
kind(
    "speed_misread",
    "output.speed_mismatch",
    "log.conflict output.overspeed output.no_voltage",
    columns=("speed_rpm", HZ),
    log="speed_misread",
)

# cooling and oil
kind(
    "fouled",
    "cooling.overheat",
    "cooling.declining care.left_locked_out exercise.missed",
    changes={"radiator": (1, 0.25, 45), "reset_h": (10, 10, 0)},
    columns=("coolant_c",),
    climate=("desert", "tropical", "temperate"),
    fit=k.water_cooled,
)
kind(
    "fouling_slowly",
    "cooling.declining",
    "cooling.overheat",
    changes={"radiator": (0.7, 0.32, 120)},
    columns=("coolant_c", "power_kw", "ambient_c"),
    onset=(0.1, 0.2),
    climate=("desert", "tropical"),
    fit=k.water_cooled,
)
kind(
    "thermostat_open",
    "cooling.running_cold",
    "exercise.cold cooling.declining",
    changes={"thermostat_open": (0, 1, STEP)},
    columns=("coolant_c", "power_kw"),
    register=("rated_kw",),
    climate=("maritime", "temperate", "tropical"),
    fit=lambda t, r: (k.loaded_long(t, r), setattr(t, "air_cooled", False))[0],
)
kind(
    "heater_dead",
    "cooling.heater_off",
    "start.slow",
    changes={"heater_dead": (0, 1, STEP)},
    columns=("coolant_c",),
    climate=COLD,
    register=("coolant_heater",),
    fit=lambda t, r: (setattr(t, "heater_c", 40.0), setattr(t, "air_cooled", False), k.with_charger(t, r))[0],
)
kind(
    "oil_low",
    "oil.low",
    "oil.declining care.left_locked_out exercise.missed",
    changes={"oil_worn": (1, 0.26, 10), "reset_h": (8, 8, 0)},
    columns=("oil_kpa",),
    fit=k.loaded,
)
kind(
    "oil_silent",
    "care.protection_silent oil.low",
    "oil.declining",
    changes={"oil_worn": (1, 0.24, 10), "silent": (1, 1, STEP)},
    columns=("oil_kpa", "speed_rpm"),
    fit=_silent_oil,
)
kind(
    "oil_wearing",
    "oil.declining",
    "oil.low",
    changes={"oil_worn": (1, 0.58, 110)},
    columns=("oil_kpa", "coolant_c"),
    onset=(0.15, 0.25),
    fit=lambda t, r: (k.loaded(t, r), setattr(t, "air_cooled", False))[0],
)
kind(
    "oil_builds_late",
    "oil.slow_to_build",
    "oil.low care.settings_changed care.protection_silent",
    changes={"oil_slow_s": (0, 24, STEP), "silent": (1, 1, STEP)},
    columns=("oil_kpa",),
    fit=k.weekly,
)

# fuel
kind(
    "tank_low",
    "fuel.low",
    "fuel.autonomy fuel.part_full fuel.run_out fuel.lost_at_rest",
    changes={"never_refuelled": (1, 1, STEP)},
    columns=("fuel_fraction",),
    onset=(0.0, 0.01),
    fill=0.22,
    fit=lambda t, r: (
        setattr(t, "outages_month", 0.0),
        setattr(t.tank, "litres", max(t.tank.litres, 90.0)),
        setattr(t, "exercise_load", 0.0),
    )[0],
)
kind(
    "ran_dry",
    "fuel.run_out",
    "fuel.low fuel.autonomy care.left_locked_out care.outage_missed exercise.missed start.failed fuel.part_full output.frequency_off",
    changes={"never_refuelled": (0, 1, STEP), "reset_h": (14, 14, 0)},
    columns=("fuel_fraction", HZ),
    fit=k.small_tank,
    plan=k.dry_outage,
)
kind(
    "leak",
    "fuel.lost_at_rest",
    "fuel.low fuel.autonomy fuel.part_full fuel.rate_high fuel.run_out",
    changes={"leak_l_day": (0, 0.9, STEP)},
    columns=("fuel_fraction",),
    fit=k.calm_tank,
)
kind(
    "theft",
    "fuel.lost_at_rest",
    "fuel.low fuel.autonomy fuel.part_full",
    changes={"theft_l": (0, 30.0, STEP)},
    columns=("fuel_fraction",),
    fit=k.calm_tank,
)
kind(
    "burns_more",
    "fuel.rate_high",
    "fuel.low fuel.autonomy cooling.declining cooling.overheat",
    changes={"fuel_factor": (1, 1.5, STEP)},
    columns=("fuel_fraction", "power_kw"),
    register=("tank_litres",),
    fit=k.used_much,
)
kind(
    "half_empty",
    "fuel.part_full",
    "fuel.autonomy fuel.low",
    changes={"never_refuelled": (1, 1, STEP)},
    columns=("fuel_fraction",),
    onset=(0.0, 0.01),
    fill=0.44,
    climate=COLD,
    fit=lambda t, r: (
        setattr(t, "outages_month", 0.0),
        setattr(t.tank, "litres", max(t.tank.litres, 110.0)),
        setattr(t, "exercise_load", 0.0),
    )[0],
)
kind(
    "short_autonomy",
    "fuel.autonomy",
    "fuel.low fuel.part_full",
    changes={"never_refuelled": (1, 1, STEP)},
    columns=("fuel_fraction", "power_kw"),
    register=("tank_litres", "rated_kw"),
    onset=(0.0, 0.01),
    fill=0.32,
    fit=lambda t, r: (
        k.loaded(t, r),
        setattr(t, "outages_month", 0.0),
        setattr(t, "exercise_min", 10.0),
        setattr(t.tank, "litres", 40.0),
        setattr(t.tank, "shape", "rectangular"),
    )[0],
)

# the log itself
kind(
    "hours_faulty",
    "care.hours_disagree",
    "log.sensor_stuck care.service_due",
    columns=("hour_meter_h",),
    log="hours_faulty",
    fit=k.weekly,
)
kind("log_gaps", "log.gap", "exercise.missed", log="gaps")
kind("clock_reset", "log.clock_fault", "log.gap exercise.moved exercise.missed", log="clock_reset")
kind(
    "sensor_stuck",
    "log.sensor_stuck",
    "log.signal_lost care.protection_silent exercise.cold cooling.running_cold",
    columns=("coolant_c",),
    log="stuck",
    fit=k.water_cooled,
)
kind(
    "fuel_stuck",
    "log.sensor_stuck",
    "log.signal_lost",
    columns=("fuel_fraction",),
    log="fuel_stuck",
    fit=k.used_much,
)
kind("spikes", "log.sensor_spikes", "log.value_rejected", columns=("coolant_c", BATT), log="spikes")
kind(
    "sensor_removed",
    "log.signal_lost",
    "log.sensor_stuck log.value_rejected",
    columns=("oil_kpa",),
    log="lost",
)
kind(
    "bad_values",
    "log.value_rejected",
    "log.signal_lost log.sensor_spikes",
    columns=("oil_kpa",),
    log="rejected",
)
kind(
    "wrong_register",
    "log.conflict",
    columns=(HZ, V, BATT),
    log="conflict",
    register=("rated_frequency_hz", "battery_nominal_v"),
)
