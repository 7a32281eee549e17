"""Leg by leg: how far the 120 V loads pull the two legs apart.

A load calculation gives one current, as if both legs carried the same. Each pole of
the main carries its own leg's. What is found here is advice; no total passes by it.
"""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.circuit_parts import check
from lugbook.assess.load_list import LoadList, system_voltage_v
from lugbook.finding import Finding, Line, Outcome, Weight, Working
from lugbook.premises.load import Load
from lugbook.premises.plan import Plan

__all__ = ["leg_balance"]

_LEG_V = 120.0  # leg to neutral, of split phase and of the 208 V wye alike
_ONE_LEG_BELOW_V = 150.0  # between the nominal 120 V and 208 V
_SPLIT_PHASE = "120/240 V split-phase"


@dataclass(frozen=True, slots=True)
class _Legs:
    """The 120 V loads of the house, by leg."""

    leg_a: tuple[tuple[str, float], ...]
    leg_b: tuple[tuple[str, float], ...]
    either: tuple[tuple[str, float], ...]

    @property
    def apart_va(self) -> float:
        """How far the stated ones alone pull the legs apart."""
        return abs(_sum(self.leg_a) - _sum(self.leg_b))

    @property
    def least_va(self) -> float:
        """The least the difference can be, those without a leg placed best."""
        return max(0.0, self.apart_va - _sum(self.either))

    @property
    def most_va(self) -> float:
        """The most it can be, all of those on the heavier leg."""
        return self.apart_va + _sum(self.either)


def _sum(loads: tuple[tuple[str, float], ...]) -> float:
    return sum(va for _, va in loads)


def leg_balance(
    plan: Plan, loads: LoadList, service: Finding | None, limit_a: float | None
) -> tuple[Finding, ...]:
    """Whether the heavier leg stays within the service rating.

    Args:
        plan: The house. [-]
        loads: The house's loads. [-]
        service: The finding on the calculated load. [-]
        limit_a: Service rating. [A]

    Returns:
        One finding, an advice; nothing where no 120 V load is stated, or the two legs
        are of a wye, whose neutral adds otherwise. [-]
    """
    system = plan.service.system if plan.service else None
    legs = _legs(plan, loads)
    held = legs.leg_a or legs.leg_b or legs.either
    if system is None or system.value != _SPLIT_PHASE or not held or service is None:
        return ()
    volts = system_voltage_v(plan) or 0.0
    average_a = service.found if isinstance(service.found, float) else None
    if not volts or average_a is None:
        return ()
    least_a, most_a = (va / _LEG_V / 2 for va in (legs.least_va, legs.most_va))
    compared = check(
        found=(average_a + least_a, average_a + most_a),
        limit=(limit_a, limit_a),
        unit="A",
        citation=service.citation,
        next="",
        kind="fraction",
        weight=Weight.ADVICE,
    )
    return (
        Finding(
            id="capacity.leg_balance",
            question="Does the heavier leg stay within the service rating too?",
            outcome=compared.outcome,
            weight=Weight.ADVICE,
            found=compared.found,
            limit=compared.limit,
            unit="A",
            margin=compared.margin,
            citation=compared.citation,
            working=Working("Leg by leg", _lines(legs, average_a, least_a, most_a)),
            next=_next(legs, compared.outcome),
        ),
    )


def _legs(plan: Plan, loads: LoadList) -> _Legs:
    counted = {each.id: each for each in (*loads.appliances, *loads.hvac)}
    sides: dict[str, list[tuple[str, float]]] = {"A": [], "B": [], "": []}
    for load in plan.loads:
        held = counted.get(load.id)
        if held is None or not held.va:
            continue
        side = _side(load)
        if side is not None:
            sides[side].append((load.name or load.kind, held.va))
    return _Legs(tuple(sides["A"]), tuple(sides["B"]), tuple(sides[""]))


def _side(load: Load) -> str | None:
    """Return its leg, empty for a 120 V load on either, None for one on both."""
    if load.leg is not None:
        return None if load.leg == "both" else load.leg
    is_low = load.voltage is not None and load.voltage.value < _ONE_LEG_BELOW_V
    return "" if is_low else None


def _lines(
    legs: _Legs, average_a: float, least_a: float, most_a: float
) -> tuple[Line, ...]:
    sides = [
        ("120 V loads on leg A", legs.leg_a, "plan, leg"),
        ("120 V loads on leg B", legs.leg_b, "plan, leg"),
        ("120 V loads whose leg nobody stated", legs.either, "plan, voltage"),
    ]
    worst_va = legs.most_va
    return (
        *(
            Line(
                label,
                _sum(loads),
                "VA",
                "sum of nameplates",
                " + ".join(f"{name} {va:,.0f} VA" for name, va in loads),
                source,
            )
            for label, loads, source in sides
            if loads
        ),
        Line(
            "lighting and receptacle circuits",
            "taken as alike on both legs",
            source="nobody states the leg of each; move circuits where it is not so",
        ),
        Line("most the legs differ by", worst_va, "VA", "difference + those unplaced"),
        Line(
            "neutral then carries of it",
            worst_va / _LEG_V,
            "A",
            "difference ÷ 120 V",
            f"{worst_va:,.0f} VA ÷ {_LEG_V:g} V",
        ),
        Line("calculated load, as if both legs were alike", average_a, "A"),
        Line(
            "heavier leg, at least",
            average_a + least_a,
            "A",
            "calculated load + half the least difference",
        ),
        Line(
            "heavier leg, at most",
            average_a + most_a,
            "A",
            "calculated load + half the most difference",
            f"{average_a:.1f} A + {most_a:.1f} A",
        ),
    )


def _next(legs: _Legs, outcome: Outcome) -> str:
    lighter = "B" if _sum(legs.leg_a) >= _sum(legs.leg_b) else "A"
    unplaced = ", ".join(name for name, _ in legs.either)
    if outcome is Outcome.MEETS:
        return "Advice: it makes no load calculation pass."
    if outcome is Outcome.CANNOT_TELL:
        return (
            f"State the leg of: {unplaced}."
            if unplaced
            else "Find out what is missing of the service rating."
        )
    return (
        f"Have one of the larger 120 V circuits moved to leg {lighter}: the rule "
        "counts both legs as alike, each pole of the main does not."
    )
