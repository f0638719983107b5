"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import at, book, day, mark, one_row_book
from tests.support.cases import cannot, raises, silent


def gapped(covered_s, *gaps):
    """A hundred days, these seconds of them covered in all."""
    whole = 100 * 86400.0
    days = [day(n, covered_s=86400.0 * covered_s / whole, coverage=covered_s / whole) for n in range(100)]
    return book(days=days, marks=[mark("gap", at(a), at(b), value=(b - a) * 86400.0) for a, b in gaps])


def refused(**counts):
    return book(days=[day(0)], refused=counts)


DAYS = 86400.0

CASES = [
    raises("log.gap", "a sixth of the log is missing", gapped(83 * DAYS, (10, 20), (40, 47)), "soon", "missing"),
    raises("log.gap", "switched off for a week", gapped(93 * DAYS, (10, 17)), "note", "long"),
    silent("log.gap", "whole", gapped(100 * DAYS)),
    silent("log.gap", "a few short gaps", gapped(99.5 * DAYS, (10, 10.2), (30, 30.3))),
    silent("log.gap", "exactly a day", gapped(99 * DAYS, (10, 11))),
    silent("log.gap", "exactly nine tenths", gapped(90 * DAYS, *[(n, n + 1) for n in range(0, 40, 4)])),
    cannot("log.gap", "one row", one_row_book(), Reason.TOO_SHORT, "one_row"),
    cannot("log.gap", "no rows", book(), Reason.NOTHING_SEEN),
    # log.value_rejected
    raises("log.value_rejected", "a tenth of the battery volts", refused(battery_v=(100, 1000), fuel_l=(0, 1000)), "soon", "many"),
    raises("log.value_rejected", "a third of the ambient temperatures", refused(ambient_c=(300, 1000)), "soon", "many"),
    raises("log.value_rejected", "a tenth of the ambient temperatures", refused(ambient_c=(100, 1000)), "note", "some"),
    raises("log.value_rejected", "two per cent of the battery volts", refused(battery_v=(20, 1000)), "note", "some"),
    raises("log.value_rejected", "a tenth of the rows", refused(row=(100, 1000), battery_v=(0, 1000)), "soon", "rows"),
    silent("log.value_rejected", "none", refused(battery_v=(0, 1000), row=(0, 1000))),
    silent("log.value_rejected", "exactly one per cent", refused(battery_v=(10, 1000))),
    silent("log.value_rejected", "one of a few lone values", refused(oil_kpa=(1, 5), battery_v=(0, 1000))),
    cannot("log.value_rejected", "nothing was counted", refused(), Reason.TOO_FEW, "no_values"),
    cannot("log.value_rejected", "nine values", refused(battery_v=(9, 9)), Reason.TOO_FEW, "no_values"),
]  # fmt: skip
