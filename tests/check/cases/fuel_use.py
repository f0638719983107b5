"""Invented figures: they show behaviour, they prove no value."""

import math

from startworthy.findings import Reason
from tests.support.books import at, book, day, known, mark, run
from tests.support.cases import cannot, raises, silent

YEAR = (at(0), at(200))
TANK = known({"tank_litres": 60.0})
LYING = known({"tank_litres": 60.0, "tank_shape": "horizontal_cylinder"})
CURVE = known({"tank_litres": 60.0, "fuel_curve": [[0.25, 1.4], [0.5, 2.2], [0.75, 3.1], [1.0, 4.0]]})
FLOW = {"fuel_flow_lph", "speed_rpm", "power_kw"}
LEVEL = {"fuel_fraction", "speed_rpm", "power_kw"}
FULL_LPH, IDLE = 4.0, 0.18


def lph(load):
    """What the set burns."""
    return FULL_LPH * (IDLE + (1 - IDLE) * load)


def burning(
    times,
    *,
    n=30,
    minutes=60.0,
    load=lambda i: 0.5,
    level=lambda share: share,
    step=0.0,
    leak=0.0,
    air=None,
    of=TANK,
    tank=60.0,
    **more,
):
    """A run every 6 days, filled below half; times: of run i, how many times the usual use. level: sender of a share."""
    held, rows, marks = 0.95 * tank, [], []
    for i in range(n):
        if held < 0.45 * tank:
            held = 0.95 * tank
            marks.append(mark("refuel", at(6 * i - 2, 9), at(6 * i - 2, 9.2), value=0.5))
        warm = 1.0 if air is None else 1 + 0.00084 * (air(6 * i) - 15)
        before = level(held * warm / tank)
        used = times(i) * lph(load(i)) * minutes / 60
        held -= used
        after = level(held * warm / tank)
        held -= leak * tank
        shown = [round(v / step) * step if step else v for v in (before, after)]
        rows.append(
            run(
                6 * i,
                minutes,
                fuel_before_fraction=shown[0],
                fuel_after_fraction=shown[1],
                fuel_used_l=used,
                load_fraction_mean=load(i),
            )
        )
    days = [day(d, ambient_c=20.0 if air is None else air(d)) for d in range(6 * n)]
    return book(**({"runs": rows, "marks": marks, "days": days, "of": of, "span": YEAR, "signals": LEVEL} | more))


def rises(i):
    return 1.5 if i >= 14 else 1.0


def steady(i):
    return 1.0


def season(d):
    return 12.0 - 14.0 * math.cos(2 * math.pi * d / 365.0)


def depth(share):
    """Of a lying cylinder, by trial."""
    low, high = 0.0, 1.0
    for _ in range(50):
        mid = (low + high) / 2
        filled = (math.acos(1 - 2 * mid) - (1 - 2 * mid) * 2 * math.sqrt(mid - mid * mid)) / math.pi
        low, high = (mid, high) if filled < share else (low, mid)
    return low


CASES = [
    raises("fuel.rate_high", "half as much again", burning(rises), "soon", "more"),
    raises("fuel.rate_high", "through a sender of one per cent steps", burning(rises, step=0.01), "soon", "more"),
    raises("fuel.rate_high", "a lying cylinder", burning(rises, level=depth, of=LYING), "soon", "more"),
    raises("fuel.rate_high", "the tank's size not known", burning(rises, of=known()), "soon", "more_share"),
    raises("fuel.rate_high", "by a flow signal, run by run", burning(rises, signals=FLOW, of=known()), "soon", "more"),
    raises("fuel.rate_high", "over its curve from the first day on", burning(lambda i: 1.6, of=CURVE), "soon", "curve"),
    silent("fuel.rate_high", "the same all the time", burning(steady)),
    silent("fuel.rate_high", "10.6: through a sender of one per cent steps", burning(steady, step=0.01)),
    silent("fuel.rate_high", "15 % more, under the limit", burning(lambda i: 1.15 if i >= 14 else 1.0)),
    silent("fuel.rate_high", "twice the load since the middle", burning(steady, load=lambda i: 0.7 if i >= 14 else 0.35)),
    silent("fuel.rate_high", "one odd stretch", burning(lambda i: 2.0 if i == 20 else 1.0)),
    silent("fuel.rate_high", "level moving with temperature by season", burning(steady, air=season)),
    silent("fuel.rate_high", "as its curve gives", burning(steady, of=CURVE, load=lambda i: 0.6)),
    silent("fuel.rate_high", "a lying cylinder, the same all the time", burning(steady, level=depth, of=LYING)),
    cannot("fuel.rate_high", "10.6: runs of twenty minutes take too little", burning(rises, minutes=10.0, n=20), Reason.TOO_FEW, "few_spans"),
    cannot("fuel.rate_high", "a leak takes as much as the runs", burning(steady, leak=0.04), Reason.TOO_FEW, "few_spans"),
    cannot("fuel.rate_high", "no load", book(span=YEAR, runs=[run(n, load_fraction_mean=None, fuel_before_fraction=0.8, fuel_after_fraction=0.6) for n in range(9)]), Reason.SIGNAL_MISSING, "no_load"),
    cannot("fuel.rate_high", "no levels", book(runs=[run(1)], span=YEAR), Reason.NOTHING_SEEN),
    cannot("fuel.rate_high", "no fuel logged", book(runs=[run(1)], signals={"speed_rpm"}, span=YEAR), Reason.SIGNAL_MISSING),
]  # fmt: skip
