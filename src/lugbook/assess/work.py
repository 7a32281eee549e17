"""The sheet for the work: order of work, inspector's questions, papers, letter."""

from __future__ import annotations

from datetime import date

from lugbook.assess.capacity import Wish
from lugbook.assess.inspector import inspector_questions
from lugbook.assess.load_letter import load_letter
from lugbook.assess.order_of_work import order_of_work, stop_signs
from lugbook.assess.permit_papers import permit_papers
from lugbook.assess.torque import TorqueSheet
from lugbook.assess.work_parts import WorkSheet
from lugbook.codebook.edition import Edition
from lugbook.finding import Citation, Finding, Status
from lugbook.premises.plan import Plan

__all__ = ["work_sheet"]


def work_sheet(
    *,
    plan: Plan,
    edition: Edition,
    limits: Edition,
    wish: Wish,
    on: date,
    findings: tuple[Finding, ...],
    torque: TorqueSheet | None,
) -> WorkSheet:
    """What to take along to the work, the permit desk and the inspection.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        limits: Limits of product and work standards. [-]
        wish: The charging current. [-]
        on: The day. [-]
        findings: Findings of the assessment; nothing is judged anew. [-]
        torque: The torque sheet, whose findings answer too. [-]

    Returns:
        The sheet. [-]
    """
    # What was tightened wrongly stands in both.
    known = tuple(dict.fromkeys((*findings, *(torque.findings if torque else ()))))
    book = str(Citation(edition.key, "", Status.CONFIRMED)).rstrip()
    return WorkSheet(
        name=plan.name,
        edition=edition.key,
        on=on,
        steps=order_of_work(plan, limits, known),
        stops=stop_signs(plan),
        inspector=inspector_questions(plan, wish, known, torque),
        inspector_order=limits.rule("inspection-order").citation,
        papers=permit_papers(plan, book, known),
        letter=load_letter(plan, wish),
    )
