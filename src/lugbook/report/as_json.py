"""An assessment as JSON: what `lugbook check --json` prints.

Every key is described in docs/reference/json.md, and the shape is fixed by
docs/reference/assessment.schema.json; tests keep the three equal.
"""

from __future__ import annotations

import json
from typing import Any

from lugbook.assess.assessment import Assessment, CapacityRow, CircuitItem, Headline
from lugbook.finding import Citation, Finding, Line, Working

__all__ = ["SCHEMA", "as_json", "json_text"]

SCHEMA = 1  # raised when a key changes its meaning or goes; new keys leave it


def as_json(assessment: Assessment) -> dict[str, Any]:
    """An assessment as plain dicts, lists, text and numbers.

    Args:
        assessment: The assessment. [-]

    Returns:
        The tree, in reading order, numbers unrounded. [-]
    """
    return {
        "schema": SCHEMA,
        "name": assessment.name,
        "edition": assessment.edition,
        "amendments": list(assessment.amendments),
        "on": assessment.on.isoformat(),
        "headline": _headline(assessment.headline),
        "service_rating": _working(assessment.service_rating),
        "capacity": [_capacity_row(row) for row in assessment.capacity],
        "circuit": [_circuit_item(item) for item in assessment.circuit],
        "circuit_largest_setting_a": assessment.headline.circuit_largest_a,
        "findings": [_finding(finding) for finding in assessment.findings],
        "assumptions": [
            {"id": assumed.id, "text": assumed.text, "why": assumed.why}
            for assumed in assessment.assumptions
        ],
        "unknowns": [
            {"field": unknown.field, "question": unknown.question, "look": unknown.look}
            for unknown in assessment.unknowns
        ],
    }


def json_text(assessment: Assessment, *, ascii_only: bool = False) -> str:
    """An assessment as JSON text; NaN and infinity are refused.

    Args:
        assessment: The assessment. [-]
        ascii_only: Whether other characters are written as escapes. [-]

    Returns:
        The text, without a line end. [-]

    Raises:
        ValueError: A number is not finite; such a number never leaves the house.
    """
    return json.dumps(
        as_json(assessment), indent=2, allow_nan=False, ensure_ascii=ascii_only
    )


def _headline(headline: Headline) -> dict[str, Any]:
    return {
        "outcome": headline.outcome.value,
        "sentence": headline.sentence,
        "setting_a": headline.setting_a,
        "largest_literal_a": headline.largest_literal_a,
        "largest_prudent_a": headline.largest_prudent_a,
        "service_largest_literal_a": headline.service_largest_literal_a,
        "service_largest_prudent_a": headline.service_largest_prudent_a,
        "circuit_largest_a": headline.circuit_largest_a,
        "circuit_reason": headline.circuit_reason,
        "unconfirmed_values": headline.unconfirmed_values,
    }


def _capacity_row(row: CapacityRow) -> dict[str, Any]:
    return {
        "method": row.method,
        "interpretation": {
            "charger": row.interpretation.charger,
            "hvac": row.interpretation.hvac,
        },
        "permitted": row.permitted,
        "literal": row.literal,
        "prudent": row.prudent,
        "base_va": row.base_va,
        "va": row.va,
        "amperes": row.amperes,
        "limit_a": row.limit_a,
        "outcome": row.outcome.value,
        "largest_exact_a": row.largest_exact_a,
        "largest_setting_a": row.largest_setting_a,
        "reason": row.reason,
        "working": _working(row.working),
    }


def _circuit_item(item: CircuitItem) -> dict[str, Any]:
    finding = item.finding
    return {
        "item": item.item,
        "finding": finding.id,
        "stated": item.stated,
        "minimum": item.minimum,
        "found": finding.found,
        "limit": finding.limit,
        "unit": finding.unit,
        "outcome": finding.outcome.value,
        "citation": _citation(finding.citation),
        "working": _working(finding.working),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    status = finding.status
    return {
        "id": finding.id,
        "question": finding.question,
        "outcome": finding.outcome.value,
        "weight": finding.weight.value,
        "found": finding.found,
        "limit": finding.limit,
        "unit": finding.unit,
        "margin": finding.margin,
        "citation": _citation(finding.citation),
        "status": status.value if status else None,
        "signal": finding.signal.value if finding.signal else None,
        "next": finding.next,
        "working": _working(finding.working),
    }


def _working(working: Working | None) -> dict[str, Any] | None:
    if working is None:
        return None
    return {"title": working.title, "lines": [_line(line) for line in working.lines]}


def _line(line: Line) -> dict[str, Any]:
    return {
        "label": line.label,
        "symbols": line.symbols,
        "numbers": line.numbers,
        "amount": line.amount,
        "unit": line.unit,
        "source": _citation(line.source),
    }


def _citation(source: Citation | str | None) -> dict[str, Any] | None:
    """Return a source in one shape, whether a book's or somebody's word."""
    if not source:
        return None
    if isinstance(source, str):
        return {
            "source": None,
            "locator": None,
            "status": None,
            "confirmed_by": None,
            "amended_by": None,
            "text": source,
        }
    return {
        "source": source.source,
        "locator": source.locator,
        "status": source.status.value,
        "confirmed_by": source.confirmed_by or None,
        "amended_by": source.amended_by or None,
        "text": str(source),
    }
