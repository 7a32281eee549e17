"""What the inspector asks first, and what the plan can answer."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.capacity import Wish
from lugbook.assess.torque import TorqueSheet
from lugbook.assess.work_parts import InspectorQuestion, matching, ruling
from lugbook.finding import Finding
from lugbook.premises.circuit import Section
from lugbook.premises.plan import Plan

__all__ = ["inspector_questions"]


@dataclass(frozen=True, slots=True)
class _Asked:
    """One question: the findings that answer it, and what to have at hand."""

    question: str
    findings: tuple[str, ...]
    at_hand: str
    says: str = ""
    applies: bool = True


def inspector_questions(
    plan: Plan, wish: Wish, findings: tuple[Finding, ...], torque: TorqueSheet | None
) -> tuple[InspectorQuestion, ...]:
    """The inspector's questions in the usual order, each with the plan's answer.

    Args:
        plan: The house. [-]
        wish: The charging current. [-]
        findings: Findings of the assessment. [-]
        torque: The torque sheet. [-]

    Returns:
        Questions. [-]
    """
    asked = [each for each in _asked(plan, wish, torque) if each.applies]
    return tuple(
        _answered(number, each, findings) for number, each in enumerate(asked, 1)
    )


def _answered(
    number: int, asked: _Asked, findings: tuple[Finding, ...]
) -> InspectorQuestion:
    found = matching(findings, asked.findings)
    decides = ruling(found)
    return InspectorQuestion(
        number=number,
        question=asked.question,
        outcome=decides.outcome if decides else None,
        answer=decides,
        says=asked.says,
        findings=tuple(each.id for each in found),
        at_hand=asked.at_hand,
    )


def _asked(plan: Plan, wish: Wish, torque: TorqueSheet | None) -> tuple[_Asked, ...]:
    buried = [s for s in _sections(plan) if s.place and s.place.value == "underground"]
    permit = plan.rules.permit
    return (
        _Asked(
            "Is there a permit, and are its papers here?",
            ("paper.permit", "paper.who_works"),
            "permit card on the wall, approved papers beside it",
            says=permit.value if permit else "",
        ),
        _Asked(
            "Where is the load calculation?",
            ("capacity.service_load", "capacity.service_rating", "capacity.feeder"),
            "the calculation printed with its working, the edition on it",
        ),
        _Asked(
            "Does this breaker belong in this panel?",
            (
                "panel.breaker_identified",
                "panel.common_trip",
                "circuit.overcurrent_device",
                "forecast.interrupting_rating*",
            ),
            "photo of the panel's label, and of the print on the breaker's side",
        ),
        _Asked(
            "With which torque tool was it tightened, and how tight?",
            ("torque.*",),
            "the tool, its certificate, and the torque sheet filled in",
            says=_torque_words(torque),
        ),
        _Asked(
            "What is printed on the wire?",
            (
                "circuit.conductor",
                "circuit.wiring_method.*",
                "circuit.equipment_grounding_conductor",
                "run.aluminum",
            ),
            "an offcut with its print, or a photo of the jacket",
            says=_print_words(plan),
        ),
        _Asked(
            "How deep does it lie?",
            ("run.cover", "run.risers", "run.seals"),
            "the trench open, or a photo with a tape measure in it",
            applies=bool(buried),
        ),
        _Asked(
            "Where is the disconnect?",
            ("circuit.disconnect", "place.disconnect_reach"),
            "its handle free to reach, and the fitting for a padlock on it",
        ),
        _Asked(
            "Has it the ground-fault protection it must have?",
            ("circuit.ground_fault",),
            "its test button, and the charger's manual where it forbids one",
        ),
        _Asked(
            "Is the setting marked, and who can change it?",
            ("circuit.adjusted_setting", "capacity.setting_counts"),
            "the mark on the charger, and the page on the setting in its manual",
            applies=_is_set_lower(wish),
        ),
        _Asked(
            "What does load management do when its link is lost?",
            ("management.*",),
            "its listing, its limit, and the test of pulling its link",
            applies=plan.load_management is not None,
        ),
        _Asked(
            "What is behind the wall, and how do you know?",
            (
                "run.bored_holes",
                "run.fire_wall",
                "run.supports",
                "run.bends",
                "run.conduit_bodies",
                "run.box_volume",
            ),
            "a photo of every hidden stretch, before it was covered",
        ),
        _Asked(
            "Is the charger listed, and mounted as its instructions say?",
            ("place.listing", "place.mounting_height", "place.cable_length"),
            "its installation instructions, on paper",
        ),
        _Asked(
            "Is there room before the panel, and are its openings closed?",
            (
                "panel.working_space",
                "panel.handle_height",
                "panel.condition.*",
                "panel.spaces",
                "place.panel_working_space",
            ),
            "the space cleared, and somebody there who may open the cover",
        ),
        _Asked(
            "Are neutral and ground apart in the detached building?",
            ("detached.*", "circuit.detached_building_supply"),
            "the readings under a 120 V load, and somebody who may open its panel",
            applies=plan.detached_building is not None,
        ),
        _Asked(
            "Does the directory name this circuit?",
            ("circuit.label", "sources.sign.*"),
            "the directory written, not in pencil",
        ),
    )


def _sections(plan: Plan) -> tuple[Section, ...]:
    return plan.circuit.sections if plan.circuit else ()


def _torque_words(torque: TorqueSheet | None) -> str:
    if torque is None:
        return ""
    yours = [each for each in torque.terminals if not each.live]
    known = [each for each in yours if each.target_n_m is not None]
    reached = [each for each in yours if each.reached_n_m is not None]
    return (
        f"{len(known)} of {len(yours)} terminals have a torque to set, {len(reached)} "
        "a torque written down"
    )


def _print_words(plan: Plan) -> str:
    conductor = plan.circuit.conductor if plan.circuit else None
    if conductor is None:
        return ""
    if conductor.print_legend is not None:
        return conductor.print_legend.value
    stated = (conductor.size, conductor.material, conductor.insulation)
    words = " ".join(each.value for each in stated if each is not None)
    return f"{words}, by the plan; its print was not read" if words else ""


def _is_set_lower(wish: Wish) -> bool:
    if wish.setting_a is None or wish.nameplate_a is None:
        return False
    return wish.setting_a < wish.nameplate_a
