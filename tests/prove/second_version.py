"""Lay the project's verdicts beside those of the slow second version."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from fractions import Fraction
from multiprocessing import get_context
from typing import Any

import slow_rules
from random_plans import random_plan

from lugbook.actions import evidence_of
from lugbook.assess.assessment import CapacityRow, CircuitItem
from lugbook.assess.capacity import capacity_rows, wish_of
from lugbook.assess.circuit import judge_circuit
from lugbook.assess.load_list import gather
from lugbook.assess.service_rating import rate_service
from lugbook.codebook.edition import open_edition
from lugbook.finding import Outcome
from lugbook.premises.plan import parse_plan

# The project works in binary fractions: a thousand times its rounding, and far below
# the smallest difference a rule taken differently makes (1 VA over 240 V is 4e-3 A).
TOLERANCE_A = 1e-6
PASSES = (Outcome.MEETS, Outcome.NARROW)
PARTS = ("overcurrent_device", "conductor", "equipment_grounding_conductor")


def differences(text: str) -> list[str]:
    """Every answer in which the two versions differ on a plan; none is agreement."""
    plan = parse_plan(text)
    tree = tomllib.loads(text)
    edition = open_edition(tree["rules"]["edition"])
    wish = wish_of(plan, None)
    rating = rate_service(plan, edition)
    rows = capacity_rows(
        plan=plan,
        edition=edition,
        evidence=evidence_of(plan),
        loads=gather(plan, edition),
        rating=rating,
        wish=wish,
    )
    found = capacity_differences(rows, slow_rules.capacity(tree))
    if plan.circuit is None:
        return found  # a circuit sized from nothing is no question of this comparison
    judged = judge_circuit(plan, edition, wish)
    return found + circuit_differences(judged.items, slow_rules.circuit(tree))


def capacity_differences(
    rows: Iterable[CapacityRow],
    slow: Mapping[tuple[str, str, str], slow_rules.Row],
) -> list[str]:
    """Differences in rows, permissions, outcomes, currents and largest steps."""
    found = []
    fast = {
        (row.method, row.interpretation.charger, row.interpretation.hvac): row
        for row in rows
    }
    for reading in fast.keys() ^ slow.keys():
        side = "project" if reading in fast else "slow version"
        found.append(f"{' '.join(reading)}: only the {side} has it")
    for reading in [each for each in slow if each in fast]:
        row, other = fast[reading], slow[reading]
        pairs: dict[str, tuple[object, object]] = {
            "permitted": (row.permitted, other.permitted),
            "outcome": (row.outcome.value, other.outcome),
            "largest setting": (
                row.largest_setting_a,
                other.largest_setting_a and float(other.largest_setting_a),
            ),
        }
        if other.amperes is not None:
            pairs["amperes"] = (
                True,
                row.amperes is not None
                and abs(Fraction(row.amperes) - other.amperes) < TOLERANCE_A,
            )
        for name, (said, slowly) in pairs.items():
            if said != slowly:
                at = f"{row.amperes} A of {row.limit_a}; slow {shown(other.amperes)}"
                found.append(f"{' '.join(reading)} {name}: {said} / {slowly} ({at})")
    return found


def shown(number: Fraction | None) -> str:
    """A fraction for the eye."""
    return "none" if number is None else f"{float(number):.6f} A"


def circuit_differences(
    items: Iterable[CircuitItem], slow: slow_rules.Circuit | None
) -> list[str]:
    """Differences in outcome and minimum of device, conductor and grounding."""
    fast = {item.item: item for item in items}
    if slow is None:
        # The grounding conductor goes by the device alone, Table 250.122.
        passed = [p for p in PARTS[:2] if fast[p].finding.outcome in PASSES]
        return [f"{part} passes without a current" for part in passed]
    found = []
    for part in PARTS:
        item, other = fast[part], getattr(slow, part)
        minimum = least_of(part, item.minimum)
        if item.finding.outcome.value != other.outcome:
            outcome = item.finding.outcome.value
            found.append(f"{part} outcome: {outcome} / {other.outcome}")
        if minimum != other.minimum:
            found.append(f"{part} minimum: {minimum} / {other.minimum}")
    return found


def least_of(part: str, text: str | None) -> str | None:
    """The rating or size at the head of the project's words for a minimum."""
    if text is None:
        return None
    head = text.split(",")[0]
    return head if part == "overcurrent_device" else " ".join(head.split()[:2])


def campaign(
    numbers: Iterable[int],
    seed: int = 0,
    compare: Callable[[str], list[str]] = differences,
) -> tuple[int, dict[int, list[str]]]:
    """How many plans were compared, and the differences by plan."""
    found = {}
    count = 0
    for number in numbers:
        count += 1
        lines = compare(random_plan(number, seed))
        if lines:
            found[number] = lines
    return count, found


def kinds(found: Mapping[int, list[str]]) -> Counter[str]:
    """What differs how often, without the figures."""
    return Counter(
        line.split(" (")[0] for lines in found.values() for line in set(lines)
    )


def answers(text: str) -> dict[str, Any]:
    """What the slow version says of a plan, to see that all answers occur."""
    tree = tomllib.loads(text)
    return {
        "capacity": slow_rules.capacity(tree),
        "circuit": slow_rules.circuit(tree),
    }


def campaign_on_all_cores(
    count: int, seed: int = 0, block: int = 500
) -> tuple[int, dict[int, list[str]]]:
    """The campaign over the plans 0 to count, divided over the machine's cores."""
    blocks = [range(at, min(at + block, count)) for at in range(0, count, block)]
    compared = 0
    found: dict[int, list[str]] = {}
    with ProcessPoolExecutor(mp_context=get_context("spawn")) as pool:
        for number, lines in pool.map(campaign, blocks, [seed] * len(blocks)):
            compared += number
            found.update(lines)
    return compared, found
