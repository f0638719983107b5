"""The tables of the logbook, column by column: five that tell what the set did, and one of its sensors.

All instants are UTC; every unit stands at the end of a column's name; fractions are 0 to 1. A null means
that the log cannot show it; `resolution_s` (the interval between rows at the event) says why. A duration that
is told from rows has two bounds: `_low_s` (last true row minus first true row) and `_high_s` (next false minus
previous false), and `_s` for the middle of the two.
"""

from __future__ import annotations

from typing import Any

import pandera.polars as pa
import polars as pl

UTC_TIME = pl.Datetime("us", "UTC")

CAUSES = ("exercise", "outage", "manual", "unknown")
ENDS = (
    "stop",
    "power_cut",
    "shutdown",
    "fuel",
    "oil",
    "coolant",
    "overspeed",
    "overload",
    "log_end",
    "unknown",
)
"""`stop`: it slowed down and rows went on. `log_end`: the log ends or breaks off while it runs, and nothing says why.
`fuel`, `oil`, `coolant`, `overspeed`, `overload`: shutdown with that cause seen or named. `shutdown`: cause not told."""
MARKS = (
    "gap",
    "clock_jump",
    "clock_reset",
    "clock_step",
    "clock_ahead",
    "clock_beside",
    "out_of_order",
    "repeated_upload",
    "refuel",
    "fuel_loss",
    "mode_change",
    "alarm",
    "hours_jump",
    "mains_lost",
    "conflict",
)
"""`clock_jump`: a step back in the order of writing. `clock_reset`, `clock_step`, `clock_ahead`: a stretch that stood
under an early date, under an hour or a date that was set wrongly, in the future; the text says why it was moved to where it
is now (`bounds`, `end`, `start`, `equal_steps`, `whole_years`, `summer_time ZONE`), or `refused`. `clock_beside`: against
the clock of another set of the site, by losses of mains that both saw. `out_of_order`: rows that were sorted."""
_TOLD_BY = ("speed", "frequency", "voltage", "state", "power", "oil", "alarm", "battery")


def _column(
    dtype: Any,
    what: str,
    *,
    null: bool = True,
    low: float | None = None,
    high: float | None = None,
    of: tuple[str, ...] = (),
) -> pa.Column:
    checks = []
    if low is not None:
        checks.append(pa.Check.ge(low))
    if high is not None:
        checks.append(pa.Check.le(high))
    if of:
        checks.append(pa.Check.isin(of))
    return pa.Column(dtype, checks=checks, nullable=null, description=what)


def _number(what: str, **bounds: float) -> pa.Column:
    return _column(pl.Float64, what, **bounds)  # type: ignore[arg-type]


def _time(what: str, *, null: bool = True) -> pa.Column:
    return _column(UTC_TIME, what, null=null)


def _count(what: str, *, null: bool = True) -> pa.Column:
    return _column(pl.Int32, what, null=null, low=0)


_SET = _column(pl.String, "the set's id", null=False)

ATTEMPTS = pa.DataFrameSchema(
    {
        "set_id": _SET,
        "demand": _count("number of the demand within the set's log, from 1", null=False),
        "attempt": _count("number of the attempt within the demand, from 1", null=False),
        "began_at": _time("first row seen cranking", null=False),
        "ended_at": _time("first row seen no longer cranking"),
        "crank_s": _number("cranking time, middle of its bounds", low=0),
        "crank_low_s": _number("last cranking row minus first", low=0),
        "crank_high_s": _number("next row not cranking minus the row before", low=0),
        "rows": _count("rows seen cranking", null=False),
        "preheat_s": _number(
            "battery pulled down before the crank, engine at rest (glow plugs); null where rows are too far apart to see it",
            low=0,
        ),
        "preheat_v": _number("battery while preheating, median"),
        "battery_before_v": _number("battery at rest before preheat and crank, last 60 s, median"),
        "battery_min_v": _number(
            "lowest row while cranking; the first instants of a crank go far lower on a healthy battery"
        ),
        "battery_mean_v": _number(
            "median of the rows from 0.5 s after engagement to firing; fewer than 3 rows: see rows"
        ),
        "crank_rpm": _number("median speed while cranking; null where speed is not logged", low=0),
        "coolant_before_c": _number("coolant at the last row before cranking"),
        "ambient_c": _number("ambient at the last row before cranking; null where it is not logged"),
        "fired": _column(pl.Boolean, "the engine ran after this attempt", null=False),
        "resolution_s": _number("interval between rows around the attempt, median", low=0),
    },
    strict=True,
    ordered=True,
    name="attempts",
)

