"""The same clean logs in thousands of dialects: how many are read right, refused with a reason, and wrong.

python -m tests.bench.dialects [--files 2000] [--seed 1] [--out tests/bench/dialects.md] [--alone] [--show]

Beside startworthy the same files go through general readers of CSV, each used the way its documentation begins. They
get the benefit of the doubt: right is who finds the columns and every number; times may stay text, texts are not
compared, and rows that are no readings (footers, headers that come again) may stay.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib.metadata
import io
import platform
import random
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import polars as pl

from startworthy.read import read_paths
from tests.support.dialects import Form, Verdict, Written, draw, judge, legal, write

Table = tuple[list[str], list[list[str]]]
"""Names of columns, and the cells of each as text."""


def with_polars(path: Path) -> Table:
    """polars.read_csv as it is."""
    frame = pl.read_csv(path)
    return frame.columns, [column.cast(pl.String).fill_null("").to_list() for column in frame]


def with_pandas(path: Path) -> Table:
    """pandas.read_csv that finds the delimiter itself."""
    import pandas as pd

    frame = pd.read_csv(path, sep=None, engine="python")
    return [str(c) for c in frame.columns], [["" if v != v else str(v) for v in frame[c]] for c in frame.columns]


def with_duckdb(path: Path) -> Table:
    """duckdb's sniffer."""
    import duckdb

    rows = duckdb.read_csv(str(path))
    return list(rows.columns), [
        ["" if v is None else str(v) for v in column] for column in zip(*rows.fetchall(), strict=True)
    ]


def with_clevercsv(path: Path) -> Table:
    """clevercsv's detection of encoding and dialect; its first row as the header."""
    import clevercsv

    rows = clevercsv.read_table(str(path), num_chars=10_000)
    width = len(rows[0])
    return rows[0], [[row[n] if n < len(row) else "" for row in rows[1:]] for n in range(width)]


OTHERS: dict[str, Callable[[Path], Table]] = {
    "polars.read_csv": with_polars,
    "pandas.read_csv(sep=None)": with_pandas,
    "duckdb": with_duckdb,
    "clevercsv": with_clevercsv,
}


def is_right(table: Table, written: Written) -> bool:
    """Whether a table holds every column of numbers with every number, beside the rows' times as written or read."""
    names, columns = table
    if written.form.shape != "columns":
        return _long_is_right(columns, written)
    wanted = {s: written.headers.get(s, "") for s in written.truth.columns if s not in ("at", "mode", "alarm")}
    by_name = {name.strip().strip("\ufeff'\""): n for n, name in enumerate(names)}
    rows = _rows_of(columns, written)
    if rows is None or not wanted:
        return False
    for signal, header in wanted.items():
        # The second row of a header may have become a row of cells: the place tells as well
        at = by_name.get(header.strip(), written.order.index(signal))
        if at >= len(columns) or not _equal([columns[at][row] for row in rows], written.truth[signal].to_list()):
            return False
    return True


def _rows_of(columns: Sequence[Sequence[str]], written: Written) -> list[int] | None:
    """The rows of the readings, in order, by their times as written or as instants; None where some are missing."""
    clock = [n for n, signal in enumerate(written.order) if signal == "at"]
    if max(clock) >= len(columns):
        return None
    seen = [" ".join(cells) for cells in zip(*(_plain(columns[n]) for n in clock), strict=True)]
    texts = list(written.stamps)
    for wanted in (texts, _as_instants(written)):
        rows, place = [], 0
        for row, text in enumerate(seen):
            if place < len(wanted) and _same_time(text, wanted[place]):
                rows.append(row)
                place += 1
        if place == len(wanted):
            return rows
    return None


def _plain(cells: Sequence[str]) -> list[str]:
    return [cell.strip().strip("'\"") for cell in cells]


def _as_instants(written: Written) -> list[str]:
    return [str(at) for at in written.truth["at"].to_list()]


def _same_time(text: str, wanted: str) -> bool:
    if text == wanted:
        return True
    if len(text) < 19 or text[:4] != wanted[:4]:
        return False
    with contextlib.suppress(ValueError):
        one, other = datetime.fromisoformat(text), datetime.fromisoformat(wanted)
        return (one if one.tzinfo else one.replace(tzinfo=UTC)) == (
            other if other.tzinfo else other.replace(tzinfo=UTC)
        )
    return False


def _equal(cells: Sequence[str], numbers: Sequence[float | None]) -> bool:
    for cell, number in zip(cells, numbers, strict=True):
        try:
            if number is not None and float(cell) != number:
                return False
        except ValueError:
            return False
    return True


def _long_is_right(columns: Sequence[Sequence[str]], written: Written) -> bool:
    """One row a value: every number in its order in one column."""
    wanted = written.values
    for column in columns:
        place = 0
        for cell in column:
            with contextlib.suppress(ValueError):
                if place < len(wanted) and float(cell) == wanted[place]:
                    place += 1
        if place == len(wanted):
            return True
    return False


def own_verdict(path: Path, written: Written) -> Verdict:
    """What startworthy makes of a file, to the last digit; a crash is wrong."""
    try:
        return judge(written, read_paths([path], layout=written.layout, zone_of=lambda _set: "UTC"))
    except Exception as error:
        return Verdict("wrong", f"{type(error).__name__}: {str(error)[:80]}")


