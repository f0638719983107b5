"""How a log is understood, in plain lines: what `startworthy layout` tells a person before it prints the layout."""

from __future__ import annotations

from collections.abc import Iterator

from startworthy.read import Understood
from startworthy.report.terminal import one_line
from startworthy.words import texts

WIDTH = 78


def account(log: Understood) -> Iterator[str]:
    """The lines: file, layout, span, sets, columns with signals and units, what was ignored and why, first rows."""
    words = texts("report")["understood"]
    yield one_line(words["file"].format(path=log.path, how=log.described or words["not_understood"]))
    if log.rows is not None:
        yield words["rows"].format(
            rows=log.rows, first=f"{log.first_at:%Y-%m-%d %H:%M:%S}", last=f"{log.last_at:%Y-%m-%d %H:%M:%S}"
        )
    if log.set_ids:
        yield one_line(words["sets"].format(n=len(log.set_ids), sets=", ".join(log.set_ids[:12])))
    for column in log.columns:
        if column.signal is None:
            yield one_line(words["ignored"].format(header=column.header, why=column.why))
        else:
            stated = words["unit_stated"] if column.unit_stated else words["unit_inferred"].format(why=column.why)
            yield one_line(
                words["column"].format(
                    header=column.header, signal=column.signal, unit=column.unit or "-", stated=stated
                )
            )
    for note in log.notes:
        yield one_line(words["note"].format(note=note))
    for row in log.first_rows[:3]:
        yield one_line(words["row"].format(row=" | ".join(row)))[:WIDTH]
