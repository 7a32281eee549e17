"""An assessment as JSON: what `lugbook check --json` prints.

Every key is described in docs/reference/json.md, and the shape is fixed by
docs/reference/assessment.schema.json; tests keep the three equal.
"""

from __future__ import annotations

import json
from typing import Any

from lugbook.assess.assessment import (
    Assessment,
    CapacityRow,
    CircuitItem,
    Forecast,
    ForecastPoint,
    Headline,
    SettingOutlook,
    SupplyOutlook,
)
from lugbook.assess.torque import TorqueSheet, TorqueTerminal
from lugbook.finding import Citation, Finding, Line, Working
from lugbook.report.json_parts import assumption_trees
from lugbook.report.sensitivity_json import Varied, sensitivity_as_json
from lugbook.report.work_json import work_as_json

__all__ = ["SCHEMA", "as_json", "json_text"]

SCHEMA = 1  # raised when a key changes its meaning or goes; new keys leave it


def as_json(assessment: Assessment, varied: Varied | None = None) -> dict[str, Any]:
    """An assessment as plain dicts, lists, text and numbers.

    Args:
        assessment: The assessment. [-]
        varied: What would change it, and what planned loads would; None where
            nobody asked. [-]

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
        "capacity_methods": [
            {
                "method": text.method,
                "title": text.title,
                "says": text.says,
                "proves": text.proves,
                "assumes": text.assumes,
            }
            for text in assessment.methods
        ],
        "capacity_differences": list(assessment.differences),
        "circuit": [_circuit_item(item) for item in assessment.circuit],
        "circuit_largest_setting_a": assessment.headline.circuit_largest_a,
        "forecast": _forecast(assessment.forecast),
        "torque": _torque(assessment.torque),
        "work": work_as_json(assessment.work),
        "findings": [_finding(finding) for finding in assessment.findings],
        "assumptions": assumption_trees(assessment.assumptions),
        "unknowns": [
            {
                "field": unknown.field,
                "question": unknown.question,
                "look": unknown.look,
                "later": unknown.later,
            }
            for unknown in assessment.unknowns
        ],
        "sensitivity": sensitivity_as_json(varied),
    }


def json_text(
    assessment: Assessment, varied: Varied | None = None, *, ascii_only: bool = False
) -> str:
    """An assessment as JSON text; NaN and infinity are refused.

    Args:
        assessment: The assessment. [-]
        varied: What would change it, and what planned loads would. [-]
        ascii_only: Whether other characters are written as escapes. [-]

    Returns:
        The text, without a line end. [-]

    Raises:
        ValueError: A number is not finite; such a number never leaves the house.
    """
    return json.dumps(
        as_json(assessment, varied),
        indent=2,
        allow_nan=False,
        ensure_ascii=ascii_only,
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
        "span_a": (
            None
            if row.span_a is None
            else {"least": row.span_a[0], "most": row.span_a[1]}
        ),
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


def _forecast(forecast: Forecast | None) -> dict[str, Any] | None:
    if forecast is None:
        return None
    return {
        "points": [_point(point) for point in forecast.points],
        "settings": [_outlook(outlook) for outlook in forecast.settings],
        "supply": _supply(forecast.supply),
    }


def _point(point: ForecastPoint) -> dict[str, Any]:
    return {
        "id": point.id,
        "name": point.name,
        "kind": point.kind,
        "setting_a": point.setting_a,
        "ambient_c": point.ambient_c,
        "low_c": point.low_c,
        "middle_c": point.middle_c,
        "high_c": point.high_c,
        "limit_c": point.limit_c,
        "margin_k": point.margin_k,
        "outcome": point.outcome.value if point.outcome else None,
        "citation": _citation(point.citation),
        "drivers": list(point.drivers),
        "working": _working(point.working),
    }


def _outlook(outlook: SettingOutlook) -> dict[str, Any]:
    return {
        "setting_a": outlook.setting_a,
        "hottest_point": outlook.hottest_point,
        "hottest_name": outlook.hottest_name,
        "hottest_c": outlook.hottest_c,
        "hottest_high_c": outlook.hottest_high_c,
        "least_margin_k": outlook.least_margin_k,
        "least_margin_point": outlook.least_margin_point,
        "panel_v": outlook.panel_v,
        "charger_v": outlook.charger_v,
        "drop_v": outlook.drop_v,
        "drop_fraction": outlook.drop_fraction,
        "flicker_fraction": outlook.flicker_fraction,
        "loss_w": outlook.loss_w,
        "heat_fraction": outlook.heat_fraction,
        "energy_lost_kwh": outlook.energy_lost_kwh,
        "hours_per_day": outlook.hours_per_day,
    }


def _supply(supply: SupplyOutlook | None) -> dict[str, Any] | None:
    if supply is None:
        return None
    return {
        "basis": supply.basis,
        "transformer_fraction": supply.transformer_fraction,
        "source_ohm": supply.source_ohm,
        "panel_v": supply.panel_v,
        "flicker_fraction": supply.flicker_fraction,
        "panel_fault_a": supply.panel_fault_a,
        "disconnect_fault_a": supply.disconnect_fault_a,
        "working": _working(supply.working),
    }


def _torque(sheet: TorqueSheet | None) -> dict[str, Any] | None:
    if sheet is None:
        return None
    return {
        "means": sheet.means,
        "means_citation": _citation(sheet.means_citation),
        "rules": list(sheet.rules),
        "terminals": [_terminal(terminal) for terminal in sheet.terminals],
    }


def _terminal(terminal: TorqueTerminal) -> dict[str, Any]:
    tool = terminal.tool
    return {
        "number": terminal.number,
        "id": terminal.id,
        "name": terminal.name,
        "at": terminal.at,
        "on": terminal.on,
        "equipment": terminal.equipment,
        "size": terminal.size,
        "material": terminal.material,
        "target_n_m": terminal.target_n_m,
        "basis": terminal.basis,
        "basis_text": terminal.basis_text,
        "citation": _citation(terminal.citation),
        "choices": list(terminal.choices),
        "unit": terminal.unit,
        "wrench": tool.wrench if tool else None,
        "wrench_outcome": tool.outcome.value if tool else None,
        "wrench_why": tool.why if tool else "",
        "live": terminal.live,
        "reached_n_m": terminal.reached_n_m,
        "finding": _finding(terminal.finding),
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