def other_verdict(read: Callable[[Path], Table], path: Path, written: Written) -> str:
    """`right`, `error` or `wrong`."""
    try:
        with (
            warnings.catch_warnings(),
            contextlib.redirect_stdout(io.StringIO()),
            contextlib.redirect_stderr(io.StringIO()),
        ):
            warnings.simplefilter("ignore")
            table = read(path)
        return "right" if is_right(table, written) else "wrong"
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        return "error"


def mild(form: Form) -> Form:
    """The form without what general readers do not claim to see: one header on top, rows below, decimal points."""
    plain = Form()
    parts = ("decimal", "group", "preamble", "preamble_lines", "header", "footer", "blanks", "restart", "shape")
    kept = replace(form, **{part: getattr(plain, part) for part in parts})
    return replace(kept, delimiter=";") if form.delimiter == "spaces" else kept


def run(files: int, seed: int, *, alone: bool, show: bool, only_mild: bool = False) -> str:
    """The tables, as text."""
    rng = random.Random(seed)
    counts: dict[str, Counter[str]] = {
        "startworthy": Counter(),
        **({} if alone else {name: Counter() for name in OTHERS}),
    }
    reasons: Counter[tuple[str, bool]] = Counter()
    told_right: Counter[str] = Counter()
    told_files = 0
    clock = time.process_time()
    own_s = 0.0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "P-1.csv"
        for n in range(files):
            form = draw(rng)
            written = write(legal(mild(form) if only_mild else form), seed * 1_000_003 + n)
            path.write_bytes(written.data)
            begun = time.process_time()
            verdict = own_verdict(path, written)
            own_s += time.process_time() - begun
            counts["startworthy"][verdict.kind] += 1
            told_files += not written.allowed
            told_right["startworthy"] += verdict.kind == "right" and not written.allowed
            if verdict.kind == "refused":
                reasons[verdict.why, verdict.expected] += 1
            if show and (verdict.kind == "wrong" or not verdict.expected):
                print(n, verdict.kind, verdict.why, _unlike(written.form), flush=True)
            for name in counts.keys() - {"startworthy"}:
                kind = other_verdict(OTHERS[name], path, written)
                counts[name][kind] += 1
                told_right[name] += kind == "right" and not written.allowed
    lines = [
        f"{files} files, seed {seed}; {datetime.now(UTC):%Y-%m-%d}; Python {platform.python_version()}, "
        + ", ".join(f"{p} {importlib.metadata.version(p)}" for p in ("polars", *(() if alone else ("pandas", "duckdb", "clevercsv")))),
        "", f"| reader | read right | refused or error | wrong | right of the {told_files} files that leave nothing open |",
        "|---|---|---|---|---|",
    ]  # fmt: skip
    for name, own in counts.items():
        told = own["refused"] + own["error"]
        lines.append(
            f"| {name} | {own['right'] / files:.1%} | {told / files:.1%} | {own['wrong'] / files:.1%} ({own['wrong']}) "
            f"| {told_right[name] / max(told_files, 1):.1%} |"
        )
    lines += [
        "",
        "Why startworthy refused a file, or a part of it:",
        "",
        "| reason | files | true of the file by its making |",
        "|---|---|---|",
    ]
    lines += [f"| {why} | {n} | {'yes' if true else 'no'} |" for (why, true), n in reasons.most_common()]
    lines += [
        "",
        f"Reading took {own_s / files * 1000:.0f} ms of CPU a file (all: {time.process_time() - clock:.0f} s).",
    ]
    return "\n".join(lines) + "\n"


def _unlike(form: Form) -> dict[str, object]:
    usual = Form()
    return {
        name: getattr(form, name) for name in Form.__dataclass_fields__ if getattr(form, name) != getattr(usual, name)
    }


HEAD = """# Dialects

One clean log, written again and again with each part of its form drawn by chance: delimiter, decimal and thousands marks, encoding, line ends, quotes, lines above the header, header rows, footers, blank lines, headers that come again (also with the columns in another order), column order, columns that are unknown, form of dates, one row a value. Made by `python -m tests.bench.dialects --out tests/bench/dialects.md`.

Right for startworthy: every instant, value and text equal to what was written, and every row accounted for. Right for the others: all columns of numbers found and all numbers equal, times as text or instants; what they do not claim to do (lines above the header, decimal commas that nobody told them of) counts all the same, as the person with the file has to do it. Some files can be read in two ways by their making (days and months that no date tells apart, "1,234" alone, letters of two code pages, a header that comes again in another order): refusing them, or the rows, is what is asked for, while a reader that leaves times as text need not decide. The last column leaves them out.

"""


MILD = """One header row on top, rows below it and nothing else, decimal points, no thousands marks, a row for each instant; delimiter, quotes, encoding, line ends, dates, column order and unknown columns drawn as before."""


def main() -> None:
    """Run, print, and keep where asked."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    parser.add_argument("--files", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path)
    parser.add_argument("--alone", action="store_true", help="without the other readers")
    parser.add_argument("--show", action="store_true", help="print each file that was read wrong or refused needlessly")
    given = parser.parse_args()
    how = {"alone": given.alone, "show": given.show}
    text = "## All dialects\n\n" + run(given.files, given.seed, **how)
    text += f"\n## Mild ones\n\n{MILD}\n\n" + run(given.files // 4, given.seed + 1, only_mild=True, **how)
    print(text)
    if given.out:
        given.out.write_text(HEAD + text, encoding="utf-8")


if __name__ == "__main__":
    main()
