"""Inputs that a fuzzer found to break something, each with what was wrong. They are read as the fuzzer reads them:
no error may come out, every problem is one line, rows add up, lines and values are possible (tests/bench/fuzz_target.py).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.fuzz_seeds import seeds
from tests.bench.fuzz_target import KINDS, Broken, look, packed, unpack

FOUND = {
    "a time with a zone among times without one, in a file of one date": packed(
        "c", 1, b"0,[\n1-3-28T3:25:00Z", short_sample=True
    ),
    "a control character in a line of a bad row was taken for a delimiter": packed(
        "t",
        31,
        b"s,0,off,mains ok\n2000:8,kelvin,manual,\n2026-07-28,23:42:0:08,12.20,l,\x01_br]26-0temp026-03-28,22,12.20",
    ),
    "a control character in a line, when times were looked at": packed(
        "c",
        31,
        b",Speed [rpm],Mode,Alarm\n26-03-08,12.20,24,1500\x01\x00\x00\x00\x00\x006,11.80,28,0,manual,\n26-03-29 00:16,11.80,28,0,m",
    ),
    "a chart with more room around it than the calendar has, after rows centuries apart": packed(
        "n", 0, b"e,Alarm\n2026-3-8T2:0\n2626-3-8T7:00"
    ),
    "lines that end in a carriage return alone, in a log read in pieces: no row of it came out, and no word": packed(
        "P", 31, b"Time,Battery voltage [V]\r" + b"".join(b"2026-01-01T00:%02d:00Z,12.5\r" % n for n in range(30))
    ),
    "a fault of a layout as a whole, which has no key": packed("l", 31, b'name_column=""\nunit_column=""'),
}


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("what", FOUND)
def test_what_a_fuzzer_found_stays_mended(tmp_path: Path, what: str) -> None:
    assert look(FOUND[what], tmp_path) in {
        "read", "refused", "settings refused", "logbook", "report", "in pieces",
    }  # fmt: skip
    assert list(tmp_path.iterdir()) in ([], [tmp_path / "report"])


def test_an_input_of_any_kind_can_be_packed_and_taken_apart() -> None:
    for n, kind in enumerate(KINDS):
        case = unpack(packed(kind, n, b"Time,x\n", short_sample=n % 2 == 0))
        assert (case.depth, case.short_sample) == (n, n % 2 == 0)
        assert case.files
    assert unpack(b"").files == {"P-1.csv": b""}
    assert len({*seeds()}) > 150


def test_the_fuzzer_sees_a_row_that_is_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A promise that is broken is told: else the fuzzer would find nothing for ever."""
    import dataclasses

    from tests.bench import fuzz_target

    whole = packed("c", 31, fuzz_target.PLAIN_LOG)
    assert look(whole, tmp_path) == "read"
    read = fuzz_target.read_paths

    def loses_one(*paths: object, **how: object) -> object:
        raw = read(*paths, **how)  # type: ignore[arg-type]
        return dataclasses.replace(raw, frame=raw.frame.head(-1))

    monkeypatch.setattr(fuzz_target, "read_paths", loses_one)
    with pytest.raises(Broken, match="71 rows, counts say"):
        look(whole, tmp_path)
