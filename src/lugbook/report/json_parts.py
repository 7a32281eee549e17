"""Pieces that several JSON answers share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lugbook.assess.assessment import Assumption, Unknown
from lugbook.finding import Finding

__all__ = ["assumption_trees", "brief_findings", "unknown_trees"]


def brief_findings(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Findings without clause and working, which the answer around them holds.

    Args:
        findings: The findings. [-]

    Returns:
        A tree each. [-]
    """
    return [
        {
            "id": each.id,
            "question": each.question,
            "outcome": each.outcome.value,
            "weight": each.weight.value,
            "found": each.found,
            "limit": each.limit,
            "unit": each.unit,
            "next": each.next,
        }
        for each in findings
    ]


def assumption_trees(assumptions: Iterable[Assumption]) -> list[dict[str, Any]]:
    """What was taken as given.

    Args:
        assumptions: The assumptions. [-]

    Returns:
        A tree each. [-]
    """
    return [{"id": each.id, "text": each.text, "why": each.why} for each in assumptions]


def unknown_trees(unknowns: Iterable[Unknown]) -> list[dict[str, Any]]:
    """What must be stated, and where to look.

    Args:
        unknowns: What is not known. [-]

    Returns:
        A tree each. [-]
    """
    return [
        {"field": each.field, "question": each.question, "look": each.look}
        for each in unknowns
    ]
