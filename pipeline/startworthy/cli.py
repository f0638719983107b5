"""The command line: parses, calls, prints. Only click is imported here; the rest when a command runs."""

from __future__ import annotations

import gc
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from startworthy import stopping
from startworthy.streams import Program, load_libraries

if TYPE_CHECKING:
    from collections.abc import Iterable

    from startworthy.problems import Problem
    from startworthy.read.layout import DateOrder
    from startworthy.results import Checked
    from startworthy.words import Units

FORMATS = ("html", "json", "csv", "parquet")


class _Date(click.DateTime):
    """A date, with a time or without one; what is none is told without the letters of a pattern."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            self.fail(f"'{value}' is not a date; write it as 2026-01-31 or 2026-01-31T13:30:00", param, ctx)


@click.group(cls=Program, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="startworthy", prog_name="startworthy")
def main() -> None:
    """Read the logs of standby generating sets and say whether each will start, carry its load and keep running.

    Exit codes: 0 done; 1 findings at or above --fail-on; 2 wrong use; 3 some input could not be read (the rest was
    done); 4 nothing could be read; 5 the report could not be written; 130 and 143 stopped by SIGINT and SIGTERM.
    """


def _reading_options(command: Any) -> Any:
    """The options that say how files are understood: the same for every command that reads."""
    for option in (
        click.option(
            "--date-order",
            type=click.Choice(["dmy", "mdy", "ymd"]),
            help="Order of day, month and year where a file leaves it open.",
        ),
        click.option(
            "--time-zone", metavar="ZONE", help="IANA zone of times without an offset, before that of the register."
        ),
        click.option(
            "--layout",
            type=click.Path(path_type=Path),
            help="A layout file that says how the files are to be understood.",
        ),
        click.option(
            "--register",
            type=click.Path(path_type=Path),
            help="The register of sets; without it a sets.toml beside the logs.",
        ),
    ):
        command = option(command)
    return command


@main.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...", type=click.Path(path_type=Path))
@_reading_options
@click.option("--since", type=_Date(), metavar="DATE", help="Leave out readings before this instant (UTC).")
@click.option("--until", type=_Date(), metavar="DATE", help="Leave out readings from this instant on (UTC).")
@click.option(
    "--out",
    default="reports",
    show_default=True,
    type=click.Path(path_type=Path),
    help="Folder for the report.",
)
@click.option(
    "--format",
    "formats",
    default="html,json,csv",
    show_default=True,
    metavar="LIST",
    help=f"What to write: any of {','.join(FORMATS)}.",
)
@click.option("--units", type=click.Choice(["si", "us"]), default="si", show_default=True, help="Units of the report.")
@click.option(
    "--fail-on",
    type=click.Choice(["urgent", "soon", "never"]),
    default="never",
    show_default=True,
    help="Exit with 1 if there are findings this bad.",
)
@click.option("--quiet", is_flag=True, help="Print nothing but what is wrong with the input.")
@click.option("--verbose", is_flag=True, help="Print each file as it is read, and every finding.")
def check(  # noqa: PLR0917 (click passes every option by name)
    paths: tuple[Path, ...],
    register: Path | None,
    layout: Path | None,
    time_zone: str | None,
    date_order: DateOrder | None,
    since: datetime | None,
    until: datetime | None,
    out: Path,
    formats: str,
    units: Units,
    fail_on: str,
    quiet: bool,
    verbose: bool,
) -> None:
    """Check the logs at PATH (files or folders) and write a report.

    A file may be .csv, .csv.gz, a .zip of CSVs, .parquet or .xlsx, of one set or of many.
    """
    wanted = _formats(formats)
    _require_zone(time_zone)
    _require_span(since, until)
    _require_out(out)
    # loading the libraries makes many objects and no rubbish: looking for it again and again costs a tenth of start-up
    gc.set_threshold(100_000, 50, 50)
    load_libraries()
    from startworthy import api
    from startworthy.problems import Exit, InputError
    from startworthy.report.terminal import file_progress, print_result
    from startworthy.report.write import NotWrittenError

    try:
        with file_progress(quiet=quiet, verbose=verbose) as on_file:
            checked = api.check(
                paths,
                register=register,
                layout=layout,
                time_zone=time_zone,
                date_order=date_order,
                since=since,
                until=until,
                on_file=on_file,
            )
    except InputError as error:
        _complain(error.problems)
        _leave(Exit.NOTHING_READ)
    _complain(checked.readings.problems)
    table_format = "parquet" if "parquet" in wanted else "csv"
    try:
        written = api.report(checked, out, formats=wanted, table_format=table_format, units=units)
    except NotWrittenError as error:
        _leave(Exit.NOT_WRITTEN, _not_written(out, error))
    except OSError as error:
        _leave(Exit.USAGE, _no_folder(out, error))
    if not quiet:
        print_result(checked, written, units=units, verbose=verbose)
    _leave(_outcome(checked, fail_on))


@main.command()
@click.argument("path", type=click.Path(path_type=Path))
@_reading_options
def layout(
    path: Path, register: Path | None, layout: Path | None, time_zone: str | None, date_order: DateOrder | None
) -> None:
    """Show how the file at PATH is understood, and print a layout file to correct and keep.

    What was understood goes to stderr, the layout to stdout: `startworthy layout log.csv > mine.toml`, then
    `startworthy check log.csv --layout mine.toml`.
    """
    _require_zone(time_zone)
    load_libraries()
    from startworthy import api
    from startworthy.problems import Exit, InputError

    stopping.standing("no layout was printed")
    try:
        logs = api.understand(path, register=register, layout=layout, time_zone=time_zone, date_order=date_order)
    except InputError as error:
        _complain(error.problems)
        _leave(Exit.NOTHING_READ)
    from startworthy.report.understood import account

    for log in logs:
        _complain(log.problems)
        for line in account(log):
            click.echo(line, err=True)
        if log.layout is not None:
            click.echo(log.layout.to_toml(), nl=False)
    _leave(Exit.NOTHING_READ if all(any(p.fatal for p in log.problems) for log in logs) else Exit.DONE)


@main.command()
@click.argument("code", required=False)
@click.option("--schema", is_flag=True, help="Print the JSON Schema of findings.json.")
@click.option("--tables", is_flag=True, help="Print the tables of the logbook, column by column.")
def explain(code: str | None, schema: bool, tables: bool) -> None:
    """Say what the check CODE computes, its limits and their sources; without CODE list all checks."""
    if schema:
        from startworthy.report.findings_json import schema_text

        click.echo(schema_text(), nl=False)
        return
    if tables:
        from startworthy.logbook.tables import described

        click.echo(described())
        return
    from startworthy.check.explain import explain as text_of

    try:
        click.echo(text_of(code))
    except KeyError as error:
        raise click.BadParameter(str(error.args[0]), param_hint="CODE") from None


def _formats(text: str) -> set[str]:
    wanted = {part.strip().lower() for part in text.split(",") if part.strip()}
    unknown = sorted(wanted.difference(FORMATS))
    if unknown or not wanted:
        named = f"'{unknown[0]}' is not one of" if unknown else "name at least one of"
        raise click.BadParameter(f"{named} {', '.join(FORMATS)}", param_hint="--format")
    return wanted


def _require_span(since: datetime | None, until: datetime | None) -> None:
    if since is not None and until is not None and since >= until:
        said = f"no reading is from {since:%Y-%m-%d %H:%M} on and before {until:%Y-%m-%d %H:%M}; give an earlier one"
        raise click.BadParameter(f"{said}, or a later --until", param_hint="--since")


def _require_zone(zone: str | None) -> None:
    if zone is None:
        return
    from startworthy.register import require_zone

    try:
        require_zone(zone)
    except ValueError as error:
        raise click.BadParameter(str(error), param_hint="--time-zone") from None


def _require_out(out: Path) -> None:
    """Before the work: that the folder will do. What only shows when it is written to is told then."""
    from startworthy.problems import Exit
    from startworthy.report.write import require_folder

    try:
        require_folder(out)
        earlier = any((out / name).exists() for name in ("index.html", "findings.json"))
    except OSError as error:
        _leave(Exit.USAGE, _no_folder(out, error))
    stopping.standing(f"the report in {out} is as it was before" if earlier else "nothing was written")


def _no_folder(out: Path, error: OSError) -> str:
    return f"{out}: the report cannot be written ({_why(error)}); name another folder with --out"


def _not_written(out: Path, error: OSError) -> str:
    earlier = " and is as it was before" if (out / "index.html").exists() or (out / "findings.json").exists() else ""
    undone = f"{out}: the report could not be written ({_why(error)}){earlier}"
    return f"{undone}; make room, or name another folder with --out"


def _why(error: OSError) -> str:
    return (error.strerror or "unwritable").lower()


def _complain(problems: Iterable[Problem]) -> None:
    from startworthy.words import problem_line

    for problem in problems:
        click.echo(problem_line(problem), err=True)


def _outcome(checked: Checked, fail_on: str) -> int:
    from startworthy.findings import Severity
    from startworthy.problems import Exit

    if any(problem.fatal or problem.partial for problem in checked.readings.problems):
        return Exit.SOME_UNREADABLE
    if fail_on != "never":
        worst = min((f.severity.rank for s in checked.sets for f in s.findings), default=None)
        if worst is not None and worst <= Severity(fail_on).rank:
            return Exit.FINDINGS
    return Exit.DONE


def _leave(code: int, line: str | None = None) -> NoReturn:
    if line is not None:
        click.echo(line, err=True)
    sys.exit(int(code))
