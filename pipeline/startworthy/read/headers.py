"""What a header says: the signal that it names and the unit that it states."""

from __future__ import annotations

import re
from dataclasses import dataclass

from startworthy.read import names
from startworthy.signals import SIGNALS, UNITS, Quantity, Signal, Unit

_BY_ALIAS: dict[str, Signal] = {alias: signal for signal in SIGNALS for alias in signal.aliases}
_BY_INNER_NAME: dict[str, Signal] = {signal.name: signal for signal in SIGNALS}

# The same words name another signal where the unit stated is of another quantity; common practice, no source.
_BY_QUANTITY: dict[tuple[str, Quantity], str] = {
    ("load", Quantity.FRACTION): "load_fraction",
    ("power", Quantity.FRACTION): "load_fraction",
    ("generator load", Quantity.POWER): "power_kw",
    ("gen load", Quantity.POWER): "power_kw",
    ("load", Quantity.CURRENT): "current_a",
    ("charger", Quantity.CURRENT): "charger_a",
    ("battery charger", Quantity.CURRENT): "charger_a",
    ("mains", Quantity.VOLTAGE): "mains_v",
    ("utility", Quantity.VOLTAGE): "mains_v",
    ("grid", Quantity.VOLTAGE): "mains_v",
    ("mains", Quantity.FREQUENCY): "mains_hz",
    ("utility", Quantity.FREQUENCY): "mains_hz",
    ("grid", Quantity.FREQUENCY): "mains_hz",
    ("oil", Quantity.TEMPERATURE): "oil_c",
    ("generator", Quantity.VOLTAGE): "voltage_v",
    ("generator", Quantity.FREQUENCY): "frequency_hz",
    ("generator", Quantity.CURRENT): "current_a",
    ("generator", Quantity.POWER): "power_kw",
    ("l1", Quantity.CURRENT): "current_l1_a",
    ("l2", Quantity.CURRENT): "current_l2_a",
    ("l3", Quantity.CURRENT): "current_l3_a",
    ("l1", Quantity.VOLTAGE): "voltage_l1_v",
    ("l2", Quantity.VOLTAGE): "voltage_l2_v",
    ("l3", Quantity.VOLTAGE): "voltage_l3_v",
    ("l1 n", Quantity.VOLTAGE): "voltage_l1_v",
    ("l2 n", Quantity.VOLTAGE): "voltage_l2_v",
    ("l3 n", Quantity.VOLTAGE): "voltage_l3_v",
    ("l1 l2", Quantity.VOLTAGE): "voltage_l12_v",
    ("l2 l3", Quantity.VOLTAGE): "voltage_l23_v",
    ("l3 l1", Quantity.VOLTAGE): "voltage_l31_v",
} | {
    (words, Quantity.VOLUME): "fuel_l"
    for words in ("fuel", "fuel level", "tank", "tank level", "fuel tank", "fuel tank level", "diesel", "diesel level")
} | {
    (words, Quantity.FRACTION): "fuel_fraction"
    for words in ("fuel volume", "fuel quantity", "fuel remaining", "tank volume", "fuel in tank", "tank contents")
}  # fmt: skip

_BRACKETED = re.compile(r"[\[(<{]([^\[\]()<>{}]*)[\])>}]\s*$")
_NOISE = re.compile(r"[_/\\.:,;|#\-\s]+")
_CAMEL = re.compile(r"(?<=[a-zß-öø-ÿ]{2})(?=[A-ZÀ-ÖØ-Þ][a-zß-öø-ÿ])")
_MISREAD = re.compile("[ÃÂ][\x80-\xbf\u0152-\u2122]")
_IN = re.compile(r"\s+(?:in|en|em)$")
# What most logs call their time: no need to look into other languages for it
_TIMES = frozenset({"time", "timestamp", "date", "date time", "datetime", "time stamp", "epoch", "epoch s"})


