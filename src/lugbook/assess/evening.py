"""The service beyond its load calculation: the heaviest evening, and leg by leg."""

from __future__ import annotations

from lugbook.assess.assessment import Assumption
from lugbook.assess.capacity import Wish
from lugbook.assess.coincidence import coincidence
from lugbook.assess.leg_balance import leg_balance
from lugbook.assess.load_list import LoadList
from lugbook.codebook.edition import Edition
from lugbook.finding import Finding
from lugbook.premises.plan import Plan

__all__ = ["judge_evening"]


def judge_evening(
    *,
    plan: Plan,
    limits: Edition,
    loads: LoadList,
    wish: Wish,
    limit_a: float | None,
    of_service: tuple[Finding, ...],
) -> tuple[tuple[Finding, ...], tuple[Assumption, ...]]:
    """What the calculated load does not say of the main and of its two poles.

    Args:
        plan: The house. [-]
        limits: Limits of product standards. [-]
        loads: The house's loads. [-]
        wish: The charging current. [-]
        limit_a: Service rating. [A]
        of_service: Findings on capacity, the calculated load among them. [-]

    Returns:
        Findings, all advice, and what was taken as given. [-]
    """
    service = next((f for f in of_service if f.id == "capacity.service_load"), None)
    found, assumed = coincidence(plan=plan, limits=limits, loads=loads, wish=wish)
    return (*found, *leg_balance(plan, loads, service, limit_a)), assumed
