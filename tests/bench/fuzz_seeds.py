"""What the fuzzer begins with: small logs of every form and damage, archives, layouts, registers; and its dictionary.

python -m tests.bench.fuzz_seeds FOLDER
"""

from __future__ import annotations

import gzip
import hashlib
import io
import sys
import zipfile
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import polars as pl

from startworthy.signals import BY_NAME, UNITS
from tests.bench.fuzz_target import KINDS, MARK, PLAIN_LOG, packed

ROOT = Path(__file__).resolve().parents[2]
T0 = datetime(2026, 3, 28, 22, 0)
FORMS = (
    "%Y-%m-%dT%H:%M:%SZ", "%Y-%m-%d %H:%M:%S", "%d/%m/%Y %H:%M:%S", "%m/%d/%Y %I:%M:%S %p", "%d.%m.%Y %H:%M", "%d-%b-%Y %H:%M",
    "%Y%m%d%H%M%S", "%y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S.%f+02:00", "%d/%m/%y %H:%M", "%b %d, %Y %H:%M", "%s",
)  # fmt: skip
HEAD = ("Time", "Battery voltage [V]", "Coolant temperature [°C]", "Speed [rpm]", "Mode", "Alarm")


def rows(form: str = FORMS[0], n: int = 9, step_min: float = 17.0, decimal: str = ".") -> list[list[str]]:
    """A small log as cells, header first."""
    out = [list(HEAD)]
    for i in range(n):
        at = T0 + timedelta(minutes=step_min * i)
        stamp = str(int((at - datetime(1970, 1, 1)).total_seconds())) if form == "%s" else at.strftime(form)
        volts = f"{12.6 - i / 10:.2f}".replace(".", decimal)
        out.append(
            [
                stamp,
                volts,
                str(20 + i),
                str(1500 if i in (3, 4) else 0),
                ("auto", "off", "manual")[i % 3],
                "low oil" if i == 4 else "",
            ]
        )
    return out


def text(cells: list[list[str]], delimiter: str = ",", end: str = "\n", quote: str = "") -> str:
    """Cells as delimited text."""
    return "".join(delimiter.join(f"{quote}{c}{quote}" for c in row) + end for row in cells)


