"""What the code asks at each setting: device, disconnect, ground-fault protection."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.capacity import wish_of
from lugbook.assess.circuit_case import case_of
from lugbook.assess.circuit_receptacle import receptacle_rating_a
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.vehicle_supply import (
    Duty,
    disconnect_duty,
    ground_fault_duty,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Line
from lugbook.premises.plan import Plan

__all__ = ["CodeStep", "code_step"]


@dataclass(frozen=True, slots=True)
class CodeStep:
    """What the code asks of a charger at a setting.

    Args:
        counted_a: Current at which the charger counts. [A]
        overcurrent_a: Least overcurrent device; None: the table ends below. [A]
        disconnect: Whether it must have a disconnect of its own. [-]
        ground_fault: Whether its outlet must have ground-fault protection. [-]
        lines: The rules, with where they are printed. [-]
    """

    counted_a: float
    overcurrent_a: float | None
    disconnect: Duty
    ground_fault: Duty
    lines: tuple[Line, ...]


def code_step(plan: Plan, edition: Edition, setting_a: float) -> CodeStep | None:
    """What the code asks at a setting, the device the least that will do.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        setting_a: The setting. [A]

    Returns:
        The duties; None where the edition lacks a parameter of a rule. [-]
    """
    case = case_of(plan, edition, wish_of(plan, setting_a))
    charger = plan.charger
    least = case.least_device
    try:
        disconnect = disconnect_duty(
            edition=edition,
            rated_a=case.wish.nameplate_a,
            to_ground_v=case.to_ground_v,
            hard_wired=case.wish.hard_wired,
        )
        ground_fault = ground_fault_duty(
            edition=edition,
            hard_wired=case.wish.hard_wired,
            place=charger.place.value if charger and charger.place else None,
            device_a=least[0] if least else None,
            receptacle_a=receptacle_rating_a(case),
            to_ground_v=case.to_ground_v,
        )
    except MissingEntry:
        return None
    counted = case.counted
    return CodeStep(
        counted_a=counted.likely_a if counted else setting_a,
        overcurrent_a=least[0] if least else None,
        disconnect=disconnect,
        ground_fault=ground_fault,
        lines=(
            *((counted.line,) if counted else ()),
            *(least[1] if least else ()),
            *disconnect.lines,
            *ground_fault.lines,
        ),
    )
