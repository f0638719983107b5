"""Whatever the form of a log: the same readings to the last digit, or refused with a reason. Whatever the damage: no row lost."""

from __future__ import annotations

import tempfile
from datetime import datetime, timedelta
from pathlib import Path

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.support.reader import Got, read_text

BEGIN = datetime(2026, 1, 9, 22, 0, 0)
DATES = {
    "%Y-%m-%dT%H:%M:%SZ": "iso", "%Y-%m-%d %H:%M:%S": "iso", "%d/%m/%Y %H:%M:%S": "three", "%m/%d/%Y %H:%M:%S": "three",
    "%d.%m.%Y %H:%M": "three", "%Y/%m/%d %I:%M:%S %p": "iso", "%d-%b-%Y %H:%M:%S": "named", "epoch": "epoch",
}  # fmt: skip
SETTINGS = settings(max_examples=120, deadline=None)

volts = st.integers(min_value=0, max_value=39999).map(lambda n: n / 1000)
degrees = st.integers(min_value=-400, max_value=1500).map(lambda n: n / 10)
maybe = st.one_of(volts, st.none())


def read(data: bytes) -> Got:
    with tempfile.TemporaryDirectory() as folder:
        return read_text(Path(folder), data)


def spelled(value: float | None, decimal: str, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}".replace(".", decimal)


@SETTINGS
@given(
    rows=st.lists(st.tuples(maybe, degrees), min_size=6, max_size=40),
    step_min=st.integers(min_value=1, max_value=3000),
    delimiter=st.sampled_from([",", ";", "\t", "|"]),
    decimal=st.sampled_from([".", ","]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "windows-1252"]),
    quoted=st.sampled_from(["none", "text", "all"]),
    preamble=st.sampled_from(["", "Set: P 9{end}", "Report of plant{end}{end}Set: P 9{end}", "sep={delimiter}{end}"]),
    units_row=st.booleans(),
    form=st.sampled_from(list(DATES)),
    end=st.sampled_from(["\n", "\r\n", "\r"]),
    last_end=st.booleans(),
)
def test_the_form_of_a_log_never_changes_its_readings(
    rows: list[tuple[float | None, float]], step_min: int, delimiter: str, decimal: str, encoding: str, quoted: str,
    preamble: str, units_row: bool, form: str, end: str, last_end: bool,
) -> None:  # fmt: skip
    # A comma that is both mark and delimiter can be told apart by quotes only
    assume(not (decimal == "," and delimiter == "," and quoted != "all"))

    def cell(text: str, *, is_text: bool) -> str:
        return f'"{text}"' if quoted == "all" or (quoted == "text" and is_text) else text

    def line(cells: list[str], *, is_text: bool) -> str:
        return delimiter.join(cell(c, is_text=is_text) for c in cells)

    at = [BEGIN + timedelta(minutes=step_min * n) for n in range(len(rows))]
    told = any(t.day > 12 for t in at)
    names = ["Battery voltage", "Coolant temperature"]
    units = ["V", "°C"]
    head = ["Time", *(names if units_row else [f"{n} [{u}]" for n, u in zip(names, units, strict=True)])]
    text = [line(head, is_text=True)]
    if units_row:
        text.append(line(["", *units], is_text=True))
    for t, (volt, degree) in zip(at, rows, strict=True):
        stamp = str(round((t - datetime(1970, 1, 1)).total_seconds())) if form == "epoch" else t.strftime(form)
        text.append(line([stamp, spelled(volt, decimal, 3), spelled(degree, decimal, 1)], is_text=False))
    whole = preamble.format(end=end, delimiter=delimiter) + end.join(text) + (end if last_end else "")
    got = read(whole.encode(encoding))
    if got.readings.problems and any(p.fatal for p in got.readings.problems):
        assert DATES[form] == "three", got.line
        assert not told, got.line
        assert got.problem.code == "ambiguous_dates"
        return
    assert got.file.rows_accepted == len(rows)
    assert got.raw.frame["at"].dt.replace_time_zone(None).to_list() == at
    if any(volt is not None for volt, _ in rows):
        assert got.raw.frame["battery_v"].to_list() == [volt for volt, _ in rows]
    assert got.raw.frame["coolant_c"].to_list() == [degree for _, degree in rows]


JUNK = (
    "",
    "x",
    "---",
    "1e400",
    "12,6",
    '"',
    '""',
    '"a',
    "65535",
    "\x00",
    "2026-01-05",
    "é",
    "=1+1",
    "1;2;3",
    "a,b,c,d,e",
    "\n",
    "\n\n",
)


@st.composite
def damage(draw: st.DrawFn) -> bytes:
    n = draw(st.integers(min_value=4, max_value=30))
    at = [BEGIN + timedelta(minutes=i) for i in range(n)]
    lines = ["Time,Battery voltage [V],Mode", *(f"{t:%Y-%m-%dT%H:%M:%SZ},12.{i:02},auto" for i, t in enumerate(at))]
    for _ in range(draw(st.integers(min_value=1, max_value=6))):
        where = draw(st.integers(min_value=1, max_value=len(lines) - 1))
        kind = draw(st.sampled_from(["cell", "cut", "double", "drop", "header"]))
        if kind == "cell":
            cells = lines[where].split(",")
            cells[draw(st.integers(min_value=0, max_value=len(cells) - 1))] = draw(st.sampled_from(JUNK))
            lines[where] = ",".join(cells)
        elif kind == "cut":
            lines[where] = lines[where][: draw(st.integers(min_value=0, max_value=len(lines[where])))]
        elif kind == "double":
            lines.insert(where, lines[where])
        elif kind == "header":
            lines.insert(where, lines[0])
        elif len(lines) > 4:
            del lines[where]
    data = "\n".join(lines).encode()
    return data[: draw(st.integers(min_value=len(data) // 2, max_value=len(data)))]


@SETTINGS
@given(damage())
def test_no_row_disappears_whatever_the_damage(data: bytes) -> None:
    got = read(data)
    if not got.readings.files:
        assert any(p.fatal for p in got.readings.problems)
        return
    file = got.file
    assert file.rows_read == file.rows_accepted + file.rows_refused + file.rows_repeated
    assert file.rows_accepted == got.frame.height
    costs = got.readings.refused["cost"].to_list()
    assert costs.count("row") == file.rows_refused
    assert costs.count("cell") == file.cells_emptied
    # Seen from outside: each physical line that is not blank is a row, unless quotes joined it to another
    body = [line for line in data.decode("utf-8", errors="replace").split("\n")[1:] if line.strip(" \t\r\x1a")]
    if b'"' not in data:
        assert file.rows_read == len(body)
    assert file.rows_read <= len(body)
    # What was read stands in the file where it is said to stand, and is a time and number of that line (the second
    # stage may re-time a row whose clock was reset)
    physical = data.decode("utf-8", errors="replace").split("\n")
    for at, volt, line in (
        got.raw.frame.select("at", "battery_v", "line").iter_rows() if "battery_v" in got.raw.frame.columns else ()
    ):
        assert at.strftime("%Y-%m-%d") in physical[line - 1]
        if volt is not None and '"' not in physical[line - 1]:
            assert float(physical[line - 1].split(",")[1]) == volt
