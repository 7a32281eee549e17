"""Two assessments side by side: what differs, and why.

Either may stand first: what is told of one is told of the other.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal

from pydantic import BaseModel

from lugbook.assess.assessment import Assessment, CapacityRow
from lugbook.assess.plan_changes import with_field
from lugbook.assess.spine import assess
from lugbook.codebook.edition import Edition
from lugbook.finding import Finding
from lugbook.premises.plan import Plan
from lugbook.premises.stated import How, Stated
from lugbook.readings.evidence import Evidence

__all__ = [
    "CapacityChange",
    "Comparison",
    "FieldChange",
    "FindingChange",
    "PlannedLoad",
    "compare_assessments",
    "planned_loads",
    "with_planned",
]

_SAME = 1e-9  # relative; rounding of binary fractions only


@dataclass(frozen=True, slots=True)
class FieldChange:
    """A field of the plan that differs.

    Args:
        field: Dotted path, with ids. [-]
        first: What the first plan says; None where it says nothing. [-]
        second: What the second says. [-]
    """

    field: str
    first: str | None
    second: str | None


@dataclass(frozen=True, slots=True)
class FindingChange:
    """A finding that differs.

    Args:
        id: Its id. [-]
        first: As the first assessment has it; None where it asks no such thing. [-]
        second: As the second has it. [-]
        kind: "outcome" where the outcome differs, "amounts" where only figures or
            clauses do, "first only" or "second only". [-]
        differs: Which of outcome, weight, found, limit, citation differ. [-]
    """

    id: str
    first: Finding | None
    second: Finding | None
    kind: Literal["outcome", "amounts", "first only", "second only"]
    differs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CapacityChange:
    """A method under one interpretation that differs.

    Args:
        method: Closed word of the method. [-]
        charger: Where the charger stands. [-]
        hvac: Whether heating and cooling are counted. [-]
        first: The first assessment's row; None where it has none. [-]
        second: The second's. [-]
        differs: Which of permitted, outcome, amperes, limit, largest differ. [-]
    """

    method: str
    charger: str
    hvac: str
    first: CapacityRow | None
    second: CapacityRow | None
    differs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between two assessments.

    Args:
        first: The first. [-]
        second: The second. [-]
        conditions: Edition, amendments and setting where they differ. [-]
        fields: Fields of the plans that differ. [-]
        findings: Findings that differ, changed outcomes first. [-]
        capacity: Rows of the methods that differ. [-]
    """

    first: Assessment
    second: Assessment
    conditions: tuple[FieldChange, ...]
    fields: tuple[FieldChange, ...]
    findings: tuple[FindingChange, ...]
    capacity: tuple[CapacityChange, ...]

    @property
    def is_same(self) -> bool:
        """Whether no finding, no row and neither headline differs."""
        heads = [replace(each.headline, sentence="") for each in _both(self)]
        return not self.findings and not self.capacity and heads[0] == heads[1]


@dataclass(frozen=True, slots=True)
class PlannedLoad:
    """The answer once planned loads are there.

    Args:
        ids: Ids of the planned loads taken as there. [-]
        year: The latest year named for them; None if none is. [-]
        assessment: The assessment then. [-]
        comparison: Today's against it. [-]
    """

    ids: tuple[str, ...]
    year: int | None
    assessment: Assessment
    comparison: Comparison


def compare_assessments(
    first: Assessment, second: Assessment, plans: tuple[Plan, Plan]
) -> Comparison:
    """What differs between two assessments.

    Args:
        first: An assessment. [-]
        second: Another. [-]
        plans: The plan of each. [-]

    Returns:
        The differences; the same the other way round, first and second exchanged. [-]
    """
    return Comparison(
        first=first,
        second=second,
        conditions=tuple(_conditions(first, second)),
        fields=_fields(*plans),
        findings=_findings(first, second),
        capacity=_capacity(first, second),
    )


def with_planned(plan: Plan, ids: tuple[str, ...]) -> Plan:
    """A plan with planned loads taken as proposed.

    Args:
        plan: The house. [-]
        ids: Ids of the planned loads. [-]

    Returns:
        The other plan. [-]
    """
    for place, load in enumerate(plan.loads):
        if load.id in ids and load.state == "planned":
            plan = with_field(plan, ("loads", place, "state"), "proposed")
    return plan


def planned_loads(
    plan: Plan,
    evidence_of: Callable[[Plan], Evidence],
    rules: Edition,
    on: date,
    setting_a: float | None = None,
) -> tuple[PlannedLoad, ...]:
    """How does the answer change with each planned load, and with all of them?

    Args:
        plan: The house. [-]
        evidence_of: Gives what a plan states of measurements. [-]
        rules: Edition with its local amendments. [-]
        on: The day of the assessment. [-]
        setting_a: Setting to ask about instead of the plan's. [A]

    Returns:
        One row a planned load, and one for all where there are several. [-]
    """
    planned = [load for load in plan.loads if load.state == "planned"]
    groups = [[load] for load in planned] + ([planned] if len(planned) > 1 else [])
    today = assess(plan, evidence_of(plan), rules, on, setting_a)
    rows = []
    for loads in groups:
        ids = tuple(load.id for load in loads)
        then = with_planned(plan, ids)
        found = assess(then, evidence_of(then), rules, on, setting_a)
        years = [load.year for load in loads if load.year is not None]
        told = compare_assessments(today, found, (plan, then))
        rows.append(PlannedLoad(ids, max(years, default=None), found, told))
    return tuple(rows)