STARTS = pa.DataFrameSchema(
    {
        "set_id": _SET,
        "demand": _count("number of the demand within the set's log, from 1", null=False),
        "began_at": _time(
            "first sign of the demand: first crank row, or first running row where no crank was seen",
            null=False,
        ),
        "ended_at": _time("running, or the end of the last attempt"),
        "cause": _column(pl.String, "why it was asked to start", null=False, of=CAUSES),
        "attempts": _count("crank attempts; null where rows are too far apart to count them"),
        "attempts_at_least": _count("attempts that were seen; a start that succeeded has at least 1", null=False),
        "started": _column(pl.Boolean, "it led to a run", null=False),
        "run": _count("number of the run that it led to"),
        "crank_s": _number("cranking time of all attempts", low=0),
        "preheat_s": _number("preheat before the first attempt", low=0),
        "ready_s": _number(
            "from the demand (loss of mains where seen, else first crank) to voltage and frequency in band, middle of its bounds",
            low=0,
        ),
        "ready_low_s": _number("lower bound of ready_s", low=0),
        "ready_high_s": _number("upper bound of ready_s", low=0),
        "mains_lost_at": _time("loss of mains that this start answers"),
        "rest_h": _number(
            "hours at rest before the demand; null where a gap or the log's beginning lies between", low=0
        ),
        "battery_before_v": _number("battery at rest before the first attempt"),
        "battery_min_v": _number("lowest row over all attempts"),
        "coolant_before_c": _number("coolant before the first attempt"),
        "ambient_c": _number("ambient before the first attempt"),
        "mode": _column(pl.String, "mode at the demand", null=True),
        "told_by": _column(pl.String, "signal from which the start was told", null=False, of=_TOLD_BY),
        "resolution_s": _number("interval between rows at the demand", low=0),
    },
    strict=True,
    ordered=True,
    name="starts",
)

