"""The list of kinds, first part: battery, starting, exercise and care. Each fault is big enough that a technician would act on it."""

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
    columns=(BATT, "coolant_c", "ambient_c"),
    onset=(0.01, 0.02),
    fit=_pulsed,
)
kind(
    "battery_ageing",
    "battery.crank_sag_growing",
    f"{BATTERY} {STARTS}",
    changes={"worn": (1.0, 2.9, 110)},
    columns=(BATT, "coolant_c", "ambient_c"),
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
    changes={"fire_factor": (1, 6.5, 20)},
    columns=(BATT,),
    climate=WARM,
    fit=lambda t, r: (k.weekly(t, r), setattr(t, "heater_c", None), setattr(t, "crank_limit_s", 15.0))[0],
)
kind(
    "plugs_dead",
    "start.no_preheat",
    STARTS,
    changes={"plugs": (1, 0.0, STEP)},
    columns=(BATT, "coolant_c", "ambient_c"),
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
    fit=_pulsed,
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
