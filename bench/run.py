"""Where the time goes: one function for each thing a person waits for.

Every figure is a median: of whole processes, started as a person starts them, or of
calls in a warm process where a search makes many. A bench is a function that returns
a `Bench`; add it to `BENCHES` and `make bench` prints it.

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
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lugbook.physics.network import Network

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
        of: What the medians are of. [-]
    """

    title: str
    parts_ms: tuple[tuple[str, float], ...]
    whole_ms: float
    processor_ms: float
    floor: str
    floor_ms: float
    goal_ms: float
    of: str = "whole processes"


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
evidence = evidence_of(plan, Path(sys.argv[1]).parent)
assessment = assess(plan, evidence, rules, date.today())
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


def house() -> Bench:
    """Measure one house solved: its network, and every temperature at one setting."""
    from lugbook.actions import rules_for
    from lugbook.assess.capacity import wish_of
    from lugbook.assess.circuit_case import case_of
    from lugbook.assess.forecast_conductor import heat_of, laying_of
    from lugbook.assess.forecast_panel import panel_case_of, panel_points
    from lugbook.codebook.edition import open_edition
    from lugbook.physics.elementwise import bisect
    from lugbook.physics.network import solve
    from lugbook.premises.plan import read_plan

    plan = read_plan(PLAN)
    rules = rules_for(plan)
    limits = open_edition("2026", book="product_limits")
    case = case_of(plan, rules, wish_of(plan, None))

    def network() -> None:
        solve(_house_network())

    def temperatures() -> None:
        for laid in case.run:
            laying = laying_of(case, limits, laid, None)
            heat_of(laying, laid, current_a=80.0, loss_factor=0.1)
        panel_points(
            case,
            limits,
            panel_case_of(case),
            current_a=80.0,
            panel_w_per_m=4.8,
            charger_w_per_m=4.8,
        )

    def both() -> None:
        network()
        temperatures()

    def halvings() -> None:
        for _ in range(SOLVES):
            bisect(lambda side: side - 1.0, 0.0, 150.0)

    return _warm(
        "one house solved, network and all temperatures",
        (("network", network), ("temperatures", temperatures)),
        both,
        f"{SOLVES} halvings of a bracket with nothing in it",
        halvings,
        goal_ms=5.0,
    )


SOLVES = 18  # three sections, six times each: middle and what may be otherwise


def _house_network() -> Network:
    """Return a house of a service, a panel, nine loads and the charger's run."""
    from lugbook.physics.network import (
        Element,
        Network,
        constant_current_load,
        constant_impedance_load,
        split_phase_source,
    )

    service = Element("service", "pole", "panel", 0.004, 0.004, 0.004)
    run = Element("run", "panel", "charger", 0.017, 0.017)
    loads = [
        constant_current_load(
            load_id="van", bus="charger", between="A-B", current_a=80.0
        )
    ]
    loads += [
        constant_impedance_load(
            load_id=f"load {number}",
            bus="panel",
            between=between,
            load_ohm=(240.0 if between == "A-B" else 120.0) ** 2 / rated_va,
        )
        for number, (between, rated_va) in enumerate(
            (
                ("A-B", 12000.0),
                ("A-B", 5000.0),
                ("A-B", 4500.0),
                ("A-N", 1200.0),
                ("B-N", 900.0),
                ("A-N", 1500.0),
                ("B-N", 600.0),
                ("A-B", 4800.0),
                ("A-B", 11520.0),
            )
        )
    ]
    source = split_phase_source(bus="pole", leg_ohm=0.006, shared_ohm=0.002)
    return Network(source, (service, run), tuple(loads))


def circuits() -> Bench:
    """Measure heat and voltage drop of 10,000 circuits as arrays."""
    import numpy as np

    from lugbook.physics.conductor_heating import (
        InAir,
        InsulatedConductor,
        heating_of_conductors,
        metal_raceway,
    )
    from lugbook.physics.elementwise import bisect
    from lugbook.physics.voltage_drop import loss_two_wire, voltage_drop_two_wire

    draw = np.random.default_rng(20261125)
    diameter_m = draw.uniform(0.004, 0.012, CIRCUITS)
    area_m2 = np.pi / 4 * diameter_m**2
    current_a: Any = 2.5e6 * area_m2
    wire = InsulatedConductor(
        diameter_m,
        diameter_m * 1.3,
        2.1e-8 / area_m2,
    )
    inside_m = 4.0 * diameter_m * 1.3
    raceway = metal_raceway(
        inside_diameter_m=inside_m, outside_diameter_m=inside_m * 1.09
    )
    ambient_c: Any = draw.uniform(20.0, 55.0, CIRCUITS)
    length_m: Any = draw.uniform(5.0, 60.0, CIRCUITS)
    found: dict[str, Any] = {}

    def heat() -> None:
        found["run"] = heating_of_conductors(
            conductor=wire,
            enclosure=raceway,
            surroundings=InAir(),
            loaded_count=2,
            group_count=3,
            current_a=current_a,
            ambient_c=ambient_c,
        )

    def drop() -> None:
        ohm_per_m = found["run"].resistance_ohm_per_m
        for law in (voltage_drop_two_wire, loss_two_wire):
            law(current_a=current_a, resistance_ohm_per_m=ohm_per_m, length_m=length_m)

    def both() -> None:
        heat()
        drop()

    def halvings() -> None:
        bisect(lambda side: side - ambient_c, ambient_c - 100.0, ambient_c + 100.0)

    return _warm(
        f"{CIRCUITS:,} circuits' heat and voltage drop as arrays",
        (("heat", heat), ("voltage drop and loss", drop)),
        both,
        "the halvings of as many brackets with nothing in them",
        halvings,
        goal_ms=500.0,
    )