RUNS = pa.DataFrameSchema(
    {
        "set_id": _SET,
        "run": _count("number of the run within the set's log, from 1", null=False),
        "demand": _count("demand that led to it; null where the start was not seen"),
        "began_at": _time("first running row", null=False),
        "ended_at": _time("first row no longer running; the last running row where the log breaks off", null=False),
        "running_s": _number(
            "running time, middle of its bounds (where rows are far apart, moved so that the runs add up to the hour meter); "
            "time not covered by rows left out",
            low=0,
        ),
        "running_low_s": _number("lower bound of running_s", low=0),
        "running_high_s": _number("upper bound of running_s", low=0),
        "missing_s": _number("time within the run that no row covers", low=0),
        "start_seen": _column(pl.Boolean, "a row at rest or cranking stands close before it", null=False),
        "end_seen": _column(pl.Boolean, "a row at rest stands close after it", null=False),
        "cause": _column(pl.String, "why it was asked to start", null=False, of=CAUSES),
        "ended_by": _column(pl.String, "how it ended", null=False, of=ENDS),
        "end_text": _column(pl.String, "alarm text at its end", null=True),
        "told_by": _column(pl.String, "signal from which running was told", null=False, of=_TOLD_BY),
        "resolution_s": _number("interval between rows while running, median", low=0),
        "rows": _count("rows while running", null=False),
        "load_kw_mean": _number("load, weighted by time"),
        "load_kw_min": _number("lowest load in steady state"),
        "load_kw_max": _number("highest load"),
        "load_fraction_mean": _number("load over rated, weighted by time; null where neither is known"),
        "load_fraction_max": _number("highest load over rated"),
        "load_late_fraction": _number("load over rated in the last third of the run, weighted by time"),
        "load_taken_s": _number(
            "from the first running row to the first loaded one; null where it took no load or none is measured", low=0
        ),
        "unloaded_end_s": _number(
            "time without load before the end of the run (cool-down); null where it took no load", low=0
        ),
        "overload_s": _number(
            "longest spell above the rated load, less what altitude and heat take off it; null where that is not known",
            low=0,
        ),
        "overload_far_s": _number("longest spell above 110 % of the same", low=0),
        "steady_s": _number("time in steady state: 20 s after start or load step, not slowing down", low=0),
        "voltage_mean_v": _number("voltage in steady state, weighted by time"),
        "voltage_low_v": _number("voltage in steady state, 5 % quantile"),
        "voltage_high_v": _number("voltage in steady state, 95 % quantile"),
        "frequency_mean_hz": _number("frequency in steady state, weighted by time"),
        "frequency_low_hz": _number("frequency in steady state, 5 % quantile"),
        "frequency_high_hz": _number("frequency in steady state, 95 % quantile"),
        "frequency_min_hz": _number("lowest frequency in steady state"),
        "frequency_max_hz": _number("highest frequency in steady state"),
        "frequency_band_hz": _number(
            "peak to peak at steady load: median over the stretches of a minute, or of ten rows where they are far apart",
            low=0,
        ),
        "frequency_windows": _count("stretches on which frequency_band_hz stands"),
        "hunting_period_s": _number(
            "strongest period of the frequency at steady load (Lomb-Scargle); only told where the band is wide and rows are close",
            low=0,
        ),
        "hunting_chance": _number("false-alarm probability of that period", low=0, high=1),
        "frequency_light_hz": _number("frequency at the lowest third of the loads in steady state, weighted by time"),
        "load_light_fraction": _number("the load there"),
        "frequency_heavy_hz": _number("frequency at the highest third of the loads in steady state, weighted by time"),
        "load_heavy_fraction": _number("the load there"),
        "steps": _count(
            "load steps seen with rows a second apart or closer; null where rows are further apart or load is not known"
        ),
        "step_fraction": _number(
            "the step after which frequency went furthest: change of load over rated, up is positive"
        ),
        "step_frequency_fraction": _number("furthest frequency after it, against rated: -0.1 is 10 % below", low=-1),
        "step_frequency_s": _number(
            "from leaving the steady band to entering it for good; null where it did not come back within the rows",
            low=0,
        ),
        "step_voltage_fraction": _number("furthest voltage after it, against rated", low=-1),
        "step_voltage_s": _number("the same for voltage", low=0),
        "end_sag_fraction": _number(
            "how far speed or frequency sagged, and came back, within the last 3 min before it left speed, against its mean",
            low=0,
        ),
        "speed_mean_rpm": _number("speed in steady state, weighted by time"),
        "speed_max_fraction": _number(
            "highest speed (else frequency) against rated that two rows in a row reached", low=0
        ),
        "overspeed_s": _number("longest spell above rated speed, its droop and 2 %", low=0),
        "no_voltage_s": _number(
            "longest spell at 90 % speed or more, told by a speed signal, with less than 20 % of rated voltage", low=0
        ),
        "oil_min_kpa": _number("lowest oil pressure from 15 s after firing, at 90 % speed or more"),
        "oil_low_s": _number("longest spell with oil pressure below the set's stop limit, at speed", low=0),
        "oil_warm_kpa": _number("oil pressure after 10 min, median"),
        "oil_ready_s": _number(
            "from the first running row to the stop limit of oil pressure; null where rows are too far apart",
            low=0,
        ),
        "oil_ready_low_s": _number("lower bound of oil_ready_s: the row before was still under the limit", low=0),
        "oil_before_kpa": _number("oil pressure at the last row before the run"),
        "coolant_before_c": _number("coolant at the last row before the run"),
        "coolant_max_c": _number("highest coolant while running"),
        "coolant_high_s": _number("longest spell with coolant above the set's warning limit, while running", low=0),
        "coolant_stop_s": _number("longest spell with coolant above the set's stop limit, while running", low=0),
        "coolant_hot_s": _number("from the first running row to the first at 71 C or more", low=0),
        "coolant_warm_c": _number("coolant in the last third of the run, from 10 min on, median"),
        "warm_up_s": _number("from the first running row to 60 C", low=0),
        "ambient_c": _number("ambient while running, weighted by time"),
        "ambient_before_c": _number("ambient at the last row before the run"),
        "battery_running_v": _number("battery from 5 min after the start, median"),
        "battery_running_end_v": _number("battery in the last third of the run, from 5 min after the start on, median"),
        "battery_rest_before_v": _number(
            "battery at rest over the day before the run, median of quarter-hour means from 4 h after a run on"
        ),
        "battery_rest_after_v": _number(
            "battery at rest 4 to 12 h after the run, median of quarter-hour means; null where it ran again before"
        ),
        "fuel_before_fraction": _number("fuel level at rest before the run", low=0),
        "fuel_after_fraction": _number("fuel level at rest after the run", low=0),
        "fuel_used_l": _number(
            "fuel used: level at rest before minus after, or flow over time; null where neither is known"
        ),
        "hours_before_h": _number("hour meter before", low=0),
        "hours_after_h": _number("hour meter after", low=0),
        "mode": _column(pl.String, "mode in which it ran for most of the time", null=True),
    },
    strict=True,
    ordered=True,
    name="runs",
)

