"""Voltage drop along the run at the setting: advice, unless an amendment binds."""

from __future__ import annotations

import math

from lugbook.assess.assessment import CircuitItem
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_conductor import least_conductor
from lugbook.assess.circuit_parts import check, item_of, sized_item
from lugbook.codebook.nfpa70.voltage import conductor_impedance_ohm_per_m
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Outcome, Reckoned, Weight, compare
from lugbook.physics.voltage_drop import loss_two_wire, voltage_drop_two_wire
from lugbook.quantities import Quantity, show

__all__ = ["run_drop_fraction", "voltage_drop_item"]

_QUESTION = "How much voltage is lost on the run at the setting?"
_TITLE = "Voltage drop of the run"


def voltage_drop_item(case: Case) -> CircuitItem:
    """The voltage drop, with the stated conductor or the least that will do.

    Args:
        case: The circuit. [-]

    Returns:
        The item. [-]
    """
    rule = case.edition.rule("voltage-drop-advice")
    limit = rule.number("branch_fraction")
    mandatory = bool(rule.parameters.get("mandatory"))
    weight = Weight.MUST if mandatory else Weight.ADVICE
    size = case.size or least_conductor(case)
    missing = _missing(case, size)
    if missing or size is None:
        if case.size is None:
            return sized_item(
                item="voltage_drop",
                question=_QUESTION,
                minimum=None,
                limit=100 * limit,
                unit="%",
                citation=rule.citation,
                title=_TITLE,
                lines=(),
                next=f"State {missing}.",
                weight=Weight.ADVICE,
            )
        fraction: float | None = None
        lines: tuple[Line, ...] = ()
    else:
        fraction, lines = _drop(case, size)
    advised = _least_for_drop(case, limit) if fraction is not None else None
    larger = f"Take {advised} {case.material}, or charge" if advised else "Charge"
    return item_of(
        item="voltage_drop",
        question=_QUESTION,
        stated=None if case.size is None else f"{case.size} {case.material}",
        minimum=f"{advised} {case.material}" if advised else None,
        checks=(
            check(
                found=(_percent(fraction), _percent(fraction)),
                limit=(100 * limit, 100 * limit),
                unit="%",
                citation=rule.citation,
                kind="fraction",
                next=(
                    f"State {missing}."
                    if missing
                    else f"{larger} at a lower setting: less than {100 * limit:.0f} % "
                    "is lost."
                    if fraction is not None
                    else "Check the size: the tables print no resistance for it."
                ),
                weight=weight,
            ),
        ),
        title=_TITLE,
        lines=lines,
        weight=weight,
    )


def run_drop_fraction(case: Case) -> tuple[float | None, tuple[Line, ...]]:
    """The share of the supply lost on a run at its current, with the lines.

    Args:
        case: The run; its wish is the current that flows. [-]

    Returns:
        Share; None while length, size or voltage are not known. [-]
    """
    size = case.size or least_conductor(case)
    if size is None or _missing(case, size):
        return None, ()
    return _drop(case, size)


def _missing(case: Case, size: str | None) -> str:
    """Return what the voltage drop lacks, in words; empty if nothing."""
    if case.wish.setting_a is None:
        return "charger.setting: the current that flows"
    if not case.run:
        return "circuit.sections: the run, each section with its length"
    for laid in case.run:
        if laid.length_m is None:
            return f"circuit.sections.{laid.id}.length: along the run, one way"
    if case.wish.voltage_v is None:
        return "service.system: the voltage of the supply"
    return "" if size else "circuit.conductor.size, or what its size depends on"


def _drop(case: Case, size: str) -> tuple[float | None, tuple[Line, ...]]:
    """Return the drop as a share of the supply, with its lines; None: not in tables."""
    setting_a, supply_v = case.wish.setting_a or 0.0, case.wish.voltage_v or 0.0
    lines: list[Line] = []
    drops_v: list[float] = []
    losses_w: list[float] = []
    for laid in case.run:
        own = laid.size if case.size else None
        resistance = _resistance(
            case, own or size, laid.material or case.material, laid.method
        )
        if resistance is None:
            return None, tuple(lines)
        lines.extend(line for line in resistance.lines if line not in lines)
        length_m, ohm = laid.length_m or 0.0, resistance.amount
        drop_v = voltage_drop_two_wire(
            current_a=setting_a, resistance_ohm_per_m=ohm, length_m=length_m
        )
        loss_w = loss_two_wire(
            current_a=setting_a, resistance_ohm_per_m=ohm, length_m=length_m
        )
        length = show(length_m, Quantity.LENGTH, "ft")
        lines.append(
            Line(
                f"section {laid.id}, {length}",
                drop_v,
                "V",
                "2 × length × resistance × current",
                f"2 × {length_m:.4g} m × {ohm:.5g} ohm/m × {setting_a:g} A",
            )
        )
        lines.append(Line(f"heat in section {laid.id}", loss_w, "W"))
        drops_v.append(drop_v)
        losses_w.append(loss_w)
    whole_v, whole_w = math.fsum(drops_v), math.fsum(losses_w)
    lines.extend(
        (
            Line("voltage drop", whole_v, "V", "sum, at unity power factor"),
            Line(
                "share of the supply",
                whole_v / supply_v,
                "",
                "voltage drop ÷ supply",
                f"{whole_v:.4g} V ÷ {supply_v:g} V",
            ),
            Line("heat in the run", whole_w, "W", "sum of the sections"),
        )
    )
    return whole_v / supply_v, tuple(lines)


def _least_for_drop(case: Case, limit: float) -> str | None:
    """Return the smallest size, the same all along the run, that keeps the limit."""
    for row in case.edition.table("ampacity").rows:
        size = str(row[0])
        found = _share_with(case, size)
        outcome = compare(found=found, limit=limit, kind="series").outcome
        if outcome is Outcome.MEETS:
            return size
    return None


def _share_with(case: Case, size: str) -> float | None:
    drops_v = []
    for laid in case.run:
        resistance = _resistance(case, size, case.material, laid.method)
        if resistance is None:
            return None
        drops_v.append(
            voltage_drop_two_wire(
                current_a=case.wish.setting_a or 0.0,
                resistance_ohm_per_m=resistance.amount,
                length_m=laid.length_m or 0.0,
            )
        )
    return math.fsum(drops_v) / (case.wish.voltage_v or math.nan)


def _resistance(
    case: Case, size: str, material: str, method: str | None
) -> Reckoned | None:
    try:
        found, _ = conductor_impedance_ohm_per_m(
            edition=case.edition, size=size, material=material, method=method or ""
        )
    except MissingEntry:
        return None
    return found


def _percent(fraction: float | None) -> float | None:
    return None if fraction is None else 100 * fraction
