"""The options as JSON: what `lugbook options --json` prints.

Every key is described in docs/reference/options-json.md; numbers are unrounded.
"""

from __future__ import annotations

import json
from typing import Any

from lugbook.assess.options import Option, Options, Stated, Temperature
from lugbook.assess.parts import PartsList
from lugbook.report.json_parts import assumption_trees, unknown_trees

__all__ = ["options_json_text", "options_tree", "parts_tree"]

SCHEMA = 1  # raised when a key changes its meaning or goes; new keys leave it


def options_json_text(
    options: Options, parts: PartsList | None = None, *, ascii_only: bool = False
) -> str:
    """The options as JSON text; NaN and infinity are refused.

    Args:
        options: What the search found. [-]
        parts: The parts list of one of them; None for none. [-]
        ascii_only: Whether other characters are written as escapes. [-]

    Returns:
        The text, without a line end. [-]

    Raises:
        ValueError: A number is not finite; such a number never leaves the house.
    """
    tree = options_tree(options)
    if parts is not None:
        tree["parts"] = parts_tree(parts)
    return json.dumps(tree, indent=2, allow_nan=False, ensure_ascii=ascii_only)


def options_tree(options: Options) -> dict[str, Any]:
    """The options as plain dicts, lists, text and numbers.

    Args:
        options: What the search found. [-]

    Returns:
        The tree. [-]
    """
    return {
        "schema": SCHEMA,
        "name": options.name,
        "edition": options.edition,
        "candidates": options.candidates,
        "lawful": options.lawful,
        "refused": dict(options.refused),
        "open": options.open,
        "hot": options.hot,
        "pareto": [
            _option(option, number, number - 1 in options.shown)
            for number, option in enumerate(options.pareto, 1)
        ],
        "stated": None if options.stated is None else _stated(options.stated),
        "routes": [
            {
                "name": route.name,
                "setting_a": route.setting_a,
                "says": route.says,
                "circuit": route.circuit or None,
                "cost_low": route.low,
                "cost_high": route.high,
                "is_needed": route.is_needed,
                "meets_need": route.meets_need,
            }
            for route in options.routes
        ],
        "least_setting_a": options.least_setting_a,
        "service_largest_prudent_a": options.service_largest_a,
        "service_untold": options.service_untold,
        "prices": {
            "title": options.prices_title,
            "invented": options.invented_prices,
            "currency": options.currency,
            "rough_low_fraction": options.rough_fractions[0],
            "rough_high_fraction": options.rough_fractions[1],
        },
        "assumptions": assumption_trees(options.assumptions),
        "unknowns": unknown_trees(options.unknowns),
    }


def _option(option: Option, number: int | None, is_shown: bool) -> dict[str, Any]:
    candidate = option.candidate
    return {
        "number": number,
        "shown": is_shown,
        "setting_a": candidate.setting_a,
        "overcurrent_a": candidate.overcurrent_a,
        "overcurrent_ground_fault": candidate.ground_fault,
        "new_disconnect": candidate.new_disconnect,
        "conductor": {
            "material": candidate.material,
            "size": candidate.size,
            "insulation": candidate.insulation,
            "equipment_ground": candidate.ground_size,
        },
        "raceway": {
            "method": candidate.method,
            "trade_size": candidate.trade_size,
        },
        "cost": option.cost,
        "hours": option.hours,
        "drop": {"fraction": option.drop_fraction, "volts": option.drop_v},
        "loss": {
            "w": option.loss_w,
            "kwh_per_year": option.lost_kwh_per_year,
            "kwh_per_1000_kwh": option.lost_kwh_per_1000_kwh,
        },
        "temperatures": [_temperature(each) for each in option.temperatures],
        "hottest": None if option.hottest is None else _temperature(option.hottest),
        "margins": [
            {
                "rule": each.rule,
                "found": each.found,
                "limit": each.limit,
                "unit": each.unit,
                "margin": each.margin,
            }
            for each in option.margins
        ],
        "room_a": option.room_a,
        "meets_need": option.meets_need,
        "open_rules": list(option.open_rules),
        "falls_short_elsewhere": (
            None if option.elsewhere is None else list(option.elsewhere)
        ),
    }


def _temperature(each: Temperature) -> dict[str, Any]:
    return {
        "point": each.point,
        "middle_c": each.middle_c,
        "limit_c": each.limit_c,
        "margin_k": each.margin_k,
    }


def _stated(stated: Stated) -> dict[str, Any]:
    def maybe(option: Option | None) -> dict[str, Any] | None:
        return None if option is None else _option(option, None, False)

    return {
        "words": stated.words,
        "refused_by": stated.rule or None,
        "cost": stated.cost,
        "findings": [
            {
                "id": finding.id,
                "question": finding.question,
                "found": finding.found,
                "limit": finding.limit,
                "unit": finding.unit,
                "next": finding.next,
            }
            for finding in stated.findings
        ],
        "next": maybe(stated.next),
        "next_same_method": maybe(stated.next_same_method),
        "next_same_wire": maybe(stated.next_same_wire),
    }


def parts_tree(parts: PartsList) -> dict[str, Any]:
    """A parts list as plain dicts, lists, text and numbers.

    Args:
        parts: The list. [-]

    Returns:
        The tree. [-]
    """
    return {
        "circuit": parts.candidate.words,
        "parts": [
            {
                "name": part.name,
                "size": part.size,
                "quantity": part.quantity,
                "unit": part.unit,
                "listing": part.listing,
                "cost": part.cost,
            }
            for part in parts.parts
        ],
        "hours": parts.hours,
        "labor": parts.labor,
        "permit": parts.permit,
        "cost": parts.cost,
        "papers": [{"name": p.name, "where": p.where} for p in parts.papers],
        "cautions": [
            {"signal": c.signal.value if c.signal else None, "text": c.text}
            for c in parts.cautions
        ],
    }
