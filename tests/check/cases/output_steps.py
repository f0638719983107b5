"""Invented figures: they show behaviour, they prove no value."""

from startworthy.findings import Reason
from tests.support.books import book, day, known, run
from tests.support.cases import cannot, raises, silent

CODE = "output.load_step"
HEALTHY = {
    "steps": 2, "step_fraction": 0.6, "step_frequency_fraction": -0.05, "step_frequency_s": 3.0, "step_voltage_fraction": -0.06,
    "step_voltage_s": 1.0, "load_fraction_max": 0.65,
}  # fmt: skip
G2, G3 = known({"governor_class": "G2"}), known({"governor_class": "G3"})


def stepped(*changes, of=None, **own):
    rows = [run(7 * n, **(HEALTHY | change | own)) for n, change in enumerate(changes)]
    return book(runs=rows, days=[day(n) for n in range(70)], of=of)


def twice(of=None, **change):
    return stepped({}, {}, change, change, of=of)


CASES = [
    raises(CODE, "frequency dips by a sixth", twice(step_frequency_fraction=-0.17), "soon", "frequency_dip"),
    raises(CODE, "G2: frequency dips by an eighth", twice(step_frequency_fraction=-0.12, of=G2), "soon", "frequency_dip"),
    raises(CODE, "G3: frequency dips by a twelfth", twice(step_frequency_fraction=-0.08, of=G3), "soon", "frequency_dip"),
    raises(CODE, "frequency runs up by a fifth", twice(step_fraction=-0.6, step_frequency_fraction=0.19), "soon", "frequency_rise"),
    raises(CODE, "frequency takes fourteen seconds", twice(step_frequency_s=14.0), "soon", "frequency_slow"),
    raises(CODE, "G2: frequency takes seven seconds", twice(step_frequency_s=7.0, of=G2), "soon", "frequency_slow"),
    raises(CODE, "G3: frequency takes five seconds", twice(step_frequency_s=5.0, of=G3), "soon", "frequency_slow"),
    raises(CODE, "voltage takes fourteen seconds", twice(step_voltage_s=14.0), "soon", "voltage_slow"),
    raises(CODE, "G2: voltage takes eight seconds", twice(step_voltage_s=8.0, of=G2), "soon", "voltage_slow"),
    raises(CODE, "G3: voltage takes six seconds", twice(step_voltage_s=6.0, of=G3), "soon", "voltage_slow"),
    raises(CODE, "a motor's inrush pulls the voltage down for a moment", twice(step_voltage_fraction=-0.3), "note", "voltage_dip"),
    raises(CODE, "voltage rises by two fifths for a moment", twice(step_voltage_fraction=0.4), "note", "voltage_rise"),
    raises(CODE, "once", stepped({}, {"step_frequency_fraction": -0.17}, {}), "note", "once"),
    silent(CODE, "in class", stepped({}, {}, {})),
    silent(CODE, "equal to the class, a row later", twice(step_frequency_fraction=-0.15, step_frequency_s=11.0)),
    silent(CODE, "an overload in between is another fault", stepped({}, {}, *[{"load_fraction_max": 1.2, "step_frequency_fraction": -0.2}] * 2)),
    silent(CODE, "not back within the rows seen: nobody knows", twice(step_frequency_s=None)),
    cannot(CODE, "only small steps", stepped({}, {}, step_fraction=0.15), Reason.TOO_FEW, "small_steps"),
    cannot(CODE, "no step", stepped({}, {}, steps=0, step_fraction=None), Reason.TOO_FEW, "small_steps"),
    cannot(CODE, "a row every ten seconds", stepped({}, {}, resolution_s=10.0, steps=None), Reason.TOO_COARSE),
    cannot(CODE, "rated power not known", stepped({}, {}, load_fraction_mean=None), Reason.NOT_IN_REGISTER),
    cannot(CODE, "load not logged", book(runs=[run(1)], days=[day(0)], signals={"frequency_hz"}), Reason.SIGNAL_MISSING),
    cannot(CODE, "no run", book(days=[day(0)]), Reason.NOTHING_SEEN),
]  # fmt: skip
