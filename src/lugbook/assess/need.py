"""How much charging current do the cars need?

A year of nights is replayed at every setting of the charger: how often a car leaves
short of full, what it takes and costs, what the wires lose, how warm they get, and
what the code asks on the way up. Pure: no files, no clock.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from lugbook.assess.assessment import Assumption, SettingOutlook, Unknown
from lugbook.assess.capacity import wish_of
from lugbook.assess.circuit import judge_circuit
from lugbook.assess.forecast import forecast
from lugbook.assess.need_cars import (
    Garage,
    Night,
    Supplied,
    assumed,
    car_lines,
    cars_of,
    closed_smallest_a,
    drawn_a,
    efficiency_at,
    garage_of,
    nights_in_closed_form,
    plan_steps_a,
)
from lugbook.assess.need_code import CodeStep, code_step
from lugbook.assess.need_findings import findings_of_cars
from lugbook.assess.need_tariff import has_windows, price_week
from lugbook.codebook.edition import Edition, open_edition
from lugbook.demand.charging import nights_of
from lugbook.demand.charging_year import CarPower, ChargedYear, charged_year
from lugbook.finding import Finding, Outcome, Working
from lugbook.physics.voltage_drop import energy_lost_per_year
from lugbook.premises.driving import Car
from lugbook.premises.plan import Plan

if TYPE_CHECKING:
    from lugbook.demand.charging_year import PriceWeek
    from lugbook.demand.series import Floats

__all__ = ["Need", "SettingNeed", "mornings", "need", "smallest_setting_a"]

_LIMITS = "2026"  # the one edition held of the limits of product standards
_YEAR_NIGHTS = 365.0
_ROUNDING = 1e-9  # of a mean over replays, not a margin


@dataclass(frozen=True, slots=True)
class SettingNeed:
    """One setting of the charger.

    Args:
        setting_a: The setting. [A]
        drawn_a: Most that any car draws at it. [A]
        power_kw: Power at the charger of the car that draws most. [kW]
        mornings_missed_per_year: Mornings a car leaves short of full. [-]
        missed_by_car: The same, car by car in the plan's order. [-]
        missed_in_cheapest_hours: The same, charging only in each night's cheapest
            hours; None without hours of different price. [-]
        days_short_per_year: Drives that the battery does not hold; None while no
            battery is stated. [-]
        energy_kwh: Energy a year at the wall. [kWh]
        charging_hours: Hours a year at full power. [h]
        cost: Cost of it by the cheapest fill; None while a price is unknown.
            [currency]
        cost_at_once: The same charging as soon as plugged in. [currency]
        loss_kwh: Energy a year lost between panel and charger; None while the run is
            unknown. [kWh]
        conversion_loss_kwh: Energy a year lost in the car's charging; None where the
            energy was taken at the wall and no efficiency is stated. [kWh]
        outlook: Forecast of the circuit at the setting; None while unknown. [-]
        code: What the code asks at it; None while it cannot be told. [-]
        serves: Whether it misses no more mornings than accepted. [-]
    """

    setting_a: float
    drawn_a: float
    power_kw: float
    mornings_missed_per_year: float
    missed_by_car: tuple[float, ...]
    missed_in_cheapest_hours: float | None
    days_short_per_year: float | None
    energy_kwh: float
    charging_hours: float
    cost: float | None
    cost_at_once: float | None
    loss_kwh: float | None
    conversion_loss_kwh: float | None
    outlook: SettingOutlook | None
    code: CodeStep | None
    serves: bool


@dataclass(frozen=True, slots=True)
class Need:
    """How much charging current the cars need.

    Args:
        name: Name of the house. [-]
        edition: Edition judged by. [-]
        voltage_v: Nominal voltage of the charger; None if unknown. [V]
        currency: Currency of the costs. [-]
        asked_a: Setting the plan asks for; None if none. [A]
        cars: Names of the cars. [-]
        accepted: Mornings a year each car may leave short. [-]
        settings: Every setting, ascending; empty while driving is unknown. [-]
        smallest_setting_a: Smallest that serves; None: none does, or unknown. [A]
        smallest_in_cheapest_hours_a: Smallest that serves charging in each night's
            cheapest hours only; None: none does, or no such hours. [A]
        closed_form_a: Smallest that fills every kind of night by itself. [A]
        nights: What each kind of night asks, in closed form. [-]
        sentence: The answer in words. [-]
        findings: What follows from it. [-]
        working: The closed form, line by line. [-]
        assumptions: What was taken as given. [-]
        unknowns: What nobody stated. [-]
    """

    name: str
    edition: str
    voltage_v: float | None
    currency: str
    asked_a: float | None
    cars: tuple[str, ...]
    accepted: tuple[float, ...]
    settings: tuple[SettingNeed, ...]
    smallest_setting_a: float | None
    smallest_in_cheapest_hours_a: float | None
    closed_form_a: float | None
    nights: tuple[Night, ...]
    sentence: str
    findings: tuple[Finding, ...]
    working: Working
    assumptions: tuple[Assumption, ...]
    unknowns: tuple[Unknown, ...]

    @property
    def outcome(self) -> Outcome:
        """Whether some setting serves."""
        if not self.settings:
            return Outcome.CANNOT_TELL
        served = self.smallest_setting_a is not None
        return Outcome.MEETS if served else Outcome.FALLS_SHORT

    @property
    def next_smaller(self) -> SettingNeed | None:
        """The setting just under the smallest that serves; None: there is none."""
        lower = [
            each
            for each in self.settings
            if self.smallest_setting_a and each.setting_a < self.smallest_setting_a
        ]
        return lower[-1] if lower else None

    @property
    def at_smallest(self) -> SettingNeed | None:
        """The smallest setting that serves; None: none does."""
        return next(
            (s for s in self.settings if s.setting_a == self.smallest_setting_a), None
        )


def need(plan: Plan, rules: Edition) -> Need:
    """How much charging current the cars of a plan need.

    Args:
        plan: The house. [-]
        rules: Edition with its local amendments. [-]

    Returns:
        The need; without settings while the cars' driving is not stated. [-]
    """
    garage = garage_of(plan)
    wish = wish_of(plan, None)
    if wish.voltage_v is None:
        garage.unknowns.append(
            Unknown(
                "service.system",
                "Which supply comes in: 120/240 V, or 120/208 V of a wye?",
                "the meter's face, or the utility; a qualified person can measure it",
            )
        )
    if garage.unknowns or wish.voltage_v is None:
        return _unknown_need(plan, rules, garage, wish.setting_a)
    steps_a = plan_steps_a(plan, garage)
    supplied = Supplied(wish.voltage_v, _outlooks(plan, rules, steps_a))
    if all(each.charger_v is None for each in supplied.outlooks):
        garage.assume("voltage")
    year = _Year(plan, garage, supplied, steps_a)
    settings = year.settings(rules)
    smallest_a = next((each.setting_a for each in settings if each.serves), None)
    closed_a = closed_smallest_a(garage, supplied, steps_a)
    nights = nights_in_closed_form(garage, supplied, smallest_a or steps_a[-1])
    found = Need(
        name=plan.name,
        edition=rules.key,
        voltage_v=wish.voltage_v,
        currency=plan.tariff.currency if plan.tariff else "",
        asked_a=wish.setting_a,
        cars=tuple(car.name or car.id for car in plan.cars),
        accepted=_accepted(plan.cars),
        settings=settings,
        smallest_setting_a=smallest_a,
        smallest_in_cheapest_hours_a=year.smallest_in_cheapest_hours(),
        closed_form_a=closed_a,
        nights=nights,
        sentence="",
        findings=findings_of_cars(
            garage, wish.setting_a or steps_a[-1], battery=supplied
        ),
        working=Working("Current that each kind of night asks", car_lines(nights)),
        assumptions=tuple(garage.assumptions),
        unknowns=(),
    )
    return replace(found, sentence=_sentence(found))


def smallest_setting_a(plan: Plan, rules: Edition) -> float | None:
    """The smallest setting that has the cars ready; the one place that says so.

    Args:
        plan: The house. [-]
        rules: Edition with its local amendments. [-]

    Returns:
        Setting; None where none does, or where driving is not stated. [A]
    """
    return need(plan, rules).smallest_setting_a


def _unknown_need(
    plan: Plan, rules: Edition, garage: Garage, asked_a: float | None
) -> Need:
    findings = () if asked_a is None else findings_of_cars(garage, asked_a)
    return Need(
        name=plan.name,
        edition=rules.key,
        voltage_v=wish_of(plan, None).voltage_v,
        currency=plan.tariff.currency if plan.tariff else "",
        asked_a=asked_a,
        cars=tuple(car.name or car.id for car in plan.cars),
        accepted=_accepted(plan.cars),
        settings=(),
        smallest_setting_a=None,
        smallest_in_cheapest_hours_a=None,
        closed_form_a=None,
        nights=(),
        sentence="How much is needed cannot be told yet.",
        findings=findings,
        working=Working("Current that each kind of night asks", ()),
        assumptions=(),
        unknowns=tuple(garage.unknowns),
    )


def _accepted(cars: Sequence[Car]) -> tuple[float, ...]:
    return tuple(
        float(
            assumed("mornings_accepted")
            if car.mornings_missed_accepted is None
            else car.mornings_missed_accepted.value
        )
        for car in cars
    )


def _outlooks(
    plan: Plan, rules: Edition, steps_a: Sequence[float]
) -> tuple[SettingOutlook, ...]:
    """Return the forecast of every step, on the circuit as stated or sized."""
    wish = wish_of(plan, steps_a[-1])
    limits = open_edition(_LIMITS, book="product_limits")
    return forecast(
        plan, rules, limits, wish, judge_circuit(plan, rules, wish)
    ).settings


class _Year:
    """A year of nights at every step, and what comes of it."""

    def __init__(
        self,
        plan: Plan,
        garage: Garage,
        supplied: Supplied,
        steps_a: tuple[float, ...],
    ) -> None:
        self.plan, self.garage = plan, garage
        self.supplied, self.steps_a = supplied, steps_a
        self.accepted = _accepted(plan.cars)
        self.cars = [self._car(number) for number in range(len(plan.cars))]
        self.week: PriceWeek = price_week(plan.tariff)
        if plan.tariff and plan.tariff.demand_price_per_kw:
            garage.assume("demand_price")
        self.year = charged_year(self.cars, self.week)
        self.cheap = (
            charged_year(self.cars, self.week, in_cheapest_hours=True)
            if has_windows(plan.tariff)
            else None
        )

    def _car(self, number: int) -> CarPower:
        import numpy as np

        car = self.garage.cars[number]
        uses = [cars_of(self.garage, self.supplied, a)[number] for a in self.steps_a]
        whole = uses[0].kwh_per_day or uses[0].long_day_kwh or 1.0
        return CarPower(
            nights=nights_of(
                uses[0],
                first_day=assumed("year", "first_day"),
                nights=assumed("year", "nights"),
                replays=assumed("year", "replays"),
                seed=assumed("year", "seed") + number,
            ),
            power_kw=np.array([self._power_kw(car, a) for a in self.steps_a]),
            scale=np.array(
                [
                    (each.kwh_per_day or each.long_day_kwh or 1.0) / whole
                    for each in uses
                ]
            ),
            capacity_kwh=np.array([each.capacity_kwh for each in uses]),
        )

    def _power_kw(self, car: Car, setting_a: float) -> float:
        current_a = drawn_a(car, setting_a)
        return self.supplied.at(current_a) * current_a / 1000

    def _missed(self, year: ChargedYear) -> Floats:
        """Return mornings missed a year, by car and setting."""
        missed: Floats = year.missed.mean(axis=-1)
        return missed

    def _serving(self, missed: Floats, place: int) -> bool:
        return all(
            float(of_car[place]) <= accepted + _ROUNDING
            for of_car, accepted in zip(missed, self.accepted, strict=True)
        )

    def smallest_in_cheapest_hours(self) -> float | None:
        """Return the smallest that serves in each night's cheapest hours only."""
        if self.cheap is None:
            return None
        missed = self._missed(self.cheap)
        return next(
            (a for at, a in enumerate(self.steps_a) if self._serving(missed, at)), None
        )

    def settings(self, rules: Edition) -> tuple[SettingNeed, ...]:
        """Return every setting with all its figures."""
        return tuple(self._setting(at, rules) for at in range(len(self.steps_a)))

    def _setting(self, at: int, rules: Edition) -> SettingNeed:
        setting_a = self.steps_a[at]
        missed = self._missed(self.year)
        energy = self.year.energy_kwh[:, at].mean(axis=-1)
        hours = self.year.busy_hours[:, at].mean(axis=-1)
        outlook = next(
            (o for o in self.supplied.outlooks if o.setting_a == setting_a), None
        )
        cheap = None if self.cheap is None else self._missed(self.cheap)[:, at].sum()
        return SettingNeed(
            setting_a=setting_a,
            drawn_a=max(drawn_a(car, setting_a) for car in self.garage.cars),
            power_kw=max(self._power_kw(car, setting_a) for car in self.garage.cars),
            mornings_missed_per_year=float(missed[:, at].sum()),
            missed_by_car=tuple(missed[:, at].tolist()),
            missed_in_cheapest_hours=None if cheap is None else float(cheap),
            days_short_per_year=self._days_short(at),
            energy_kwh=float(energy.sum()),
            charging_hours=float(hours.sum()),
            cost=self._cost(self.year.cheapest_kwh, at),
            cost_at_once=self._cost(self.year.level_kwh, at),
            loss_kwh=self._loss_kwh(outlook, hours.tolist()),
            conversion_loss_kwh=self._conversion_loss(setting_a, energy.tolist()),
            outlook=outlook,
            code=code_step(self.plan, rules, setting_a),
            serves=self._serving(missed, at),
        )

    def _days_short(self, at: int) -> float | None:
        known = [
            number
            for number, car in enumerate(self.garage.cars)
            if not math.isinf(self.cars[number].nights.car.capacity_kwh)
        ]
        if not known:
            return None
        return float(self.year.empty[known, at].mean(axis=-1).sum())

    def _cost(self, level_kwh: Floats, at: int) -> float | None:
        cost = 0.0
        for level, price in enumerate(self.week.prices):
            energy = float(level_kwh[level, at].mean())
            if price is not None:
                cost += energy * price
            elif energy > _ROUNDING:
                return None
        return cost

    def _loss_kwh(
        self, outlook: SettingOutlook | None, hours: Sequence[float]
    ) -> float | None:
        if outlook is None or outlook.loss_w is None:
            return None
        return sum(
            energy_lost_per_year(
                loss_w=outlook.loss_w
                * (drawn_a(car, outlook.setting_a) / outlook.setting_a) ** 2,
                hours_per_day=of_car / _YEAR_NIGHTS,
                days_per_year=_YEAR_NIGHTS,
            )
            for car, of_car in zip(self.garage.cars, hours, strict=True)
        )

    def _conversion_loss(
        self, setting_a: float, energy: Sequence[float]
    ) -> float | None:
        lost = 0.0
        for car, of_car in zip(self.garage.cars, energy, strict=True):
            if car.measured_at == "wall" and car.charging_efficiency is None:
                return None
            lost += of_car * (1 - efficiency_at(car, self._power_kw(car, setting_a)))
        return lost


def _sentence(found: Need) -> str:
    smallest, lower = found.at_smallest, found.next_smaller
    if smallest is None:
        largest = found.settings[-1]
        short = mornings(largest.mornings_missed_per_year)
        return (
            f"No setting has the {_cars(found)} ready: the largest, "
            f"{largest.setting_a:g} A, misses {short} a year."
        )
    words = f"{smallest.setting_a:g} A has the {_cars(found)} ready"
    missed = smallest.mornings_missed_per_year
    words += (
        f" on all but {mornings(missed)} a year"
        if missed > _ROUNDING
        else " every morning"
    )
    if lower is None:
        return f"{words}; it is the smallest setting there is."
    return (
        f"{words}; the next smaller, {lower.setting_a:g} A, misses "
        f"{mornings(lower.mornings_missed_per_year)} a year."
    )


def _cars(found: Need) -> str:
    return "cars" if len(found.cars) > 1 else "car"


def mornings(count: float) -> str:
    """A number of mornings in words.

    Args:
        count: Mean over replays. [-]

    Returns:
        As one would say it. [-]
    """
    if 0 < count < 1:
        return "less than one morning"
    return "1 morning" if round(count) == 1 else f"{count:.0f} mornings"
