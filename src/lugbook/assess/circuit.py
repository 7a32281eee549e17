"""Is the proposed circuit lawful, and what would be?

What is left out of the plan is sized; what is stated is judged against the least that
rules and run allow. The parts are judged in the modules `circuit_*`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from lugbook.assess.assessment import Assumption, CircuitItem, Unknown
from lugbook.assess.capacity import Wish
from lugbook.assess.circuit_building import detached_building_item
from lugbook.assess.circuit_case import Case, case_of
from lugbook.assess.circuit_conductor import conductor_item
from lugbook.assess.circuit_equipment import (
    disconnect_item,
    ground_fault_item,
    label_item,
)
from lugbook.assess.circuit_grounding import grounding_item
from lugbook.assess.circuit_largest import largest_setting
from lugbook.assess.circuit_overcurrent import (
    adjusted_setting_item,
    individual_circuit_item,
    overcurrent_item,
)
from lugbook.assess.circuit_receptacle import neutral_item, receptacle_item
from lugbook.assess.circuit_terminals import terminal_items
from lugbook.assess.circuit_voltage import voltage_drop_item
from lugbook.assess.circuit_wiring import fill_items, wiring_items
from lugbook.codebook.edition import Edition
from lugbook.finding import Outcome, Weight
from lugbook.premises.circuit import Circuit
from lugbook.premises.plan import Plan

__all__ = ["CircuitJudgement", "judge_circuit"]


@dataclass(frozen=True, slots=True)
class CircuitJudgement:
    """What was found on the circuit.

    Args:
        items: The parts in reading order. [-]
        largest_setting_a: Largest setting step the circuit as stated may carry; None
            where none may or it cannot be told. [A]
        largest_reason: Why no larger step. [-]
        unknowns: What the judgement needs and nobody stated. [-]
        assumptions: What was taken as given. [-]
    """

    items: tuple[CircuitItem, ...]
    largest_setting_a: float | None
    largest_reason: str
    unknowns: tuple[Unknown, ...]
    assumptions: tuple[Assumption, ...]


def judge_circuit(plan: Plan, edition: Edition, wish: Wish) -> CircuitJudgement:
    """Every part of the circuit: stated, least that will do, outcome.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        wish: The charging current. [-]

    Returns:
        The judgement. [-]
    """
    case = case_of(plan, edition, wish)
    items = _items(case)
    if plan.circuit is None:
        items = tuple(_as_advice(item) for item in items)
    elif _is_proposed(plan.circuit):
        items = tuple(_as_open(item) for item in items)
    largest = largest_setting(case)
    return CircuitJudgement(
        items=items,
        largest_setting_a=largest.setting_a,
        largest_reason=largest.reason,
        unknowns=tuple(case.notes.unknowns),
        assumptions=tuple(case.notes.assumptions),
    )


def _as_advice(item: CircuitItem) -> CircuitItem:
    """The same item, as advice where it is open: no circuit is proposed yet."""
    if item.finding.outcome is not Outcome.CANNOT_TELL:
        return item
    return replace(item, finding=replace(item.finding, weight=Weight.ADVICE))


def _is_proposed(circuit: Circuit) -> bool:
    """Return whether somebody has chosen the wire: then it is a proposal to judge."""
    conductors = (circuit.conductor, *(part.conductor for part in circuit.sections))
    return any(conductor and conductor.size for conductor in conductors)


def _as_open(item: CircuitItem) -> CircuitItem:
    """The same item, open where a proposal leaves out what protects people.

    Conductor and device left out are sized. A grounding conductor, a disconnect or a
    label that a proposal does not name may be missing on the wall too.
    """
    finding = item.finding
    may_be_missing = item.item in _NEVER_TAKEN_AS_THERE
    left_out = finding.found is None and finding.outcome is Outcome.MEETS
    if not (may_be_missing and left_out):
        return item
    opened = replace(
        finding,
        outcome=Outcome.CANNOT_TELL,
        weight=Weight.MUST,
        next=f"The plan names none. {finding.next} Then say so in the plan.",
    )
    return replace(item, finding=opened)


_NEVER_TAKEN_AS_THERE = (
    "equipment_grounding_conductor",
    "disconnect",
    "adjusted_setting",
)


def _items(case: Case) -> tuple[CircuitItem, ...]:
    found = (
        overcurrent_item(case),
        adjusted_setting_item(case),
        individual_circuit_item(case),
        conductor_item(case),
        *wiring_items(case),
        *terminal_items(case),
        grounding_item(case),
        neutral_item(case),
        *fill_items(case),
        voltage_drop_item(case),
        receptacle_item(case),
        disconnect_item(case),
        ground_fault_item(case),
        label_item(case),
        detached_building_item(case),
    )
    return tuple(item for item in found if item is not None)