CIRCUITS = 10_000


def meter_xml() -> Bench:
    """Measure a year of quarter hours as Green Button XML, file to cleaned series."""
    import gzip
    from xml.etree import ElementTree

    from lugbook.demand.cleaning import cleaned
    from lugbook.demand.read import read_meter_file
    from lugbook.demand.summary import summarised

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "year.xml")
        path.write_bytes(gzip.decompress(METER_YEAR.read_bytes()))
        floor, parse = _whole_tree(path, ElementTree.parse)
        return _warm(
            f"a year of quarter hours, {path.stat().st_size / 1e6:.1f} MB of XML, "
            "to a cleaned series",
            (
                ("reading", lambda: _used(read_meter_file(path))),
                ("what it says", _summary_of(path, summarised)),
            ),
            lambda: _used(cleaned(read_meter_file(path))),
            f"the whole tree by {floor}, nothing taken out of it",
            parse,
            goal_ms=500.0,
        )


METER_YEAR = PLAN.with_name("year-of-quarter-hours.xml.gz")
MINUTES = 525_600


def _whole_tree(
    path: Path, bare: Callable[[Path], object]
) -> tuple[str, Callable[[], None]]:
    """Return the fastest parser of a whole tree that is installed."""
    try:
        from lxml import etree
    except ImportError:
        return "the standard library", lambda: _used(bare(path))
    return "lxml", lambda: _used(etree.parse(str(path)))


def _used(_: object) -> None:
    """Take a result and let it go."""


def _summary_of(path: Path, summarised: Callable[..., object]) -> Callable[[], None]:
    from lugbook.demand.cleaning import cleaned
    from lugbook.demand.read import read_meter_file

    record = cleaned(read_meter_file(path))
    return lambda: _used(summarised(record, name="", layout=""))


def meter_table() -> Bench:
    """Measure a year of minutes as a table, file to cleaned series."""
    from datetime import datetime, timedelta

    from lugbook.demand.cleaning import cleaned
    from lugbook.demand.read import read_meter_file
    from lugbook.demand.summary import summarised

    first = datetime(2025, 1, 1)
    rows = (
        f"{first + timedelta(minutes=at)},{500 + at * 7919 % 6000}.{at % 10}\n"
        for at in range(MINUTES)
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "year.csv")
        path.write_text("timestamp,power_w\n" + "".join(rows), encoding="utf-8")

        floor, raw = _columnar_read(path)
        return _warm(
            f"a year of minutes, {path.stat().st_size / 1e6:.1f} MB of table, "
            "to a cleaned series",
            (
                ("reading", lambda: _used(read_meter_file(path))),
                ("what it says", _summary_of(path, summarised)),
            ),
            lambda: _used(cleaned(read_meter_file(path))),
            floor,
            raw,
            goal_ms=1000.0,
        )


def _columnar_read(path: Path) -> tuple[str, Callable[[], None]]:
    """Return the fastest reader of columns that is installed.

    The floor is pyarrow with its times parsed; it is no dependency of ours, so it may
    have to be installed for the measurement (`pip install pyarrow`).
    """
    try:
        from pyarrow import csv as columnar
    except ImportError:
        return (
            "the rows by the csv module, nothing done with them (pyarrow, the floor we "
            "hold ourselves to, is not installed)",
            lambda: _rows_alone(path),
        )
    return "pyarrow.csv, times and numbers parsed", lambda: _used(
        columnar.read_csv(path)
    )


def _rows_alone(path: Path) -> None:
    import csv

    with path.open(newline="", encoding="utf-8") as file:
        for _ in csv.reader(file):
            pass


