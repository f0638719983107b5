"""How a log is understood, in plain lines: what `startworthy layout` tells a person before it prints the layout."""

from __future__ import annotations

from collections.abc import Iterator

from startworthy.read import Understood
from startworthy.words import texts
from startworthy.words.plain import one_line, one_path

WIDTH = 78
_MOST = 2000
"""Characters of a line that sums up what a file may hold any amount of."""


def account(log: Understood) -> Iterator[str]:
    """The lines: file, layout, span, sets, columns with signals and units, what was ignored and why, first rows."""
    words = texts("report")["understood"]
    how = log.described or words["not_understood"]
    yield one_line(words["file"].format(path=one_path(log.path), how=how), _MOST)
    if log.rows is not None:
        yield words["rows"].format(
            rows=log.rows, first=f"{log.first_at:%Y-%m-%d %H:%M:%S}", last=f"{log.last_at:%Y-%m-%d %H:%M:%S}"
        )
    if log.set_ids:
        names = ", ".join(one_line(name) for name in log.set_ids[:12])
        yield one_line(words["sets"].format(n=len(log.set_ids), sets=names), _MOST)
    for column in log.columns:
        if column.signal is None:
            yield one_line(words["ignored"].format(header=one_line(column.header), why=column.why), _MOST)
        else:
            stated = words["unit_stated"] if column.unit_stated else words["unit_inferred"].format(why=column.why)
            yield one_line(
                words["column"].format(
                    header=one_line(column.header), signal=column.signal, unit=column.unit or "-", stated=stated
                ),
                _MOST,
            )
    for note in log.notes:
        yield one_line(words["note"].format(note=note), _MOST)
    for row in log.first_rows[:3]:
        yield one_line(words["row"].format(row=" | ".join(row)))[:WIDTH]