def _both(comparison: Comparison) -> tuple[Assessment, Assessment]:
    return comparison.first, comparison.second


def _conditions(first: Assessment, second: Assessment) -> Iterator[FieldChange]:
    for name, one, two in (
        ("edition", first.edition, second.edition),
        ("amendments", ", ".join(first.amendments), ", ".join(second.amendments)),
        ("setting", _amps(first), _amps(second)),
    ):
        if one != two:
            yield FieldChange(name, one or None, two or None)


def _amps(assessment: Assessment) -> str:
    setting_a = assessment.headline.setting_a
    return "" if setting_a is None else f"{setting_a:g} A"


# --- fields of the plans -----------------------------------------------------------


def _fields(first: Plan, second: Plan) -> tuple[FieldChange, ...]:
    if first is second:
        return ()
    one, two = dict(_leaves(first)), dict(_leaves(second))
    return tuple(
        FieldChange(field, one.get(field), two.get(field))
        for field in sorted(one.keys() | two.keys())
        if one.get(field) != two.get(field)
    )


_NAMES_ONLY = ("name", "note")


def _leaves(part: BaseModel, path: str = "") -> Iterator[tuple[str, str]]:
    """Yield every field somebody stated, with what was typed."""
    for name in type(part).model_fields:
        held = getattr(part, name)
        if name not in part.model_fields_set or name in _NAMES_ONLY or held is None:
            continue
        field = f"{path}.{name}".lstrip(".")
        if isinstance(held, BaseModel):
            yield from _leaves(held, field)
        elif isinstance(held, tuple) and any(isinstance(x, BaseModel) for x in held):
            for place, inner in enumerate(held, 1):
                yield from _leaves(inner, f"{field}.{getattr(inner, 'id', place)}")
        else:
            yield field, _text(held)


def _text(held: Any) -> str:
    if isinstance(held, tuple):
        return ", ".join(_text(each) for each in held) or "none"
    if not isinstance(held, Stated):
        return str(held).lower() if isinstance(held, bool) else str(held)
    ends = f", {held.low:g} to {held.high:g}" if held.low is not None else ""
    how = f" ({held.how.value}{ends})" if held.how is not How.UNSAID or ends else ""
    return f"{held.text}{how}"


# --- findings and rows -------------------------------------------------------------


def _findings(first: Assessment, second: Assessment) -> tuple[FindingChange, ...]:
    one = {finding.id: finding for finding in first.findings}
    two = {finding.id: finding for finding in second.findings}
    changes = [
        change
        for id in sorted(one.keys() | two.keys())
        if (change := _finding(id, one.get(id), two.get(id))) is not None
    ]
    order = ("outcome", "first only", "second only", "amounts")
    return tuple(sorted(changes, key=lambda change: _heaviest(change, order)))


def _heaviest(change: FindingChange, order: tuple[str, ...]) -> tuple[int, int, str]:
    # "first only" and "second only" rank alike, so that the order is symmetric.
    kind = 1 if change.kind.endswith("only") else order.index(change.kind)
    held = [each for each in (change.first, change.second) if each is not None]
    weights = ("stop", "must", "advice")
    return kind, min(weights.index(each.weight.value) for each in held), change.id


def _finding(
    id: str, first: Finding | None, second: Finding | None
) -> FindingChange | None:
    if first is None:
        return FindingChange(id, None, second, "second only", ())
    if second is None:
        return FindingChange(id, first, None, "first only", ())
    differs = tuple(
        name
        for name, one, two in (
            ("outcome", first.outcome, second.outcome),
            ("weight", first.weight, second.weight),
            ("found", first.found, second.found),
            ("limit", first.limit, second.limit),
            ("citation", _clause(first), _clause(second)),
        )
        if not _is_same(one, two)
    )
    if not differs:
        return None
    kind: Literal["outcome", "amounts"] = (
        "outcome" if "outcome" in differs else "amounts"
    )
    return FindingChange(id, first, second, kind, differs)


def _clause(finding: Finding) -> tuple[str, str] | None:
    """Return where the rule stands, whatever the edition's year."""
    cited = finding.citation
    return None if cited is None else (cited.locator, cited.amended_by)


def _is_same(one: object, two: object) -> bool:
    if isinstance(one, int | float) and isinstance(two, int | float):
        return math.isclose(one, two, rel_tol=_SAME)
    return one == two


def _capacity(first: Assessment, second: Assessment) -> tuple[CapacityChange, ...]:
    one, two = _rows(first), _rows(second)
    keys = [*one, *(key for key in two if key not in one)]
    changes = [
        CapacityChange(*key, one.get(key), two.get(key), differs)
        for key in sorted(keys)
        if (differs := _row_differs(one.get(key), two.get(key)))
    ]
    return tuple(changes)


def _rows(assessment: Assessment) -> dict[tuple[str, str, str], CapacityRow]:
    return {
        (row.method, row.interpretation.charger, row.interpretation.hvac): row
        for row in assessment.capacity
    }


def _row_differs(
    first: CapacityRow | None, second: CapacityRow | None
) -> tuple[str, ...]:
    if first is None or second is None:
        return ("presence",)
    return tuple(
        name
        for name, one, two in (
            ("permitted", first.permitted, second.permitted),
            ("outcome", first.outcome, second.outcome),
            ("amperes", first.amperes, second.amperes),
            ("limit", first.limit_a, second.limit_a),
            ("largest", first.largest_setting_a, second.largest_setting_a),
        )
        if not _is_same(one, two)
    )
