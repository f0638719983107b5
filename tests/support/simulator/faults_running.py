"""The list of kinds, second part: output, cooling, oil, fuel, and the log itself. Each fault is big enough to act on."""

from __future__ import annotations

from tests.support.simulator import kinds as k
from tests.support.simulator.faults import BATT, COLD, HZ, STEP, V
from tests.support.simulator.kinds import KINDS, kind
from tests.support.simulator.traits import Rng, Traits

__all__ = ["KINDS"]


def _silent_oil(traits: Traits, rng: Rng) -> None:
    k.loaded_long(traits, rng)
    traits.engine.oil_hot_kpa = 280.0


def _swings(traits: Traits, rng: Rng) -> None:
    k.gusty(traits, rng)
    traits.run_row_s, traits.exercise_load, traits.cool_down_s = 1.0, 0.7, 60.0


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
    "output.frequency_off output.sags_at_load output.load_step output.overspeed care.outage_missed care.left_locked_out",
    changes={"droop_more": (0, 0.10, STEP)},
    columns=(HZ, "power_kw"),
    register=("rated_kw",),
    fit=lambda t, r: (k.gusty(t, r), setattr(t, "outages_month", 2.5), setattr(t, "exercise_load", 0.75))[0],
)
kind(
    "weak_step",
    "output.load_step",
    "output.frequency_off output.frequency_hunting output.overspeed care.outage_missed care.left_locked_out",
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
    "start.failed exercise.short output.frequency_off care.left_locked_out care.protection_silent exercise.missed",
    changes={"overspeed": (1, 1.2, STEP), "reset_h": (5, 5, 0)},
    columns=("speed_rpm", HZ),
    fit=k.weekly_charged,
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
    "exercise.short cooling.declining care.left_locked_out exercise.missed care.outage_missed",
    changes={"radiator": (1, 0.08, 45), "reset_h": (10, 10, 0)},
    columns=("coolant_c",),
    climate=("desert", "tropical", "temperate"),
    fit=k.water_cooled,
)
kind(
    "fouling_slowly",
    "cooling.declining",
    "cooling.overheat exercise.short exercise.missed care.left_locked_out",
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
    "exercise.short oil.declining care.left_locked_out exercise.missed",
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
    plan=k.scale_losses,
    fit=k.calm_tank,
)
kind(
    "theft",
    "fuel.lost_at_rest",
    "fuel.low fuel.autonomy fuel.part_full",
    changes={"theft_l": (0, 30.0, STEP)},
    columns=("fuel_fraction",),
    plan=k.scale_losses,
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
    "fuel.low fuel.part_full fuel.run_out",
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
