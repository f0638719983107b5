"""Clocks of one site held against each other: sets on one mains see its losses and returns at the same instant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from startworthy.limits import Limits
from startworthy.logbook.tables import in_form
from startworthy.results import Known, Sampling
from startworthy.statistics.trend import theil_sen

FARTHEST_S = 2 * 86_400.0
SHARE_PAIRED = 0.6
"""Of the outages that both logs cover so many have to pair up; else the two do not share their mains. Practice."""
LEAST_OUTAGES = 4
"""Fewer outages may pair up by chance. Practice."""
_DRIFT_S_DAY = 30.0
_ROUNDS = 12
_MOST = 1500


@dataclass(frozen=True, slots=True)
class Beside:
    """The clock of one set against that of another: positive is ahead.

    drift_s_day is 0 where no drift can be told from scatter. offset_s: at the last outage that both saw. resolution_s:
    by how much rows let the two differ.
    """

    offset_s: float
    drift_s_day: float
    outages: int
    resolution_s: float
    first: int
    last: int


def clocks_beside(marks: pl.DataFrame, known: Mapping[str, Known], sampling: Mapping[str, Sampling]) -> pl.DataFrame:
    """A mark `clock_beside` for each set whose clock differs from that of most others of its site.

    marks: of all sets. Sets are of one site where the register says so. Of two sets both are told, for which of the two
    is right nobody knows. `value`: seconds a day, `before`: seconds at the last outage, `after`: outages, `text`: the
    other set.
    """
    sites: dict[str, list[str]] = {}
    for set_id, one in known.items():
        if one.entry.site:
            sites.setdefault(one.entry.site, []).append(set_id)
    found = []
    for members in sites.values():
        if len(members) > 1:
            found += _of_site(marks, sorted(members), known, sampling)
    return in_form("marks", pl.DataFrame(found, schema=_SCHEMA, orient="row"))


_SCHEMA: dict[str, Any] = {
    "set_id": pl.String, "kind": pl.String, "began_at": pl.Datetime("us", "UTC"), "ended_at": pl.Datetime("us", "UTC"),
    "signal": pl.String, "value": pl.Float64, "before": pl.Float64, "after": pl.Float64, "text": pl.String,
}  # fmt: skip


def _of_site(
    marks: pl.DataFrame, members: list[str], known: Mapping[str, Known], sampling: Mapping[str, Sampling]
) -> list[dict[str, Any]]:
    seen = {set_id: _outages(marks, set_id) for set_id in members}
    met: dict[str, list[tuple[str, Beside]]] = {set_id: [] for set_id in members}
    for one, two in combinations(members, 2):
        apart = compared(seen[one], seen[two], _rows_s(sampling, one) + _rows_s(sampling, two))
        if apart is None:
            continue
        met[one].append((two, apart))
        met[two].append((one, replace(apart, offset_s=-apart.offset_s, drift_s_day=-apart.drift_s_day)))
    found = []
    for set_id, others in met.items():
        off = [(other, b) for other, b in others if differs(b, known[set_id].limits)]
        if 2 * len(off) <= len(others):
            continue
        other, b = max(off, key=lambda pair: pair[1].outages)
        found.append(
            {
                "set_id": set_id,
                "kind": "clock_beside",
                "began_at": b.first,
                "ended_at": b.last,
                "signal": "mains_present",
                "value": b.drift_s_day,
                "before": b.offset_s,
                "after": float(b.outages),
                "text": other,
            }
        )
    return found


def differs(apart: Beside, limits: Limits) -> bool:
    """Whether two clocks are further apart than the limit and the rows let them be, or drift apart."""
    far = limits["clock_beside_s"].broken_by(abs(apart.offset_s)) and abs(apart.offset_s) > apart.resolution_s
    return far or limits["clock_drift_s"].broken_by(abs(apart.drift_s_day))


def _rows_s(sampling: Mapping[str, Sampling], set_id: str) -> float:
    own = sampling.get(set_id)
    return (own.rest_s if own and own.rest_s else None) or 60.0


def _outages(marks: pl.DataFrame, set_id: str) -> NDArray[np.int64]:
    """Begin and length of each loss of mains that has an end, in microseconds: n rows, two columns."""
    own = marks.filter(
        (pl.col("kind") == "mains_lost") & (pl.col("set_id") == set_id) & pl.col("ended_at").is_not_null()
    )
    own = own.sort("began_at").head(_MOST).select("began_at", pl.col("ended_at") - pl.col("began_at"))
    return own.select(pl.all().to_physical()).to_numpy()


def _on_one_line(gap: NDArray[np.float64], day: NDArray[np.float64], width: float) -> NDArray[np.bool_]:
    """The differences that lie nearest to one line of no great slope: of all slopes the one that most lie along."""
    best, on = 0, np.zeros(len(gap), dtype=bool)
    steps = int(np.ceil(_DRIFT_S_DAY * np.ptp(day) / width)) + 1
    slopes = np.unique(np.concatenate([[0.0], np.linspace(-_DRIFT_S_DAY, _DRIFT_S_DAY, 2 * steps + 1)]))
    for slope in slopes[np.argsort(np.abs(slopes), kind="stable")]:
        level = gap - slope * day
        order = np.sort(level)
        reach = np.searchsorted(order, order + 2 * width, side="right") - np.arange(len(order))
        begin = int(np.argmax(reach))
        if reach[begin] > best:
            best = int(reach[begin])
            on = (level >= order[begin]) & (level <= order[begin] + 2 * width)
    return on


def compared(one: NDArray[np.int64], two: NDArray[np.int64], rows_s: float) -> Beside | None:
    """The clock of the first against that of the second; None where too few outages pair up.

    one, two: begin and length of outages (microseconds). Outages pair up by their length; of all differences of their
    beginnings those count that lie on one line.
    """
    least = LEAST_OUTAGES
    if min(len(one), len(two)) < least:
        return None
    lengths = np.abs(one[:, 1][:, None] - two[:, 1][None, :]) / 1e6
    apart = (one[:, 0][:, None] - two[:, 0][None, :]) / 1e6
    i, j = np.nonzero((lengths <= rows_s + 2.0) & (np.abs(apart) <= FARTHEST_S))
    if len(i) < least:
        return None
    gap, day = apart[i, j], one[i, 0] / 8.64e10
    width = rows_s + 2.0
    on = _on_one_line(gap, day, width)
    slope = level = 0.0
    for _ in range(_ROUNDS):
        x, y = day[on], gap[on]
        pivot = float(np.median(x))
        fit = theil_sen(pl.Series(x - pivot), pl.Series(y), 0.95)
        slope = float(np.clip(fit.per_x or 0.0, -_DRIFT_S_DAY, _DRIFT_S_DAY))
        level = float(np.median(y - slope * (x - pivot)))
        # a line holds near what it was drawn through: its reach grows with every round
        near = (day >= x.min() - 0.5 * np.ptp(x) - 1) & (day <= x.max() + 0.5 * np.ptp(x) + 1)
        now = near & (np.abs(gap - level - slope * (day - pivot)) <= width)
        if now.sum() < least or (now == on).all():
            on = now if now.sum() >= least else on
            break
        on = now
    pairs = len(np.unique(i[on]))
    low, high = max(one[0, 0], two[0, 0]) - 1e6 * width, min(one[-1, 0], two[-1, 0]) + 1e6 * width
    both = min(int(((own[:, 0] >= low) & (own[:, 0] <= high)).sum()) for own in (one, two))
    if pairs < least or pairs < SHARE_PAIRED * both:
        return None
    x, y = day[on], gap[on]
    fit = theil_sen(pl.Series(x - x.max()), pl.Series(y), 0.95)
    told = fit.low is not None and fit.high is not None and (fit.low > 0 or fit.high < 0)
    drift = float(fit.per_x or 0.0) if told and abs(fit.per_x or 0.0) * np.ptp(x) > width else 0.0
    offset = float(np.median(y - drift * (x - x.max())))
    return Beside(offset, drift, pairs, rows_s, int(one[i[on], 0].min()), int(one[i[on], 0].max()))
