"""What the inspection of the installation is written on: findings, unknowns, stage.

A field that belongs to a later stage of the job leaves its question open without
weighing on the answer; what is stated is judged, and binds.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import TypeVar

from lugbook.assess.assessment import Assumption, Unknown
from lugbook.assess.capacity import Wish
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_parts import Check, fact_check
from lugbook.codebook.edition import Edition
from lugbook.finding import (
    Citation,
    Finding,
    Line,
    Outcome,
    SignalWord,
    Weight,
    Working,
    worst,
)
from lugbook.premises.circuit import Circuit
from lugbook.premises.panel import Panel
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated
from lugbook.quantities import Quantity, in_unit, show

__all__ = [
    "Check",
    "Sheet",
    "cited",
    "fact",
    "inches",
    "joined",
    "length_text",
    "told",
    "value_of",
]

T = TypeVar("T")


@dataclass(slots=True)
class Sheet:
    """The sheet one inspection is written on.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        limits: Limits of product standards. [-]
        wish: The charging current. [-]
        case: The circuit, resolved. [-]
        findings: What was found so far. [-]
        unknowns: What is needed and nobody stated. [-]
        assumptions: What was taken as given. [-]
    """

    plan: Plan
    edition: Edition
    limits: Edition
    wish: Wish
    case: Case
    findings: list[Finding] = field(default_factory=list)
    unknowns: list[Unknown] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)

    @property
    def circuit(self) -> Circuit | None:
        """The charger's circuit; None where none is stated."""
        return self.plan.circuit

    @property
    def panel(self) -> Panel | None:
        """The panel the circuit begins in, or the only one."""
        source = self.circuit.fed_from if self.circuit else None
        panels = self.plan.panels
        named = next((each for each in panels if each.id == source), None)
        return named or (panels[0] if len(panels) == 1 and source is None else None)

    @property
    def is_proposed(self) -> bool:
        """Whether somebody has chosen device or wire: then the plan is for building."""
        circuit = self.circuit
        if circuit is None:
            return False
        device = circuit.overcurrent
        has_device = device is not None and device.rating is not None
        return has_device or self.case.size is not None

    def citation(self, rule: str, *keys: str) -> Citation:
        """Return the citation of a rule, weakened where a parameter is from memory."""
        return self.edition.rule(rule).cite(*keys)

    def unknown(self, path: str, question: str, look: str, *, later: bool) -> None:
        """Note something the answer needs and nobody stated."""
        new = Unknown(path, question, look, later=later)
        if new not in self.unknowns:
            self.unknowns.append(new)

    def assume(self, name: str, text: str, why: str) -> None:
        """Note something taken as given that nobody stated."""
        new = Assumption(name, text, why)
        if new not in self.assumptions:
            self.assumptions.append(new)

    def answer(
        self,
        name: str,
        question: str,
        checks: Iterable[Check],
        *,
        lines: tuple[Line, ...] = (),
        unknown: tuple[tuple[str, str, str], ...] = (),
        open_weight: Weight = Weight.ADVICE,
        weight: Weight = Weight.MUST,
        done: str = "",
    ) -> None:
        """Write one finding: the gravest of its checks.

        Args:
            name: Id of the finding. [-]
            question: The question in plain words. [-]
            checks: Its checks; nothing is written where there are none. [-]
            lines: The working. [-]
            unknown: What is missing: field, question, where to look. [-]
            open_weight: Weight while it cannot be told. [-]
            weight: Weight where everything passes. [-]
            done: What to do where everything passes. [-]
        """
        held = tuple(checks)
        if not held:
            return
        outcome = worst(tuple(each.outcome for each in held))
        same = [each for each in held if each.outcome is outcome]
        order = (Weight.STOP, Weight.MUST, Weight.ADVICE)
        gravest = min(same, key=lambda each: order.index(each.weight))
        short, open_ = Outcome.FALLS_SHORT, Outcome.CANNOT_TELL
        if outcome is open_:
            for path, asked, look in unknown:
                self.unknown(path, asked, look, later=open_weight is Weight.ADVICE)
        ordered = (gravest, *(each for each in same if each is not gravest))
        told = " ".join(dict.fromkeys(each.next for each in ordered if each.next))
        weights = {short: gravest.weight, open_: open_weight}
        self.findings.append(
            Finding(
                id=name,
                question=question,
                outcome=outcome,
                weight=weights.get(outcome, weight),
                found=gravest.found,
                limit=gravest.limit,
                unit=gravest.unit,
                margin=gravest.margin,
                citation=gravest.citation,
                working=Working(question, lines) if lines else None,
                next=told if outcome in weights else done,
                signal=gravest.signal if outcome is short else None,
            )
        )

    def not_required(
        self, name: str, question: str, citation: Citation | None, because: str
    ) -> None:
        """Write that something is not asked for, and why."""
        self.findings.append(
            Finding(
                id=name,
                question=question,
                outcome=Outcome.NOT_REQUIRED,
                weight=Weight.ADVICE,
                citation=citation,
                next=because,
            )
        )


def fact(
    stated: Stated[bool] | None,
    *,
    wanted: bool = True,
    found: tuple[str, str],
    limit: str,
    citation: Citation | None,
    short: str,
    open_: str,
    weight: Weight = Weight.MUST,
    signal: SignalWord | None = None,
) -> Check:
    """Whether something stated is as it must be.

    Args:
        stated: The yes or no; None if unknown. [-]
        wanted: Which of the two passes. [-]
        found: What is there: where it passes, and where not. [-]
        limit: What is asked. [-]
        citation: The rule it rests on. [-]
        short: What to do where it does not pass. [-]
        open_: Where to look while it is unknown. [-]
        weight: How much it matters where it does not pass. [-]
        signal: Signal word where it does not pass. [-]

    Returns:
        The check. [-]
    """
    passes = None if stated is None else stated.value is wanted
    return fact_check(
        passes,
        found=None if passes is None else found[0] if passes else found[1],
        limit=limit,
        citation=citation,
        next=open_ if passes is None else short,
        weight=weight,
        signal=signal,
    )


def told(each: Check, *, short: str, open_: str) -> Check:
    """Return a check with what to do, as its outcome asks for.

    Args:
        each: The check. [-]
        short: What to do where it falls short. [-]
        open_: Where to look while it cannot be told. [-]
    """
    return replace(each, next=open_ if each.outcome is Outcome.CANNOT_TELL else short)


def cited(lines: Iterable[Line]) -> Citation | None:
    """Return the first citation some lines rest on."""
    sources = (line.source for line in lines)
    return next((each for each in sources if isinstance(each, Citation)), None)


def value_of(stated: Stated[T] | None) -> T | None:
    """Return a stated value, None where it is unknown."""
    return None if stated is None else stated.value


def inches(stated: Stated[float] | None) -> float | None:
    """Return a stated length in inches, None where it is unknown."""
    return None if stated is None else in_unit(stated.value, Quantity.LENGTH, "in")


def length_text(length_in: float) -> str:
    """Return a length given in inches as people write it."""
    metres = length_in * 0.0254  # exact, by definition of the inch
    return show(metres, Quantity.LENGTH, "in")


def joined(names: Iterable[str]) -> str:
    """Return names as a list in a sentence.

    Example:
        >>> joined(["attic"]), joined(["attic", "wall", "roof"])
        ('attic', 'attic, wall and roof')
    """
    held = list(names)
    return held[0] if len(held) == 1 else f"{', '.join(held[:-1])} and {held[-1]}"
