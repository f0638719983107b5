"""One clean log written in any dialect, with the readings that were written: the truth that a reader is held to.

Columns carry the reader's inner units, so that every number is compared to its last digit.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import polars as pl

from startworthy.read.layout import Layout

if TYPE_CHECKING:
    from startworthy.read import RawReadings

NBSP, NARROW = "\u00a0", "\u202f"


@dataclass(frozen=True)
class Form:
    """How a log is written. The names are those of CHOICES."""

    delimiter: str = ","
    padded: bool = False
    decimal: str = "."
    group: str = ""
    numbers: str = "usual"
    encoding: str = "utf-8"
    end: str = "\n"
    last_end: bool = True
    quoting: str = "none"
    preamble: str = "none"
    preamble_lines: int = 0
    header: str = "one"
    footer: str = "none"
    blanks: str = "none"
    restart: str = "none"
    shuffled: bool = False
    extras: str = "none"
    date: str = "iso_space"
    begin: str = "late"
    shape: str = "columns"
    size: str = "few"
    signals: str = "all"
    null: str = ""
    words: str = "plain"


CHOICES: dict[str, tuple[Any, ...]] = {
    "delimiter": (",", ",", ";", ";", "\t", "|", "spaces"),
    "padded": (False, False, False, True),
    "decimal": (".", ","),
    "group": ("", "", "", ",", ".", "'", " ", NBSP, NARROW),
    "numbers": ("usual", "usual", "usual", "whole", "three"),
    "encoding": (
        "utf-8", "utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-16-be-bom", "windows-1252", "latin-1",
        "windows-1250",
    ),
    "end": ("\n", "\r\n", "\r"),
    "last_end": (True, True, False),
    "quoting": ("none", "none", "minimal", "all", "text", "single"),
    "preamble": ("none", "colon", "delimited", "comment", "title", "blank", "dates", "many", "mixed", "padded", "sep"),
    "preamble_lines": (1, 2, 3, 5, 8, 13, 20),
    "header": ("one", "one", "one", "units", "groups", "bare_groups", "none"),
    "footer": ("none", "none", "end", "totals", "count", "blank", "stamped", "dashes"),
    "blanks": ("none", "none", "some", "after_header", "every", "delimiters"),
    "restart": ("none", "none", "none", "header", "preamble", "twice", "moved"),
    "shuffled": (False, True),
    "extras": ("none", "none", "text", "number", "serial", "all"),
    "begin": ("late", "late", "early", "early_days"),
    "shape": ("columns", "columns", "columns", "long", "long_units"),
    "size": ("few", "many"),
    "signals": ("all", "all", "all", "three"),
    "null": ("", "", "---", "n/a", "NaN"),
    "words": ("plain", "commas", "accents", "quotes", "breaks", "polish"),
}  # fmt: skip
"""What may be drawn for each part of a form; more often where it stands more often. `date` is drawn from DATES."""


@dataclass(frozen=True)
class Kind:
    """One column: the reader's name, the header's words and unit, the group above it and its bare name below that."""

    signal: str
    words: str
    unit: str
    digits: int
    group: str
    bare: str
    value: Callable[[random.Random, bool], float]


def _kind(signal: str, words: str, unit: str, digits: int, group: str, bare: str, rest: Any, run: Any) -> Kind:
    def value(rng: random.Random, running: bool) -> float:
        low, high = run if running else rest
        return rng.uniform(low, high)

    return Kind(signal, words, unit, digits, group, bare, value)


KINDS = (
    _kind("battery_v", "Battery voltage", "V", 2, "Battery", "Voltage", (12.1, 13.3), (13.5, 14.6)),
    _kind("coolant_c", "Coolant temperature", "°C", 1, "Engine", "Coolant temperature", (-8, 30), (60, 95)),
    _kind("oil_kpa", "Oil pressure", "kPa", 0, "Engine", "Oil pressure", (0, 0), (180, 480)),
    _kind("speed_rpm", "Engine speed", "rpm", 0, "Engine", "Speed", (0, 0), (1480, 1520)),
    _kind("frequency_hz", "Generator frequency", "Hz", 2, "Generator", "Frequency", (0, 0), (49.2, 50.8)),
    _kind("voltage_v", "Generator voltage", "V", 1, "Generator", "Voltage", (0, 0), (225, 238)),
    _kind("power_kw", "Generator power", "kW", 2, "Generator", "Power", (0, 0), (0.4, 17)),
    _kind("fuel_l", "Fuel volume", "L", 1, "Fuel", "Volume", (1040, 1260), (1040, 1260)),
    _kind("hour_meter_h", "Engine hours", "h", 1, "Engine", "Hours", (3100, 3120), (3120, 3125)),
    _kind("starts_counter", "Starts", "", 0, "Engine", "Starts", (1201, 1260), (1260, 1290)),
    _kind("mains_v", "Mains voltage", "V", 1, "Mains", "Voltage", (226, 236), (0, 0)),
)
TEXTS = (("mode", "Mode"), ("alarm", "Alarm"))
ALARMS = {
    "plain": ("Low oil pressure", "Failed to start", "Mains lost"),
    "commas": ("Low fuel, tank 1", "Trip; reset by hand", "A|B sensor"),
    "accents": ("Überdrehzahl", "Température haute", "Baixa tensão"),
    "quotes": ('Pump "A" failed', "Driver's call", "Low fuel"),
    "breaks": ("Low oil\npressure", "Mains lost", "Failed to start"),
    "polish": ("Za niskie ciśnienie oleju", "Błąd rozruchu", "Żądanie"),
}
MODES = {"Auto": "automatic", "Manual": "manual", "Test": "test"}


def _dates() -> dict[str, Callable[[datetime], list[str]]]:
    def one(pattern: str) -> Callable[[datetime], list[str]]:
        return lambda at: [at.strftime(pattern)]

    def two(date: str, clock: str) -> Callable[[datetime], list[str]]:
        return lambda at: [at.strftime(date), at.strftime(clock)]

    def milli(at: datetime) -> str:
        return f"{at.microsecond // 1000:03}"

    def seconds(at: datetime) -> int:
        return round((at.replace(microsecond=0) - datetime(1970, 1, 1)).total_seconds())

    def dotted(at: datetime) -> list[str]:
        return [at.strftime("%m/%d/%Y %I:%M:%S ") + ("a.m." if at.hour < 12 else "p.m.")]

    return {
        "iso_space": one("%Y-%m-%d %H:%M:%S"),
        "iso_z": one("%Y-%m-%dT%H:%M:%SZ"),
        "iso_ms": lambda at: [at.strftime("%Y-%m-%dT%H:%M:%S.") + milli(at)],
        "iso_comma": lambda at: [at.strftime("%Y-%m-%d %H:%M:%S,") + milli(at)],
        "iso_offset": lambda at: [(at + timedelta(hours=2)).strftime("%Y-%m-%dT%H:%M:%S+02:00")],
        "iso_west": lambda at: [(at - timedelta(hours=5)).strftime("%Y-%m-%d %H:%M:%S-0500")],
        "ymd_slash": one("%Y/%m/%d %H:%M:%S"),
        "ymd_ampm": one("%Y/%m/%d %I:%M:%S %p"),
        "dmy_slash": one("%d/%m/%Y %H:%M:%S"),
        "mdy_slash": one("%m/%d/%Y %H:%M:%S"),
        "dmy_dot": one("%d.%m.%Y %H:%M:%S"),
        "dmy_dash": one("%d-%m-%Y %H:%M:%S"),
        "dmy_unpadded": lambda at: [f"{at.day}/{at.month}/{at.year} {at:%H:%M:%S}"],
        "dmy_two_digits": one("%d/%m/%y %H:%M:%S"),
        "mdy_two_digits": one("%m/%d/%y %H:%M:%S"),
        "ymd_two_digits": one("%y-%m-%d %H:%M:%S"),
        "dot_two_digits": one("%d.%m.%y %H:%M:%S"),
        "mdy_ampm": one("%m/%d/%Y %I:%M:%S %p"),
        "mdy_dotted": dotted,
        "named": one("%d-%b-%Y %H:%M:%S"),
        "named_long": one("%d %B %Y %H:%M:%S"),
        "named_first": one("%b %d, %Y %H:%M:%S"),
        "two_iso": two("%Y-%m-%d", "%H:%M:%S"),
        "two_dmy": two("%d/%m/%Y", "%H:%M:%S"),
        "two_mdy_ampm": two("%m/%d/%Y", "%I:%M:%S %p"),
        "epoch_s": lambda at: [str(seconds(at))],
        "epoch_ms": lambda at: [str(seconds(at)) + milli(at)],
        "compact": one("%Y%m%dT%H%M%S"),
        "compact_whole": one("%Y%m%d%H%M%S"),
        "minutes": one("%Y-%m-%d %H:%M"),
    }


DATES = _dates()
CHOICES["date"] = tuple(DATES)
FRACTIONS = ("iso_ms", "iso_comma", "epoch_ms")


@dataclass(frozen=True)
class Written:
    """A log and its truth.

    truth: `at` (Datetime us, UTC, without zone), the signals written, nulls where no value was written. junk: lines
    below the header that are no rows. moved: rows that stand below a header with its columns in another order. allowed: codes of problems
    for which refusing the file, or a part of it, is right. headers: of each signal's column as written. order: what each column holds. stamps:
    of each row, as written. values: the numbers of the long form in their order.
    """

    form: Form
    data: bytes
    truth: pl.DataFrame
    layout: Layout | None = None
    junk: int = 0
    rows: int = 0
    moved: int = 0
    allowed: frozenset[str] = frozenset()
    headers: Mapping[str, str] = field(default_factory=dict)
    stamps: tuple[str, ...] = ()
    order: tuple[str, ...] = ()
    values: tuple[float, ...] = ()


def draw(rng: random.Random) -> Form:
    """A form by chance."""
    return Form(**{f.name: rng.choice(CHOICES[f.name]) for f in fields(Form)})


def legal(form: Form) -> Form:
    """The nearest form that a logger could write: one in which the parts do not contradict each other."""
    if form.delimiter == "spaces":
        form = replace(form, padded=False, quoting="none", null=form.null or "---", blanks=_plain_blanks(form.blanks))
        form = replace(form, group="" if form.group == " " else form.group, extras="none", shape="columns")
        form = replace(form, header="units" if "groups" in form.header else form.header)
        form = replace(form, words="plain")
    if form.group == form.decimal or (form.group == "'" and form.quoting == "single"):
        form = replace(form, group="")
    if form.words == "polish" and form.encoding in ("windows-1252", "latin-1"):
        form = replace(form, encoding="windows-1250")
    if form.words == "accents" and form.encoding == "windows-1250":
        form = replace(form, words="plain")
    if form.group == NARROW and form.encoding in ("windows-1252", "latin-1", "windows-1250"):
        form = replace(form, group=NBSP)
    if form.preamble in ("none", "sep"):
        form = replace(form, preamble_lines=int(form.preamble == "sep"))
    if form.shape != "columns" and form.header != "one":
        form = replace(form, header="one")
    if form.header == "none":
        form = replace(
            form, restart="preamble" if form.restart == "preamble" else "none", blanks=_plain_blanks(form.blanks)
        )
    if form.restart == "moved" and (form.shape != "columns" or form.header == "none"):
        form = replace(form, restart="header")
    if form.words == "breaks" and (form.quoting == "none" or form.end == "\r" or form.padded):
        form = replace(form, words="plain")
    if form.shape != "columns" and form.words in ("breaks", "quotes"):
        form = replace(form, words="plain")
    return form


def _plain_blanks(blanks: str) -> str:
    return "some" if blanks == "delimiters" else blanks


def write(form: Form, seed: int) -> Written:
    """The log in this form (made legal first) with readings drawn from the seed."""
    form = legal(form)
    return _Writer(form, random.Random(seed)).written()


class _Writer:
    def __init__(self, form: Form, rng: random.Random) -> None:
        self.form, self.rng = form, rng
        self.mark = {"spaces": " ", "tab": "\t"}.get(form.delimiter, form.delimiter)
        self.quote = "'" if form.quoting == "single" else '"'

    def written(self) -> Written:
        form = self.form
        kinds = list(KINDS)
        texts = list(TEXTS)
        if form.signals == "three":
            kinds = self.rng.sample(kinds, 3)
            texts = []
        at = self._instants()
        running = [0.5 < n / len(at) < 0.8 for n in range(len(at))]
        numbers = {k.signal: [self._number(k, on) for on in running] for k in kinds}
        words = {signal: [self._word(signal) for _ in at] for signal, _ in texts}
        truth = {"at": at}
        for kind in kinds:
            truth[kind.signal] = [None if t is None else float(t) for t in numbers[kind.signal]]  # type: ignore[misc]
        for signal, _ in texts:
            truth[signal] = [MODES.get(w, w) if w else None for w in words[signal]]  # type: ignore[misc]
        if form.shape == "columns":
            out = self._columns(at, kinds, texts, numbers, words)
        else:
            out = self._long(at, kinds, texts, numbers, words)
        schema: dict[str, Any] = {"at": pl.Datetime("us"), **{k.signal: pl.Float64 for k in kinds}}
        schema |= {signal: pl.String for signal, _ in texts}
        allowed = self._allowed(at, numbers)
        return replace(out, truth=pl.DataFrame(truth, schema=schema), allowed=allowed)

    def _instants(self) -> list[datetime]:
        form, rng = self.form, self.rng
        day = {"late": 14, "early": 3, "early_days": 3}[form.begin]
        begin = datetime(2026, rng.randint(1, 12), day + rng.randint(0, 4), 20, rng.randint(0, 59))
        n = rng.randint(12, 30) if form.size == "few" else rng.randint(210, 420)
        if form.begin == "early_days":
            return [begin + timedelta(hours=2 * i) for i in range(n)]
        every = [60 if form.date == "minutes" or not 0.5 < i / n < 0.8 else 1 for i in range(n)]
        at, out = begin, []
        for step in every:
            out.append(at + timedelta(milliseconds=rng.randint(0, 999) if form.date in FRACTIONS else 0))
            at += timedelta(seconds=step)
        return out

    def _number(self, kind: Kind, running: bool) -> str | None:
        """A plain decimal text, or None for no value."""
        if self.rng.random() < 0.03:
            return None
        digits = {"usual": kind.digits, "whole": 0, "three": 3}[self.form.numbers]
        if kind.signal == "starts_counter":
            digits = 0
        return (
            f"{kind.value(self.rng, running):.{digits}f}".replace("-0", "0")
            if digits == 0
            else f"{kind.value(self.rng, running):.{digits}f}"
        )

    def _word(self, signal: str) -> str | None:
        if signal == "mode":
            return self.rng.choice(list(MODES))
        return self.rng.choice(ALARMS[self.form.words]) if self.rng.random() < 0.15 else None

    def spelled(self, text: str | None) -> str:
        """A number as the form writes it."""
        if text is None:
            return self.form.null
        sign, bare = ("-", text[1:]) if text.startswith("-") else ("", text)
        whole, _, part = bare.partition(".")
        if self.form.group and len(whole) > 3:
            whole = f"{int(whole):,}".replace(",", self.form.group)
        return sign + whole + (self.form.decimal + part if part else "")

    def line(self, cells: list[str], is_text: list[bool], widths: list[int] | None = None) -> str:
        """One row of cells."""
        if widths is not None:
            return "  ".join(c.ljust(w) for c, w in zip(cells, widths, strict=True)).rstrip()
        out = []
        for plain, text in zip(cells, is_text, strict=True):
            cell = plain
            needs = any(c in cell for c in (self.mark, self.quote, "\n", "\r")) or (cell != cell.strip())
            if needs or self.form.quoting in ("all", "single") or (self.form.quoting == "text" and text and cell):
                cell = self.quote + cell.replace(self.quote, self.quote * 2) + self.quote
            out.append(f" {cell} " if self.form.padded else cell)
        return self.mark.join(out)

    def _columns(self, at: Any, kinds: Any, texts: Any, numbers: Any, words: Any) -> Written:
        form, rng = self.form, self.rng
        stamps = [DATES[form.date](t) for t in at]
        columns: list[tuple[str, str, str, str, list[str]]] = []  # signal, group, name, unit, cells
        for kind in kinds:
            cells = [self.spelled(t) for t in numbers[kind.signal]]
            name = kind.bare if form.header == "bare_groups" else kind.words
            columns.append((kind.signal, kind.group, name, kind.unit, cells))
        for signal, name in texts:
            columns.append(
                (signal, "", name, "", [w or ("" if form.delimiter != "spaces" else "---") for w in words[signal]])
            )
        columns += self._extra(len(at))
        if form.shuffled:
            rng.shuffle(columns)
        if form.header in ("groups", "bare_groups"):
            # A name without a group would seem to belong to the group before it
            columns.sort(key=lambda c: c[1])
        time = [
            ["Date", "Time"][i] if len(stamps[0]) == 2 else rng.choice(("Time", "Timestamp", "Date/Time"))
            for i in range(len(stamps[0]))
        ]
        lead = [("at", "", name, "", [s[i] for s in stamps]) for i, name in enumerate(time)]
        grouped = form.header in ("groups", "bare_groups")
        place = rng.randint(0, len(columns)) if form.shuffled and not grouped else 0
        columns = columns[:place] + lead + columns[place:]  # type: ignore[operator]
        header, headers = self._header(columns)
        body = [list(row) for row in zip(*(c[4] for c in columns), strict=True)]
        is_text = [c[0] in ("mode", "alarm", "note") for c in columns]
        lines = [self.line(row, is_text) for row in body]
        if form.delimiter == "spaces":
            widths = [max(len(r[i]) for r in [*header, *body]) for i in range(len(columns))]
            lines = [self.line(row, is_text, widths) for row in body]
            head = [self.line(row, is_text, widths) for row in header]
        else:
            head = [self.line(row, [True] * len(row)) for row in header]
        moved = 0
        cut = len(lines) // 2
        middle: list[str] = []
        if form.restart in ("header", "twice"):
            middle = list(head)
        elif form.restart == "preamble":
            middle = [*self._preamble(len(columns)), *head]
        elif form.restart == "moved":
            order = list(range(len(columns)))
            while order == sorted(order):
                rng.shuffle(order)
            other = [columns[i] for i in order]
            moved = len(lines) - cut
            header2, _ = self._header(other)
            middle = [self.line(r, [True] * len(r)) for r in header2]
            lines[cut:] = [self.line([row[i] for i in order], [is_text[i] for i in order]) for row in body[cut:]]
            if form.delimiter == "spaces":
                middle, lines[cut:], moved = [], [self.line(row, is_text, widths) for row in body[cut:]], 0
        return self._whole(head, lines, cut, middle, list(stamps), headers, columns, moved)

    def _extra(self, n: int) -> list[tuple[str, str, str, str, list[str]]]:
        rng, form = self.rng, self.form
        found = []
        if form.extras in ("text", "all"):
            notes = ("ok", "seen by J. Doe; fine", "door open, closed again", 'said "later"', "1,5 bar | 2.5 bar", "")
            found.append(("note", "", "Remarks of the day", "", [rng.choice(notes) for _ in range(n)]))
        if form.extras in ("number", "all"):
            cells = [self.spelled(f"{rng.uniform(0, 3000):.{rng.choice((1, 2))}f}") for _ in range(n)]
            found.append(("free", "", "Louvre position", "", cells))
        if form.extras in ("serial", "all"):
            found.append(("serial", "", "Card", "", [f"{rng.randint(0, 99999999):08}" for _ in range(n)]))
            found.append(("address", "", "Gateway", "", ["10.0.1.7"] * n))
        return found

    def _header(self, columns: Any) -> tuple[list[list[str]], dict[str, str]]:
        form = self.form
        whole = [f"{name} [{unit}]" if unit else name for _, _, name, unit, _ in columns]
        if form.header == "none":
            return [], {}
        if form.header == "units":
            names = [name for _, _, name, _, _ in columns]
            rows = [names, [unit if unit or form.delimiter != "spaces" else "-" for _, _, _, unit, _ in columns]]
        elif form.header in ("groups", "bare_groups") and form.delimiter != "spaces":
            before, above = "", []
            for _, group, *_ in columns:
                above.append(group if group != before else "")
                before = group
            rows = [above, whole] if any(above) else [whole]
        else:
            rows = [whole]
        at = 0 if form.header == "units" else -1
        return rows, {signal: rows[at][i] for i, (signal, *_) in enumerate(columns)}

    def _long(self, at: Any, kinds: Any, texts: Any, numbers: Any, words: Any) -> Written:
        form, rng = self.form, self.rng
        stamps = [DATES[form.date](t) for t in at]
        time = ["Date", "Time"] if len(stamps[0]) == 2 else ["Time"]
        with_units = form.shape == "long_units"
        header = [*time, "Signal", "Value", *(["Unit"] if with_units else [])]
        lines, every, values = [], [], []
        for n, stamp in enumerate(stamps):
            one = [
                (
                    k.words if with_units or not k.unit else f"{k.words} [{k.unit}]",
                    self.spelled(numbers[k.signal][n]),
                    k.unit,
                    numbers[k.signal][n],
                )
                for k in kinds
            ] + [(name, words[signal][n] or "", "", None) for signal, name in texts]
            if form.shuffled:
                rng.shuffle(one)
            for name, value, unit, number in one:
                if not value or value == form.null:
                    continue
                cells = [*stamp, name, value, *([unit] if with_units else [])]
                lines.append(
                    self.line(cells, [False] * len(stamp) + [True, number is None, True][: len(cells) - len(stamp)])
                )
                every.append(stamp)
                if number is not None:
                    values.append(float(number))
        head = [self.line(header, [True] * len(header))]
        cut = len(lines) // 2
        middle = {"header": head, "twice": head, "preamble": [*self._preamble(len(header)), *head]}.get(
            form.restart, []
        )
        return replace(self._whole(head, lines, cut, middle, every, {}, [("",)] * len(header), 0), values=tuple(values))

    def _whole(
        self, head: Any, lines: Any, cut: int, middle: Any, stamps: Any, headers: Any, columns: Any, moved: int
    ) -> Written:
        form, rng = self.form, self.rng
        above = self._preamble(len(columns)) if form.preamble != "sep" else [f"sep={self.mark}"]
        foot = self._footer(columns)
        rows = len(lines)
        junk = len([m for m in middle if m.strip()]) + len([f for f in foot if f.strip()])
        body = [*lines[:cut], *middle, *lines[cut:]]
        if form.restart == "twice":
            third = len(lines) // 3
            body = [*lines[:third], *middle, *lines[third:cut], *middle, *lines[cut:]]
            junk += len(middle)
        void = self.mark * (len(columns) - 1) if form.blanks == "delimiters" else ""
        if form.blanks in ("some", "delimiters"):
            for _ in range(3):
                body.insert(rng.randint(1, len(body)), void)
            junk += 3 if void else 0
        elif form.blanks == "after_header":
            body.insert(0, "")
        elif form.blanks == "every":
            body = [part for line in body for part in (line, "")]
        if form.end == "\r\n":
            body = [b.replace("\n", "\r\n") for b in body]
        text = form.end.join([*above, *head, *body, *foot]) + (form.end if form.last_end else "")
        data = text.encode({"utf-16-be-bom": "utf-16-be"}.get(form.encoding, form.encoding))
        if form.encoding == "utf-16-be-bom":
            data = b"\xfe\xff" + data
        layout = None
        if form.header == "none":
            named = {}
            for i, (signal, _, _, unit, _) in enumerate(columns):
                if signal in {k.signal for k in KINDS} or signal in ("mode", "alarm"):
                    named[f"#{i + 1}"] = {"signal": signal, "unit": unit}
            times = [f"#{i + 1}" for i, (signal, *_) in enumerate(columns) if signal == "at"]
            stated = {"header_row_count": 0, "skip_rows": len(above), "columns": named, "time_column": times[-1]}
            if form.delimiter == "spaces":
                stated["delimiter"] = " "
            layout = Layout.model_validate(stated | ({"date_column": times[0]} if len(times) > 1 else {}))
        told = tuple(" ".join(s) for s in stamps)
        return Written(
            form,
            data,
            pl.DataFrame(),
            layout,
            junk,
            rows,
            moved,
            frozenset(),
            headers,
            told,
            tuple(c[0] for c in columns),
        )

    def _preamble(self, width: int) -> list[str]:
        form, rng = self.form, self.rng
        mark = self.mark if form.delimiter != "spaces" else "  "
        some = {
            "colon": ["Site: Hill pump", "Interval: 60 s", "Zone: north, gate 3", "Firmware: 2.10.3"],
            "delimited": [f"Site{mark}Hill pump", f"Interval{mark}60", f"Rated kW{mark}16"],
            "comment": ["# log of one set", "# exported by hand", "#", "# 12 columns"],
            "title": ["Report of the standby set", "Hill pump house", "All values are means"],
            "blank": [""],
            "dates": ["Exported: 2026-02-01 10:00:00", "From 01/02/2026 to 03/02/2026", f"Exported{mark}2026-02-01 10:00:00"],
            "many": ["a,b;c,d;e,f|g,h,i,j", "x;y;z;1;2;3;4;5;6", "1,2,3,4,5,6,7,8,9,10"],
            "padded": [f"Site{mark}Hill pump" + mark * max(width - 2, 0), "Interval" + mark * max(width - 1, 0)],
        }  # fmt: skip
        lines = (
            [line for kind in some.values() for line in kind]
            if form.preamble == "mixed"
            else some.get(form.preamble, [])
        )
        return [rng.choice(lines) for _ in range(form.preamble_lines)] if lines else []

    def _footer(self, columns: Any) -> list[str]:
        mark = self.mark if self.form.delimiter != "spaces" else "  "
        width = len(columns)
        numbers = [n for n, column in enumerate(columns) if n and column[0] in {k.signal for k in KINDS}]
        place = numbers[0] if numbers else width - 1
        return {
            "none": [],
            "end": ["End of file"],
            "totals": ["", "Total" + mark * place + self.spelled("123.4") + mark * (width - place - 1)],
            "count": [f"rows: {self.rng.randint(10, 900)}"],
            "blank": ["", "", ""],
            "stamped": [f"Exported{mark}2026-02-01 10:00:00", "Exported 2026-02-01 10:00:00"],
            "dashes": ["-" * 30],
        }[self.form.footer]

    def _allowed(self, at: list[datetime], numbers: Mapping[str, list[str | None]]) -> frozenset[str]:
        """Codes of refusals that are true of this file."""
        form = self.form
        codes = set()
        open_dates = form.date.startswith(("dmy", "mdy", "dot", "two_dmy", "two_mdy", "ymd_two"))
        if open_dates and (all(t.day <= 12 for t in at) or "two_digits" in form.date):
            codes.add("ambiguous_dates")
        if form.words == "polish" and form.encoding == "windows-1250":
            codes.add("ambiguous_encoding")
        if not self._told(numbers):
            codes.add("ambiguous_numbers")
        if form.restart == "moved":
            codes.add("other_columns")
        return frozenset(codes)

    def _told(self, numbers: Mapping[str, list[str | None]]) -> bool:
        """Whether at least one number as written leaves no doubt about its marks, or none has a comma or a point."""
        texts = [self.spelled(t).lstrip("-") for cells in numbers.values() for t in cells if t is not None]
        marked = [t for t in texts if "," in t or "." in t]
        if not marked:
            return True
        for text in marked:
            parts = text.replace(",", ".").split(".")
            if len(parts) > 2 or len(parts[-1]) != 3 or len(parts[0]) > 3 or parts[0] == "0":
                return True
        return False


@dataclass(frozen=True)
class Verdict:
    """`right`, `refused` (with the code and whether that reason is true of the file) or `wrong`, and why."""

    kind: str
    why: str = ""
    expected: bool = True


def judge(written: Written, raw: RawReadings) -> Verdict:
    """What a reader made of a log: right to the last digit, refused with a reason, or wrong."""
    fatal = [p for p in raw.problems if p.fatal]
    if fatal:
        return Verdict("refused", fatal[0].code, fatal[0].code in written.allowed)
    (file,) = raw.files
    truth = written.truth
    if written.moved:
        truth = truth.head(truth.height - written.moved)
    if written.form.shape != "columns":
        signals = truth.columns[1:]
        truth = truth.filter(pl.any_horizontal(pl.col(signals).is_not_null()))
    at = raw.frame["at"].dt.replace_time_zone(None)
    told: list[str] = []
    short = truth.height - at.len()
    if (
        short > 0
        and short == file.rows_refused - written.moved - written.junk
        and at.is_in(truth["at"].implode()).all()
    ):
        # Rows that were refused one by one, each with its line and reason
        told.append("rows")
        truth = truth.filter(pl.col("at").is_in(at.implode()))
    if at.to_list() != truth["at"].to_list():
        return Verdict("wrong", f"instants: {_first_unlike(at.to_list(), truth['at'].to_list())}")
    asked = {p.values.get("signal") for p in raw.problems if not p.fatal}
    cells = set(raw.refused.filter(pl.col("cost") == "cell").select("line", "column").rows())
    for name in raw.frame.columns:
        if name not in (*truth.columns, "set_id", "line", "file"):
            return Verdict("wrong", f"{name} was never written")
    for name in truth.columns[1:]:
        want = truth[name].to_list()
        if name not in raw.frame.columns:
            if any(v is not None for v in want):
                if name not in asked:
                    return Verdict("wrong", f"{name} is missing")
                told.append(next(p.code for p in raw.problems if p.values.get("signal") == name))
            continue
        got = raw.frame[name]
        values = (got.cast(pl.String) if got.dtype == pl.Categorical else got).to_list()
        if values == want:
            continue
        unlike = [(g, w) for g, w in zip(values, want, strict=True) if g != w]
        if any(g is not None for g, _ in unlike) or not cells:
            return Verdict("wrong", f"{name}: {unlike[0]}")
        told.append("cells of " + name)
    if file.rows_read != file.rows_accepted + file.rows_refused + file.rows_repeated:
        return Verdict("wrong", "rows do not add up")
    blank = 3 if written.form.blanks == "delimiters" else 0
    short = short if "rows" in told else 0
    lost = file.rows_refused - written.moved - short
    if file.rows_accepted != written.rows - written.moved - short or not written.junk - blank <= lost <= written.junk:
        return Verdict("wrong", f"rows: {file.rows_accepted} of {written.rows}, {lost} refused of {written.junk}")
    if told:
        return Verdict("refused", told[0], False)
    if written.moved:
        return Verdict("refused", "other_columns")
    return Verdict("right")


def _first_unlike(got: list[Any], want: list[Any]) -> str:
    for n, (g, w) in enumerate(zip(got, want, strict=False)):
        if g != w:
            return f"row {n}: {g} for {w}"
    return f"{len(got)} for {len(want)}"
