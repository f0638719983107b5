"""The layout that is printed for a log: it reads back to itself, and reads the log the same."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from startworthy.read import understand
from startworthy.read.layout import NUMERIC_TIMES, ColumnLayout, Layout, load_layout
from startworthy.signals import SIGNALS, Quantity
from tests.support.reading import read_text, values


def load(folder: Path, text: str) -> Layout:
    path = folder / "layout.toml"
    path.write_text(text, encoding="utf-8")
    return load_layout(path)


NUMBERS = [s.name for s in SIGNALS if s.quantity is Quantity.PRESSURE or s.quantity is Quantity.VOLTAGE]
TEXT = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Z", "Cc"]), min_size=1, max_size=12)
COLUMNS = st.dictionaries(
    TEXT,
    st.one_of(
        st.just(ColumnLayout()),
        st.sampled_from(NUMBERS).map(lambda s: ColumnLayout(signal=s)),
        st.sampled_from(["bar", "psi", "kPa"]).map(lambda u: ColumnLayout(signal="oil_kpa", unit=u)),
    ),
    max_size=4,
)
LAYOUTS = st.builds(
    Layout,
    encoding=st.sampled_from([None, "utf-8", "utf-16", "windows-1252"]),
    delimiter=st.sampled_from([None, ",", ";", "\t", "|"]),
    quote_char=st.sampled_from([None, '"', "'"]),
    skip_rows=st.none() | st.integers(0, 99),
    header_row_count=st.sampled_from([None, 0, 1, 2]),
    decimal_char=st.sampled_from([None, ".", ","]),
    group_char=st.sampled_from([None, "", "'", " "]),
    null=st.none() | st.lists(TEXT, max_size=3).map(tuple),
    time_column=st.none() | TEXT,
    time_format=st.sampled_from([None, "%d.%m.%Y %H:%M", *NUMERIC_TIMES]),
    date_order=st.sampled_from([None, "dmy", "mdy", "ymd"]),
    time_zone=st.sampled_from([None, "Europe/Berlin"]),
    time_origin=st.none() | st.datetimes(),
    set_id=st.none() | TEXT,
    columns=COLUMNS,
)


@given(LAYOUTS)
def test_what_is_printed_reads_back_to_the_same(tmp_path_factory: pytest.TempPathFactory, layout: Layout) -> None:
    folder = tmp_path_factory.mktemp("layout")
    assert load(folder, layout.to_toml()) == layout


LOGS = {
    "plain": "Time,Battery voltage,Mode,Other\n2024-01-31 05:00:00,12.6,AUTO,1\n2024-01-31 05:01:00,12.7,OFF,2\n",
    "european": "Set: A\n\nDatum;Time;Battery voltage;Coolant;x\n;;V;°C;\n31.01.2024;05:00:00;12,6;-5,1;x\n31.01.2024;05:01:00;12,7;-5;x\n",
    "fractions": "Time;Battery [V]\n31/01/2024 05:00:00,5;12.6\n31/01/2024 05:00:01,0;12.7\n",
    "offset": "Time,Battery [V]\n2024-01-31T05:00:00+02:00,12.6\n2024-01-31T05:00:01+02:00,12.7\n",
    "noon": "Time,Battery [V]\n1/31/2024 5:00:00 p.m.,12.6\n1/31/2024 5:00:01 p.m.,12.7\n",
    "epoch": "ts,Battery [V]\n1706677200,12.6\n1706677260,12.7\n",
    "sets": "Time,Set,Battery [V]\n2024-01-31 05:00:00,A,12.6\n2024-01-31 05:00:00,B,12.7\n",
    "long": "Time,Signal,Value,Unit\n2024-01-31 05:00:00,Battery,12.6,V\n2024-01-31 05:00:01,Battery,12.7,V\n",
}


@pytest.mark.parametrize("name", LOGS)
def test_a_file_reads_the_same_with_the_layout_that_was_printed_for_it(tmp_path: Path, name: str) -> None:
    first = read_text(tmp_path, LOGS[name])
    (understood,) = understand(tmp_path / "HILL-01.csv", zone_of=lambda _: "UTC")
    assert understood.layout is not None
    again = read_text(tmp_path, LOGS[name], layout=load(tmp_path, understood.layout.to_toml()))
    assert first.problems == again.problems == ()
    assert values(first, "battery_v") == [12.6, 12.7]
    assert again.frame.equals(first.frame)


def test_what_is_understood_of_a_log(tmp_path: Path) -> None:
    (tmp_path / "HILL-01.csv").write_text(LOGS["plain"])
    (got,) = understand(tmp_path / "HILL-01.csv", zone_of=lambda _: "UTC")
    assert got.rows == 2
    assert got.first_rows[0] == ("Time", "Battery voltage", "Mode", "Other")
    assert got.first_rows[1] == ("2024-01-31 05:00:00", "12.6", "AUTO", "1")
    assert [(c.header, c.signal) for c in got.columns] == [
        ("Battery voltage", "battery_v"), ("Mode", "mode"), ("Other", None),
    ]  # fmt: skip
    assert got.set_ids == ("HILL-01",)
    assert got.first_at is not None
    assert got.last_at is not None
    assert (got.last_at - got.first_at).total_seconds() == 60
    assert got.layout is not None
    assert got.layout.columns["Battery voltage"] == ColumnLayout(signal="battery_v", unit="V")
    assert got.layout.columns["Other"] == ColumnLayout()


def test_what_is_understood_of_a_log_that_is_refused(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text("Run time [s],Battery [V]\n0,12.6\n1,12.7\n")
    (got,) = understand(tmp_path / "log.csv", zone_of=lambda _: "UTC")
    assert [p.code for p in got.problems] == ["elapsed_time"]
    assert got.rows is None
    assert got.layout is not None
    assert got.layout.columns["Battery [V]"].signal == "battery_v"
