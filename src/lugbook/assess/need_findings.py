"""What `check` says of the need: closed form, no replay of a year."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lugbook.assess.assessment import Assumption, SettingOutlook, Unknown
from lugbook.assess.capacity import Wish
from lugbook.assess.need_cars import (
    Garage,
    Supplied,
    car_lines,
    cars_of,
    closed_smallest_a,
    garage_of,
    hours_of_night,
    nights_in_closed_form,
    own_limit_a,
    plan_steps_a,
)
from lugbook.finding import Finding, Outcome, Weight, Working, compare
from lugbook.premises.plan import Plan

__all__ = ["NO_NEED", "NeedJudgement", "findings_of_cars", "judge_need"]


@dataclass(frozen=True, slots=True)
class NeedJudgement:
    """What the assessment shows of the need.

    Args:
        findings: Findings, all of them advice. [-]
        assumptions: What was taken as given. [-]
        unknowns: What nobody stated. [-]
    """

    findings: tuple[Finding, ...]
    assumptions: tuple[Assumption, ...]
    unknowns: tuple[Unknown, ...]


NO_NEED = NeedJudgement((), (), ())


def judge_need(
    plan: Plan, wish: Wish, outlooks: Sequence[SettingOutlook]
) -> NeedJudgement:
    """Whether the setting asked about is what the cars need.

    Args:
        plan: The house. [-]
        wish: The charging current. [-]
        outlooks: Forecast of the setting and each lower step, ascending. [-]

    Returns:
        The judgement; findings only where cars are stated. [-]
    """
    garage = garage_of(plan)
    if not plan.cars or wish.setting_a is None:
        return NeedJudgement((), (), tuple(garage.unknowns))
    if garage.unknowns or wish.voltage_v is None:
        found = (
            _untold(wish.setting_a, garage),
            *findings_of_cars(garage, wish.setting_a),
        )
        return NeedJudgement(found, (), tuple(garage.unknowns))
    steps_a = plan_steps_a(plan, garage)
    supplied = Supplied(wish.voltage_v, outlooks)
    found = (
        _smallest(garage, supplied, steps_a, wish.setting_a),
        *findings_of_cars(garage, wish.setting_a, battery=supplied),
    )
    return NeedJudgement(found, tuple(garage.assumptions), ())


def findings_of_cars(
    garage: Garage, setting_a: float, *, battery: Supplied | None = None
) -> tuple[Finding, ...]:
    """What a car cannot take, and what it cannot hold.

    Args:
        garage: The cars. [-]
        setting_a: The setting. [A]
        battery: Voltage at the charger, for what the battery holds; None while
            driving is not stated. [-]

    Returns:
        Findings, all of them advice. [-]
    """
    limit = _car_limit(garage, setting_a)
    held = () if battery is None else tuple(_batteries(garage, battery, setting_a))
    return (*held, *(() if limit is None else (limit,)))


_QUESTION = "Does the setting have the cars ready after every kind of night?"


def _untold(setting_a: float, garage: Garage) -> Finding:
    look = "; ".join(each.look for each in garage.unknowns)
    return Finding(
        id="need.smallest_setting",
        question=_QUESTION,
        outcome=compare(found=setting_a, limit=None).outcome,
        weight=Weight.ADVICE,
        found=setting_a,
        unit="A",
        next=f"State how the cars are used. Look: {look}."
        if look
        else "State the supply: 120/240 V, or 120/208 V of a wye.",
    )


def _smallest(
    garage: Garage, supplied: Supplied, steps_a: Sequence[float], setting_a: float
) -> Finding:
    least_a = closed_smallest_a(garage, supplied, steps_a)
    nights = nights_in_closed_form(garage, supplied, least_a or setting_a)
    most_a = max(night.required_a for night in nights)
    found = compare(
        found=setting_a,
        limit=most_a if least_a is None else least_a,
        direction="at least",
        kind="series",
    )
    return Finding(
        id="need.smallest_setting",
        question=_QUESTION,
        outcome=found.outcome if least_a is not None else Outcome.FALLS_SHORT,
        weight=Weight.ADVICE,
        found=setting_a,
        limit=least_a,
        unit="A",  # and no margin: what is over the need is no room
        working=Working("Current that each kind of night asks", car_lines(nights)),
        next=_next(setting_a, least_a, most_a, supplied.outlooks),
    )


def _next(
    setting_a: float,
    least_a: float | None,
    most_a: float,
    outlooks: Sequence[SettingOutlook],
) -> str:
    counts = "`lugbook need` counts the mornings missed at each setting."
    if least_a is None:
        return (
            "No setting of the charger fills the car in the hardest night alone, which "
            f"asks {math.ceil(most_a)} A. {counts}"
        )
    if setting_a < least_a:
        return (
            f"The hardest night asks {math.ceil(most_a)} A: set {least_a:g} A, or "
            f"accept mornings short of full. {counts}"
        )
    if setting_a == least_a:
        return f"It is the smallest that does. {counts}"
    return (
        f"{least_a:g} A is enough{_heat_words(setting_a, least_a, outlooks)}. {counts}"
    )


def _heat_words(
    setting_a: float, least_a: float, outlooks: Sequence[SettingOutlook]
) -> str:
    watts = {each.setting_a: each.loss_w for each in outlooks}
    small, large = watts.get(least_a), watts.get(setting_a)
    if not small or not large:
        return ""
    return f", and makes {100 * small / large:.0f} % of the heat in the run"


def _batteries(
    garage: Garage, supplied: Supplied, setting_a: float
) -> Iterator[Finding]:
    """Yield, for each car whose battery is stated, whether it holds its days."""
    uses = cars_of(garage, supplied, setting_a)
    for car, use in zip(garage.cars, uses, strict=True):
        if math.isinf(use.capacity_kwh):
            continue
        share = (car.battery.value if car.battery else 0.0) / use.capacity_kwh
        name, most_kwh = max(hours_of_night(use), key=lambda each: each[1])
        found = compare(found=most_kwh * share, limit=use.capacity_kwh * share)
        short = found.outcome is Outcome.FALLS_SHORT
        yield Finding(
            id=f"need.battery.{car.id}",
            question="Does the battery hold the longest day?",
            outcome=found.outcome,
            weight=Weight.ADVICE,
            found=most_kwh * share,
            limit=use.capacity_kwh * share,
            unit="kWh",
            margin=found.margin,
            next=f"The day before the night called {name} takes more than the battery "
            "holds: the rest is charged on the way, whatever the setting at home."
            if short
            else "",
        )


def _car_limit(garage: Garage, setting_a: float) -> Finding | None:
    """Return whether any car can take the setting; None where none is stated."""
    if not garage.cars:
        return None
    most_a = max(own_limit_a(car) for car in garage.cars)
    if math.isinf(most_a):
        return None
    found = compare(found=setting_a, limit=most_a, kind="series")
    more = (
        f"No car here takes more than {most_a:.4g} A: a larger setting, breaker and "
        "wire give it nothing."
    )
    return Finding(
        id="need.car_limit",
        question="Can a car take what the charger offers?",
        outcome=found.outcome,
        weight=Weight.ADVICE,
        found=setting_a,
        limit=most_a,
        unit="A",
        margin=found.margin,
        next=more if found.outcome is Outcome.FALLS_SHORT else "",
    )
