"""What every point will carry, drop and warm to, before anything is bought.

A forecast stands beside the verdict of the rules and does not replace it: it is a
range, and a measurement under full current replaces it in turn.
"""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.assessment import (
    Assumption,
    Forecast,
    ForecastPoint,
    Unknown,
)
from lugbook.assess.capacity import Wish
from lugbook.assess.circuit import CircuitJudgement
from lugbook.assess.circuit_case import Case, case_of
from lugbook.assess.circuit_parts import Notes
from lugbook.assess.forecast_conductor import (
    Laying,
    SectionHeat,
    heat_of,
    laying_of,
    size_in,
)
from lugbook.assess.forecast_panel import (
    PanelCase,
    holding_finding,
    panel_case_of,
    panel_points,
)
from lugbook.assess.forecast_parts import (
    Warmed,
    celsius,
    finding_of,
    judged,
    point_of,
)
from lugbook.assess.forecast_settings import (
    Charging,
    charging_at,
    outlook_of,
    steps_shown,
    with_heat,
)
from lugbook.assess.forecast_supply import (
    Supply,
    supply_findings,
    supply_of,
    supply_outlook,
)
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.voltage import conductor_impedance_ohm_per_m
from lugbook.errors import LugbookError
from lugbook.finding import Finding, Line, Outcome, Weight, Working
from lugbook.premises.plan import Plan

__all__ = ["forecast"]

_HOURS = 24.0


def forecast(
    plan: Plan,
    edition: Edition,
    limits: Edition,
    wish: Wish,
    circuit: CircuitJudgement,
) -> Forecast:
    """What the charger's circuit will warm to, at the setting and each lower step.

    Conductors the plan leaves out are forecast in the least size that the circuit's
    judgement gives. Pure: no files, no clock.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        limits: The book of product limits. [-]
        wish: The charging current. [-]
        circuit: The circuit as judged. [-]

    Returns:
        The forecast; empty of points while no setting or no circuit is stated. [-]
    """
    case = case_of(plan, edition, wish)
    notes = Notes()
    supply = supply_of(case, notes)
    setting_a = wish.setting_a
    if setting_a is None or setting_a <= 0:
        return Forecast((), (), None, (), (), tuple(notes.unknowns))
    if plan.circuit is None:
        return Forecast(
            points=(),
            settings=(),
            supply=None if supply is None else supply_outlook(supply, setting_a),
            findings=supply_findings(case, limits, supply, setting_a),
            assumptions=(),
            unknowns=tuple(notes.unknowns),
        )
    ready = _Ready(
        case=case,
        limits=limits,
        supply=supply,
        panel=panel_case_of(case),
        run=tuple(
            laying_of(case, limits, laid, _least_trade(circuit, laid.id))
            for laid in case.run
        ),
    )
    steps = tuple(_step(ready, a) for a in steps_shown(wish.steps_a, setting_a))
    at = steps[-1]
    points = tuple(point_of(each) for each in at.points)
    return Forecast(
        points=points,
        settings=with_heat(
            [
                outlook_of(
                    case,
                    setting_a=each.setting_a,
                    heats=each.heats,
                    points=each.points,
                    supply=supply,
                    charging=each.charging,
                )
                for each in steps
            ]
        ),
        supply=None if supply is None else supply_outlook(supply, setting_a),
        findings=_findings(ready, steps, points),
        assumptions=_assumptions(ready, at),
        unknowns=(*_panel_unknowns(ready), *notes.unknowns),
    )


@dataclass(frozen=True, slots=True)
class _Ready:
    """Everything but the current."""

    case: Case
    limits: Edition
    supply: Supply | None
    panel: PanelCase
    run: tuple[Laying | str, ...]


@dataclass(frozen=True, slots=True)
class _Step:
    """Everything at one current."""

    setting_a: float
    heats: tuple[SectionHeat, ...]
    points: tuple[Warmed, ...]
    charging: Charging | None


def _least_trade(circuit: CircuitJudgement, section_id: str) -> str | None:
    """Return the trade size that the circuit's judgement gives a section."""
    for item in circuit.items:
        if item.finding.id == f"circuit.raceway_fill.{section_id}" and item.minimum:
            return item.minimum.rpartition(" ")[2]
    return None


def _step(ready: _Ready, current_a: float) -> _Step:
    case = ready.case
    charging = None
    if case.wish.voltage_v is not None:
        charging = charging_at(
            case.plan, voltage_v=case.wish.voltage_v, setting_a=current_a
        )
    # An on and off load: its loss factor is the share of the day that it is on.
    hours = _HOURS if charging is None else min(_HOURS, charging.hours_per_day)
    heats = tuple(
        heat_of(laying, laid, current_a=current_a, loss_factor=hours / _HOURS)
        for laying, laid in zip(ready.run, case.run, strict=True)
    )
    along = [
        each
        for heat in heats
        for each in (heat.conductor, heat.surface)
        if each is not None
    ]
    around = panel_points(
        case,
        ready.limits,
        ready.panel,
        current_a=current_a,
        panel_w_per_m=_wire_w_per_m(ready, heats[0] if heats else None, current_a),
        charger_w_per_m=_wire_w_per_m(ready, heats[-1] if heats else None, current_a),
    )
    return _Step(current_a, heats, (*around[:-1], *along, around[-1]), charging)


