"""What would change the answer, as JSON: the key `sensitivity` of `--json`."""

from __future__ import annotations

from typing import Any, TypeAlias

from lugbook.assess.compare import PlannedLoad
from lugbook.assess.sensitivity import Influence, Sensitivity, Together, Trial

__all__ = ["Varied", "sensitivity_as_json"]

Varied: TypeAlias = tuple[Sensitivity, tuple[PlannedLoad, ...]]


def sensitivity_as_json(varied: Varied | None) -> dict[str, Any] | None:
    """What would change the answer as plain dicts, lists, text and numbers.

    Args:
        varied: What would change it, and a row for each planned load; None where
            nobody asked. [-]

    Returns:
        The tree; None where nobody asked. [-]
    """
    if varied is None:
        return None
    found, planned = varied
    return {
        "sentence": found.sentence,
        "typical_outcome": found.typical_outcome.value,
        "can_fall": found.can_fall,
        "can_rise": found.can_rise,
        "is_settled": found.is_settled,
        "search": found.search,
        "evaluations": found.evaluations,
        "influences": [_influence(each) for each in found.influences],
        "together": _together(found.together),
        "still_open": list(found.still_open),
        "untried": [
            {"field": each.field, "why": each.why, "is_unknown": each.is_unknown}
            for each in found.untried
        ],
        "later": found.later,
        "planned": [_planned(each) for each in planned],
    }


def _influence(influence: Influence) -> dict[str, Any]:
    doubt = influence.doubt
    return {
        "field": doubt.field,
        "origin": doubt.origin.value,
        "effect": influence.effect,
        "question": doubt.question,
        "look": doubt.look,
        "typical": doubt.choices[doubt.typical].label,
        "source": doubt.source or None,
        "basis": doubt.basis,
        "worst": influence.worst.choice,
        "trials": [_trial(trial) for trial in influence.trials],
    }


def _trial(trial: Trial) -> dict[str, Any]:
    return {
        "choice": trial.choice,
        "outcome": trial.outcome.value,
        "newly_short": list(trial.newly_short),
        "finding": trial.finding.id if trial.finding else None,
        "margin": trial.finding.margin if trial.finding else None,
        "unit": trial.finding.unit if trial.finding else "",
        "largest_prudent_a": trial.largest_prudent_a,
        "largest_literal_a": trial.largest_literal_a,
    }


def _together(together: Together | None) -> dict[str, Any] | None:
    if together is None:
        return None
    return {
        "picks": [{"field": name, "choice": what} for name, what in together.picks],
        "outcome": together.outcome.value,
        "changed": list(together.changed),
    }


def _planned(planned: PlannedLoad) -> dict[str, Any]:
    headline = planned.assessment.headline
    return {
        "ids": list(planned.ids),
        "year": planned.year,
        "outcome": headline.outcome.value,
        "sentence": headline.sentence,
        "largest_prudent_a": headline.largest_prudent_a,
        "largest_literal_a": headline.largest_literal_a,
    }
