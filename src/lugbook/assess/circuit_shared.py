"""Which other chargers hang on the charger's own circuit, and are they managed?"""

from __future__ import annotations

from lugbook.codebook.edition import Edition
from lugbook.premises.load import Load
from lugbook.premises.plan import Plan

__all__ = ["are_managed_together", "chargers_sharing", "may_share"]

_CHARGER = "vehicle charging"


def chargers_sharing(plan: Plan) -> tuple[Load, ...]:
    """Other chargers that the charger's circuit feeds, straight or by a branch of it.

    Args:
        plan: The house. [-]

    Returns:
        Loads of the kind "vehicle charging". [-]
    """
    circuit = plan.circuit
    if circuit is None:
        return ()
    branches = {
        each.id: each for each in plan.other_circuits if each.fed_from == circuit.id
    }
    served = {
        *circuit.serves,
        *(name for branch in branches.values() for name in branch.serves),
    }
    return tuple(
        load
        for load in plan.loads
        if load.kind == _CHARGER
        and load.state in ("existing", "proposed")
        and (load.id in served or load.fed_from in (circuit.id, *branches))
    )


def are_managed_together(plan: Plan) -> bool:
    """Whether load management controls the charger and all that share its circuit.

    Args:
        plan: The house. [-]

    Returns:
        False where there is none, or one of them is not its member. [-]
    """
    system, own = plan.load_management, plan.charger
    if system is None or own is None:
        return False
    wanted = {own.id, *(load.id for load in chargers_sharing(plan))}
    return wanted <= set(system.members)


def may_share(plan: Plan, edition: Edition) -> bool:
    """Whether the edition lets these chargers share one branch circuit.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]

    Returns:
        True for a group under load management, where the edition permits one. [-]
    """
    rule = edition.rule("vehicle-individual-branch")
    permitted = bool(rule.parameters.get("managed_group_on_one_branch"))
    return permitted and are_managed_together(plan)
