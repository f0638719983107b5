"""Coverage-guided fuzzing of reading, validation, logbook and report. Needs atheris (`pip install atheris`).

    python -m tests.bench.fuzz --minutes 20 --corpus FOLDER      # seeds the folder if it is empty
    python -m tests.bench.fuzz --replay FILE...                  # one input each, with the whole error
    python -m tests.bench.fuzz --minimise FILE                   # the smallest input that fails at the same place

What fails is kept, once for each place, in FOLDER.found: the input, and what was raised. An input that ends the
process itself (a native crash, memory) lies there too; the run goes on with the next. Exit code 1 if anything was found.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Callable
from pathlib import Path

MOST_BYTES = 16_384
MOST_MIB = 2000
"""Of one process, which then makes way for the next: what libraries keep for good adds up over ten thousands of inputs."""
LEAP_MIB = 600
"""No input of some kilobytes may need as much."""
HANGS_S = 120


def fast_folder() -> Path:
    """A new folder, in memory where there is one."""
    return Path(tempfile.mkdtemp(prefix="fuzz-", dir="/dev/shm" if os.path.isdir("/dev/shm") else None))


def signature(error: BaseException) -> str:
    """Where it failed: kind of error and the last place within the package; for a broken promise, its words."""
    places = [f for f in traceback.extract_tb(error.__traceback__) if "startworthy" in f.filename]
    at = f"{Path(places[-1].filename).name}:{places[-1].name}" if places else "outside"
    said = re.sub(r"[0-9]+", "N", str(error))[:40] if isinstance(error, AssertionError) else ""
    return f"{type(error).__name__} {at} {said}".strip()


class Finds:
    """What failed, kept in a folder: the smallest input of each place."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.folder.mkdir(parents=True, exist_ok=True)
        self.seen: dict[str, int] = {}
        self.count: dict[str, int] = {}

    def keep(self, data: bytes, error: BaseException) -> None:
        place = signature(error)
        self.count[place] = self.count.get(place, 0) + 1
        if len(data) >= self.seen.get(place, 1 << 40):
            return
        self.seen[place] = len(data)
        name = hashlib.sha1(place.encode(), usedforsecurity=False).hexdigest()[:12]
        told = "".join(traceback.format_exception(error))
        (self.folder / f"{name}.bin").write_bytes(data)
        (self.folder / f"{name}.txt").write_text(f"{place}\n\n{told}", encoding="utf-8", errors="replace")


def mutate(data: bytes, most: int, seed: int, native: Callable[[bytes, int], bytes], words: list[bytes]) -> bytes:
    """One change that keeps the shape of a table more often than a change of bytes would; else a native one."""
    draw = random.Random(seed)
    if draw.random() < 0.45 or len(data) < 4:
        return native(data, most)
    head, body = bytearray(data[:2]), data[2:]
    for _ in range(draw.choice((1, 1, 1, 2, 4))):
        end = b"\r\n" if b"\r\n" in body else b"\n"
        lines = body.split(end)
        mark = max((b",", b";", b"\t", b"|"), key=body.count)
        at = draw.randrange(len(lines))
        kind = draw.randrange(10)
        if kind == 0:
            lines.insert(draw.randrange(len(lines) + 1), lines[at])
        elif kind == 1:
            del lines[at]
        elif kind == 2:
            other = draw.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif kind in (3, 4, 5):
            cells = lines[at].split(mark)
            cell = draw.randrange(len(cells))
            cells[cell] = draw.choice(words) if kind != 5 else draw.choice(draw.choice(lines).split(mark))
            lines[at] = mark.join(cells)
        elif kind == 6:
            column = draw.randrange(lines[0].count(mark) + 1)
            word = draw.choice(words)
            for n, line in enumerate(lines):
                cells = line.split(mark)
                if column < len(cells) and draw.random() < 0.8:
                    cells[column] = word if draw.random() < 0.7 else cells[column] + word
                    lines[n] = mark.join(cells)
        elif kind == 7:
            cut = draw.randrange(len(lines[at]) + 1)
            lines[at] = lines[at][:cut] + draw.choice(words) + lines[at][cut:]
        elif kind == 8:
            lines[at:at] = [lines[at]] * draw.choice((3, 30, 130))
        else:
            head[draw.randrange(len(head))] = draw.randrange(64)
        body = end.join(lines)
    return (bytes(head) + body)[:most]


