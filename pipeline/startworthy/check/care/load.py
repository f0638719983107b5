"""How long did it run with hardly any load?"""

from __future__ import annotations

from collections.abc import Iterator

import polars as pl

from startworthy.check.found import HOUR_S, found, not_assessed
from startworthy.check.frame import check
from startworthy.findings import Clear, Outcome, Question, Reason, Severity
from startworthy.limits import Limits
from startworthy.results import Known, Logbook

_CODE = "care.light_running"


@check(
    _CODE,
    question=Question.CARE,
    signals=["load_fraction|power_kw|current_a|current_l1_a"],
    needs=["runs"],
    limits=[
        "light_running_fraction",
        "light_running_rows",
        "light_running_share",
        "light_running_h",
        "light_running_long_h",
        "burnt_clean_fraction",
        "burnt_clean_s",
    ],
    since="0.1",
)
def light_running(book: Logbook, known: Known, limit: Limits) -> Iterator[Outcome]:
    """Hours of runs with a mean load below 30 % since the last run that burnt off what these leave behind.

    They only count where they are most of its running: a set that mostly carries load keeps itself clean.
    """
    runs = book.runs.sort("began_at").filter(
        pl.col("running_s").is_not_null(), pl.col("rows") >= limit.value("light_running_rows")
    )
    told = runs.filter(pl.col("load_fraction_mean").is_not_null())
    if told.is_empty():
        rated = known.rated_kw is None and runs["load_kw_mean"].null_count() < runs.height
        yield not_assessed(_CODE, Reason.NOT_IN_REGISTER if rated else Reason.NOTHING_SEEN, key="rated_kw")
        return
    load, ran_s = pl.col("load_fraction_mean"), pl.col("running_s")
    clean = (load >= limit.value("burnt_clean_fraction")) & (ran_s >= limit.value("burnt_clean_s"))
    last = told.filter(clean)["began_at"]
    since = told.filter(pl.col("began_at") > last[-1]) if last.len() else told
    light = since.filter(load < limit.value("light_running_fraction"))
    light_h = float(light["running_s"].sum() or 0.0) / HOUR_S
    whole_h = float(since["running_s"].sum() or 0.0) / HOUR_S
    evidence = {
        "light_h": light_h,
        "whole_h": whole_h,
        "runs": light.height,
        "load_fraction": float((light["load_fraction_mean"] * light["running_s"]).sum()) / (light_h * HOUR_S)
        if light_h
        else None,
        "clean_date": last[-1] if last.len() else None,
    }
    near, far = limit["light_running_h"], limit["light_running_long_h"]
    mostly = whole_h > 0.0 and limit["light_running_share"].broken_by(light_h / whole_h)
    if not (mostly and near.broken_by(light_h)):
        yield Clear(_CODE, evidence)
        return
    very = far.broken_by(light_h)
    yield found(
        _CODE,
        Severity.SOON if very else Severity.NOTE,
        far if very else near,
        light_h,
        (light["began_at"][0], light["ended_at"][-1]),
        variant="long" if very else "some",
        evidence=evidence,
    )
