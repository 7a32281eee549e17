"""House and charging nights together as plain dicts, for `lugbook need --json`."""

from __future__ import annotations

from typing import Any

from lugbook.assess.together import LimitRow, Pair, Together, TogetherRow
from lugbook.assess.together_findings import TogetherBasis
from lugbook.report.json_parts import assumption_trees, brief_findings, unknown_trees

__all__ = ["together_tree"]


def together_tree(found: Together | None) -> dict[str, Any] | None:
    """What was found, with the keys of `docs/reference/need-json.md`.

    Args:
        found: What was found; None where the plan names no meter file. [-]

    Returns:
        The tree. [-]
    """
    if found is None:
        return None
    serving = found.serving
    return {
        "basis": None if found.basis is None else _basis(found.basis),
        "rules": [{"rule": rule, "words": words} for rule, words in found.rules],
        "settings": [_row(each) for each in found.rows],
        "limited": [_limit_row(each) for each in found.limit_rows],
        "evenings": _evenings(found),
        "serving": (
            None
            if serving is None
            else {"setting_a": serving.setting_a, "rule": serving.rule}
        ),
        "sentences": list(found.sentences),
        "findings": brief_findings(found.findings),
        "assumptions": assumption_trees(found.assumptions),
        "unknowns": unknown_trees(found.unknowns),
    }


def _basis(basis: TogetherBasis) -> dict[str, Any]:
    return {
        "file": basis.file,
        "interval_s": basis.interval_s,
        "days": basis.days,
        "years": basis.years,
        "replays": basis.replays,
        "seed": basis.seed,
        "has_legs": basis.has_legs,
        "rating_a": basis.rating_a,
        "rating_is_least_known": basis.rating_is_least_known,
        "continuous_a": basis.continuous_a,
        "continuous_hours": basis.continuous_hours,
        "house_highest_a": _pair(basis.house_highest_a),
        "house_quarters_over_80": _pair(basis.house_over_80),
        "limit_a": basis.limit_a,
        "limit_is_stated": basis.limit_is_stated,
        "fallback_a": basis.fallback_a,
        "late_by_s": basis.late_by_s,
    }


def _row(each: TogetherRow) -> dict[str, Any]:
    return {
        "setting_a": each.setting_a,
        "rule": each.rule,
        "quarters_over_80": _pair(each.quarters_over_80),
        "quarters_over_100": _pair(each.quarters_over_100),
        "nights_over_80": _pair(each.nights_over_80),
        "nights_over_100": _pair(each.nights_over_100),
        "chance_over_100_fraction": _pair(each.chance_over_100_fraction),
        "longest_over_80_h": _pair(each.longest_over_80_h),
        "highest_a": _pair(each.highest_a),
        "excess_kwh": _pair(each.excess_kwh),
        "mornings_missed": each.mornings_missed,
        "independent_over_80": _pair(each.independent_over_80),
        "independent_over_100": _pair(each.independent_over_100),
    }


def _limit_row(each: LimitRow) -> dict[str, Any]:
    return {
        "setting_a": each.setting_a,
        "served_fraction": each.served_fraction,
        "mornings_missed": each.mornings_missed,
        "late_over_limit_h": _pair(each.late_over_limit_h),
        "late_over_100_h": _pair(each.late_over_100_h),
        "late_highest_a": _pair(each.late_highest_a),
    }


def _evenings(found: Together) -> dict[str, Any] | None:
    each = found.evenings
    if each is None:
        return None
    return {
        "setting_a": each.setting_a,
        "days": list(each.days),
        "nights": each.nights,
        "of_nights": each.of_nights,
        "left_over": each.left_over,
        "mornings_missed": each.mornings_missed,
        "runs_for_hours": list(each.runs_for_hours),
    }


def _pair(pair: Pair) -> dict[str, float]:
    return {"least": pair[0], "most": pair[1]}