@dataclass(frozen=True, slots=True)
class Heard:
    """A header taken apart. `unit_text` is the unit as written, "" where none is; `unit` None where it is unknown.

    `signal` is None for an unknown name; `clash` is the signal whose quantity the stated unit contradicts.
    """

    words: str
    signal: Signal | None
    unit_text: str
    unit: Unit | None
    clash: Signal | None = None


def unit_named(text: str) -> Unit | None:
    """The unit of a spelling, or None. "MW" and "mW" are told apart by their first letter; 1 mW is no load of a set."""
    plain = _undone(text.strip()).replace("Â", "")
    if plain.startswith("mW"):
        return None
    if plain.startswith("MHz"):
        return None
    folded = plain.casefold()
    bare = re.sub(r"[\s°º˚\[\](){}<>]", "", folded)
    for spelling in (folded, bare, bare.replace("deg", ""), bare.replace(".", "")):
        if spelling in UNITS:
            return UNITS[spelling]
    return _OTHER_SPELLINGS.get(bare.replace("²", "2")) or names.unit_spelled(bare)


_OTHER_SPELLINGS = {
    "degc": UNITS["cel"], "℃": UNITS["cel"], "oc": UNITS["cel"], "degreesc": UNITS["cel"],
    "℉": UNITS["degf"], "of": UNITS["degf"], "degreesf": UNITS["degf"], "hertz": UNITS["hz"],
    "amperes": UNITS["a"], "ampere": UNITS["a"], "arms": UNITS["a"], "vrms": UNITS["v"],
    "kilowatt": UNITS["kw"], "kilowatts": UNITS["kw"], "kwe": UNITS["kw"], "barg": UNITS["bar"],
    "rev/min": UNITS["rpm"], "1/minute": UNITS["rpm"], "u/min": UNITS["rpm"], "minutes": UNITS["min"],
    "usgallons": UNITS["usgal"], "galus": UNITS["usgal"], "gallons": UNITS["gal"], "gallon": UNITS["gal"],
    "min⁻¹": UNITS["rpm"], "min^-1": UNITS["rpm"], "kgf/cm2": UNITS["kgf/cm2"], "kg/cm2": UNITS["kgf/cm2"],
    "kp/cm2": UNITS["kgf/cm2"], "lb/in2": UNITS["psi"], "lbf/in2": UNITS["psi"],
    "litres/hour": UNITS["l/h"], "l/hr": UNITS["l/h"], "litre/h": UNITS["l/h"], "percentage": UNITS["%"],
}  # fmt: skip


def _undone(text: str) -> str:
    """UTF-8 that was once read as another encoding and written again: `KÃ¼hlmittel` is `Kühlmittel`."""
    if text.isascii() or _MISREAD.search(text) is None:
        return text
    for encoding in ("windows-1252", "latin-1"):
        try:
            return text.encode(encoding).decode("utf-8")
        except UnicodeError:
            continue
    return text


def words_of(text: str) -> str:
    """Lower case, single spaces, joints and camel case opened: `CoolantTemp_1` becomes `coolant temp 1`."""
    return _NOISE.sub(" ", _CAMEL.sub(" ", text.strip())).strip().casefold()


def hear(header: str, units_row: str = "") -> Heard:
    """Signal and unit of a header: brackets at the end, a last word, or a units row below may state the unit."""
    text = _undone(header.strip()).replace("Â°", "°")
    bracketed = _BRACKETED.search(text)
    unit_text = units_row.strip().strip("[](){}").strip()
    if bracketed is not None:
        inside = bracketed.group(1).strip()
        if not unit_text or not inside:
            unit_text = inside or unit_text
        text = _IN.sub("", text[: bracketed.start()].rstrip())
    if unit_text in ("-", "--", "1", "none", "n/a"):
        unit_text = ""
    words = words_of(text)
    if bracketed is not None and unit_text and unit_named(unit_text) is None:
        # Not a unit: words such as "Voltage (L1-N)" belong to the name
        whole = words_of(f"{text} {unit_text}")
        if not units_row and _signal(whole, None) is not None:
            return _by_words(whole, text)
    if unit_text:
        unit = unit_named(unit_text)
        return _with_unit(words, unit_text, unit)
    return _by_words(words, text)


