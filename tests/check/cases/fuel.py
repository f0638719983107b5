"""Invented figures: they show behaviour, they prove no value."""

import math

from startworthy.findings import Reason
from tests.support.books import at, book, day, fuel_day, known, mark, run
from tests.support.cases import cannot, raises, silent

TANK = known({"tank_litres": 110.0, "tank_shape": "rectangular"})
LYING = known({"tank_litres": 110.0, "tank_shape": "horizontal_cylinder"})


def ends_at(level, of=None):
    return book(days=[fuel_day(n, 0.75 if n < 5 else level) for n in range(6)], of=of)


def levels(values, of=None, **more):
    """A day each; a tuple is a level and what else the day is."""
    days = [fuel_day(n, v[0], **v[1]) if isinstance(v, tuple) else fuel_day(n, v) for n, v in enumerate(values)]
    return book(days=days, of=of, **more)


def coarse(level):
    """As a sender with steps of 1 % gives it."""
    return round(level * 100.0) / 100.0


RUN_DAY = {"running_s": 1200.0}
NO_FUEL = {"rest_fuel_fraction": None, "rest_fuel_first_fraction": None, "rest_fuel_last_fraction": None}
leak = [0.8 - 0.015 / 7 * n for n in range(60)]
weekly_runs = [(coarse(0.9 - 0.006 * (n // 7)), RUN_DAY if n % 7 == 0 else {}) for n in range(120)]
swelling = [
    (0.9 * (1 + 0.00084 * c), {"ambient_c": 10.0 + c})
    for c in (12.0 * math.sin(2 * math.pi * n / 180.0) + 4.0 * math.sin(2 * math.pi * n / 9.0) for n in range(180))
]
drained = (
    [0.8] * 20
    + [(0.8, {"rest_fuel_first_fraction": 0.8, "rest_fuel_last_fraction": 0.7, "rest_fuel_fraction": 0.75})]
    + [0.7] * 20
)

CASES = [
    raises("fuel.low", "under a quarter, size not known", ends_at(0.2), "soon", "low"),
    raises("fuel.low", "under a quarter, in litres", ends_at(0.2, TANK), "soon", "low_litres"),
    raises("fuel.low", "a lying cylinder gets its litres too", ends_at(0.2, LYING), "soon", "low_litres"),
    raises("fuel.low", "almost at the stop", ends_at(0.12), "urgent", "near_stop"),
    raises("fuel.low", "almost at the stop, in litres", ends_at(0.12, TANK), "urgent", "near_stop_litres"),
    raises("fuel.low", "told only after a run", book(runs=[run(1, fuel_after_fraction=0.2)], days=[day(n, **NO_FUEL) for n in range(3)]), "soon", "low"),
    silent("fuel.low", "exactly a quarter", ends_at(0.25)),
    silent("fuel.low", "low once, filled since", levels([0.2, 0.2, 0.9, 0.9])),
    silent("fuel.low", "filled on the last day", levels([0.2, (0.2, {"rest_fuel_last_fraction": 0.95})])),
    cannot("fuel.low", "no fuel logged", book(days=[day(0)], signals={"speed_rpm"}), Reason.SIGNAL_MISSING),
    cannot("fuel.low", "no level at rest", book(days=[day(0, **NO_FUEL)]), Reason.NOTHING_SEEN),
    # fuel.lost_at_rest
    raises("fuel.lost_at_rest", "one and a half per cent a week", levels(leak), "soon", "slow"),
    raises("fuel.lost_at_rest", "the same through a sender of one per cent steps", levels([coarse(v) for v in leak]), "soon", "slow"),
    raises("fuel.lost_at_rest", "until the tank is low", levels([v - 0.45 for v in leak]), "urgent", "slow"),
    raises("fuel.lost_at_rest", "only in the last weeks", levels([0.8] * 120 + [0.8 - 0.003 * n for n in range(30)]), "soon", "slow"),
    raises("fuel.lost_at_rest", "between weekly runs and a refuel", levels(
        [(0.8 - 0.003 * n + (0.4 if n > 40 else 0.0), RUN_DAY if n % 7 == 0 else {}) for n in range(80)], marks=[mark("refuel", at(41, 9), at(41, 9.5), value=0.4)]), "soon", "slow"),
    raises("fuel.lost_at_rest", "a tenth within a day", levels(drained), "soon", "sudden"),
    raises("fuel.lost_at_rest", "a quarter overnight", levels([0.8] * 20 + [0.55] * 20), "urgent", "sudden"),
    raises("fuel.lost_at_rest", "a quarter overnight, four months ago", levels([0.8] * 20 + [0.55] * 120), "soon", "sudden"),
    raises("fuel.lost_at_rest", "a tenth within a day, four months ago", levels([0.8] * 20 + [0.7] * 120), "note", "sudden"),
    raises("fuel.lost_at_rest", "a tenth, and then it is low", levels([0.3] * 20 + [0.2] * 20), "urgent", "sudden"),
    raises("fuel.lost_at_rest", "a mark of the logbook", levels([0.8] * 30, marks=[mark("fuel_loss", at(12, 2), at(12, 3), value=0.12, before=0.8, after=0.68)]), "soon", "sudden"),
    silent("fuel.lost_at_rest", "still", levels([0.8] * 60)),
    silent("fuel.lost_at_rest", "used by weekly runs, steps of one per cent", levels(weekly_runs)),
    silent("fuel.lost_at_rest", "swelling by day and by season", levels(swelling)),
    silent("fuel.lost_at_rest", "the same through a sender of one per cent steps", levels([(coarse(v), more) for v, more in swelling])),
    silent("fuel.lost_at_rest", "exactly one per cent a week", levels([0.8 - 0.01 * n / 7 for n in range(70)])),
    silent("fuel.lost_at_rest", "a sender that drops out for an hour", levels([0.8] * 20 + [(0.8, {"rest_fuel_last_fraction": 0.0})] + [0.8] * 20)),
    silent("fuel.lost_at_rest", "a long outage burnt it", levels([0.8] * 20 + [(0.6, {"running_s": 40000.0, "rest_fuel_first_fraction": 0.8, "rest_fuel_last_fraction": 0.5})] + [0.5] * 20)),
    silent("fuel.lost_at_rest", "refuelled twice", levels([0.5] * 20 + [0.9] * 20 + [1.0] * 20)),
    silent("fuel.lost_at_rest", "exactly five per cent in a day", levels([0.75] * 20 + [0.75 - 0.05] * 20)),
    cannot("fuel.lost_at_rest", "ten days", levels([0.8] * 10), Reason.TOO_FEW, "few_days"),
    cannot("fuel.lost_at_rest", "it runs every day", levels([(0.8, RUN_DAY)] * 60), Reason.TOO_FEW, "few_days"),
    cannot("fuel.lost_at_rest", "no level at rest", book(days=[day(0, **NO_FUEL)]), Reason.NOTHING_SEEN),
]  # fmt: skip
