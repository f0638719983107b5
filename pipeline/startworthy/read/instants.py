"""The sets and instants of a log's rows: which set each belongs to, and its time in UTC."""

from __future__ import annotations

import numpy as np
import polars as pl

from startworthy.problems import InputError, Problem
from startworthy.read.plan import Options, Plan
from startworthy.read.reasons import RefusedReason, refused_rows
from startworthy.read.zones import Micros, days_added, to_utc
from startworthy.zonenames import require_zone

Refused = list[pl.DataFrame]


def with_set(frame: pl.DataFrame, plan: Plan) -> tuple[pl.DataFrame, Refused]:
    """Rows that name no set, where a column should, are refused."""
    if plan.set_column is None:
        return frame, []
    empty = (frame["set_id"].is_null() | (frame["set_id"] == "")).fill_null(True)
    if not empty.any():
        return frame, []
    header = plan.dialect.headers[plan.set_column]
    return frame.filter(~empty), [refused_rows(frame["line"].filter(empty), header, None, RefusedReason.NO_SET)]


def with_instants(frame: pl.DataFrame, plan: Plan, options: Options) -> tuple[pl.DataFrame, Refused, tuple[str, ...]]:
    """`at` in UTC, and the zones that it was read in; rows at face values that their zone never had are refused.

    Raises InputError (`unknown_zone`).
    """
    time = plan.time
    assert time is not None
    if time.kind == "clock" and frame.height:
        frame = _with_days(frame)
    in_utc = pl.col("at").dt.replace_time_zone("UTC")
    if time.utc or not frame.height:
        return frame.with_columns(in_utc), [], ("UTC",)
    sets = frame["set_id"].unique().cast(pl.String).to_list()
    zones = {name: _zone_of(name, plan, options) for name in sets}
    said = tuple(sorted(set(zones.values())))
    if said in (("UTC",), ("Etc/UTC",)):
        return frame.with_columns(in_utc), [], said
    local = frame["at"].cast(pl.Int64).to_numpy()
    utc, missing = np.empty_like(local), np.zeros(len(local), np.bool_)
    for name in sets:
        own = slice(None) if len(sets) == 1 else (frame["set_id"] == name).arg_true().to_numpy()
        utc[own], missing[own] = to_utc(local[own], zones[name])
    done = frame.with_columns(_cut_like(frame["at"], utc).cast(pl.Datetime("us")).dt.replace_time_zone("UTC"))
    if not missing.any():
        return done, [], said
    lost = pl.Series(missing)
    text = frame["at"].filter(lost).dt.to_string("%Y-%m-%d %H:%M:%S")
    header = plan.dialect.headers[time.time_column]
    return (
        done.filter(~lost),
        [refused_rows(frame["line"].filter(lost), header, text, RefusedReason.NO_SUCH_TIME)],
        said,
    )


def _cut_like(column: pl.Series, micros: Micros) -> pl.Series:
    """The numbers in pieces as long as the column's: a frame of columns cut differently copies itself whole."""
    pieces, at = [], 0
    for length in column.chunk_lengths():
        pieces.append(pl.Series(column.name, micros[at : at + length]))
        at += length
    return pl.concat(pieces, rechunk=False)


def _with_days(frame: pl.DataFrame) -> pl.DataFrame:
    """Clock times without a date: each set's own midnights are counted."""
    parts = frame.partition_by("set_id", maintain_order=True)
    dated = [
        part.with_columns(at=pl.Series(days_added(part["at"].cast(pl.Int64).to_numpy())).cast(pl.Datetime("us")))
        for part in parts
    ]
    return pl.concat(dated).sort("line") if len(parts) > 1 else dated[0]


def _zone_of(set_id: str, plan: Plan, options: Options) -> str:
    """The caller's word goes first, then the layout's, the header's, and the register's."""
    assert plan.time is not None
    zone = options.time_zone or options.layout.time_zone or plan.time.time_zone or options.zone_of(set_id)
    try:
        require_zone(zone)
    except ValueError as error:
        raise InputError(Problem("unknown_zone", plan.source.label, values={"why": str(error)})) from None
    return zone