def nights() -> Bench:
    """Measure a year of charging nights laid over the demo's record, 200 replays."""
    import numpy as np

    from lugbook.demand.charging import CarUse, nights_of
    from lugbook.demand.cleaning import cleaned
    from lugbook.demand.house_current import house_current
    from lugbook.demand.nights import (
        AT_ONCE,
        LATE,
        StartRule,
        by_clock_and_weekday,
        evenings,
        replayed,
    )
    from lugbook.demand.read import read_meter_file

    record = cleaned(read_meter_file(METER_YEAR))
    house = house_current(record, voltage_v=240.0)
    first_day, count = evenings(house)
    evening_s, morning_s = int(18.5 * 3600), 6 * 3600
    six_days = (True,) * 6 + (False,)
    car = CarUse(
        "van", 47.5, 90.0, 12, 1.69, 12, 120.0, 80.0, evening_s, morning_s, six_days
    )
    rules = (AT_ONCE, StartRule("midnight", 0), LATE)
    limits_a = (160.0, 200.0)
    found: dict[str, Any] = {}

    def drawn() -> None:
        found["nights"] = nights_of(
            car, first_day=first_day, nights=count, replays=REPLAYS, seed=1
        )

    def laid() -> None:
        found["courses"] = [
            (
                setting_a,
                replayed(
                    house,
                    [found["nights"]],
                    setting_a=setting_a,
                    voltage_v=240.0,
                    limits_a=limits_a,
                    rules=rules,
                ),
            )
            for setting_a in SETTINGS_A
        ]

    def closed() -> None:
        for setting_a, courses in found["courses"]:
            for course in courses:
                by_clock_and_weekday(
                    house, course, current_a=setting_a, limits_a=limits_a
                )

    def everything() -> None:
        drawn()
        laid()
        closed()

    blank = np.zeros((REPLAYS, count))
    steps = np.zeros(len(house.most_a))

    def passed() -> None:
        for _ in range(len(SETTINGS_A) * len(rules)):
            np.cumsum(steps)
            np.cumsum(blank, axis=1)

    return _warm(
        f"a year of nights over {len(record.start_s):,} quarter hours: "
        f"{len(SETTINGS_A)} settings, {len(rules)} start rules, {REPLAYS} replays",
        (
            ("drawing the nights", drawn),
            ("replay", laid),
            ("closed form", closed),
        ),
        everything,
        "one running total over the record and one over the replays' nights, for each "
        "setting and rule",
        passed,
        goal_ms=400.0,
    )


REPLAYS = 200
SETTINGS_A = (16.0, 20.0, 24.0, 32.0, 40.0, 48.0, 56.0, 64.0, 72.0, 80.0)


def options() -> Bench:
    """Measure the search over every circuit of the demo's run."""
    import numpy as np

    from lugbook.actions import evidence_of, rules_for
    from lugbook.assess.options import search
    from lugbook.assess.options_cost import costs_of_grid
    from lugbook.assess.options_heat import heat_of_grid
    from lugbook.assess.options_prices import shipped_prices
    from lugbook.assess.options_rules import RULES, grid_of
    from lugbook.premises.plan import read_plan

    plan = read_plan(PLAN)
    rules, prices = rules_for(plan), shipped_prices()
    evidence = evidence_of(plan, PLAN.parent)
    grid = grid_of(plan, rules, evidence, prices)
    amounts = np.arange(grid.refused_by.size, dtype=float)

    def judged() -> None:
        grid_of(plan, rules, evidence, prices)

    def heat() -> None:
        heat_of_grid(plan, rules, grid)

    def cost() -> None:
        costs_of_grid(grid, prices)

    def whole() -> None:
        search(plan, evidence, rules, prices)

    def compared() -> None:
        for limit in range(len(RULES)):
            np.count_nonzero(amounts <= limit)

    return _warm(
        f"lugbook options: {grid.refused_by.size:,} circuits tried, heat and drop of "
        f"the {len(grid.circuits):,} lawful ones",
        (
            ("rules", judged),
            ("heat, voltage drop, loss", heat),
            ("cost", cost),
        ),
        whole,
        "as many numbers compared with a limit, once for each rule",
        compared,
        goal_ms=500.0,
    )


def _warm(
    title: str,
    parts: Sequence[tuple[str, Callable[[], None]]],
    whole: Callable[[], None],
    floor: str,
    bare: Callable[[], None],
    *,
    goal_ms: float,
) -> Bench:
    """Measure functions in this process, after one call that is not counted."""
    whole()
    whole_ms, processor_ms = _called(whole)
    return Bench(
        title=title,
        parts_ms=tuple((name, _called(part)[0]) for name, part in parts),
        whole_ms=whole_ms,
        processor_ms=processor_ms,
        floor=floor,
        floor_ms=_called(bare)[0],
        goal_ms=goal_ms,
        of="calls in a warm process",
    )


def _called(measured: Callable[[], None]) -> tuple[float, float]:
    """Call a function often; return median whole and processor time in ms."""
    wholes, processor = [], []
    for _ in range(RUNS):
        used, before = time.process_time_ns(), time.monotonic_ns()
        measured()
        wholes.append((time.monotonic_ns() - before) / NS_PER_MS)
        processor.append((time.process_time_ns() - used) / NS_PER_MS)
    return statistics.median(wholes), statistics.median(processor)


BENCHES: dict[str, Callable[[], Bench]] = {
    "check": check,
    "house": house,
    "circuits": circuits,
    "options": options,
    "meter-xml": meter_xml,
    "meter-table": meter_table,
    "nights": nights,
}


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
    lines = [f"{bench.title} (median of {RUNS} {bench.of})"]
    lines += [
        f"  {name:<28}{ms:>8.1f} ms {ms / summed_ms:>6.0%}"
        for name, ms in bench.parts_ms
    ]
    ratio = bench.whole_ms / bench.floor_ms
    room = "within" if bench.whole_ms <= bench.goal_ms else "over"
    return "\n".join(
        [
            *lines,
            f"  {'whole':<28}{bench.whole_ms:>8.1f} ms, "
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
