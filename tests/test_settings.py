"""Registers and layouts with faults: each told in one line, word by word, at its own line; and no text upsets them."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from startworthy.limits import BY_NAME, LIMITS
from startworthy.limits.order import ORDER, crossed
from startworthy.problems import InputError
from startworthy.read.layout import Layout, load_layout
from startworthy.register import Register, load_register
from startworthy.setnames import unmatched
from startworthy.tomlfile import OWN_KEYS
from startworthy.words import problem_line

Load = Callable[[Path], Register] | Callable[[Path], Layout]


def told(folder: Path, content: str | bytes, load: Load = load_register, name: str = "x.toml") -> list[str]:
    """The lines that a user sees, without the folder; none if the file will do."""
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    try:
        load(path)
    except InputError as error:
        return [problem_line(p).removeprefix(f"{folder}/") for p in error.problems]
    return []


A = '[sets."A.1"]\n'
NUMBER = "is not a number; write it without quotes or unit and with a decimal point: {} = {}"
ONE_KEY = {
    'rated_kw = "12"': '"12" ' + NUMBER.format("rated_kw", "12"),
    'rated_kw = "7,5 kW"': '"7,5 kW" ' + NUMBER.format("rated_kw", "7.5"),
    "rated_kw = true": "true " + NUMBER.format("rated_kw", "12"),
    "rated_kw = [12]": "this list " + NUMBER.format("rated_kw", "12"),
    "rated_kw = 0": "0 cannot be; it lies within 0.5 and 2000 kW; mend the figure, or leave the key out",
    "rated_kw = -12": "-12 cannot be; it lies within 0.5 and 2000 kW; mend the figure, or leave the key out",
    "rated_kw = nan": "nan is no figure; write a number, or leave the key out",
    "rated_kw = -inf": "-inf is no figure; write a number, or leave the key out",
    "rated_kw = 1e999": "inf is no figure; write a number, or leave the key out",
    "rated_kw = 12000": "12000 kW cannot be (it lies within 0.5 and 2000); if it is in W, write rated_kw = 12",
    "rated_voltage_v = 0.4": "0.4 V cannot be (it lies within 50 and 1000); if it is in kV, write rated_voltage_v = 400",
    "battery_ah = 75000": "75000 Ah cannot be (it lies within 5 and 5000); if it is in mAh, write battery_ah = 75",
    "tank_litres = 0.11": "0.11 litres cannot be (it lies within 1 and 100000); if it is in cubic metres, write tank_litres = 110",
    "altitude_m = 8000": "8000 m cannot be (it lies within -500 and 6000); if it is in feet, write altitude_m = 2438.4",
    "altitude_m = 99999": "99999 cannot be; it lies within -500 and 6000 m; mend the figure, or leave the key out",
    "rated_rpm = 25": "25 rpm cannot be (it lies within 500 and 5000); if it is in turns a second, write rated_rpm = 1500",
    "exercise.min_load_fraction = 30": "30 cannot be (it lies within 0 and 1.5); if it is in per cent, write min_load_fraction = 0.3",
    "rated_frequency_hz = 55": "55 is not one of the choices; write 50 or 60",
    "battery_nominal_v = true": "true is not one of the choices; write 12 or 24",
    'battery_type = "AGM"': '"AGM" is not one of the choices; write "flooded", "agm" or "gel"',
    "charger = 1": "1 is neither yes nor no; write charger = true or charger = false",
    'charger = "yes"': '"yes" is neither yes nor no; write charger = true or charger = false',
    "site = 7": '7 is not text; put it in quotes: site = "..."',
    "site = {}": 'this table is not text; put it in quotes: site = "..."',
    'commissioned = "14.03.2025"': '"14.03.2025" is not a date; write it without quotes as year-month-day: commissioned = 2025-06-30',
    "commissioned = 2025": "2025 is not a date; write it without quotes as year-month-day: commissioned = 2025-06-30",
    "commissioned = 2025-03-14T00:00:00Z": "2025-03-14T00:00:00+00:00 is a date with a time; write the date alone: commissioned = 2025-03-14",
    "commissioned = 0206-03-14": "0206-03-14 is before 1950-01-01; mend the year",
    "exercise = 7": '7 stands where a table belongs; begin the table with a line of its own: [sets."A.1".exercise]',
    "exercise = [{ every_days = 7 }]": 'this list stands where a table belongs; begin the table with a line of its own: [sets."A.1".exercise]',
    "rated_kv = 12": "no such key in the register; did you mean rated_kw?",
    "Rated-KW = 12": "no such key in the register; did you mean rated_kw?",
    "service.every_hour = 250": "no such key in the register; did you mean every_hours?",
    "exercise.zzz = 1": "no such key in the register; those that it takes here: every_days, minutes, min_load_fraction",
    "minutes = 20": 'this key belongs in another table; move it below the line [sets."A.1".exercise]',
    "service.rated_kw = 12": 'this key belongs in another table; move it below the line [sets."A.1"]',
    "coolant_high_c = 98": 'this key belongs in another table; move it below the line [sets."A.1".limits]',
    "limits.coolant_hi_c = 98": "there is no limit of this name; did you mean coolant_high_c?",
    "limits.xyz = 98": "there is no limit of this name; startworthy explain CODE names those of a check",
    "limits.coolant_high_c = 9": "9 °C cannot be for this limit; it lies within 80 and 125 °C; mend the figure",
    "limits.coolant_high_c = 212": "212 °C cannot be (it lies within 80 and 125); if it is in °F, write coolant_high_c = 100",
    "limits.fuel_low_fraction = 25": "25 cannot be (it lies within 0.05 and 0.9); if it is in per cent, write fuel_low_fraction = 0.25",
    'limits.coolant_high_c = "98"': '"98" ' + NUMBER.format("coolant_high_c", "98"),
    "limits.coolant_high_c = true": "true " + NUMBER.format("coolant_high_c", "12"),
    "limits.coolant_high_c = nan": "nan is no figure; write a number, or leave the key out",
    "limits.oil_low_kpa = 150": "150 is above oil_warn_kpa, which must be the higher one and is 138 unless you set it; mend this limit or set both",
    "limits.coolant_stop_c = 95": "95 is below coolant_high_c, which must be the lower one and is 100 unless you set it; mend this limit or set both",
    'time_zone = "Europe/Wein"': 'no time zone is called "Europe/Wein"; did you mean Europe/Berlin?',
    'time_zone = "UTC+2"': '"UTC+2" is an offset, not a time zone; write Etc/GMT-2 (its sign is the other way round) or a place\'s zone, such as Europe/Berlin',
    'time_zone = "../../passwd"': 'no time zone is called "../../passwd"; use an IANA name such as Europe/Berlin',
    'tank_shape = "round"': '"round" is not a tank\'s shape; write "rectangular", "horizontal_cylinder" or pairs of level in % and litres: tank_shape = [[0, 0], [50, 60], [100, 110]]',
    "tank_shape = [[0, 0], [50, 40], [100, 40]]": "a strapping table must rise from point to point, in level and in litres; mend its points",
    "fuel_curve = [[0.5, 2.0, 3], [1.0, 4.0]]": "this list is not a fuel curve; write pairs of load fraction and litres per hour: fuel_curve = [[0.25, 1.4], [1.0, 4.0]]",
    "fuel_curve = [[0.5, nan], [1.0, 4.0]]": "this list is not a fuel curve; write pairs of load fraction and litres per hour: fuel_curve = [[0.25, 1.4], [1.0, 4.0]]",
    "fuel_curve = [[0.5, true], [1.0, 4.0]]": "this list is not a fuel curve; write pairs of load fraction and litres per hour: fuel_curve = [[0.25, 1.4], [1.0, 4.0]]",
}  # fmt: skip


@pytest.mark.parametrize("line", ONE_KEY)
def test_one_wrong_key_of_a_set_is_one_line(tmp_path: Path, line: str) -> None:
    key = line.partition(" = ")[0]
    assert told(tmp_path, f"# {line}\n\n{A}site_ = 1\n{line}\n".replace("site_ = 1\n", "")) == [
        f'x.toml:4: sets."A.1".{key}: {ONE_KEY[line]}'
    ]


WHOLE = {
    "rated_kw = 12\n": 'x.toml:1: rated_kw: this key stands outside of the sets; move it below the line [defaults] or that of a set, [sets."ID"]',
    "[sets]\nrated_kw = 12\n": 'x.toml:2: sets.rated_kw: this key stands outside of the sets; move it below the line [defaults] or that of a set, [sets."ID"]',
    "every_days = 7\n": "x.toml:1: every_days: this key belongs in another table; move it below the line [sets.ID.exercise]",
    "[[sets]]\n": "x.toml:1: sets: this list stands where a table belongs; begin the table with a line of its own: [sets]",
    "sets.A = 5\n": "x.toml:1: sets.A: 5 stands where a table belongs; begin the table with a line of its own: [sets.A]",
    '["HILL 1"]\nrated_kw = 5\n': 'x.toml:1: "HILL 1": this table stands outside of the sets; if it is a set, write [sets."HILL 1"]',
    "[set.A]\nrated_kw = 5\n": "x.toml:1: set: no such key in the register; did you mean sets?",
    "[sets.HILL.1]\nrated_kw = 5\n": 'x.toml:1: sets.HILL.1: no such table in a set; if the set\'s id has a dot in it, put it in quotes: [sets."HILL.1"]',
    "[sets.A]\nrated_kw = 12,5\n": "x.toml:2: the register is not TOML here: a number has a decimal point, not a comma; write it as 12.5",
    "[sets.A]\nrated_kw = 12 kW\n": "x.toml:2: the register is not TOML here: a number stands without its unit; write the number alone, or put a text in quotes",
    "[sets.A]\nsite = Hill house\n": 'x.toml:2: the register is not TOML here: a text stands in quotes; write it as "text"',
    "[sets.A]\ncharger = True\n": "x.toml:2: the register is not TOML here: yes and no are written without capitals; write true or false",
    "[sets.A]\nrated_kw = .5\n": "x.toml:2: the register is not TOML here: a number begins with a digit other than 0, or with 0 and a point; write it as 0.5 or 12",
    "[sets.A]\nrated_kw =\n": "x.toml:2: the register is not TOML here: the key has no value; give it one, or take the line out",
    "[sets.A]\nrated_kw 12\n": "x.toml:2: the register is not TOML here: a key and its value are joined by =; write the line as key = value",
    "[sets.PUMP 1]\n": 'x.toml:1: the register is not TOML here: a table\'s name ends with a bracket, and with blanks or marks in it stands in quotes; write it as [sets."PUMP 1"]',
    "[sets.A]\ncommissioned = 31.12.2024\n": "x.toml:2: the register is not TOML here: no calendar has such a date, or it is not written as year-month-day; write it as 2025-06-30",
    "[sets.A]\ncommissioned = 2025-02-30\n": "x.toml:2: the register is not TOML here: no calendar has such a date, or it is not written as year-month-day; write it as 2025-06-30",
    '[sets.A]\nsite = "C:\\Hill"\n': "x.toml:2: the register is not TOML here: a backslash in double quotes begins a special character; write it twice, or use single quotes",
    '[sets.A]\nsite = "Hill\nrated_kw = 12\n': "x.toml:2: the register is not TOML here: a text is not closed, or has a character in it that TOML forbids; begin and end it with the same quotes in one line",
    "[sets.A]\nfuel_curve = [[0.5, 1.4], [1.0, 2.2]\n\n[sets.B]\n": "x.toml:2: the register is not TOML here: a quote or bracket that is opened here is not closed, or a comma is missing; close it",
    "[sets.A]\nsite = '''Hill\n\n[sets.B]\n": "x.toml:2: the register is not TOML here: a quote or bracket that is opened here is not closed, or a comma is missing; close it",
    "[sets.A]\n[sets.B]\n\n[sets.'A']\n": "x.toml:4: sets.A: is given twice, first in line 1; take one of them out",
    "[sets.A]\nsite = ''\n# site\n'site' = 'B'\n": "x.toml:4: sets.A.site: is given twice, first in line 2; take one of them out",
    "[sets.A]\nrated_kw = 0x" + "f" * 5000: "x.toml:2: sets.A.rated_kw: the register is not TOML here: a number has hundreds of digits; mend the number",
    "[sets.A]\nrated_kw = " + "9" * 5000: "x.toml:2: the register is not TOML here: a number has hundreds of digits; mend the number",
    "\nrated_kw = " + "[" * 5000: "x.toml:2: the register is not TOML as a register has it: tables or lists within each other without end; mend this line",
    "\n" + ".".join("a" * 100_000) + " = 1": "x.toml:2: the register is not TOML as a register has it: tables or lists within each other without end; mend this line",
    " \r\n\t\n": 'x.toml: the register is empty; give it a table for each set, [sets."ID"], or take the file away',
    "Time;Volt\n1;2\n": "x.toml: is a log, not a register; name it as PATH, and give a register (TOML) with --register",
    'delimiter = ";"\n[columns]\n': "x.toml: is a layout, not a register; give it with --layout",
}  # fmt: skip


@pytest.mark.parametrize("text", WHOLE, ids=lambda text: text[:40])
def test_a_wrong_register_is_one_line(tmp_path: Path, text: str) -> None:
    assert told(tmp_path, text) == [WHOLE[text]]


LAYOUTS = {
    "[sets.A]\n": "x.toml: is a register, not a layout; give it with --register",
    "": "x.toml: the layout is empty; print one with: startworthy layout LOG, or leave out --layout",
    "Time,Volt\n1,2\n": "x.toml: is a log, not a layout; name it as PATH, and give a layout file (TOML) with --layout",
    "delimeter = ';'\n": "x.toml:1: delimeter: no such key in a layout; did you mean delimiter?",
    "delimiter = 5\n": 'x.toml:1: delimiter: 5 is not text; put it in quotes: delimiter = "..."',
    "delimiter = 'x'\n": 'x.toml:1: delimiter: "x" cannot part cells; write the one character between them, such as ";" or "\\t"',
    "quote_char = '<>'\n": 'x.toml:1: quote_char: "<>" is not one character; write the character alone, such as ","',
    "skip_rows = true\n": "x.toml:1: skip_rows: true is not a whole number; write it without quotes or decimals: skip_rows = 12",
    'skip_rows = "3"\n': 'x.toml:1: skip_rows: "3" is not a whole number; write it without quotes or decimals: skip_rows = 3',
    "skip_rows = 1.5\n": "x.toml:1: skip_rows: 1.5 is not a whole number; write it without quotes or decimals: skip_rows = 12",
    "skip_rows = -1\n": "x.toml:1: skip_rows: -1 cannot be; write a number that is at least 0",
    "skip_rows = 99999999999999999999\n": "x.toml:1: skip_rows: 99999999999999999999 cannot be; write a number that is at most 1000000",
    "decimal_char = 'x'\n": 'x.toml:1: decimal_char: "x" is not one of the choices; write "." or ","',
    "decimal_char = ','\ngroup_char = ','\n": 'x.toml:2: group_char: "," cannot be both group_char and decimal_char; mend one of the two',
    "null = '-'\n": 'x.toml:1: null: "-" is not a list; write null = ["...", "..."]',
    "null = ['-', 5]\n": 'x.toml:1: null#2: 5 is not text; put it in quotes: null = "..."',
    "encoding = 'base64'\n": 'x.toml:1: encoding: no text is written in "base64"; write "utf-8", "utf-16" or "windows-1252"',
    "encoding = 'idna'\n": 'x.toml:1: encoding: no text is written in "idna"; write "utf-8", "utf-16" or "windows-1252"',
    "time_format = 'YYYY-MM-DD'\n": 'x.toml:1: time_format: "YYYY-MM-DD" is not a pattern of times; write one such as "%d.%m.%Y %H:%M:%S", or one of: epoch_s, epoch_ms, epoch_us, epoch_ns, elapsed_s, elapsed_ms, elapsed_min, elapsed_h',
    "time_origin = 1700000000\n": 'x.toml:1: time_origin: 1700000000 is not a date and time; write time_origin = "2024-01-01T00:00:00Z"',
    "name_column = 'a'\n": 'x.toml:1: name_column: needs value_column beside it: a log with one row a value has both; add value_column = "..."',
    '[columns]\n"Oil [bar]" = "oil_kpa"\n': 'x.toml:2: columns."Oil [bar]": "oil_kpa" stands where a column\'s table belongs; write [columns."Oil [bar]"] and below it signal = "oil_kpa"',
    '[columns]\n"Oil [bar]".signal = "oil_kpaa"\n': 'x.toml:2: columns."Oil [bar]".signal: no signal is called "oil_kpaa"; did you mean oil_kpa?',
    "[columns.Oil]\nsignal = 'oil_kpa'\nunit = 'V'\n": 'x.toml:3: columns.Oil.unit: "V" is a unit of voltage, and oil_kpa is a pressure; write the unit that the log has, such as "kPa", or mend the signal',
    "[columns.Oil]\ntime_column = 'T'\n": "x.toml:2: columns.Oil.time_column: this key belongs at the top of the layout; move it above the first line in square brackets",
    "[columns.Oil]\nsignal = \n": "x.toml:2: the layout is not TOML here: the key has no value; give it one, or take the line out",
}  # fmt: skip


@pytest.mark.parametrize("text", LAYOUTS)
def test_a_wrong_layout_is_one_line(tmp_path: Path, text: str) -> None:
    assert told(tmp_path, text, load_layout) == [LAYOUTS[text]]


def test_a_date_to_come_is_told_with_today(tmp_path: Path) -> None:
    coming = date.today() + timedelta(days=400)
    assert told(tmp_path, f"{A}service.last_date = {coming}\n") == [
        f'x.toml:2: sets."A.1".service.last_date: {coming} is in the future (today is {date.today()}); mend the date'
    ]
    assert told(tmp_path, f"{A}service.last_date = {date.today()}\n") == []


def test_figures_that_can_be_are_taken(tmp_path: Path) -> None:
    text = f"{A}rated_kw = 12\nrated_voltage_v = 400.0\nrated_frequency_hz = 50.0\nfuel_curve = [[0, 1], [1, 4]]\nlimits.coolant_high_c = 99\ncommissioned = '2025-03-14'\n"
    assert told(tmp_path, "\ufeff" + text.replace("\n", "\r\n")) == []
    entry = load_register(tmp_path / "x.toml").of("A.1")
    assert entry.commissioned == date(2025, 3, 14)
    assert (entry.rated_kw, entry.rated_frequency_hz, entry.fuel_curve) == (12.0, 50, [(0.0, 1.0), (1.0, 4.0)])
    assert told(tmp_path, text.replace("\n", "\r")) == []


@pytest.mark.parametrize("kind", ["register", "layout"])
def test_what_is_no_text_file_is_told(tmp_path: Path, kind: str) -> None:
    load: Load = load_register if kind == "register" else load_layout
    given_as = (
        f"is a log, not a {kind}; name it as PATH, and give a {kind}{' file' * (kind == 'layout')} (TOML) with --{kind}"
    )
    assert told(tmp_path, b"PK\x03\x04 and more", load) == [f"x.toml: {given_as}"]
    assert told(tmp_path, "Time,Volt\n", load, "log.csv") == [f"log.csv: {given_as}"]
    assert told(tmp_path, "a = 1".encode("utf-16"), load) == [f"x.toml: the {kind} is not UTF-8 text; save it as UTF-8"]
    assert told(tmp_path, "\n\na = 'ä'".encode("latin-1"), load) == [
        f"x.toml:3: the {kind} is not UTF-8 text; save it as UTF-8"
    ]
    assert told(tmp_path, b"a" * ((32 << 20) + 1), load) == [
        f"x.toml: is larger than 32 MiB, so it is no {kind}; check the name given with --{kind}"
    ]
    for path, said in ((tmp_path, f"is a folder, not a {kind}; name the file in it with --{kind}"), (tmp_path / "no", f"there is no such {kind}; check the name given with --{kind}")):  # fmt: skip
        with pytest.raises(InputError) as caught:
            load(path)
        assert [problem_line(p) for p in caught.value.problems] == [f"{path}: {said}"]


def test_every_fault_is_told_at_once_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = "[sets.B.limits]\ncoolant_high_c = 300\noil_lo_kpa = 1\n[defaults]\nsite = 1\n[sets.B]\nrated_kw = -1\nx = 1\n[other]\n[sets.A]\nrated_kw = 0\n"
    lines = told(tmp_path, text)
    assert [line.split(": ")[0] for line in lines] == [f"x.toml:{n}" for n in (2, 3, 5, 7, 8, 9, 11)]


def test_faults_without_end_are_counted(tmp_path: Path) -> None:
    lines = told(tmp_path, "".join(f"[sets.S{n}]\nrated_kv = {n}\n" for n in range(1000)))
    assert len(lines) == 51
    assert lines[49].startswith("x.toml:100: sets.S49.rated_kv: ")
    assert lines[50] == "x.toml:102: 950 more keys from here on will not do; mend those above and try again"


def test_limits_of_the_register_s_defaults_count_for_its_sets(tmp_path: Path) -> None:
    text = "[defaults.limits]\noil_warn_kpa = 120\n[sets.A.limits]\noil_low_kpa = 130\n[sets.B.limits]\noil_low_kpa = 110\n"
    assert told(tmp_path, text) == [
        "x.toml:4: sets.A.limits.oil_low_kpa: 130 is above oil_warn_kpa = 120, which must be the higher one; mend one of the two"
    ]


def test_the_default_limits_keep_to_their_order() -> None:
    assert list(crossed({limit.name: limit.value for limit in LIMITS})) == []
    assert all(BY_NAME[low].unit == BY_NAME[high].unit for low, high in ORDER)


def test_a_file_is_told_by_keys_that_its_kind_has() -> None:
    assert OWN_KEYS["register"] == set(Register.model_fields)
    assert OWN_KEYS["layout"] <= set(Layout.model_fields)


@pytest.mark.parametrize(
    ("register", "logs", "pairs"),
    [
        (["HILL01"], ["HILL-01"], [("HILL01", "HILL-01")]),
        (["hill-1", "B"], ["HILL-001", "B"], [("hill-1", "HILL-001")]),
        (["PUMP-O1", "X"], ["PUMP-01"], [("PUMP-O1", "PUMP-01")]),
        (["PMUP-01", "PUMP-02"], ["PUMP-01", "PUMP-02"], [("PMUP-01", "PUMP-01")]),
        ([f"PUMP-{n:02}" for n in range(9)], ["PUMP-09"], []),
        (["PUMP-01", "HUT-02"], ["PUMP-01"], []),
        (["A"], ["WELL-1"], []),
        (["A"], ["A"], []),
    ],
)
def test_ids_that_a_typing_error_parts(register: list[str], logs: list[str], pairs: list[tuple[str, str]]) -> None:
    assert unmatched(register, logs) == pairs


def test_ten_thousand_ids_are_compared_at_once() -> None:
    assert unmatched([f"set {n}" for n in range(10_000)], [f"SET-{n}" for n in range(5, 10_005)])[:1] == [
        ("set 10", "SET-10")
    ]


REGISTER = """\
# rated_kw = 1
[defaults]
time_zone = "Europe/Vienna"
[sets."A.1"]
site = "[sets.B] # rated_kw = 5"
rated_kw = 16.0
battery_nominal_v = 12
charger = true
tank_shape = [[0, 0], [50, 60], [100, 110]]
fuel_curve = [
  [0.25, 2.0], # rated_kw
  [1.0, 5.1],
]
commissioned = 2025-03-14
exercise = { every_days = 7, minutes = 20 }
service.every_hours = 250
[sets."A.1".limits]
coolant_high_c = 98
"""
LAYOUT = """\
delimiter = ";"
skip_rows = 3
null = ["", "-"]
time_zone = "Europe/Vienna"
time_origin = "2024-01-01T00:00:00Z"
time_format = "%d.%m.%Y"
[columns."Öl [bar]"]
signal = "oil_kpa"
unit = "bar"
"""
PIECES = st.sampled_from(
    ["", "[", "]", "[[", "{", "}", '"', "'", '"""', "=", ",", ".", "#", "\n", "\\", "\x00", "\u2028", "\r", "é", "true", "nan", "-1", "1e999",
     "0x" + "f" * 400, "9" * 5000, "2062-01-01", "07:30:00", "1979-05-27 07:32:00", "[sets]\n", "a.b.c = 1\n", "rated_kw = 5\n", "[1]", "{a = 1}", '"x"', "[columns]\n", "." * 300]
)  # fmt: skip


