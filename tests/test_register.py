"""The register: laid over its defaults, and each fault told with line, key and the nearest known one."""

from __future__ import annotations

from pathlib import Path

import pytest

from startworthy.limits import LIMITS, Limit, Limits
from startworthy.problems import InputError
from startworthy.register import Register, find_register, load_register
from startworthy.words import problem_line

TEXT = """\
[defaults]
time_zone = "Europe/Vienna"
battery_nominal_v = 12

[sets."A-1"]
rated_kw = 10
[sets."A-1".exercise]
every_days = 7

[sets."B"]
battery_nominal_v = 24
[sets."B".limits]
coolant_high_c = 96
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "sets.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_an_entry_lies_over_the_defaults_key_by_key(tmp_path: Path) -> None:
    register = load_register(written(tmp_path, TEXT))
    assert register.of("A-1").battery_nominal_v == 12
    assert register.of("A-1").exercise.every_days == 7
    assert register.of("B").battery_nominal_v == 24
    assert register.zone_of("B") == register.zone_of("nobody") == "Europe/Vienna"
    assert Limits(register.of("B").limits)["coolant_high_c"].basis == "register"
    assert Limits(register.of("A-1").limits)["coolant_high_c"].value == 100


@pytest.mark.parametrize(
    ("wrong", "line", "told"),
    [
        ("rated_kw = 10", "rated_kv = 10", ["sets.toml:6: sets.A-1.rated_kv:", "rated_kw"]),
        ("every_days = 7", "evry_days = 7", ["sets.toml:8: sets.A-1.exercise.evry_days:", "every_days"]),
        ("coolant_high_c = 96", "coolant_hi_c = 96", ["coolant_high_c"]),
        ("coolant_high_c = 96", "coolant_high_c = 9600", ["9600"]),
        ('"Europe/Vienna"', '"Europe/Wien"', ["sets.toml:2: defaults.time_zone:", "Europe/Wien"]),
        ("battery_nominal_v = 24", "battery_nominal_v = 36", ["sets.toml:11:", "36"]),
        ("rated_kw = 10", "rated_kw = -3", ["sets.toml:6:", "-3"]),
        ("rated_kw = 10", "rated_kw 10", ["sets.toml:6:"]),
        ("rated_kw = 10", "tank_shape = [[0, 0], [50, 40], [100, 40]]", ["sets.toml:6:", "must rise"]),
        ("rated_kw = 10", "fuel_curve = [[0.5, 2.0], [1.0, 1.9]]", ["sets.toml:6:", "does not fall"]),
    ],
)
def test_a_fault_is_one_line_with_its_place(tmp_path: Path, wrong: str, line: str, told: list[str]) -> None:
    path = written(tmp_path, TEXT.replace(wrong, line))
    with pytest.raises(InputError) as caught:
        load_register(path)
    lines = [problem_line(p) for p in caught.value.problems]
    assert len(lines) == 1
    assert "\n" not in lines[0]
    for part in told:
        assert part in lines[0]


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    path = written(tmp_path, TEXT.replace("rated_kw = 10", "rated_kv = 10").replace("every_days", "days"))
    with pytest.raises(InputError) as caught:
        load_register(path)
    assert [p.line for p in caught.value.problems] == [6, 8]


@pytest.mark.parametrize(
    ("logs", "lines"),
    [
        (["A-1", "B"], []),
        (["A-1"], []),
        ([], []),
        (["A1", "B"], [
            ("{}:5: sets.A-1: no log has this set, and the register lacks set \"A1\" of the logs, which looks like it; "
            "nothing of this table was used; if they are one, write the id as the log does")
        ]),
        (["WELL-7", "WELL-8"], [
            ("{}:5: sets: none of these sets is in the logs (there: \"WELL-7\", \"WELL-8\"), so that nothing of their tables "
            "was used; write the ids as the logs do, or name another register")
        ]),
    ],
)  # fmt: skip
def test_a_set_that_no_log_has_is_told(tmp_path: Path, logs: list[str], lines: list[str]) -> None:
    path = written(tmp_path, TEXT)
    notes = load_register(path).unused(logs)
    assert [problem_line(note) for note in notes] == [line.format(path) for line in lines]
    assert not any(note.fatal for note in notes)


def test_it_is_found_beside_the_logs(tmp_path: Path) -> None:
    path = written(tmp_path, TEXT)
    assert find_register([tmp_path]) == path
    assert find_register([tmp_path / "log.csv"]) == path
    assert find_register([tmp_path / "elsewhere" / "log.csv"]) is None
    assert Register().of("A").rated_kw is None


@pytest.mark.parametrize("limit", LIMITS, ids=lambda limit: limit.name)
def test_a_value_on_the_edge_does_not_break_a_limit(limit: Limit) -> None:
    step = max(abs(limit.value) * 1e-6, 1e-9)
    assert not limit.broken_by(limit.value)
    assert limit.broken_by(limit.value + step) == (limit.side == "above")
    assert limit.broken_by(limit.value - step) == (limit.side == "below")


def test_a_published_limit_names_its_source_and_a_wild_one_is_refused() -> None:
    with pytest.raises(ValueError, match="names its source"):
        Limit("x", 1.0, "V", "below", "published", "", (0.0, 2.0))
    with pytest.raises(ValueError, match="outside"):
        Limits({"coolant_high_c": 20.0})
    with pytest.raises(KeyError, match="did you mean coolant_high_c"):
        Limits({"coolant_hig_c": 99.0})