def _wire_w_per_m(
    ready: _Ready, heat: SectionHeat | None, current_a: float
) -> float | None:
    """Return the heat of one conductor; at 75 °C, the hot side, where not solved."""
    if heat is not None and heat.resistance_ohm_per_m is not None:
        return current_a**2 * heat.resistance_ohm_per_m
    case = ready.case
    if heat is None:
        return None
    size, material = size_in(case, heat.laid)
    if size is None:
        return None
    try:
        reckoned, _ = conductor_impedance_ohm_per_m(
            edition=case.edition, size=size, material=material, method=""
        )
    except LugbookError:
        return None
    return current_a**2 * reckoned.amount


def _findings(
    ready: _Ready, steps: tuple[_Step, ...], points: tuple[ForecastPoint, ...]
) -> tuple[Finding, ...]:
    at = steps[-1]
    lower = {
        each.id: [w for step in steps[:-1] for w in step.points if w.id == each.id]
        for each in at.points
    }
    found = [finding_of(each, lower[each.id]) for each in at.points]
    found.append(_worst_section(at, points))
    found.append(holding_finding(ready.case, ready.limits, ready.panel, at.setting_a))
    return (
        *(each for each in found if each is not None),
        *supply_findings(ready.case, ready.limits, ready.supply, at.setting_a),
    )


def _worst_section(at: _Step, points: tuple[ForecastPoint, ...]) -> Finding | None:
    """Return the section with the least room, by name; None where none is known."""
    known = [
        (result.margin, heat.laid.id, heat.conductor, result)
        for heat in at.heats
        if (result := judged(heat.conductor)) and result.margin is not None
    ]
    if not known:
        return None
    _, section_id, _, result = min(known, key=lambda each: each[0])
    lines = tuple(
        Line(
            f"conductors in section {name}",
            _words(warmed),
            "",
            "middle, from low to high",
            f"limit {celsius(warmed.limit.sure_c)}" if warmed.limit else "",
        )
        for _, name, warmed, _ in known
    )
    untold = len(at.heats) - len(known)
    if untold:
        label = "section not known" if untold == 1 else "sections not known"
        lines = (*lines, Line(label, float(untold)))
    return Finding(
        id="forecast.worst_section",
        question="Which section of the run leaves the least room?",
        outcome=Outcome.CANNOT_TELL if untold else result.outcome,
        weight=Weight.ADVICE,
        found=section_id,
        citation=next(p.citation for p in points if p.id == f"conductor.{section_id}"),
        working=Working("Sections of the run, by their forecast", lines),
        next="State what is missing of the other sections." if untold else "",
    )


def _words(warmed: Warmed) -> str:
    point = point_of(warmed)
    if point.middle_c is None:
        return "settles nowhere under 150 °C"
    low, high = point.low_c, point.high_c
    ends = "" if low is None else f", {celsius(low)}"
    ends += "" if low is None else " to "
    ends += "over 150 °C" if high is None else celsius(high)
    return f"{celsius(point.middle_c)}{ends}"


def _assumptions(ready: _Ready, at: _Step) -> tuple[Assumption, ...]:
    found = [
        Assumption(
            "forecast.joints",
            "Every joint is sound and tightened to its marked torque.",
            "a joint of ten times its proper resistance warms its lug some 16 K more",
        ),
        Assumption(
            "forecast.still_air",
            "The air around the run is still, and no sun falls on it.",
            "wind cools it; sun warms an outdoor raceway by more than the current does",
        ),
    ]
    circuit = ready.case.circuit
    if circuit is not None and circuit.fitted_disconnect is not None:
        found.append(
            Assumption(
                "forecast.disconnect",
                "The disconnect's terminals are no hotter than the breaker's lugs.",
                "no public figure of a disconnect's own heat was found; measure them",
            )
        )
    if any(isinstance(each, Laying) and each.insulated_m for each in ready.run):
        found.append(
            Assumption(
                "forecast.insulation",
                "Thermal insulation lies 100 mm thick all round the run.",
                "nobody stated how thick; a run against a wall or ceiling is cooler",
            )
        )
    if ready.panel.neighbours_loaded is None:
        found.append(
            Assumption(
                "forecast.neighbours",
                "Breakers beside the charger's may be loaded or not.",
                "nobody stated what is in the spaces beside it; it widens the range",
            )
        )
    if at.charging is None:
        found.append(
            Assumption(
                "forecast.charging_hours",
                "It charges without a pause where soil has to carry the heat off.",
                "the driving of the cars is not stated; fewer hours warm soil less",
            )
        )
    return tuple(found)


def _panel_unknowns(ready: _Ready) -> tuple[Unknown, ...]:
    panel = ready.panel.panel
    if panel is not None and panel.ambient is not None:
        return ()
    path = f"panels.{panel.id}.ambient" if panel else "circuit.fed_from"
    return (
        Unknown(
            path,
            "How hot does the room of the panel get?",
            "a thermometer beside it on the hottest day",
        ),
    )
