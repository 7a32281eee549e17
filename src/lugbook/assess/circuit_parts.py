"""What every part of the circuit is judged with: checks, and a finding from them."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

from lugbook.assess.assessment import Assumption, CircuitItem, Unknown
from lugbook.finding import (
    Citation,
    Finding,
    Line,
    Outcome,
    SignalWord,
    Weight,
    Working,
    compare,
    worst,
)

__all__ = [
    "Check",
    "Notes",
    "check",
    "fact_check",
    "item_of",
    "sized_item",
]


@dataclass(slots=True)
class Notes:
    """What is unknown or assumed, gathered while the circuit is judged."""

    unknowns: list[Unknown] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)

    def unknown(self, path: str, question: str, look: str) -> None:
        """Note something the answer needs and nobody stated."""
        new = Unknown(path, question, look)
        if new not in self.unknowns:
            self.unknowns.append(new)

    def assume(self, name: str, text: str, why: str) -> None:
        """Note something taken as given that nobody stated."""
        new = Assumption(name, text, why)
        if new not in self.assumptions:
            self.assumptions.append(new)


@dataclass(frozen=True, slots=True)
class Check:
    """One comparison of a part with one limit.

    Args:
        outcome: Its outcome. [-]
        found: What is there. [unit of the check]
        limit: What is asked. [unit of the check]
        unit: Unit. [-]
        margin: Room left. [unit of the check]
        citation: The rule it rests on. [-]
        next: What to do where it does not pass. [-]
        weight: How much it matters where it does not pass. [-]
        signal: Signal word where it does not pass. [-]
    """

    outcome: Outcome
    found: float | str | None
    limit: float | str | None
    unit: str
    margin: float | None
    citation: Citation | None
    next: str
    weight: Weight = Weight.MUST
    signal: SignalWord | None = None


def check(
    *,
    found: tuple[float | None, float | None],
    limit: tuple[float | None, float | None],
    unit: str,
    citation: Citation | None,
    next: str,
    direction: Literal["at most", "at least"] = "at most",
    kind: Literal["fraction", "series"] = "series",
    weight: Weight = Weight.MUST,
    signal: SignalWord | None = None,
) -> Check:
    """A comparison whose two sides are known only as most and least favourable.

    It falls short only where even the favourable sides do, and passes only where the
    unfavourable do; between them it cannot be told.

    Args:
        found: What is there: favourable, unfavourable. [unit]
        limit: What is asked: favourable, unfavourable. [unit]
        unit: Unit. [-]
        citation: The rule it rests on. [-]
        next: What to do where it does not pass. [-]
        direction: Whether it must be at most or at least the limit. [-]
        kind: How *narrow* is reckoned. [-]
        weight: How much it matters where it does not pass. [-]
        signal: Signal word where it does not pass. [-]

    Returns:
        The check. [-]
    """
    best = compare(found=found[0], limit=limit[0], direction=direction, kind=kind)
    least = compare(found=found[1], limit=limit[1], direction=direction, kind=kind)
    shown = least
    if best.outcome is Outcome.FALLS_SHORT:
        outcome = Outcome.FALLS_SHORT
        shown = least if least.margin is not None else best
    elif least.outcome is Outcome.FALLS_SHORT:
        outcome = Outcome.CANNOT_TELL
    else:
        outcome = least.outcome
    side = 0 if shown is best and shown is not least else 1
    return Check(
        outcome=outcome,
        found=found[side],
        limit=limit[side],
        unit=unit,
        margin=shown.margin,
        citation=citation,
        next=next,
        weight=weight,
        signal=signal,
    )


def fact_check(
    fact: bool | None,
    *,
    found: str | None,
    limit: str,
    citation: Citation | None,
    next: str,
    weight: Weight = Weight.MUST,
    signal: SignalWord | None = None,
) -> Check:
    """Whether something is so, as a check.

    Args:
        fact: Whether it is; None if unknown. [-]
        found: What is there, in words. [-]
        limit: What is asked, in words. [-]
        citation: The rule it rests on. [-]
        next: What to do where it does not pass. [-]
        weight: How much it matters where it does not pass. [-]
        signal: Signal word where it does not pass. [-]

    Returns:
        The check. [-]
    """
    return Check(
        outcome=_outcome_of(fact),
        found=found,
        limit=limit,
        unit="",
        margin=None,
        citation=citation,
        next=next,
        weight=weight,
        signal=signal,
    )


def item_of(
    *,
    item: str,
    at: str = "",
    question: str,
    stated: str | None,
    minimum: str | None,
    checks: tuple[Check, ...],
    title: str,
    lines: tuple[Line, ...],
    done: str = "",
    weight: Weight = Weight.MUST,
) -> CircuitItem:
    """A part that is stated: its gravest check becomes the finding.

    Args:
        item: Closed word for the part. [-]
        at: Section or terminal it is about; empty for the whole circuit. [-]
        question: The question in plain words. [-]
        stated: What the plan states. [-]
        minimum: Least that will do. [-]
        checks: At least one check. [-]
        title: Title of the working. [-]
        lines: The working. [-]
        done: What to do where everything passes. [-]
        weight: Weight where everything passes. [-]

    Returns:
        The item. [-]
    """
    outcome = worst(tuple(each.outcome for each in checks))
    gravest = next(each for each in checks if each.outcome is outcome)
    same = [each for each in checks if each.outcome is outcome]
    stops = [each for each in same if each.weight is Weight.STOP]
    passes = outcome in (Outcome.MEETS, Outcome.NARROW, Outcome.NOT_REQUIRED)
    if outcome is Outcome.FALLS_SHORT and stops:
        gravest = stops[0]
    finding = Finding(
        id=f"circuit.{item}.{at}" if at else f"circuit.{item}",
        question=question,
        outcome=outcome,
        weight=_weight_of(outcome, gravest, weight),
        found=gravest.found,
        limit=gravest.limit,
        unit=gravest.unit,
        margin=gravest.margin,
        citation=gravest.citation,
        working=Working(title, lines),
        next=done if passes else _sentences(same, gravest),
        signal=gravest.signal if outcome is Outcome.FALLS_SHORT else None,
    )
    return CircuitItem(item, stated, minimum, finding)


def sized_item(
    *,
    item: str,
    at: str = "",
    question: str,
    minimum: str | None,
    limit: float | str | None,
    unit: str,
    citation: Citation | None,
    title: str,
    lines: tuple[Line, ...],
    next: str,
    weight: Weight = Weight.MUST,
) -> CircuitItem:
    """A part that is left out: the least that will do, or that it cannot be known.

    What cannot be sized yet is no fault of a house: it weighs as advice.

    Args:
        item: Closed word for the part. [-]
        at: Section or terminal it is about; empty for the whole circuit. [-]
        question: The question in plain words. [-]
        minimum: Least that will do; None if it cannot be known. [-]
        limit: The same as a number where it is one. [unit]
        unit: Unit. [-]
        citation: The rule it rests on. [-]
        title: Title of the working. [-]
        lines: The working. [-]
        next: What to do. [-]
        weight: Weight where it is known. [-]

    Returns:
        The item. [-]
    """
    outcome = _outcome_of(True if minimum is not None else None)
    finding = Finding(
        id=f"circuit.{item}.{at}" if at else f"circuit.{item}",
        question=question,
        outcome=outcome,
        weight=weight if minimum is not None else Weight.ADVICE,
        found=None,
        limit=limit,
        unit=unit,
        citation=citation,
        working=Working(title, lines),
        next=next,
    )
    return CircuitItem(item, None, minimum, finding)


def _weight_of(outcome: Outcome, gravest: Check, weight: Weight) -> Weight:
    if outcome is Outcome.FALLS_SHORT:
        return gravest.weight
    # What would stop if it fell short must be settled before use.
    if weight is Weight.ADVICE or gravest.weight is Weight.ADVICE:
        return Weight.ADVICE
    return Weight.MUST


def _sentences(same: list[Check], gravest: Check) -> str:
    ordered = [gravest, *(each for each in same if each is not gravest)]
    return " ".join(dict.fromkeys(each.next for each in ordered if each.next))


def _outcome_of(fact: bool | None) -> Outcome:
    found = None if fact is None else float(fact)
    return compare(found=found, limit=1.0, direction="at least", kind="series").outcome


def not_required(item: CircuitItem) -> CircuitItem:
    """The same item, its question answered with *not required*."""
    return replace(item, finding=replace(item.finding, outcome=Outcome.NOT_REQUIRED))