def child(corpus: Path, finds: Path, seconds: int) -> None:
    """Fuzz in this process until the time is up or an input ends it."""
    os.environ.setdefault("POLARS_MAX_THREADS", "2")
    import resource

    import atheris

    with atheris.instrument_imports(include=["startworthy"], enable_loader_override=False):
        import pkgutil

        import startworthy

        for module in pkgutil.walk_packages(startworthy.__path__, "startworthy."):
            if not module.name.endswith("__main__"):
                __import__(module.name)
        from tests.bench.fuzz_target import PLAIN_LOG, Broken, look, packed
    from tests.bench.fuzz_seeds import tokens

    words = tokens()
    folder = fast_folder()
    kept = Finds(finds)
    tally = {"runs": 0}
    outcomes: dict[str, int] = {}
    look(packed("c", 0, PLAIN_LOG), folder)  # everything is loaded before the clock of the first input starts
    warnings.simplefilter("error")

    def memory_mib() -> int:
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024

    def one(data: bytes) -> None:
        tally["runs"] += 1
        before = memory_mib()
        try:
            what = look(data, folder)
            if memory_mib() > before + LEAP_MIB and tally["runs"] > 1:
                raise Broken(f"needs {memory_mib() - before} MiB")
        except (KeyboardInterrupt, SystemExit):
            raise
        except BaseException as error:
            kept.keep(data, error)
            what = "failed"
        outcomes[what] = outcomes.get(what, 0) + 1
        done = memory_mib() > MOST_MIB
        if done or tally["runs"] % 200 == 0:
            told = {"runs": tally["runs"], "outcomes": outcomes, "failed": kept.count}
            (finds / f"tally-{os.getpid()}.json").write_text(json.dumps(told, indent=1))
        if done:
            shutil.rmtree(folder, ignore_errors=True)
            os._exit(0)

    dictionary = finds / "words.dict"
    dictionary.write_text("".join('"' + "".join(f"\\x{b:02x}" for b in w) + '"\n' for w in words))
    argv = [
        sys.argv[0], f"-max_len={MOST_BYTES}", "-rss_limit_mb=0", f"-timeout={HANGS_S}",
        f"-max_total_time={seconds}", f"-dict={dictionary}", f"-artifact_prefix={finds}/native-", "-reload=0",
        "-print_final_stats=1", "-report_slow_units=20", str(corpus),
    ]  # fmt: skip
    atheris.Setup(
        argv,
        one,
        custom_mutator=lambda data, most, seed: mutate(data, most, seed, atheris.Mutate, words),
    )
    atheris.Fuzz()


def run(corpus: Path, minutes: float) -> int:
    """Fuzz for so long, starting again where an input ends the process. Prints what came of it."""
    from tests.bench.fuzz_seeds import write

    finds = corpus.with_name(corpus.name + ".found")
    finds.mkdir(parents=True, exist_ok=True)
    for old in finds.glob("tally-*.json"):
        old.unlink()
    if not corpus.is_dir() or not any(corpus.iterdir()):
        print(write(corpus), "seeds")
    until = time.monotonic() + 60 * minutes
    log = finds / "log.txt"
    with log.open("wb") as out:
        while (left := until - time.monotonic()) > 5:
            command = [sys.executable, "-m", "tests.bench.fuzz", "--child", str(int(left)), "--corpus", str(corpus)]
            done = subprocess.run(command, stdout=out, stderr=out, check=False)
            out.write(f"\n-- child ended with {done.returncode}\n".encode())
            out.flush()
            if until - time.monotonic() > 60 * minutes - 15:
                print(f"it does not start: see {log}")
                return 2
    tallies = [json.loads(path.read_text()) for path in finds.glob("tally-*.json")]
    outcomes: dict[str, int] = {}
    for tally in tallies:
        for what, n in tally["outcomes"].items():
            outcomes[what] = outcomes.get(what, 0) + n
    marks = re.findall(r"cov: (\d+) ft: (\d+) corp: (\d+)", log.read_text(errors="replace"))
    found = sorted(finds.glob("*.txt"))
    print(f"runs {sum(t['runs'] for t in tallies)}, outcomes {outcomes}")
    if marks:
        cov, features, inputs = max(marks, key=lambda m: int(m[0]))
        print(f"edges covered {cov}, features {features}, inputs kept {inputs}")
    for path in found:
        if path.name != log.name:
            print(f"found: {path.with_suffix('.bin')}: {path.read_text(errors='replace').splitlines()[0]}")
    native = sorted(finds.glob("native-*"))
    for path in native:
        print(f"found: {path}: it ended the process")
    return int(bool(native) or len(found) > 1)


def replay(paths: list[Path]) -> int:
    """Each input once, with the whole error."""
    from tests.bench.fuzz_target import look

    warnings.simplefilter("error")
    folder, failed = fast_folder(), 0
    for path in paths:
        began = time.perf_counter()
        try:
            what = look(path.read_bytes(), folder)
        except BaseException:
            failed += 1
            what = "failed"
            traceback.print_exc()
        print(f"{path}: {what}, {time.perf_counter() - began:.2f} s")
    return int(failed > 0)


def minimise(path: Path, seconds: float = 120) -> bytes:
    """The input with whatever can go taken out, as long as it fails at the same place."""
    from tests.bench.fuzz_target import look

    warnings.simplefilter("error")
    folder = fast_folder()

    def place(data: bytes) -> str:
        try:
            look(data, folder)
        except BaseException as error:
            return signature(error)
        return ""

    data = path.read_bytes()
    wanted, until = place(data), time.monotonic() + seconds
    if not wanted:
        print("it does not fail")
        return data
    size = max((len(data) - 2) // 2, 1)
    while size and time.monotonic() < until:
        at, shorter = 2, False
        while at < len(data) and time.monotonic() < until:
            tried = data[:at] + data[at + size :]
            if place(tried) == wanted:
                data, shorter = tried, True
            else:
                at += size
        if not shorter or size > len(data):
            size //= 2
    print(wanted)
    print(repr(data))
    return data


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=float, default=20)
    parser.add_argument("--corpus", type=Path, default=Path("fuzz-corpus"))
    parser.add_argument("--replay", type=Path, nargs="+")
    parser.add_argument("--minimise", type=Path)
    parser.add_argument("--child", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.replay:
        sys.exit(replay(asked.replay))
    if asked.minimise:
        asked.minimise.with_suffix(".min").write_bytes(minimise(asked.minimise))
        return
    if asked.child is not None:
        child(asked.corpus, asked.corpus.with_name(asked.corpus.name + ".found"), asked.child)
        return
    sys.exit(run(asked.corpus, asked.minutes))


if __name__ == "__main__":
    main()
