"""Accuracy on simulated sets: what is found, what is cried, and which counts are exact.

    python -m tests.bench.accuracy [--seeds 4] [--healthy 20] [--kinds NAME ...] [--cadence dense,60] [--jobs 2] [--out FILE]
    python -m tests.bench.accuracy --show KIND SEED CADENCE

Half a year of one set each, by tests/support/simulator (invented physics, not the sample fleet's). Recall carries
Clopper-Pearson 95 % intervals, rates of false alarms exact Poisson ones. Keep the table in tests/bench/accuracy.md.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

from scipy.stats import beta, chi2

from startworthy import __version__
from startworthy.check.frame import CATALOGUE
from tests.bench.accuracy_sets import Record, checked, exactness, is_exact, record, route_of
from tests.support.simulator import KINDS

RAISED = {"urgent", "soon"}


def clopper_pearson(hits: int, n: int) -> tuple[float, float]:
    """Exact two-sided 95 % interval of a share."""
    low = float(beta.ppf(0.025, hits, n - hits + 1)) if hits else 0.0
    high = float(beta.ppf(0.975, hits + 1, n - hits)) if hits < n else 1.0
    return low, high


def poisson(count: int, exposure: float) -> tuple[float, float]:
    """Exact two-sided 95 % interval of a rate."""
    low = float(chi2.ppf(0.025, 2 * count)) / 2 if count else 0.0
    return low / exposure, float(chi2.ppf(0.975, 2 * count + 2)) / 2 / exposure


def recall_table(records: list[Record], cadences: list[str]) -> list[str]:
    """One row a code: found of sets in which it can be seen, per cadence; `part` where the sampling shows it in part only."""
    hits: dict[tuple[str, str, str], list[bool]] = defaultdict(list)
    for one in records:
        for code, seen in one.expected.items():
            if seen != "no" and not one.error:
                hits[code, one.cadence, seen].append(code in one.found)
    codes = sorted({code for kind in KINDS.values() for code in kind.expected})
    lines = [
        "| code | " + " | ".join(f"{c}: found, 95 %" for c in cadences) + " |",
        "|---|" + "---|" * len(cadences),
    ]
    for code in codes:
        if code not in CATALOGUE:
            lines.append(f"| `{code}` |" + " not in this version |" * len(cadences))
            continue
        cells = []
        for cadence in cadences:
            parts = []
            for seen in ("yes", "partly"):
                own = hits.get((code, cadence, seen))
                if own:
                    low, high = clopper_pearson(sum(own), len(own))
                    parts.append(
                        f"{sum(own)}/{len(own)} ({low:.2f}-{high:.2f}){' in part' if seen == 'partly' else ''}"
                    )
            cells.append("; ".join(parts) or "cannot be seen")
        lines.append(f"| `{code}` | " + " | ".join(cells) + " |")
    return lines


def alarm_table(records: list[Record], cadences: list[str], *, healthy: bool) -> list[str]:
    """Urgent and soon findings that nobody asked for, per set-year: on healthy sets, or beside a fault."""
    lines = ["| cadence | code | sets | per set-year, 95 % | where (kind/seed) |", "|---|---|---|---|---|"]
    for cadence in cadences:
        own = [r for r in records if r.cadence == cadence and not r.error and (r.kind == "healthy") == healthy]
        years = sum(r.days for r in own) / 365.25
        if not years:
            continue
        cried: dict[str, list[str]] = defaultdict(list)
        for r in own:
            for code, severity in r.found.items():
                if severity in RAISED and code not in r.expected and code not in r.allowed:
                    cried[code].append(f"{r.kind}/{r.seed}")
        sets = sum(1 for r in own if any(f"{r.kind}/{r.seed}" in where for where in cried.values()))
        low, high = poisson(sets, years)
        lines.append(f"| {cadence} | any | {sets} of {len(own)} | {sets / years:.2f} ({low:.2f}-{high:.2f}) | |")
        for code, where in sorted(cried.items(), key=lambda item: -len(item[1])):
            low, high = poisson(len(where), years)
            lines.append(
                f"| {cadence} | `{code}` | {len(where)} | {len(where) / years:.2f} ({low:.2f}-{high:.2f}) | {_some(where)} |"
            )
    return lines


def exact_table(records: list[Record], cadences: list[str]) -> list[str]:
    """How many sets have each count exact, of those whose log can tell it."""
    lines = ["| cadence | count | exact, 95 % | not exact (kind/seed: said, true) |", "|---|---|---|---|"]
    names = ("demands", "failed_demands", "attempts", "runs", "running_h", "fuel_used_l")
    for cadence in cadences:
        for name in names:
            pairs = [(r, pair) for r in records if r.cadence == cadence and not r.error and (pair := r.exact.get(name))]
            if not pairs:
                continue
            wrong = [f"{r.kind}/{r.seed}: {p[0]}, {p[1]}" for r, p in pairs if not is_exact(name, p)]
            low, high = clopper_pearson(len(pairs) - len(wrong), len(pairs))
            lines.append(
                f"| {cadence} | {name} | {len(pairs) - len(wrong)}/{len(pairs)} ({low:.2f}-{high:.2f}) | {_some(wrong)} |"
            )
    return lines


def _some(where: list[str], most: int = 8) -> str:
    more = f" and {len(where) - most} more" if len(where) > most else ""
    return ", ".join(where[:most]) + more


def missed(records: Iterable[Record]) -> list[str]:
    """The faults that were not found although they can be seen, with why where the check gave one."""
    lines = ["| kind/seed | cadence | code | what the check said |", "|---|---|---|---|"]
    for r in records:
        for code, seen in sorted(r.expected.items()):
            if code in CATALOGUE and code not in r.found and seen != "no" and not r.error:
                part = " (seen in part)" if seen == "partly" else ""
                lines.append(
                    f"| {r.kind}/{r.seed} | {r.cadence} | `{code}`{part} | {r.not_assessed.get(code, 'clear')} |"
                )
    return lines


def document(records: list[Record], cadences: list[str], *, every_miss: bool) -> str:
    """The whole Markdown page."""
    errors = [r for r in records if r.error]
    wrong_yes = [f"{r.kind}/{r.seed}/{r.cadence}: {', '.join(r.blind_yes)}" for r in records if r.blind_yes]
    missed_yes = [f"{r.kind}/{r.seed}/{r.cadence}: {', '.join(r.missed_yes)}" for r in records if r.missed_yes]
    counts = Counter("healthy" if r.kind == "healthy" else "faulty" for r in records)
    parts = [
        "# Accuracy on simulated sets",
        "",
        (
            f"Written by `python -m tests.bench.accuracy`, version {__version__}, {datetime.now(UTC):%Y-%m-%d}. "
            f"{counts['healthy']} healthy and {counts['faulty']} faulty logs of half a year each, {len(CATALOGUE)} checks. "
            "Sets, faults and physics are invented (tests/support/simulator) and share nothing with the sample fleet."
        ),
        "",
        "## Found, of the faults that the sampling can show",
        *recall_table(records, cadences),
        "",
        "## Urgent or soon on healthy sets",
        *alarm_table(records, cadences, healthy=True),
        "",
        "## Urgent or soon beside a fault that neither is it nor follows from it",
        *alarm_table(records, cadences, healthy=False),
        "",
        "## Counts (hours within 0.5 %, fuel within 5 %), of the logs that can tell them",
        *exact_table(records, cadences),
        "",
        f"## Answered yes though it could not look: {len(wrong_yes)}",
        *[f"- {line}" for line in wrong_yes],
        "",
        f"## Answered yes while the check of the set's own fault could not be made: {len(missed_yes)}",
        *[f"- {line}" for line in missed_yes],
        "",
        f"## Errors: {len(errors)}",
        *[f"- {r.kind}/{r.seed}/{r.cadence} ({r.route}): {r.error}" for r in errors],
    ]
    if every_miss:
        parts += ["", "## Not found", *missed(records)]
    return "\n".join(parts) + "\n"


def show(kind: str, seed: int, cadence: str) -> None:
    """Print what one set's checks say beside the truth."""
    result, truth, frame = checked(kind, seed, cadence)
    one = result.sets[0]
    print(
        f"{kind}/{seed}/{cadence} by {route_of(kind, seed)}; {truth.figures}\nnotes: {truth.notes}; rows {frame.height}"
    )
    print(
        f"columns: {', '.join(sorted(truth.columns))}\nregister: {truth.register.of(truth.set_id).model_dump(exclude_unset=True)}"
    )
    print(f"onset {truth.onset}; expected {sorted(truth.expected)}; allowed {sorted(truth.allowed)}\n")
    for f in one.findings:
        print(
            f"  {f.severity:7} {f.code:28} {f.began_at} .. {f.ended_at} value {f.value} limit {f.limit} {f.unit} {dict(f.evidence)}"
        )
    for o in one.clear:
        print(f"  clear   {o.code:28} {dict(o.evidence)}")
    for o in one.not_assessed:
        print(f"  -       {o.code:28} {o.reason} {dict(o.evidence)}")
    print({str(q): str(a) for q, a in one.answers.items()})
    for name, pair in exactness(dict(one.facts), truth, frame).items():
        print(
            f"  {name:16} {'not told' if pair is None else f'said {pair[0]}, true {pair[1]}' + ('' if is_exact(name, pair) else '   <-- not exact')}"
        )
    for n, d in enumerate(truth.demand_list, 1):
        at = truth.begins.timestamp() + d.asked_at
        print(f"  {n:3} {datetime.fromtimestamp(at, UTC):%Y-%m-%d %H:%M:%S} {d.cause:9} attempts {len(d.attempts)} crank {[round(b - a, 1) for a, b, _ in d.attempts]} "
              f"ran {0 if d.ran is None else round((d.ran[1] - d.ran[0]) / 60, 2)} min, {d.ended_by}, {d.fuel_l:.2f} L")  # fmt: skip


