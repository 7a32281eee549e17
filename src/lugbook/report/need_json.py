"""The charging need as JSON: what `lugbook need --json` prints.

Every key is described in docs/reference/need-json.md; numbers are unrounded.
"""

from __future__ import annotations

import json
from typing import Any

from lugbook.assess.need import Need, SettingNeed
from lugbook.assess.need_code import CodeStep
from lugbook.codebook.nfpa70.vehicle_supply import Duty
from lugbook.report.json_parts import assumption_trees, brief_findings, unknown_trees

__all__ = ["need_json_text", "need_tree"]

SCHEMA = 1  # raised when a key changes its meaning or goes; new keys leave it


def need_json_text(
    need: Need, together: dict[str, Any] | None = None, *, ascii_only: bool = False
) -> str:
    """The need as JSON text; NaN and infinity are refused.

    Args:
        need: The need. [-]
        together: House and charging nights together; None where not reckoned. [-]
        ascii_only: Whether other characters are written as escapes. [-]

    Returns:
        The text, without a line end. [-]

    Raises:
        ValueError: A number is not finite; such a number never leaves the house.
    """
    tree = need_tree(need, together)
    return json.dumps(tree, indent=2, allow_nan=False, ensure_ascii=ascii_only)


def need_tree(need: Need, together: dict[str, Any] | None = None) -> dict[str, Any]:
    """The need as plain dicts, lists, text and numbers.

    Args:
        need: The need. [-]
        together: House and charging nights together; None where not reckoned. [-]

    Returns:
        The tree. [-]
    """
    lower = need.next_smaller
    return {
        "schema": SCHEMA,
        "name": need.name,
        "edition": need.edition,
        "outcome": need.outcome.value,
        "sentence": need.sentence,
        "cars": list(need.cars),
        "mornings_missed_accepted": list(need.accepted),
        "voltage_v": need.voltage_v,
        "asked_setting_a": need.asked_a,
        "smallest_setting_a": need.smallest_setting_a,
        "smallest_in_cheapest_hours_a": need.smallest_in_cheapest_hours_a,
        "closed_form_setting_a": need.closed_form_a,
        "next_smaller": None
        if lower is None
        else {
            "setting_a": lower.setting_a,
            "mornings_missed_per_year": lower.mornings_missed_per_year,
        },
        "currency": need.currency or None,
        "settings": [_setting(each) for each in need.settings],
        "nights": [
            {
                "car": night.car,
                "night": night.name,
                "energy_kwh": night.energy_kwh,
                "hours": night.hours,
                "voltage_v": night.voltage_v,
                "required_a": night.required_a,
            }
            for night in need.nights
        ],
        "findings": brief_findings(need.findings),
        "assumptions": assumption_trees(need.assumptions),
        "unknowns": unknown_trees(need.unknowns),
        "together": together,
    }


def _setting(each: SettingNeed) -> dict[str, Any]:
    outlook = each.outlook
    return {
        "setting_a": each.setting_a,
        "serves": each.serves,
        "drawn_a": each.drawn_a,
        "power_kw": each.power_kw,
        "mornings_missed_per_year": each.mornings_missed_per_year,
        "mornings_missed_by_car": list(each.missed_by_car),
        "mornings_missed_in_cheapest_hours": each.missed_in_cheapest_hours,
        "days_short_per_year": each.days_short_per_year,
        "energy_kwh": each.energy_kwh,
        "charging_hours": each.charging_hours,
        "cost": each.cost,
        "cost_at_once": each.cost_at_once,
        "loss_kwh": each.loss_kwh,
        "conversion_loss_kwh": each.conversion_loss_kwh,
        "charger_v": outlook.charger_v if outlook else None,
        "loss_w": outlook.loss_w if outlook else None,
        "heat_fraction": outlook.heat_fraction if outlook else None,
        "hottest_point": outlook.hottest_point if outlook else None,
        "hottest_c": outlook.hottest_c if outlook else None,
        "code": None if each.code is None else _code(each.code),
    }


def _code(code: CodeStep) -> dict[str, Any]:
    return {
        "counted_a": code.counted_a,
        "overcurrent_a": code.overcurrent_a,
        "disconnect": _duty(code.disconnect),
        "ground_fault": _duty(code.ground_fault),
    }


def _duty(duty: Duty) -> dict[str, Any]:
    return {"required": duty.is_required, "reason": duty.reason}
