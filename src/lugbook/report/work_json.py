"""The sheet for the work as JSON: the key `work` of `lugbook check --json`."""

from __future__ import annotations

from typing import Any

from lugbook.assess.load_letter import LoadLetter
from lugbook.assess.work_parts import InspectorQuestion, WorkSheet, WorkStep
from lugbook.finding import Citation
from lugbook.report.work_text import answer_text

__all__ = ["work_as_json"]


def work_as_json(sheet: WorkSheet | None) -> dict[str, Any] | None:
    """The sheet as plain dicts, lists, text and numbers.

    Args:
        sheet: The sheet; None for a house out of scope. [-]

    Returns:
        The tree; None of None. [-]
    """
    if sheet is None:
        return None
    return {
        "steps": [_step(step) for step in sheet.steps],
        "stops": [
            {"sign": sign.sign, "call": sign.call, "act": sign.act, "seen": sign.seen}
            for sign in sheet.stops
        ],
        "inspector": [_question(question) for question in sheet.inspector],
        "inspector_order": _place(sheet.inspector_order),
        "papers": [
            {
                "name": paper.name,
                "state": paper.state,
                "missing": list(paper.missing),
                "where": paper.where,
            }
            for paper in sheet.papers
        ],
        "letter": _letter(sheet.letter),
    }


def _step(step: WorkStep) -> dict[str, Any]:
    return {
        "number": step.number,
        "title": step.title,
        "who": step.who,
        "does": list(step.does),
        "hold": step.hold,
        "signal": step.signal.value if step.signal else None,
        "open": [finding.id for finding in step.open_points],
        "source": _place(step.citation),
    }


def _question(question: InspectorQuestion) -> dict[str, Any]:
    return {
        "number": question.number,
        "question": question.question,
        "outcome": question.outcome.value if question.outcome else None,
        "answer": answer_text(question),
        "deciding": question.answer.id if question.answer else None,
        "findings": list(question.findings),
        "says": question.says,
        "at_hand": question.at_hand,
    }


def _letter(letter: LoadLetter) -> dict[str, Any]:
    return {
        "entries": [
            {"label": entry.label, "amount": entry.amount, "unit": entry.unit}
            for entry in letter.entries
        ],
        "questions": list(letter.questions),
        "missing": list(letter.missing),
    }


def _place(citation: Citation) -> str:
    return citation.locator