@st.composite
def mutated(draw: st.DrawFn, text: str) -> str:
    for _ in range(draw(st.integers(1, 4))):
        lines = text.split("\n")
        kind = draw(st.sampled_from(["put", "swap", "value", "line"]))
        if kind == "put":
            at = draw(st.integers(0, len(text)))
            text = text[:at] + draw(PIECES) + text[draw(st.integers(at, min(at + 6, len(text)))) :]
        elif kind == "swap":
            one, other = draw(st.integers(0, len(lines) - 1)), draw(st.integers(0, len(lines) - 1))
            lines[one], lines[other] = lines[other], lines[one]
            text = "\n".join(lines)
        else:
            at = draw(st.integers(0, len(lines) - 1))
            key, equals, _ = lines[at].partition(" = ")
            lines[at] = f"{key} = {draw(PIECES)}" if kind == "value" and equals else draw(PIECES)
            text = "\n".join(lines)
    return text


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("settings")


def holds(path: Path, text: str, load: Load) -> None:
    """A text gives settings, or problems that each have a sentence and a line of the file."""
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    lines = text.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            load(path)
    except InputError as error:
        problems = error.problems
    else:
        return
    assert problems
    for problem in problems:
        line = problem_line(problem)
        assert "\n" not in line
        assert "Input should" not in line
        assert problem.line is None or 1 <= problem.line <= lines, line
        whole = problem.code.endswith(("_empty", "_is_log", "_not_utf8", "_is_layout", "_is_register"))
        assert problem.line is not None or whole, line


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(mutated(REGISTER) | st.text(max_size=80))
@example("[sets.A]\nrated_kw = 0x" + "f" * 400)
@example("a = " + "{a = " * 300)
def test_any_text_is_a_register_or_told(folder: Path, text: str) -> None:
    holds(folder / "sets.toml", text, load_register)


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(mutated(LAYOUT) | st.text(max_size=80))
def test_any_text_is_a_layout_or_told(folder: Path, text: str) -> None:
    holds(folder / "mine.toml", text, load_layout)
