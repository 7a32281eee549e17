"""What the sheet for the work is made of: steps, stop signs, questions, papers.

Nothing here is a verdict: every answer is drawn from a finding of the assessment.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from lugbook.assess.load_letter import LoadLetter
from lugbook.finding import Citation, Finding, Outcome, SignalWord, Weight, worst

__all__ = [
    "InspectorQuestion",
    "PermitPaper",
    "StopSign",
    "WorkSheet",
    "WorkStep",
    "matching",
    "ruling",
]


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One step of the work.

    Args:
        number: Its place in the order, 1 first. [-]
        title: What is done, in a few words. [-]
        who: Who does it. [-]
        does: What is done, sentence by sentence. [-]
        hold: What must be so before the next step; empty where nothing holds. [-]
        signal: Signal word where somebody can be hurt in this step. [-]
        open_points: Findings that are not settled and belong here. [-]
        citation: Where the step is printed, or that it is common practice. [-]
    """

    number: int
    title: str
    who: str
    does: tuple[str, ...]
    hold: str
    signal: SignalWord | None
    open_points: tuple[Finding, ...]
    citation: Citation


@dataclass(frozen=True, slots=True)
class StopSign:
    """A sign on which the work stops and somebody is called.

    Args:
        sign: What is seen, heard or smelt. [-]
        call: Whom to call. [-]
        act: What to do at once, and why. [-]
        seen: Whether the plan says it was seen; None if nobody looked. [-]
    """

    sign: str
    call: str
    act: str
    seen: bool | None


@dataclass(frozen=True, slots=True)
class InspectorQuestion:
    """One question of the inspector, with the answer the plan has for it.

    Args:
        number: Its place in the order, 1 first. [-]
        question: The question. [-]
        outcome: Worst of the findings it rests on; None where there is none. [-]
        answer: The finding that decides; None where there is none. [-]
        says: What the plan states beside it, in words; empty if nothing. [-]
        findings: Ids of all it rests on. [-]
        at_hand: What to have at hand. [-]
    """

    number: int
    question: str
    outcome: Outcome | None
    answer: Finding | None
    says: str
    findings: tuple[str, ...]
    at_hand: str


@dataclass(frozen=True, slots=True)
class PermitPaper:
    """One paper of the permit packet.

    Args:
        name: What it is. [-]
        state: "ready", "missing" or "bring": not a thing the plan can hold. [-]
        missing: What of it the plan does not state yet. [-]
        where: Where it comes from. [-]
    """

    name: str
    state: str
    missing: tuple[str, ...]
    where: str


@dataclass(frozen=True, slots=True)
class WorkSheet:
    """What to take along to the work, the desk and the inspection.

    Args:
        name: The house. [-]
        edition: Key of the edition. [-]
        on: The day. [-]
        steps: The order of work, dead first. [-]
        stops: Signs on which it stops. [-]
        inspector: What the inspector asks, in order. [-]
        inspector_order: That the order is common practice. [-]
        papers: What the permit desk asks for. [-]
        letter: The letter to the utility. [-]
    """

    name: str
    edition: str
    on: date
    steps: tuple[WorkStep, ...]
    stops: tuple[StopSign, ...]
    inspector: tuple[InspectorQuestion, ...]
    inspector_order: Citation
    papers: tuple[PermitPaper, ...]
    letter: LoadLetter


def matching(
    findings: tuple[Finding, ...], patterns: tuple[str, ...]
) -> tuple[Finding, ...]:
    """The findings whose id fits one of several patterns, in the patterns' order.

    Args:
        findings: Findings of the assessment. [-]
        patterns: Ids, a last * standing for any ending. [-]

    Returns:
        Findings. [-]
    """
    return tuple(
        each
        for pattern in patterns
        for each in findings
        if each.id == pattern
        or (pattern[-1] == "*" and each.id.startswith(pattern[:-1]))
    )


def ruling(found: tuple[Finding, ...]) -> Finding | None:
    """The finding that decides among several: the gravest outcome, then weight.

    Args:
        found: Findings. [-]

    Returns:
        One of them; None of none. [-]
    """
    if not found:
        return None
    gravest = worst(tuple(each.outcome for each in found))
    weights = (Weight.STOP, Weight.MUST, Weight.ADVICE)
    same = [each for each in found if each.outcome is gravest]
    return min(same, key=lambda each: weights.index(each.weight))
