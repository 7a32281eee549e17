"""The supply of a detached building: one, with few exceptions."""

from __future__ import annotations

from lugbook.assess.assessment import CircuitItem
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_parts import fact_check, item_of
from lugbook.finding import Line

__all__ = ["detached_building_item"]


def detached_building_item(case: Case) -> CircuitItem | None:
    """Whether this circuit would be a second supply to a detached building.

    Args:
        case: The circuit. [-]

    Returns:
        The item; None where no such building is stated. [-]
    """
    building = case.plan.detached_building
    if building is None:
        return None
    rule = case.edition.rule("detached-building-supply")
    supplied = building.already_supplied.value if building.already_supplied else None
    source = case.circuit.fed_from if case.circuit else None
    there = {building.supplied_by} | {
        panel.id for panel in case.plan.panels if panel.fed_from == building.supplied_by
    }
    from_there = source is not None and building.supplied_by and source in there
    only: bool | None = None
    if supplied is False or from_there:
        only = True
    elif supplied and source is not None:
        only = False
    return item_of(
        item="detached_building_supply",
        question="Would this be a second supply to the detached building?",
        stated=None if source is None else f"fed from {source}",
        minimum="one supply",
        checks=(
            fact_check(
                only,
                found=None
                if only is None
                else "one supply"
                if only
                else "a second one",
                limit="one supply",
                citation=rule.citation,
                next=(
                    "Feed the charger from the panel in the building, or replace its "
                    "supply: a building has one."
                    if only is False
                    else "State whether the building is supplied already, by which "
                    "feeder, and where this circuit begins."
                ),
            ),
        ),
        title="Supply of the detached building",
        lines=(Line(rule.question, "one, with few exceptions", source=rule.citation),),
    )