def logs() -> Iterator[bytes]:
    """Plain logs, one for each form."""
    yield PLAIN_LOG
    for form in FORMS:
        yield text(rows(form)).encode()
    for delimiter in ";\t| ":
        yield text(rows(decimal="," if delimiter != " " else "."), delimiter).encode()
    for encoding in ("utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "windows-1252"):
        yield text(rows()).encode(encoding)
    for end in ("\r\n", "\r"):
        yield text(rows(), end=end).encode()
    yield text(rows(), quote='"').encode()
    yield text(rows(), quote="'").encode()
    yield ("sep=;\n" + text(rows(decimal=","), ";")).encode()
    yield ("Plant report\nSet: P 9\n\n" + text(rows())).encode()
    units = rows()
    units[0] = ["Time", "Battery voltage", "Coolant temperature", "Speed", "Mode", "Alarm"]
    yield text([units[0], ["", "V", "°C", "rpm", "", ""], *units[1:]]).encode()
    yield text(rows()[1:]).encode()
    split = [[row[0][:10], row[0][11:19], *row[1:]] for row in rows()]
    split[0][:2] = ["Date", "Clock"]
    yield text(split).encode()
    names = [[*row, f"SET-{i % 2}"] for i, row in enumerate(rows())]
    names[0][-1] = "Set ID"
    yield text(names).encode()
    longer = [["Time", "Signal", "Value", "Unit"]]
    longer += [
        [row[0], name, value, unit]
        for row in rows()[1:]
        for name, value, unit in (("Battery voltage", row[1], "V"), ("Speed", row[3], "rpm"))
    ]
    yield text(longer).encode()
    elapsed = [[str(60 * i), *row[1:]] for i, row in enumerate(rows())]
    elapsed[0][0] = "Elapsed time [s]"
    yield text(elapsed).encode()
    back = rows()
    yield text([back[0], *back[5:], *back[1:6]]).encode()
    yield text([back[0], *(["1970-01-01T00:00:00Z", *r[1:]] for r in back[1:3]), *back[3:]]).encode()


def damaged() -> Iterator[bytes]:
    """The kinds of damage that the reader's tests know."""
    plain = text(rows()).encode()
    line = plain.split(b"\n")
    yield from (
        b"",
        b"\n\n  \n",
        b"\xef\xbb\xbf",
        b"\x00" * 200,
        line[0],
        bytes(range(256)) * 4,
        b"%PDF-1.7\n" + b"x" * 40,
    )
    yield plain.replace(b"12.30", b"12.3\x00\x00") + b"\x00" * 12
    yield plain.replace(b"12.30", b"12\xff3")
    yield b"\n".join([*line[:4], line[0], *line[4:]])
    yield plain + b"End of export, 9 rows\n"
    yield b"\n".join([*line[:3], b"", b"   ", *line[3:]])
    yield plain.replace(b"low oil", b'"low oil\npressure, ""hot"""')
    yield plain.replace(b"low oil", b'"low oil')
    yield plain.replace(b"low oil", b'"no"ne"x"')
    yield b"\n".join([*line[:4], line[3], *line[4:]])
    yield plain[: len(plain) * 2 // 3]
    for junk in (
        b"65535",
        b"-9999",
        b"1e308",
        b"inf",
        b"nan",
        b"-0",
        b"---",
        b"12,6",
        b"=1+1",
        b"0x1F",
        b"1 234.5",
        b"a,b,c,d,e,f,g,h",
    ):
        yield plain.replace(b"12.30", junk)
    yield b"\n".join([line[0] + b"," + line[0], *line[1:]])
    yield b"\n".join([line[0] + b"," * 300, *(x + b"," * 300 for x in line[1:])])
    yield b"x" * 5000 + b"\n" + plain


LAYOUTS = (
    b'delimiter = ","\ntime_zone = "Europe/Lisbon"\n',
    b'encoding = "utf-16-le"\nskip_rows = 1\nheader_row_count = 2\nquote_char = ""\n',
    b'decimal_char = ","\ngroup_char = "."\nnull = ["x", "-9999"]\n',
    b'time_column = "Time"\ntime_format = "%Y-%m-%dT%H:%M:%SZ"\ndate_order = "dmy"\nset_id = "A"\n',
    b'header_row_count = 0\ntime_column = "#1"\n[columns."#2"]\nsignal = "battery_v"\nunit = "V"\n',
    b'time_column = "Clock"\ndate_column = "Date"\n[columns."Speed [rpm]"]\nsignal = ""\n',
    b'name_column = "Signal"\nvalue_column = "Value"\nunit_column = "Unit"\n',
    b'time_format = "epoch_ms"\ntime_origin = "2024-01-01T00:00:00Z"\nset_column = "Mode"\n',
    b'[columns."Battery voltage [V]"]\nsignal = "battery_v"\nunit = "mV"\n[columns."Coolant temperature [\xc2\xb0C]"]\nsignal = "coolant_c"\nunit = "degF"\n',
)
REGISTERS = (
    b'[defaults]\ntime_zone = "Europe/Berlin"\n',
    b'[sets."P-1"]\nsite = "Pump"\nrated_kw = 12.0\nrated_voltage_v = 230\nrated_frequency_hz = 50\nrated_rpm = 1500\nbattery_nominal_v = 12\nbattery_ah = 75\ntank_litres = 110\ntank_shape = [[0, 0], [50, 40], [100, 110]]\nfuel_curve = [[0.25, 1.4], [0.5, 2.2], [1.0, 4.0]]\nbattery_type = "agm"\naltitude_m = 250\ngovernor_class = "G1"\ncommissioned = 2025-03-14\n[sets."P-1".exercise]\nevery_days = 7\nminutes = 20\nmin_load_fraction = 0.3\n[sets."P-1".service]\nevery_hours = 250\nevery_months = 12\nlast_hours = 120.4\nlast_date = 2025-06-01\n[sets."P-1".limits]\ncoolant_high_c = 100\n',
    b'[sets."P-1"]\nrated_kv = 11\n',
    b'[sets."P-1"]\nrated_kw = -1e308\ntime_zone = "Mars"\n',
)


def archives() -> Iterator[tuple[str, bytes]]:
    """Whole archives and tables, as kind and bytes."""
    plain = text(rows()).encode()
    yield "g", gzip.compress(plain, mtime=0)
    yield "g", gzip.compress(plain, mtime=0)[:-9]
    yield "g", gzip.compress(plain, mtime=0) + gzip.compress(plain, mtime=0)
    for members in (
        {"a.csv": plain},
        {"../../b.csv": plain, "__MACOSX/._b.csv": b"x", "c/": b""},
        {"d.csv.gz": gzip.compress(plain), "readme.md": b"#"},
        {"a.csv": plain, "b.csv": text(rows(FORMS[4])).encode()},
    ):
        for method in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            out = io.BytesIO()
            with zipfile.ZipFile(out, "w", method) as archive:
                for name, content in members.items():
                    archive.writestr(zipfile.ZipInfo(name), content, method)
            yield "z", out.getvalue()
    frame = pl.read_csv(plain, try_parse_dates=True)
    for columns in (
        frame,
        frame.with_columns(pl.lit([1, 2]).alias("list"), pl.lit(b"x").alias("blob")),
        frame.with_columns(pl.col("Mode").cast(pl.Categorical)),
    ):
        out = io.BytesIO()
        columns.write_parquet(out, compression="uncompressed")
        yield "p", out.getvalue()


def seeds() -> Iterator[bytes]:
    """Every seed, ready for the fuzzer."""
    plain = [*logs(), *damaged()]
    for n, log in enumerate(plain):
        yield packed("c", 31, log)
        yield packed("aACtGZS"[n % 7], 31 if n % 9 else 1, log, short_sample=n % 3 == 0)
        yield packed("P", 31, log)
    for log in plain[:8]:
        yield packed("c", 0, log)
        yield packed("c", 1, log)
    yield packed("n", 1, plain[1] + MARK + plain[2])
    yield packed("n", 0, plain[1] + MARK + plain[1])
    for kind, content in archives():
        yield packed(kind, 31, content)
    for n, layout in enumerate(LAYOUTS):
        yield packed("l", 31, layout)
        yield packed("l", 31, layout + MARK + plain[n + 1])
    for n, register in enumerate(REGISTERS):
        yield packed("rR"[n % 2], 0 if n < 2 else 31, register)
    yield packed("X", 31, b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>Time</t></is></c><c r="B1" t="inlineStr"><is><t>Battery voltage [V]</t></is></c></row><row r="2"><c r="A2"><v>45678.5</v></c><c r="B2"><v>12.6</v></c></row><row r="3"><c r="A3" t="d"><v>2026-01-01T00:00:00</v></c><c r="B3" t="e"><v>#N/A</v></c></row></sheetData></worksheet>')  # fmt: skip
    for path in sorted((ROOT / "sample_logs").glob("*.csv*")):
        raw = gzip.decompress(path.read_bytes()) if path.suffix == ".gz" else path.read_bytes()
        yield packed("c", 31, b"\n".join(raw.split(b"\n")[:25]) + b"\n")
    assert set("cgGzZSXplrRnaACtP") <= set(KINDS)


def tokens() -> list[bytes]:
    """The dictionary: pieces that mean something to the reader."""
    words = [
        ",",
        ";",
        "\t",
        "|",
        '"',
        '""',
        "'",
        "\r\n",
        "\n",
        "\r",
        "\n\n",
        "sep=;",
        "#",
        " ",
        "\ufeff",
        "\u00a0",
        "\u2212",
        "\u202e",
        "\x00",
        "\x1a",
        "\x85",
        "\u2028",
    ]
    words += [
        "Time",
        "Date",
        "Clock",
        "Timestamp",
        "Zeit",
        "Datum",
        "Fecha",
        "Hora",
        "Signal",
        "Value",
        "Unit",
        "Set ID",
        "Elapsed time [s]",
        "auto",
        "manual",
        "off",
        "true",
        "false",
        "on",
    ]
    words += [T0.strftime(form) if form != "%s" else "1774735200" for form in FORMS]
    words += [
        "2026-03-29 02:30:00",
        "2026-10-25 02:30:00",
        "1970-01-01 00:00:00",
        "24:00:00",
        "29.02.2025",
        "31/12/99",
        "0000-00-00",
        "9999-12-31T23:59:59Z",
        "+14:00",
        "-00:30",
        "Z",
        "AM",
        "p.m.",
        "1e18",
        "1774735200000",
    ]
    words += [
        "65535",
        "-9999",
        "32767",
        "-32768",
        "1e308",
        "1e400",
        "-1e308",
        "inf",
        "-inf",
        "nan",
        "-0",
        "0x1F",
        "1,234.5",
        "1.234,5",
        "1 234,5",
        "12,6",
        "=1+1",
        "---",
        "n/a",
        "NULL",
        "%",
        "°C",
        "degF",
        "psi",
        "kPa",
        "bar",
        "[V]",
        "(V)",
        "12.6 V",
    ]
    words += [
        "encoding = ",
        "delimiter = ",
        "skip_rows = ",
        "header_row_count = ",
        "decimal_char = ",
        "group_char = ",
        "null = ",
        "time_column = ",
        "date_column = ",
        "time_format = ",
        "time_zone = ",
        "time_origin = ",
        "[columns.",
        "[sets.",
        "[defaults]",
        "signal = ",
        "unit = ",
        '"""',
        "'''",
        "2026-01-01",
        "1e999",
        "true",
    ]
    words += ["PK\x03\x04", "PAR1", "<row>", "<c>", "<v>", MARK.decode()]
    words += list(BY_NAME) + [
        alias for signal in BY_NAME.values() for alias in tuple(getattr(signal, "aliases", ()))[:3]
    ]
    words += list(UNITS)[:60]
    seen = dict.fromkeys(w.encode("utf-8") for w in words if w)
    return [*seen, b"\xff\xfe", b"\xfe\xff", b"\x1f\x8b\x08", b"\x93", b"\x80"]


def write(folder: Path) -> int:
    """Write the seeds into the folder, each named by its content. Returns how many there are."""
    folder.mkdir(parents=True, exist_ok=True)
    count = 0
    for seed in seeds():
        (folder / f"seed-{hashlib.sha1(seed, usedforsecurity=False).hexdigest()[:16]}").write_bytes(seed)
        count += 1
    return count


if __name__ == "__main__":
    print(write(Path(sys.argv[1])), "seeds")
