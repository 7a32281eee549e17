"""What an assessment holds; every face shows this and computes nothing."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from lugbook.assess.torque import TorqueSheet
from lugbook.finding import Citation, Finding, Outcome, Working

if TYPE_CHECKING:
    from lugbook.assess.work_parts import WorkSheet  # it rests on capacity, above this

__all__ = [
    "Assessment",
    "Assumption",
    "CapacityRow",
    "CircuitItem",
    "Forecast",
    "ForecastPoint",
    "Headline",
    "Interpretation",
    "MethodText",
    "SettingOutlook",
    "SupplyOutlook",
    "Unknown",
]


@dataclass(frozen=True, slots=True)
class Assumption:
    """Something taken as given that nobody stated.

    Args:
        id: Stable name. [-]
        text: What is assumed, in one sentence. [-]
        why: Where it comes from, or on which side it errs. [-]
    """

    id: str
    text: str
    why: str


@dataclass(frozen=True, slots=True)
class Unknown:
    """Something the answer needs and nobody stated.

    Args:
        field: Dotted path in the plan file. [-]
        question: What is not known. [-]
        look: Where in the house to look, or whom to ask. [-]
        later: Whether it belongs to a later stage and does not weigh yet. [-]
    """

    field: str
    question: str
    look: str
    later: bool = False


@dataclass(frozen=True, slots=True)
class Interpretation:
    """How a method is read: where the charger stands, what of the heating counts."""

    charger: str
    hvac: str


@dataclass(frozen=True, slots=True)
class CapacityRow:
    """One method under one interpretation.

    Args:
        method: One of the closed words for methods. [-]
        interpretation: How it is read. [-]
        permitted: Whether the edition permits the method for this house. [-]
        literal: Whether this is the rule's own wording. [-]
        prudent: Charger outside the factor, heating and cooling counted. [-]
        base_va: Load without the charger; None if unknown. [VA]
        va: Load at the setting. [VA]
        amperes: The same as a current. [A]
        limit_a: Service rating; None while one of its parts is unknown. [A]
        outcome: Against the limit. [-]
        largest_exact_a: Largest current that would just pass. [A]
        largest_setting_a: Largest setting step that passes. [A]
        working: The arithmetic. [-]
        reason: Why it is not permitted or cannot be told; empty otherwise. [-]
        span_a: Between which currents a measured load lies while legs and power
            factor are not known; None for what was calculated. [A, A]
    """

    method: str
    interpretation: Interpretation
    permitted: bool
    literal: bool
    prudent: bool
    base_va: float | None
    va: float | None
    amperes: float | None
    limit_a: float | None
    outcome: Outcome
    largest_exact_a: float | None
    largest_setting_a: float | None
    working: Working
    reason: str = ""
    span_a: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class MethodText:
    """What a method of the load calculation is worth.

    Args:
        method: Closed word for the method. [-]
        title: Its name. [-]
        says: What it reckons. [-]
        proves: What a pass proves, and what not. [-]
        assumes: What it takes for granted. [-]
    """

    method: str
    title: str
    says: str
    proves: str
    assumes: str


@dataclass(frozen=True, slots=True)
class CircuitItem:
    """One part of the circuit: what is stated, the least that will do, the outcome.

    Args:
        item: Closed word for the part. [-]
        stated: What the plan states, as text; None if left out. [-]
        minimum: Least that rules and run allow, as text; None if unknown. [-]
        finding: The finding on it. [-]
    """

    item: str
    stated: str | None
    minimum: str | None
    finding: Finding


@dataclass(frozen=True, slots=True)
class Headline:
    """The answer in one line.

    Args:
        outcome: Worst of all that must hold. [-]
        setting_a: The setting asked about; None if nobody stated one. [A]
        largest_literal_a: Largest step under any permitted method as worded. [A]
        largest_prudent_a: Largest step with charger outside, heating counted. [A]
        service_largest_literal_a: The same before the circuit caps it. [A]
        service_largest_prudent_a: The same before the circuit caps it. [A]
        circuit_largest_a: What the circuit as stated may carry. [A]
        circuit_reason: What caps it there, or why it may carry nothing. [-]
        unconfirmed_values: Book values not confirmed that the answer rests on. [-]
        sentence: The answer in words. [-]
    """

    outcome: Outcome
    setting_a: float | None
    largest_literal_a: float | None
    largest_prudent_a: float | None
    service_largest_literal_a: float | None
    service_largest_prudent_a: float | None
    circuit_largest_a: float | None
    circuit_reason: str
    unconfirmed_values: int
    sentence: str


@dataclass(frozen=True, slots=True)
class ForecastPoint:
    """Where one point will settle at the setting, from 5 to 95 %.

    Args:
        id: Closed word for the point, a dot, and the section it is in, if any. [-]
        name: What it is, in words. [-]
        kind: "conductor", "terminal", "face" or "surface". [-]
        setting_a: Current it is forecast for. [A]
        ambient_c: Air or earth around, the room for a panel; None if unknown. [°C]
        low_c: 5 %; None if unknown, or where it settles nowhere under 150 °C. [°C]
        middle_c: 50 %; None as `low_c`. [°C]
        high_c: 95 %; None as `low_c`. [°C]
        limit_c: Limit; None where there is none or it is unknown. [°C]
        margin_k: Limit less the middle; None if either is unknown. [K]
        outcome: Against the limit; None where no limit applies. [-]
        citation: Where the limit is printed. [-]
        drivers: What makes the range wide, the largest first. [-]
        working: The arithmetic. [-]
    """

    id: str
    name: str
    kind: str
    setting_a: float
    ambient_c: float | None
    low_c: float | None
    middle_c: float | None
    high_c: float | None
    limit_c: float | None
    margin_k: float | None
    outcome: Outcome | None
    citation: Citation | None
    drivers: tuple[str, ...]
    working: Working


@dataclass(frozen=True, slots=True)
class SettingOutlook:
    """What one setting step would mean on the circuit as described.

    Args:
        setting_a: The setting. [A]
        hottest_point: Id of the hottest point; None while none is known. [-]
        hottest_name: The same in words. [-]
        hottest_c: Its temperature, the middle of the range. [°C]
        hottest_high_c: Its 95 % end. [°C]
        least_margin_k: Smallest margin of all points. [K]
        least_margin_point: Id of the point that has it. [-]
        panel_v: Voltage at the panel with only the charger on; None while the
            supply's resistance is unknown. [V]
        charger_v: Voltage at the charger, the panel at `panel_v` or, while that is
            unknown, at nominal. [V]
        drop_v: Voltage lost on the run. [V]
        drop_fraction: The same over nominal. [-]
        flicker_fraction: Step of voltage at the panel when charging starts. [-]
        loss_w: Heat made in the run. [W]
        heat_fraction: That heat over the heat at the largest setting shown. [-]
        energy_lost_kwh: Energy lost in the run in a year of ordinary days. [kWh]
        hours_per_day: Charging hours on an ordinary day. [h]
    """

    setting_a: float
    hottest_point: str | None
    hottest_name: str
    hottest_c: float | None
    hottest_high_c: float | None
    least_margin_k: float | None
    least_margin_point: str | None
    panel_v: float | None
    charger_v: float | None
    drop_v: float | None
    drop_fraction: float | None
    flicker_fraction: float | None
    loss_w: float | None
    heat_fraction: float | None
    energy_lost_kwh: float | None
    hours_per_day: float | None


@dataclass(frozen=True, slots=True)
class SupplyOutlook:
    """The supply upstream of the panel, as far as it is stated.

    Args:
        basis: What it is reckoned from, in words. [-]
        transformer_fraction: Charger alone over the transformer's rating. [-]
        source_ohm: Loop resistance of the supply up to the panel. [ohm]
        panel_v: Voltage at the panel with only the charger on. [V]
        flicker_fraction: Step of voltage when charging starts. [-]
        panel_fault_a: Largest fault current at the panel. [A]
        disconnect_fault_a: Largest fault current at the charger's disconnect. [A]
        working: The arithmetic. [-]
    """

    basis: str
    transformer_fraction: float | None
    source_ohm: float | None
    panel_v: float | None
    flicker_fraction: float | None
    panel_fault_a: float | None
    disconnect_fault_a: float | None
    working: Working


@dataclass(frozen=True, slots=True)
class Forecast:
    """What every point will carry, drop and warm to, before anything is bought.

    Args:
        points: Every point at the setting, along the path. [-]
        settings: The setting and each lower step, the smallest first. [-]
        supply: The supply; None where nothing of it is stated. [-]
        findings: What follows, in reading order. [-]
        assumptions: What was taken as given. [-]
        unknowns: What it needs and nobody stated. [-]
    """

    points: tuple[ForecastPoint, ...]
    settings: tuple[SettingOutlook, ...]
    supply: SupplyOutlook | None
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]
    unknowns: tuple[Unknown, ...]


@dataclass(frozen=True, slots=True)
class Assessment:
    """Everything found about a house on a day under an edition."""

    name: str
    edition: str
    amendments: tuple[str, ...]
    on: date
    headline: Headline
    service_rating: Working
    capacity: tuple[CapacityRow, ...]
    circuit: tuple[CircuitItem, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]
    unknowns: tuple[Unknown, ...] = field(default=())
    forecast: Forecast | None = field(default=None)
    torque: TorqueSheet | None = field(default=None)
    work: WorkSheet | None = field(default=None)
    methods: tuple[MethodText, ...] = field(default=())
    differences: tuple[str, ...] = field(default=())
