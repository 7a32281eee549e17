"""The setting and each lower step beside it: heat, voltage, loss."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lugbook.assess.assessment import SettingOutlook
from lugbook.assess.circuit_case import Case
from lugbook.assess.forecast_conductor import SectionHeat, size_in
from lugbook.assess.forecast_parts import Warmed, judged
from lugbook.assess.forecast_supply import Supply, step_of
from lugbook.assess.need_cars import drawn_a, use_of
from lugbook.codebook.nfpa70.voltage import conductor_impedance_ohm_per_m
from lugbook.errors import LugbookError, OutOfRange
from lugbook.physics.voltage_drop import (
    RunDrop,
    RunSection,
    energy_lost_per_year,
    run_drop,
)
from lugbook.premises.plan import Plan

__all__ = ["Charging", "charging_at", "outlook_of", "steps_shown", "with_heat"]

_WEEK = 7


@dataclass(frozen=True, slots=True)
class Charging:
    """How long the cars charge on an ordinary day at a setting.

    Args:
        hours_per_day: On a day that they drive. [h]
        square_hours_per_year: Hours a year, each weighed by (current drawn ÷
            setting)². [h]
    """

    hours_per_day: float
    square_hours_per_year: float


def steps_shown(steps_a: Sequence[float], setting_a: float) -> tuple[float, ...]:
    """The setting and each lower step, ascending.

    Args:
        steps_a: Steps of the charger. [A]
        setting_a: The setting. [A]

    Returns:
        Currents. [A]
    """
    return tuple(sorted({setting_a, *(step for step in steps_a if step < setting_a)}))


def charging_at(plan: Plan, *, voltage_v: float, setting_a: float) -> Charging | None:
    """How long the cars charge; None while their driving is not stated.

    Args:
        plan: The house. [-]
        voltage_v: Voltage at which they charge. [V]
        setting_a: The setting. [A]

    Returns:
        Hours of ordinary days; winter and long days take more. [h]
    """
    hours, square_hours = 0.0, 0.0
    for car in plan.cars:
        if car.distance_per_day is None or car.energy_per_distance is None:
            return None
        current_a = drawn_a(car, setting_a)
        try:
            use = use_of(car, voltage_v=voltage_v, setting_a=setting_a)
        except OutOfRange:  # hardly any current, and no efficiency stated
            return None
        car_hours = use.kwh_per_day * 1000 / (voltage_v * current_a)
        days = 365.0 * sum(use.drives) / _WEEK
        hours += car_hours
        square_hours += car_hours * days * (current_a / setting_a) ** 2
    return Charging(hours, square_hours) if plan.cars else None


def outlook_of(
    case: Case,
    *,
    setting_a: float,
    heats: tuple[SectionHeat, ...],
    points: tuple[Warmed, ...],
    supply: Supply | None,
    charging: Charging | None,
) -> SettingOutlook:
    """What a setting means.

    Args:
        case: The circuit. [-]
        setting_a: The setting. [A]
        heats: The sections at it. [-]
        points: Every point at it. [-]
        supply: What is known of the supply. [-]
        charging: How long the cars charge at it. [-]

    Returns:
        The outlook, without its share of the heat. [-]
    """
    hottest = max(
        (each for each in points if each.span is not None),
        key=lambda each: each.span.median if each.span else -math.inf,
        default=None,
    )
    margins = [
        (result.margin, each.id)
        for each in points
        if (result := judged(each)) and result.margin is not None
    ]
    least = min(margins, default=(None, None))
    drop = drop_at(case, heats, setting_a)
    step = step_of(supply, setting_a)
    nominal_v = case.wish.voltage_v
    panel_v = None if step is None or nominal_v is None else nominal_v * (1 - step)
    at_panel_v = panel_v if panel_v is not None else nominal_v
    return SettingOutlook(
        setting_a=setting_a,
        hottest_point=hottest.id if hottest else None,
        hottest_name=hottest.name if hottest else "",
        hottest_c=_finite(hottest.span.median if hottest and hottest.span else None),
        hottest_high_c=_finite(hottest.span.high if hottest and hottest.span else None),
        least_margin_k=least[0],
        least_margin_point=least[1],
        panel_v=panel_v,
        charger_v=None
        if drop is None or at_panel_v is None
        else at_panel_v - drop.drop_v,
        drop_v=drop.drop_v if drop else None,
        drop_fraction=drop.drop_fraction if drop else None,
        flicker_fraction=step,
        loss_w=drop.loss_w if drop else None,
        heat_fraction=None,
        energy_lost_kwh=_energy_lost(drop, charging),
        hours_per_day=charging.hours_per_day if charging else None,
    )


def _finite(number: float | None) -> float | None:
    return number if number is not None and math.isfinite(number) else None


def _energy_lost(drop: RunDrop | None, charging: Charging | None) -> float | None:
    if drop is None or charging is None:
        return None
    return energy_lost_per_year(
        loss_w=drop.loss_w,
        hours_per_day=min(24.0, charging.square_hours_per_year / 365.0),
        days_per_year=365.0,
    )


def drop_at(
    case: Case, heats: tuple[SectionHeat, ...], current_a: float
) -> RunDrop | None:
    """Voltage lost along the run, its wires at their forecast temperatures.

    Args:
        case: The circuit. [-]
        heats: The sections at this current. [-]
        current_a: The current. [A]

    Returns:
        The drop; None while any length or temperature is unknown. [-]
    """
    if not heats or case.wish.voltage_v is None:
        return None
    sections = []
    for heat in heats:
        size, material = size_in(case, heat.laid)
        if (
            heat.laid.length_m is None
            or heat.resistance_ohm_per_m is None
            or size is None
        ):
            return None
        try:
            _, reactance = conductor_impedance_ohm_per_m(
                edition=case.edition,
                size=size,
                material=material,
                method=heat.laid.method or "",
            )
        except LugbookError:
            return None
        sections.append(
            RunSection(
                heat.laid.id, heat.laid.length_m, heat.resistance_ohm_per_m, reactance
            )
        )
    try:
        return run_drop(
            sections=sections, current_a=current_a, supply_v=case.wish.voltage_v
        )
    except LugbookError:
        return None


def with_heat(outlooks: Sequence[SettingOutlook]) -> tuple[SettingOutlook, ...]:
    """The outlooks with their heat over that of the largest setting.

    Args:
        outlooks: Ascending by setting. [-]

    Returns:
        The same, each with its share. [-]
    """
    whole_w = outlooks[-1].loss_w if outlooks else None
    if not whole_w:
        return tuple(outlooks)
    return tuple(
        replace(
            each, heat_fraction=None if each.loss_w is None else each.loss_w / whole_w
        )
        for each in outlooks
    )
