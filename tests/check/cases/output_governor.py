"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import book, day, known, run
from tests.support.cases import cannot, raises, silent

DROOP = "output.droop"
MISMATCH = "output.speed_mismatch"
SCATTER = (0.05, -0.12, 0.09, -0.02, 0.11, -0.08, 0.03, -0.06)


def on_line(droop, loads=((0.1, 0.6),) * 8, rated=50.0, offset_hz=SCATTER, of=None, **own):
    """Runs whose light and heavy ends lie on that droop line, but for an offset."""
    rows = []
    for n, (light, heavy) in enumerate(loads):
        shift = offset_hz[n % len(offset_hz)]
        ends = {
            "load_light_fraction": light, "frequency_light_hz": rated * (1 + droop * (1 - light)) + shift,
            "load_heavy_fraction": heavy, "frequency_heavy_hz": rated * (1 + droop * (1 - heavy)) - shift,
        }  # fmt: skip
        fine = {"frequency_min_hz": 50.01 + 0.03 * n, "frequency_max_hz": 52.02 + 0.03 * n}
        rows.append(run(7 * n, **(ends | fine | own)))
    return book(runs=rows, days=[day(n) for n in range(70)], of=of)


def even(*points, **own):
    """Runs at one load each: (load, hertz)."""
    rows = [
        run(7 * n, load_fraction_mean=load, load_fraction_max=load, frequency_mean_hz=hz, **own)
        for n, (load, hz) in enumerate(points)
    ]
    return book(runs=rows, days=[day(n) for n in range(70)])


STEEP = [(0.0, 57.0), (0.6, 52.8), (0.0, 57.0), (0.6, 52.8), (0.3, 54.9), (0.3, 54.9), (0.5, 53.5)]
SAGS = ((0.1, 0.6),) * 4 + ((0.1, 1.3),) * 4
WHOLE = {"frequency_min_hz": 50.0, "frequency_max_hz": 54.0}


def turning(*pairs, of=None, **own):
    rows = [run(7 * n, **({"speed_mean_rpm": rpm, "frequency_mean_hz": hz} | own)) for n, (rpm, hz) in enumerate(pairs)]
    return book(runs=rows, days=[day(n) for n in range(70)], of=of)


FITS = [(1545.0, 51.5)] * 3

CASES = [
    raises(DROOP, "fourteen per cent", on_line(0.14), "soon", "default"),
    raises(DROOP, "five per cent in class G3", on_line(0.05, of=known({"governor_class": "G3"})), "soon", "default"),
    raises(DROOP, "one load a run", even(*STEEP), "soon", "default"),
    raises(DROOP, "since ten runs, after ten on its line", book(
        runs=[run(7 * n, load_light_fraction=0.1, load_heavy_fraction=0.6, frequency_light_hz=50 + 45 * d, frequency_heavy_hz=50 + 20 * d)
              for n, d in enumerate([0.04] * 10 + [0.14] * 10)], days=[day(n) for n in range(150)]), "soon", "default"),
    silent(DROOP, "four per cent", on_line(0.04)),
    silent(DROOP, "an isochronous governor", on_line(0.0)),
    silent(DROOP, "sags beyond its rating: no point of its line", book(
        runs=[run(7 * n, load_light_fraction=a, frequency_light_hz=50 + 2 * (1 - a), load_heavy_fraction=b, frequency_heavy_hz=50 + 2 * (1 - b) - (4 if b > 1 else 0))
              for n, (a, b) in enumerate(SAGS)], days=[day(n) for n in range(70)])),
    silent(DROOP, "sags at what 2500 m leave of its power", book(
        runs=[run(7 * n, load_light_fraction=a, frequency_light_hz=50 + 2 * (1 - a), load_heavy_fraction=b, frequency_heavy_hz=50 + 2 * (1 - b) - (4 if b > 0.7 else 0))
              for n, (a, b) in enumerate(((0.1, 0.6),) * 4 + ((0.1, 0.9),) * 4)], days=[day(n) for n in range(70)], of=known({"altitude_m": 2500.0}))),
    cannot(DROOP, "whole hertz: the step may make it", on_line(0.09, **WHOLE, frequency_low_hz=51.0, frequency_high_hz=53.0), Reason.TOO_FEW, "unsure"),
    cannot(DROOP, "the points scatter", on_line(0.09, offset_hz=(1.5, -1.2, 0.9, -1.4)), Reason.TOO_FEW, "unsure"),
    cannot(DROOP, "always the same load", on_line(0.14, ((0.3, 0.45),) * 8), Reason.TOO_FEW, "load_span"),
    cannot(DROOP, "two runs", on_line(0.14, ((0.1, 0.6),) * 2), Reason.TOO_FEW, "few_points"),
    cannot(DROOP, "a row every five minutes, two levels", on_line(0.14, resolution_s=300.0), Reason.TOO_FEW, "few_levels"),
    cannot(DROOP, "rated power not known", on_line(0.14, load_fraction_mean=None), Reason.NOT_IN_REGISTER),
    cannot(DROOP, "rated frequency not known", on_line(0.14, of=known(rated_frequency_hz=None)), Reason.NOT_IN_REGISTER),
    cannot(DROOP, "no run", book(days=[day(0)]), Reason.NOTHING_SEEN),
    # output.speed_mismatch
    raises(MISMATCH, "a wrong number of teeth", turning(*FITS, *[(1993.0, 51.5)] * 3), "soon", "far"),
    raises(MISMATCH, "half the speed of the nameplate", turning(*[(3090.0, 51.5)] * 3), "soon", "poles"),
    raises(MISMATCH, "a belt that slips", turning(*[(1468.0, 51.5)] * 3), "note", "slight"),
    raises(MISMATCH, "one run, and the only one", turning((1993.0, 51.5)), "note", "once"),
    silent(MISMATCH, "four poles at 50 Hz", turning(*FITS)),
    silent(MISMATCH, "two poles at 60 Hz", turning(*[(3690.0, 61.5)] * 3, of=known(rated_frequency_hz=60.0, rated_rpm=3600.0))),
    silent(MISMATCH, "six poles", turning(*[(1030.0, 51.5)] * 3, of=known(rated_rpm=1000.0))),
    silent(MISMATCH, "rated speed not known", turning(*[(3090.0, 51.5)] * 3, of=known(rated_rpm=None))),
    silent(MISMATCH, "speed taken from frequency", turning(*[(30.0 * hz, hz) for hz in (50.2, 51.7, 53.9)])),
    silent(MISMATCH, "one odd run", turning(*FITS, (1993.0, 51.5), *FITS)),
    cannot(MISMATCH, "never steady", turning(*FITS, steady_s=20.0), Reason.TOO_FEW, "not_steady"),
    cannot(MISMATCH, "no excitation: no frequency", turning((1500.0, 0.0), (1500.0, 0.0)), Reason.TOO_FEW, "not_steady"),
    cannot(MISMATCH, "rated frequency not known", turning(*FITS, of=known(rated_frequency_hz=None)), Reason.NOT_IN_REGISTER),
    cannot(MISMATCH, "no speed", turning((None, 51.5)), Reason.NOTHING_SEEN),
]  # fmt: skip
