"""What is usual for a set, told from its runs: its poles, and the load that it carries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import polars as pl

from startworthy.physics.electric import poles_from
from startworthy.results import Known

# Common practice, no source.
LEAST_RUNS, LEAST_LOADED_S, LOADED = 2, 1800.0, 0.03


def with_usual(known: Mapping[str, Known], runs: pl.DataFrame) -> dict[str, Known]:
    """Known, with poles and usual load filled in where the log shows them; runs: the runs table with its causes."""
    loads = {row["set_id"]: row for row in _usual_loads(runs).iter_rows(named=True)}
    return {set_id: _with_load(_with_poles(one), loads.get(set_id)) for set_id, one in known.items()}


def _with_poles(known: Known) -> Known:
    hz, rpm = known.rated_frequency_hz, known.rated_rpm
    if hz is None or rpm is None:
        return known
    poles = poles_from(hz, rpm)
    if poles is None:
        return known
    return replace(known, poles=poles, inferred={**known.inferred, "poles": f"{hz:.0f} Hz at {rpm:.0f} rpm"})


def _with_load(known: Known, usual: dict[str, float | str] | None) -> Known:
    if usual is None:
        return known
    runs, kind = usual["runs"], "outages" if usual["outage"] else "runs with load"
    name = "usual_load_fraction" if usual["load_fraction"] is not None else "usual_load_kw"
    evidence = f"median over {runs} {kind}"
    told = {
        "usual_load_fraction": usual["load_fraction"],
        "usual_load_kw": usual["load_kw"],
    }
    return replace(known, **told, inferred={**known.inferred, name: evidence})  # type: ignore[arg-type]


def _usual_loads(runs: pl.DataFrame) -> pl.DataFrame:
    """One row a set: the median load of its outages, else of all runs that carried any. Runs weigh by their time."""
    load = pl.coalesce("load_fraction_mean", "load_kw_mean")
    loaded = runs.filter(pl.col("load_taken_s").is_not_null() & (load > LOADED)).sort("set_id", load)

    def middle(name: str) -> pl.Expr:
        half = pl.col("running_s").cum_sum() >= pl.col("running_s").sum() / 2
        return pl.col(name).filter(half).first()

    def of(frame: pl.DataFrame, *, outage: bool) -> pl.DataFrame:
        return (
            frame.group_by("set_id", maintain_order=True)
            .agg(
                pl.len().alias("runs"),
                pl.col("running_s").sum().alias("loaded_s"),
                middle("load_fraction_mean").alias("load_fraction"),
                middle("load_kw_mean").alias("load_kw"),
            )
            .filter((pl.col("runs") >= LEAST_RUNS) & (pl.col("loaded_s") >= LEAST_LOADED_S))
            .with_columns(pl.lit(outage).alias("outage"))
        )

    in_outages = of(loaded.filter(pl.col("cause") == "outage"), outage=True)
    return pl.concat([in_outages, of(loaded, outage=False)]).unique("set_id", keep="first", maintain_order=True)
