"""Two assessments side by side, as JSON."""

from __future__ import annotations

import json
from typing import Any

from lugbook.assess.assessment import Assessment, CapacityRow
from lugbook.assess.compare import CapacityChange, Comparison, FieldChange
from lugbook.finding import Finding

__all__ = ["comparison_as_json", "comparison_json_text"]

SCHEMA = 1


def comparison_as_json(comparison: Comparison) -> dict[str, Any]:
    """A comparison as plain dicts, lists, text and numbers.

    Args:
        comparison: Two assessments side by side. [-]

    Returns:
        The tree; `a` is the first side, `b` the second. [-]
    """
    return {
        "schema": SCHEMA,
        "is_same": comparison.is_same,
        "a": _side(comparison.first),
        "b": _side(comparison.second),
        "conditions": [_field(each) for each in comparison.conditions],
        "fields": [_field(each) for each in comparison.fields],
        "findings": [
            {
                "id": each.id,
                "kind": each.kind.replace("first", "a").replace("second", "b"),
                "differs": list(each.differs),
                "a": _finding(each.first),
                "b": _finding(each.second),
            }
            for each in comparison.findings
        ],
        "capacity": [_capacity(each) for each in comparison.capacity],
    }


def comparison_json_text(comparison: Comparison, *, ascii_only: bool = False) -> str:
    """A comparison as JSON text; NaN and infinity are refused.

    Args:
        comparison: Two assessments side by side. [-]
        ascii_only: Whether other characters are written as escapes. [-]

    Returns:
        The text, without a line end. [-]

    Raises:
        ValueError: A number is not finite; such a number never leaves the house.
    """
    tree = comparison_as_json(comparison)
    return json.dumps(tree, indent=2, allow_nan=False, ensure_ascii=ascii_only)


def _side(assessment: Assessment) -> dict[str, Any]:
    headline = assessment.headline
    return {
        "name": assessment.name,
        "edition": assessment.edition,
        "amendments": list(assessment.amendments),
        "setting_a": headline.setting_a,
        "outcome": headline.outcome.value,
        "sentence": headline.sentence,
        "largest_prudent_a": headline.largest_prudent_a,
        "largest_literal_a": headline.largest_literal_a,
    }


def _field(change: FieldChange) -> dict[str, Any]:
    return {"field": change.field, "a": change.first, "b": change.second}


def _finding(finding: Finding | None) -> dict[str, Any] | None:
    if finding is None:
        return None
    return {
        "outcome": finding.outcome.value,
        "weight": finding.weight.value,
        "found": finding.found,
        "limit": finding.limit,
        "unit": finding.unit,
        "citation": str(finding.citation) if finding.citation else None,
        "next": finding.next,
    }


def _capacity(change: CapacityChange) -> dict[str, Any]:
    return {
        "method": change.method,
        "charger": change.charger,
        "hvac": change.hvac,
        "differs": list(change.differs),
        "a": _row(change.first),
        "b": _row(change.second),
    }


def _row(row: CapacityRow | None) -> dict[str, Any] | None:
    if row is None:
        return None
    return {
        "permitted": row.permitted,
        "outcome": row.outcome.value,
        "amperes": row.amperes,
        "limit_a": row.limit_a,
        "largest_setting_a": row.largest_setting_a,
        "reason": row.reason,
    }
