"""Invented figures: they show behaviour, they prove no value."""

from datetime import date

from startworthy.findings import Reason
from tests.support.books import at, book, day, known, mark
from tests.support.cases import cannot, raises, silent

CODE = "care.service_due"


def log(service, *marks, meter=300.0, days=60, weekly_s=1200.0, **more):
    """Sixty days from 6 January 2025 with a run a week; the meter ends there."""
    rows = [
        day(
            n,
            running_s=weekly_s if n % 7 == 0 else 0.0,
            hour_meter_h=None if meter is None else meter - (days - 1 - n) // 7 * weekly_s / 3600.0,
        )
        for n in range(days)
    ]
    return book(days=rows, marks=marks, of=known({"service": service}), **more)


CASES = [
    raises(CODE, "251 h since the last one, plan of 250", log({"every_hours": 250, "last_hours": 49.0}), "soon", "hours"),
    raises(CODE, "no plan: 250 h by practice", log({"last_hours": 49.0}), "soon", "hours"),
    raises(CODE, "thirteen months, plan of twelve", log({"every_months": 12, "last_date": date(2024, 2, 1)}), "soon", "months"),
    raises(CODE, "no plan: 12 months by practice", log({"last_date": date(2024, 2, 1)}, meter=None), "soon", "months"),
    raises(CODE, "240 of 250 h", log({"every_hours": 250, "last_hours": 60.0}), "note", "near_hours"),
    raises(CODE, "60 of 100 h, at two hours a day", log({"every_hours": 100, "last_hours": 240.0}, weekly_s=50400.0), "note", "near_hours"),
    raises(CODE, "three weeks to go", log({"every_months": 12, "last_date": date(2024, 3, 28)}), "note", "near_months"),
    raises(CODE, "hours by the runs since, no meter", log({"every_hours": 50, "last_date": date(2025, 1, 10)}, meter=None, weekly_s=36000.0), "soon", "hours"),
    raises(CODE, "hours by the meter at the day of the last service", log({"every_hours": 50, "last_date": date(2025, 1, 10)}, weekly_s=36000.0), "soon", "hours"),
    raises(CODE, "months stand where the meter was changed", log({"last_hours": 400.0, "last_date": date(2024, 1, 1)}), "soon", "months"),
    silent(CODE, "exactly 250 h less a quarter", log({"every_hours": 250, "last_hours": 100.0})),
    silent(CODE, "a meter of whole hours steps by one", log({"last_hours": 290.0}, mark("hours_jump", at(20, 8), at(20, 8.001), value=1.0), meter=310.0, weekly_s=3600.0)),
    silent(CODE, "half a year ago", log({"last_date": date(2024, 9, 1), "last_hours": 290.0})),
    silent(CODE, "a plan by hours alone does not ask for months", log({"every_hours": 250, "last_hours": 290.0, "last_date": date(2020, 1, 1)})),
    silent(CODE, "it was serviced after the log ends", log({"last_date": date(2025, 6, 1), "last_hours": 310.0})),
    silent(CODE, "a log too short to tell the usage", log({"last_hours": 290.0}, days=10)),
    cannot(CODE, "no last service known", log({"every_hours": 250}), Reason.NOT_IN_REGISTER),
    cannot(CODE, "no meter", log({"last_hours": 49.0}, meter=None), Reason.NOTHING_SEEN, "no_meter"),
    cannot(CODE, "the log begins after the last service, no meter", log({"every_hours": 250, "last_date": date(2024, 9, 1)}, meter=None), Reason.NOTHING_SEEN, "no_meter"),
    cannot(CODE, "the meter went back", log({"last_hours": 49.0}, mark("hours_jump", at(20), at(20, 1), value=-90.0)), Reason.CONFLICT, "meter_faulty"),
    cannot(CODE, "the meter stands below the last service", log({"last_hours": 400.0}), Reason.CONFLICT, "meter_faulty"),
]  # fmt: skip
