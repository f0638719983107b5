"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import book, day, known, run
from tests.support.cases import cannot, raises, silent

SMALL = known(rated_kw=8.0)
NO_KW = known(rated_kw=None)
G3 = known({"governor_class": "G3"})


def volts(*values, of=None, **own):
    return book(
        runs=[run(7 * n, **({"voltage_mean_v": v} | own)) for n, v in enumerate(values)],
        days=[day(n) for n in range(70)],
        of=of,
    )


def hertz(*values, of=None, **own):
    return book(
        runs=[run(7 * n, **({"frequency_mean_hz": f} | own)) for n, f in enumerate(values)],
        days=[day(n) for n in range(70)],
        of=of,
    )


CASES = [
    cannot("output.voltage_off", "right long ago, six short runs since", volts(230, 230, *[None] * 6, steady_s=120.0), Reason.TOO_COARSE, "latest_unseen"),
    silent("output.voltage_off", "right, five short runs since", volts(230, 230, *[None] * 5, steady_s=120.0)),
    cannot("output.frequency_off", "right long ago, six short runs since", hertz(51, 51, *[None] * 6, steady_s=120.0), Reason.TOO_COARSE, "latest_unseen"),
    raises("output.voltage_off", "two runs low", volts(230, 230, 213, 213, steady_s=120.0), "soon", "low"),
    raises("output.voltage_off", "two runs high", volts(230, 230, 247, 247, steady_s=120.0), "soon", "high"),
    raises("output.voltage_off", "the last run low for long", volts(230, 230, 213), "soon", "low"),
    raises("output.voltage_off", "twice the band", volts(230, 190, 190), "urgent", "low"),
    raises("output.voltage_off", "once, briefly", volts(230, 213, steady_s=120.0), "note", "once_low"),
    raises("output.voltage_off", "high once, since then right", volts(247, 230, 230, 230), "note", "once_high"),
    raises("output.voltage_off", "far off long ago, since mended", volts(190, 190, 190, 230, 230, 230, 230, 230), "note", "once_low"),
    silent("output.voltage_off", "at rated", volts(230, 231, 229)),
    silent("output.voltage_off", "within the band and the instrument's error", volts(244.9, 244.9, 215.1, 215.1)),
    silent("output.voltage_off", "a small set may be ten per cent off", volts(210, 210, 210, of=SMALL)),
    silent("output.voltage_off", "rated power not known: the wider band", volts(210, 210, 210, of=NO_KW)),
    cannot("output.voltage_off", "never steady for a minute", volts(190, 190, steady_s=30.0), Reason.TOO_FEW, "not_steady"),
    cannot("output.voltage_off", "four rows a run", volts(190, 190, resolution_s=60.0, rows=4, steady_s=180.0), Reason.TOO_FEW, "not_steady"),
    cannot("output.voltage_off", "rated voltage not known", volts(190, 190, of=known(rated_voltage_v=None)), Reason.NOT_IN_REGISTER),
    cannot("output.voltage_off", "no run", book(days=[day(0)]), Reason.NOTHING_SEEN),
    # output.frequency_off
    raises("output.frequency_off", "below full load's end", hertz(49.0, 49.0), "soon", "low"),
    raises("output.frequency_off", "far below", hertz(48.0, 48.0), "urgent", "low"),
    raises("output.frequency_off", "above the line at its load", hertz(54.3, 54.3, load_fraction_mean=0.2), "soon", "high"),
    raises("output.frequency_off", "above the no-load end, load not known", hertz(54.9, 54.9, load_fraction_mean=None), "soon", "high"),
    raises("output.frequency_off", "fast under full load", hertz(53.0, 53.0, load_fraction_mean=1.0), "urgent", "high"),
    raises("output.frequency_off", "slow once", hertz(49.0, 50.5, 50.5), "note", "once_low"),
    raises("output.frequency_off", "fast once, briefly", hertz(50.5, 54.3, steady_s=100.0), "note", "once_high"),
    raises("output.frequency_off", "class G3 holds it closer", hertz(52.5, 52.5, load_fraction_mean=0.0, of=G3), "urgent", "high"),
    silent("output.frequency_off", "a mechanical governor, unloaded, at 54 Hz", hertz(54.0, 54.0, load_fraction_mean=0.0)),
    silent("output.frequency_off", "the same with load not known", hertz(54.0, 54.0, load_fraction_mean=None)),
    silent("output.frequency_off", "an isochronous governor at any load", hertz(50.0, 50.0, 50.0, load_fraction_mean=0.2)),
    silent("output.frequency_off", "sags under an overload, along the line", hertz(49.0, 49.0, load_fraction_mean=1.25)),
    silent("output.frequency_off", "days of mains frequency, a row a minute", hertz(49.996, resolution_s=60.0, rows=12960, steady_s=777000.0, load_fraction_mean=None)),
    silent("output.frequency_off", "no excitation in some runs: no frequency to judge", hertz(50.5, 0.0, 0.0)),
    silent("output.frequency_off", "60 Hz", hertz(60.5, 62.0, of=known(rated_frequency_hz=60.0))),
    cannot("output.frequency_off", "rated frequency not known", hertz(45.0, 45.0, of=known(rated_frequency_hz=None)), Reason.NOT_IN_REGISTER),
    cannot("output.frequency_off", "never steady for a minute", hertz(45.0, 45.0, steady_s=59.0), Reason.TOO_FEW, "not_steady"),
    cannot("output.frequency_off", "no run", book(days=[day(0)]), Reason.NOTHING_SEEN),
]  # fmt: skip