DAYS = pa.DataFrameSchema(
    {
        "set_id": _SET,
        "day": _column(pl.Date, "local day of the set", null=False),
        "day_s": _number("length of this day in its zone (23, 24 or 25 h)", low=0),
        "covered_s": _number("time of the day that rows cover", low=0),
        "coverage": _number("covered share of the day", low=0, high=1.001),
        "rows": _count("rows of the day", null=False),
        "running_s": _number("running time of the day", low=0),
        "rest_s": _number("covered time at rest", low=0),
        "rest_battery_v": _number("battery at rest, 4 h or more after a run: median of quarter-hour means"),
        "rest_battery_low_v": _number("the same, 5 % quantile"),
        "rest_battery_high_v": _number("the same, 95 % quantile"),
        "rest_battery_all_v": _number("battery at rest at any time after a run, median of quarter-hour means"),
        "rest_battery_s": _number("covered rest time on which rest_battery_v stands", low=0),
        "rest_battery_over_s": _number("the part of it above the limit of lasting overcharge", low=0),
        "on_charge": _column(
            pl.Boolean,
            "the rest voltage is that of a battery on float; null where it cannot be told",
            null=True,
        ),
        "rest_fuel_fraction": _number("fuel level at rest, median of quarter-hour means"),
        "rest_fuel_first_fraction": _number("first quarter-hour mean at rest"),
        "rest_fuel_last_fraction": _number("last quarter-hour mean at rest"),
        "rest_fuel_noise_fraction": _number(
            "scatter of the quarter-hour means about their median: 1.4826 x median absolute deviation", low=0
        ),
        "rest_coolant_c": _number("coolant at rest, 4 h or more after a run, median"),
        "ambient_c": _number("ambient, median of quarter-hour means"),
        "automatic_s": _number("time in automatic", low=0),
        "manual_s": _number("time in manual", low=0),
        "off_s": _number("time off", low=0),
        "test_s": _number("time in test", low=0),
        "mode_unknown_s": _number("covered time with no mode, or one that is not known", low=0),
        "mains_lost_s": _number("time without mains; null where mains are not logged", low=0),
        "hour_meter_h": _number("hour meter at the day's end", low=0),
        "starts_counter": _number("starts counter at the day's end", low=0),
    },
    strict=True,
    ordered=True,
    name="days",
)

MARKS_TABLE = pa.DataFrameSchema(
    {
        "set_id": _SET,
        "kind": _column(pl.String, "what happened", null=False, of=MARKS),
        "began_at": _time("when; for a gap its last row before", null=False),
        "ended_at": _time("until when; for a gap its first row after; null where it still lasts at the log's end"),
        "signal": _column(pl.String, "the signal that shows it", null=True),
        "value": _number(
            "size: seconds of a gap or clock jump, or by which a stretch was moved; fraction of the tank, hours; for `clock_beside` seconds a day"
        ),
        "before": _number("value before; of a clock: seconds added to the times of rows"),
        "after": _number("value after; of a clock: rows that it is about"),
        "text": _column(
            pl.String, "alarm text; mode before and after, as `automatic>off`; evidence of a clock", null=True
        ),
    },
    strict=True,
    ordered=True,
    name="marks",
)

SENSORS = pa.DataFrameSchema(
    {
        "set_id": _SET,
        "day": _column(pl.Date, "local day of the set", null=False),
        "signal": _column(pl.String, "the signal", null=False),
        "filled": _number(
            "share of the rows that have a value; at rest one row of each quarter hour is looked at", low=0, high=1
        ),
        "rest_low": _number("lowest value at rest, of the rows looked at"),
        "rest_high": _number("highest value at rest, of the rows looked at"),
        "running_low": _number("lowest value while running, of all rows"),
        "running_high": _number("highest value while running, of all rows"),
        "spikes": _count("lone rows at rest far from both of their neighbours, which agree"),
    },
    strict=True,
    ordered=True,
    name="sensors",
)

TABLES: dict[str, pa.DataFrameSchema] = {
    "attempts": ATTEMPTS,
    "starts": STARTS,
    "runs": RUNS,
    "days": DAYS,
    "marks": MARKS_TABLE,
    "sensors": SENSORS,
}


def empty(name: str) -> pl.DataFrame:
    """The table of that name with no rows. Raises KeyError for an unknown name."""
    return pl.DataFrame(schema={c: _dtype(col) for c, col in TABLES[name].columns.items()})


def in_form(name: str, frame: pl.DataFrame) -> pl.DataFrame:
    """The frame with the table's columns in order and of its types; columns that are not there become null."""
    exprs = [
        (pl.col(c) if c in frame.columns else pl.lit(None)).cast(_dtype(col)).alias(c)
        for c, col in TABLES[name].columns.items()
    ]
    return frame.select(exprs)


def _dtype(column: pa.Column) -> pl.DataType:
    return column.dtype.type  # type: ignore[no-any-return]


def documented(name: str) -> list[tuple[str, str, str]]:
    """Column, type and meaning of each column: what the docs and `explain` print."""
    return [(c, str(_dtype(col)), str(col.description)) for c, col in TABLES[name].columns.items()]


def described() -> str:
    """All tables as plain text, a line a column: what `startworthy explain --tables` prints."""
    lines = []
    for name in TABLES:
        lines += ["", name]
        lines += [f"  {column:26} {kind:32} {what}" for column, kind, what in documented(name)]
    return "\n".join(lines[1:])
