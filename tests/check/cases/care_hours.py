"""Invented figures: they show behaviour, they prove no value."""

import math

from startworthy.findings import Reason
from tests.support.books import at, book, day, mark, run
from tests.support.cases import cannot, raises, silent

CODE = "care.hours_disagree"


def log(*marks, weeks=26, minutes=20.0, meter=lambda h: h, at_rest=lambda n: 0.0, more=(), **own):
    """A run a week; `meter` turns hours run into what the meter shows."""
    runs = [
        run(
            7 * n,
            minutes,
            hours_before_h=meter(500.0 + n * minutes / 60) + at_rest(n),
            hours_after_h=meter(500.0 + (n + 1) * minutes / 60) + at_rest(n),
            **own,
        )
        for n in range(weeks)
    ]
    days = [day(n, hour_meter_h=meter(500.0 + (n // 7 + 1) * minutes / 60) + at_rest(n // 7)) for n in range(7 * weeks)]
    return book(days=days, runs=[*runs, *more], marks=marks)


def tenths(h):
    return math.floor(h * 10.0) / 10.0


def dropping(h):
    """Ten minutes a run: the meter shows one tenth of each."""
    return round(500.0 + (h - 500.0) * 0.6, 1)


CASES = [
    raises(CODE, "it stands still since the tenth run", log(meter=lambda h: tenths(min(h, 503.0))), "soon", "stopped"),
    raises(CODE, "it counts double", log(meter=lambda h: tenths(2 * h)), "soon", "fast"),
    raises(CODE, "it counts half", log(meter=lambda h: 0.1 + tenths(h / 2), weeks=40), "soon", "slow"),
    raises(CODE, "it counts at rest, while the key is on", log(meter=tenths, at_rest=lambda n: 0.3 * n), "note", "at_rest"),
    raises(CODE, "it was set back", log(mark("hours_jump", at(30), at(30, 1), value=-450.0, before=501.6, after=51.6), meter=tenths), "note", "jumped"),
    silent(CODE, "an hour meter that counts in tenths", log(meter=tenths)),
    silent(CODE, "a meter of whole hours", log(meter=math.floor)),
    silent(CODE, "each step of a whole hour within a second", log(
        *[mark("hours_jump", at(21 * n, 8.1), at(21 * n, 8.1 + 1 / 3600), value=1.0) for n in range(8)], meter=math.floor)),
    silent(CODE, "a meter that drops what is left of each run", log(meter=dropping, minutes=10.0)),
    silent(CODE, "rows a minute apart", log(meter=tenths, resolution_s=60.0)),
    silent(CODE, "rows five minutes apart, told a little long", log(meter=lambda h: tenths(500.0 + (h - 500.0) * 0.93), resolution_s=300.0)),
    silent(CODE, "the meter went on in a gap", log(mark("gap", at(71), at(75), value=4 * 86400.0), meter=tenths, at_rest=lambda n: 8.0 if n > 10 else 0.0)),
    cannot(CODE, "three runs", log(weeks=3, meter=tenths), Reason.TOO_FEW, "few"),
    cannot(CODE, "runs shorter than the meter's tenth", log(minutes=5.0, meter=tenths), Reason.TOO_FEW, "few"),
    cannot(CODE, "no hour meter", book(days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
    cannot(CODE, "the meter is never known beside a run", book(days=[day(n) for n in range(9)], runs=[run(1)]), Reason.NOTHING_SEEN),
]  # fmt: skip