def main() -> None:
    """Run the sets and print the page."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=4, help="sets of each fault")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--healthy", type=int, default=20, help="healthy sets")
    parser.add_argument("--kinds", nargs="+", help="only these kinds")
    parser.add_argument("--cadence", default="dense,60")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--misses", action="store_true", help="list every fault that was not found")
    parser.add_argument("--out", type=Path)
    parser.add_argument("--show", nargs=3, metavar=("KIND", "SEED", "CADENCE"))
    asked = parser.parse_args()
    if asked.show:
        show(asked.show[0], int(asked.show[1]), asked.show[2])
        return
    cadences = asked.cadence.split(",")
    kinds = asked.kinds or list(KINDS)
    jobs = [
        (kind, asked.first + seed, cadence)
        for kind in kinds
        for seed in range(asked.healthy if kind == "healthy" else asked.seeds)
        for cadence in cadences
    ]
    with ProcessPoolExecutor(asked.jobs, mp_context=multiprocessing.get_context("spawn")) as pool:
        waiting = [pool.submit(record, *job) for job in jobs]
        records = []
        for n, one in enumerate(waiting, 1):
            records.append(one.result())
            if n % 50 == 0:
                print(f"{n} of {len(jobs)}", file=sys.stderr)
    page = document(records, cadences, every_miss=asked.misses)
    if asked.out:
        asked.out.write_text(page, encoding="utf-8")
    print(page)


if __name__ == "__main__":
    main()
