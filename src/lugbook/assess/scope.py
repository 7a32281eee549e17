"""May the tool speak of this house at all?"""

from __future__ import annotations

from lugbook.assess.load_list import system_voltage_v
from lugbook.codebook.edition import Edition
from lugbook.finding import Finding, Outcome, Weight
from lugbook.premises.plan import Plan

__all__ = ["scope_finding"]

_ELSEWHERE = {
    "apartment": (
        "An apartment's service and feeders belong to others: ask the building's owner "
        "and a licensed electrician."
    ),
    "commercial": (
        "A commercial building has other rules for its load: ask a licensed "
        "electrician."
    ),
    "two-family": (
        "Two dwellings on one service are calculated by another rule: ask a licensed "
        "electrician, or describe one dwelling with a service of its own as one-family."
    ),
    "mobile home": (
        "A mobile home goes by its own article for load and supply: ask the authority "
        "having jurisdiction and a licensed electrician."
    ),
}


_NEAR_NOMINAL_FRACTION = 0.1  # wide of ANSI C84.1 range B; 208 and 240 V stay apart


def _voltage_belies_system(plan: Plan) -> bool:
    nominal_v = system_voltage_v(plan)
    stated = plan.service.voltage if plan.service else None
    if nominal_v is None or stated is None:
        return False
    return abs(stated.value - nominal_v) > _NEAR_NOMINAL_FRACTION * nominal_v


def scope_finding(plan: Plan, edition: Edition) -> Finding:
    """Whether the house is one the tool can judge.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]

    Returns:
        A finding: falls short where the house is out of scope. [-]
    """
    kind = plan.dwelling.kind.value if plan.dwelling.kind else None
    system = plan.service.system.value if plan.service and plan.service.system else None
    outcome, next_step = Outcome.MEETS, ""
    if system == "three-phase":
        outcome = Outcome.FALLS_SHORT
        next_step = (
            "A three-phase service is beyond this tool: ask a licensed electrician."
        )
    elif kind in _ELSEWHERE:
        outcome, next_step = Outcome.FALLS_SHORT, _ELSEWHERE[kind]
    elif plan.service and plan.service.own_meter and not plan.service.own_meter.value:
        outcome = Outcome.FALLS_SHORT
        next_step = (
            "A meter that serves others too is beyond this tool: ask the building's "
            "owner and a licensed electrician."
        )
    elif kind is None or system is None:
        outcome = Outcome.CANNOT_TELL
        missing = "dwelling.kind" if kind is None else "service.system"
        next_step = f"State {missing}: the rules for one house on 120/240 V differ."
    elif _voltage_belies_system(plan):
        outcome = Outcome.CANNOT_TELL
        next_step = (
            "service.voltage does not go with service.system: see the meter's face, "
            "or have the volts between the legs measured."
        )
    rule = edition.rule("mobile-home" if kind == "mobile home" else "scope-optional")
    return Finding(
        id="scope.house",
        question="Is this a house the tool can judge?",
        outcome=outcome,
        weight=Weight.MUST,
        found=", ".join(words for words in (kind, system) if words) or None,
        limit="one-family house on a single-phase three-wire service",
        citation=rule.citation,
        next=next_step,
    )
