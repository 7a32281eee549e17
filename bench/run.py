"""Where the time goes: one function for each thing a person waits for.

Every figure is a median of whole processes, started as a person starts them. A bench
is a function that returns a `Bench`; add it to `BENCHES` and `make bench` prints it.

    make bench
    make bench ARGS="check"
"""

from __future__ import annotations

import itertools
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PLAN = ROOT / "examples" / "potters_house" / "plan.toml"
RUNS = 7
NS_PER_MS = 1e6


@dataclass(frozen=True, slots=True)
class Bench:
    """One thing measured: its parts, and what it cannot be faster than.

    Args:
        title: What was measured. [-]
        parts_ms: Name and median time of each part, in order. [ms]
        whole_ms: Median time of the whole. [ms]
        processor_ms: The same in processor time, which other work on the machine
            does not lengthen. [ms]
        floor: What the floor is. [-]
        floor_ms: Median time of the floor. [ms]
        goal_ms: What we hold ourselves to. [ms]
    """

    title: str
    parts_ms: tuple[tuple[str, float], ...]
    whole_ms: float
    processor_ms: float
    floor: str
    floor_ms: float
    goal_ms: float


# The stamps are of the machine's one monotonic clock, so the parent's and the
# child's can be subtracted from each other.
CHECK = """
import json, sys, time
stamps = [time.monotonic_ns()]
import lugbook.cli
stamps.append(time.monotonic_ns())
from datetime import date
from pathlib import Path
from lugbook.actions import evidence_of, rules_for
from lugbook.assess.spine import assess
from lugbook.premises.plan import read_plan
from lugbook.report.paper import Paper
from lugbook.report.terminal import answer
stamps.append(time.monotonic_ns())
plan = read_plan(Path(sys.argv[1]))
stamps.append(time.monotonic_ns())
rules = rules_for(plan)
stamps.append(time.monotonic_ns())
assessment = assess(plan, evidence_of(plan), rules, date.today())
stamps.append(time.monotonic_ns())
sys.stdout.write(answer(assessment, Paper()))
sys.stdout.flush()
stamps.append(time.monotonic_ns())
sys.stderr.write(json.dumps(stamps))
"""
CHECK_PARTS = (
    "start of the interpreter",
    "import of the command line",
    "import of the rest",
    "reading the plan",
    "reading the edition",
    "assessing",
    "laying out and printing",
    "end of the process",
)
FLOOR = """
import sys, tomllib
with open(sys.argv[1], "rb") as file:
    tomllib.load(file)
"""


def check() -> Bench:
    """Measure `lugbook check` on the demo house."""
    runs = [_stamped(CHECK, str(PLAN)) for _ in range(RUNS)]
    whole_ms, processor_ms = _timed("-m", "lugbook", "check", str(PLAN))
    floor_ms, _ = _timed("-c", FLOOR, str(PLAN))
    parts = zip(CHECK_PARTS, zip(*runs, strict=True), strict=True)
    return Bench(
        title="lugbook check examples/potters_house/plan.toml",
        parts_ms=tuple((name, statistics.median(times)) for name, times in parts),
        whole_ms=whole_ms,
        processor_ms=processor_ms,
        floor="the bare interpreter reading the same file by tomllib",
        floor_ms=floor_ms,
        goal_ms=500.0,
    )


BENCHES: dict[str, Callable[[], Bench]] = {"check": check}


def main(names: Sequence[str]) -> int:
    """Measure what is named, or everything, and print a table for each."""
    unknown = [name for name in names if name not in BENCHES]
    if unknown:
        held = ", ".join(BENCHES)
        print(f"no bench is called {', '.join(unknown)}; there are: {held}")
        return 2
    for name in names or BENCHES:
        print(table(BENCHES[name]()))
    return 0


def table(bench: Bench) -> str:
    """Return a bench as text: its parts, their share, the ratio to its floor."""
    summed_ms = sum(ms for _, ms in bench.parts_ms)
    lines = [f"{bench.title} (median of {RUNS} whole processes)"]
    lines += [
        f"  {name:<28}{ms:>8.1f} ms {ms / summed_ms:>6.0%}"
        for name, ms in bench.parts_ms
    ]
    ratio = bench.whole_ms / bench.floor_ms
    room = "within" if bench.whole_ms <= bench.goal_ms else "over"
    return "\n".join(
        [
            *lines,
            f"  {'whole, as a person runs it':<28}{bench.whole_ms:>8.1f} ms, "
            f"{room} the {bench.goal_ms:.0f} ms we allow",
            f"  {'the same in processor time':<28}{bench.processor_ms:>8.1f} ms",
            f"  {'floor':<28}{bench.floor_ms:>8.1f} ms, {bench.floor}",
            f"  {'ratio':<28}{ratio:>8.1f}",
            "",
        ]
    )


def _stamped(script: str, *arguments: str) -> list[float]:
    """Run a script that writes its stamps to standard error; return its parts in ms."""
    before = time.monotonic_ns()
    ended = subprocess.run(
        [sys.executable, "-c", script, *arguments],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        check=False,
        text=True,
    )
    after = time.monotonic_ns()
    if ended.returncode:
        raise SystemExit(f"the bench itself failed:\n{ended.stderr}")
    stamps = [before, *json.loads(ended.stderr), after]
    return [
        (later - earlier) / NS_PER_MS for earlier, later in itertools.pairwise(stamps)
    ]


def _timed(*arguments: str) -> tuple[float, float]:
    """Run the interpreter often; return median whole and processor time in ms."""
    wholes, processor = [], []
    for _ in range(RUNS):
        used = _processor_ms()
        before = time.monotonic_ns()
        ended = subprocess.run(
            [sys.executable, *arguments],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            check=False,
            text=True,
        )
        wholes.append((time.monotonic_ns() - before) / NS_PER_MS)
        processor.append(_processor_ms() - used)
        if ended.returncode not in (0, 1, 3):  # the statuses of an answer
            raise SystemExit(f"{arguments} failed:\n{ended.stderr}")
    return statistics.median(wholes), statistics.median(processor)


def _processor_ms() -> float:
    """Return the processor time of all child processes that have ended."""
    times = os.times()
    return 1000 * (times.children_user + times.children_system)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