def _with_unit(words: str, unit_text: str, unit: Unit | None) -> Heard:
    if unit is None:
        return Heard(words, _signal(words, None), unit_text, None)
    signal = _signal(words, unit.quantity)
    if signal is None:
        # "Oil pressure kPa [kPa]" or "battery_v (V)": the unit stands twice
        head, _, last = words.rpartition(" ")
        twice = unit_named(last) if head else None
        if twice is not None and twice == unit:
            signal = _signal(head, unit.quantity)
    if signal is not None and signal.quantity is not unit.quantity and not _unitless(signal, unit):
        return Heard(words, None, unit_text, unit, clash=signal)
    return Heard(words, signal, unit_text, unit)


def _by_words(words: str, text: str) -> Heard:
    """No unit in brackets: it may be the last word, or the whole name may be a unit's (rpm, hz, kw)."""
    own = _BY_INNER_NAME.get(words.replace(" ", "_"))
    if own is not None:
        return Heard(words, own, own.unit or "", _INNER.get(own.unit))
    head, _, last = words.rpartition(" ")
    spelled = re.split(r"[_\s]+", text.strip())[-1] if text.strip() else ""
    if "/" in spelled[1:] and unit_named(spelled) is not None:
        # "Drehzahl 1/min": the stroke belongs to the unit
        head, last = words_of(text.strip()[: -len(spelled)]), spelled.casefold()
    unit = unit_named(spelled if spelled.casefold() == last else last)
    head = _IN.sub("", head)
    if head and unit is not None:
        signal = _signal(head, unit.quantity)
        if signal is not None and signal.quantity is unit.quantity:
            return Heard(head, signal, spelled or last, unit)
    whole = _signal(words, None)
    if whole is not None and unit is not None and unit.quantity is whole.quantity:
        return Heard(words, whole, last, unit)
    if whole is None and unit is not None and head:
        clash = _signal(head, None)
        if clash is not None and not _unitless(clash, unit) and names.unit_spelled(last) is None:
            return Heard(words, None, last, unit, clash=clash)
    if whole is not None and whole.quantity is Quantity.DURATION and (_HOURS.search(words) or names.is_hours(words)):
        return Heard(words, whole, "h", UNITS["h"])
    return Heard(words, whole, "", None)


_HOURS = re.compile(r"\bhours?\b|hourmeter")
_INNER = {signal.unit: UNITS[signal.unit.casefold()] for signal in SIGNALS if signal.unit}


def inner_unit(signal: Signal) -> Unit:
    """The unit that the signal's name ends in."""
    return _INNER.get(signal.unit, UNITS["1"])


def _unitless(signal: Signal, unit: Unit) -> bool:
    """Counts, flags and texts have no unit: a "1" or "%"-like spelling beside them says nothing."""
    return signal.quantity in (Quantity.COUNT, Quantity.FLAG, Quantity.TEXT) and unit.quantity is Quantity.FRACTION


def _signal(words: str, quantity: Quantity | None) -> Signal | None:
    if quantity is not None and (words, quantity) in _BY_QUANTITY:
        return _BY_INNER_NAME[_BY_QUANTITY[words, quantity]]
    found = _BY_ALIAS.get(words) or _BY_ALIAS.get(re.sub(r"^(engine|generator|gen|genset|set) ", "", words))
    found = found or _BY_ALIAS.get(words.replace(" ", ""))
    if found is not None or words in _TIMES:
        return found
    name = names.signal_named(words, quantity)
    return _BY_INNER_NAME[name] if name is not None else None
