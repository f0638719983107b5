"""The fifth stage: pages, tables and documents of a result. It draws; it judges nothing itself."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from startworthy.callable_stage import make_callable
from startworthy.results import Checked
from startworthy.words import Style, Units

__all__ = ["FORMATS", "write_report"]

FORMATS = ("html", "json", "csv", "parquet")


def write_report(
    checked: Checked,
    out: Path,
    *,
    formats: Collection[str] = frozenset({"html", "json", "csv"}),
    table_format: str = "csv",
    units: Units = "si",
) -> list[Path]:
    """Write the report under `out`; return the files written, the page over all sets first if there is one.

    html: a page for each set and index.html. json: findings.json. csv: findings.csv and the logbook's tables.
    parquet: the logbook's tables as parquet (so does csv with table_format parquet). refused.csv is written
    wherever anything was refused. All files are written aside and put in place at the end, the page over all sets
    last: if anything fails, `out` is as it was. Raises ValueError for an unknown format, OSError where `out` cannot
    be written (write.NotWrittenError where writing was begun).
    """
    unknown = set(formats) - set(FORMATS)
    if unknown or table_format not in {"csv", "parquet"}:
        raise ValueError(f"unknown format {', '.join(sorted(unknown)) or table_format}; known are {', '.join(FORMATS)}")
    from startworthy.report.write import together

    with together(last=out / "index.html", then=f"the report in {out} is complete"):
        return _written(checked, out, formats, table_format, Style(units=units))


def _written(checked: Checked, out: Path, formats: Collection[str], table_format: str, style: Style) -> list[Path]:
    from startworthy.report.cells import Where
    from startworthy.report.findings_json import document_text, findings_document
    from startworthy.report.tables import findings_frame, write_logbook, write_refused, write_table
    from startworthy.report.write import write_text

    kinds = [kind for kind in ("csv", "parquet") if kind in formats]
    if kinds == ["csv"]:
        kinds = [table_format]
    written: list[Path] = []
    if "html" in formats:
        from startworthy.report.names import page_names
        from startworthy.report.page import index_page, set_pages

        names = page_names(result.set_id for result in checked.sets)
        where = Where(kinds[0] if kinds else "csv", bool(kinds))
        pages = [write_text(out / name, page) for name, page in set_pages(checked, names, style, where)]
        written += [write_text(out / "index.html", index_page(checked, names, style)), *pages]
    if "json" in formats:
        written.append(write_text(out / "findings.json", document_text(findings_document(checked, style))))
    if "csv" in formats:
        written.append(write_table(out / "findings.csv", findings_frame(checked, style)))
    for kind in kinds:
        written += write_logbook(checked, out / "logbook", "parquet" if kind == "parquet" else "csv")
    return written + write_refused(checked, out / "refused.csv")


make_callable(__name__)
