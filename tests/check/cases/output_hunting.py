"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import book, day, known, run
from tests.support.cases import cannot, raises, silent

CODE = "output.frequency_hunting"
FINE = {"frequency_min_hz": 50.83, "frequency_max_hz": 52.17, "frequency_low_hz": 50.84, "frequency_high_hz": 52.15}
WHOLE = {"frequency_min_hz": 50.0, "frequency_max_hz": 53.0, "frequency_low_hz": 51.0, "frequency_high_hz": 52.0}
MINUTES = {"resolution_s": 60.0, "rows": 45}
BLIND = {"load_fraction_mean": None}


def bands(*values, of=None, **own):
    rows = [
        run(7 * n, **({"frequency_band_hz": v, "frequency_windows": 19} | FINE | own)) for n, v in enumerate(values)
    ]
    return book(runs=rows, days=[day(n) for n in range(70)], of=of)


CASES = [
    raises(CODE, "two runs over the band of G1", bands(0.4, 0.4, 1.5, 1.5, steady_s=120.0), "soon", "wide"),
    raises(CODE, "five minutes of the last", bands(0.4, 0.4, 1.5), "soon", "wide"),
    raises(CODE, "with a period that chance does not show", bands(2.4, 2.4, hunting_period_s=4.3, hunting_chance=1e-9), "soon", "periodic"),
    raises(CODE, "with a period that chance shows as well", bands(2.4, 2.4, hunting_period_s=4.3, hunting_chance=0.2), "soon", "wide"),
    raises(CODE, "once, briefly", bands(1.5, 0.4, 0.4), "note", "once"),
    raises(CODE, "class G3 holds it closer", bands(0.5, 0.5, of=known({"governor_class": "G3"})), "soon", "wide"),
    raises(CODE, "a row a minute shows a lower bound, and that is over", bands(1.6, 1.6, **MINUTES), "soon", "wide"),
    raises(CODE, "load not logged, far over", bands(2.4, 2.4, **BLIND), "soon", "wide"),
    raises(CODE, "whole hertz, four of them", bands(4.0, 4.0, **WHOLE), "soon", "wide"),
    raises(CODE, "a row a minute, the last run alone", bands(0.4, 0.4, 1.6, **MINUTES), "note", "once"),
    silent(CODE, "steady", bands(0.4, 0.3, 0.5)),
    silent(CODE, "whole hertz: two steps are one at least", bands(2.0, 2.0, 2.0, **WHOLE)),
    silent(CODE, "tenths of a hertz", bands(1.3, 1.3, frequency_min_hz=50.8, frequency_max_hz=52.1, frequency_low_hz=50.9, frequency_high_hz=52.0)),
    silent(CODE, "equal to the band and the instrument's error", bands(1.35, 1.35)),
    silent(CODE, "load not logged: a load that comes and goes looks alike", bands(1.6, 1.6, **BLIND)),
    silent(CODE, "60 Hz", bands(1.6, 1.6, frequency_mean_hz=61.5, of=known(rated_frequency_hz=60.0))),
    silent(CODE, "a row a minute, one of them while it slowed down", bands(8.0, 8.0, frequency_mean_hz=51.2, frequency_min_hz=43.5, frequency_max_hz=51.7, **MINUTES)),
    cannot(CODE, "runs of two minutes, of which one half is its slowing down", bands(5.0, 5.0, frequency_windows=2), Reason.TOO_FEW, "few_stretches"),
    cannot(CODE, "a row every five minutes", bands(1.6, 1.6, resolution_s=300.0), Reason.TOO_COARSE, "coarse"),
    cannot(CODE, "a row a minute, load not logged", bands(2.4, 2.4, **MINUTES, **BLIND), Reason.TOO_COARSE, "load_unknown"),
    cannot(CODE, "a frequency that drops out", bands(50.0, 50.0), Reason.TOO_FEW, "drops_out"),
    cannot(CODE, "rated frequency not known", bands(2.0, 2.0, of=known(rated_frequency_hz=None)), Reason.NOT_IN_REGISTER),
    cannot(CODE, "no stretch of steady load", book(runs=[run(1)], days=[day(0)]), Reason.NOTHING_SEEN),
]  # fmt: skip
