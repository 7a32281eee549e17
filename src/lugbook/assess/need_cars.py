"""The plan's cars as habits at the wall, and what one night asks, in closed form.

Needs no arrays: `check` uses it too.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from lugbook.assess.assessment import Assumption, SettingOutlook, Unknown
from lugbook.demand.charging import CarUse, hours_to_fill
from lugbook.errors import OutOfRange
from lugbook.finding import Line
from lugbook.premises.driving import Car
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated

__all__ = [
    "Garage",
    "Night",
    "Supplied",
    "assumed",
    "car_lines",
    "cars_of",
    "closed_smallest_a",
    "drawn_a",
    "efficiency_at",
    "garage_of",
    "hours_of_night",
    "nights_in_closed_form",
    "own_limit_a",
    "plan_steps_a",
    "use_of",
]

_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_ONBOARD_V = 240.0  # the car's power is stated for a 240 V charger: see the plan file
_LEAST_A = 6.0  # SAE J1772: the pilot offers no less
_ROUNDING = 1e-9  # relative, of hours against hours


@cache
def _assumptions() -> Mapping[str, Mapping[str, Any]]:
    book = files("lugbook.assess").joinpath("need-assumptions.toml")
    entries = tomllib.loads(book.read_text(encoding="utf-8"))["assumption"]
    return {entry["id"]: entry for entry in entries}


def assumed(name: str, key: str = "amount") -> Any:
    """A figure of the file of assumptions.

    Args:
        name: Name of the assumption, without "need.". [-]
        key: Which of its entries. [-]

    Returns:
        The figure. [-]
    """
    return _assumptions()[f"need.{name}"][key]


@dataclass(slots=True)
class Garage:
    """The cars and what had to be assumed or is missing.

    Args:
        cars: Every car of the plan. [-]
        assumptions: What was taken as given. [-]
        unknowns: What nobody stated and nothing can stand for. [-]
    """

    cars: tuple[Car, ...]
    assumptions: list[Assumption] = field(default_factory=list)
    unknowns: list[Unknown] = field(default_factory=list)

    def assume(self, name: str) -> None:
        """Note an assumption of the file, once."""
        entry = _assumptions()[f"need.{name}"]
        amount = entry.get("amount")
        text = entry["text"].replace(
            "{amount}", "" if amount is None else f"{amount:g}"
        )
        why = entry["why"]
        if "low" in entry:
            unit = f" {entry['unit']}" if entry["unit"] else ""
            why += f"; plausible {entry['low']:g} to {entry['high']:g}{unit}"
        if entry["field"]:
            why += f"; state {entry['field']} to replace it"
        new = Assumption(f"need.{name}", text, why)
        if new not in self.assumptions:
            self.assumptions.append(new)


def garage_of(plan: Plan) -> Garage:
    """The plan's cars, with what is missing of them.

    Args:
        plan: The house. [-]

    Returns:
        The cars. [-]
    """
    garage = Garage(plan.cars)
    if not plan.cars:
        garage.unknowns.append(
            Unknown(
                "cars",
                "How far does the car drive, and when is it at home?",
                "the odometer over a week, and your diary",
                later=True,
            )
        )
    for car in plan.cars:
        garage.unknowns.extend(_missing(car))
        _assume_of(car, garage)
    if garage.cars:
        for name in ("plugged_in", "nothing_else", "year"):
            garage.assume(name)
    if len(garage.cars) > 1:
        garage.assume("takes_turns")
    return garage


def _missing(car: Car) -> Iterator[Unknown]:
    asked = (
        (
            "distance_per_day",
            "How far does it drive on an ordinary day?",
            "its odometer, a week apart",
        ),
        (
            "energy_per_distance",
            "How much energy does it take for each mile or kilometre?",
            "its trip computer, or energy bought over distance driven",
        ),
        ("home_at", "When is it plugged in?", "habit: the usual time"),
        ("leaves_at", "When must it be ready?", "habit: the earliest usual time"),
    )
    for name, question, look in asked:
        if getattr(car, name) is None:
            yield Unknown(f"cars.{car.id}.{name}", question, look, later=True)
    if car.home_at and car.leaves_at and car.home_at.value == car.leaves_at.value:
        yield Unknown(
            f"cars.{car.id}.leaves_at",
            "When must it be ready? It cannot leave at the minute it is plugged in.",
            "habit: the earliest usual time",
            later=True,
        )
    if own_limit_a(car) < _LEAST_A:
        yield Unknown(
            f"cars.{car.id}.onboard_current",
            "How much current does it take? Under 6 A no charger can offer.",
            "the car's manual, onboard charger",
            later=True,
        )


def _assume_of(car: Car, garage: Garage) -> None:
    if car.measured_at is None:
        garage.assume("measured_at")
    # Even where energy is taken at the wall, the battery's size is the car's own.
    held = _is_over_zero(car.battery)
    if not _is_over_zero(car.charging_efficiency) and (
        car.measured_at != "wall" or held
    ):
        garage.assume("efficiency")
    if car.winter_factor is None:
        garage.assume("winter_factor")
    if car.winter_weeks is None and not _is_mild(car):
        garage.assume("winter_weeks")
    if car.long_day_distance is not None and car.long_days_per_year is None:
        garage.assume("long_days")
    if car.mornings_missed_accepted is None:
        garage.assume("mornings_accepted")
    if not car.days:
        garage.assume("days")
    garage.assume("taper" if held else "no_taper")


def _is_over_zero(stated: Stated[float] | None) -> bool:
    return stated is not None and stated.value > 0


def _is_mild(car: Car) -> bool:
    return car.winter_factor is not None and car.winter_factor.value == 1


@dataclass(frozen=True, slots=True)
class Supplied:
    """Voltage at the charger, by the current drawn.

    Args:
        nominal_v: Voltage of the charger's circuit. [V]
        outlooks: Forecast of settings, ascending; empty where none is known. [-]
    """

    nominal_v: float
    outlooks: Sequence[SettingOutlook] = ()

    def at(self, drawn_a: float) -> float:
        """Voltage at the charger while it draws a current.

        Args:
            drawn_a: The current. [A]

        Returns:
            Voltage, by the forecast of the least setting that is no smaller. [V]
        """
        known = [each for each in self.outlooks if each.charger_v is not None]
        if not known:
            return self.nominal_v
        above = [each for each in known if each.setting_a >= drawn_a]
        step = above[0] if above else known[-1]
        lost_v = self.nominal_v - (step.charger_v or self.nominal_v)
        return self.nominal_v - lost_v * drawn_a / step.setting_a


def plan_steps_a(plan: Plan, garage: Garage) -> tuple[float, ...]:
    """The settings the charger offers, and the one asked about.

    Args:
        plan: The house. [-]
        garage: Where an assumption is noted. [-]

    Returns:
        Settings, ascending; none under what a pilot can offer. [A]
    """
    charger = plan.charger
    steps = {step.value for step in charger.setting_steps} if charger else set()
    nameplate_a = charger.nameplate.value if charger and charger.nameplate else math.inf
    if not steps:
        garage.assume("steps")
        steps = {float(a) for a in assumed("steps", "steps_a") if a <= nameplate_a}
    if charger and charger.setting:
        steps.add(charger.setting.value)
    return tuple(sorted(a for a in steps if a >= _LEAST_A))


def drawn_a(car: Car, setting_a: float) -> float:
    """What a car draws at a setting: its own limit where that is less.

    Args:
        car: The car. [-]
        setting_a: The setting. [A]

    Returns:
        Current. [A]
    """
    return min(setting_a, own_limit_a(car))


def own_limit_a(car: Car) -> float:
    """The most a car itself draws.

    Args:
        car: The car. [-]

    Returns:
        Current; infinite where nobody stated it. [A]
    """
    limits = [math.inf]
    if car.onboard_current is not None and car.onboard_current.value > 0:
        limits.append(car.onboard_current.value)
    if car.onboard_power is not None and car.onboard_power.value > 0:
        limits.append(car.onboard_power.value / _ONBOARD_V)
    return min(limits)


def efficiency_at(car: Car, power_kw: float) -> float:
    """The share of the wall's energy that reaches the battery.

    Args:
        car: The car. [-]
        power_kw: Power at the wall. [kW]

    Returns:
        Share, as stated or by the assumed form. [-]

    Raises:
        OutOfRange: The assumed form is asked below 0.5 kW.
    """
    stated = car.charging_efficiency
    if stated is not None and stated.value > 0:
        return stated.value
    standby_kw = float(assumed("efficiency", "standby_kw"))
    if power_kw < 2 * standby_kw:
        raise OutOfRange(
            f"charging efficiency at {power_kw:.3g} kW; the assumed form holds from "
            f"{2 * standby_kw:g} kW on; state charging_efficiency"
        )
    return float(assumed("efficiency")) * (1 - standby_kw / power_kw)


def use_of(car: Car, *, voltage_v: float, setting_a: float) -> CarUse:
    """A car's habits, its energy at the wall at a setting.

    Args:
        car: The car, with nothing missing. [-]
        voltage_v: Voltage at the charger. [V]
        setting_a: The setting. [A]

    Returns:
        The habits. [-]
    """
    power_kw = voltage_v * drawn_a(car, setting_a) / 1000
    share = efficiency_at(car, power_kw)
    at_wall = 1.0 if car.measured_at == "wall" else 1 / share
    long_days = car.long_days_per_year
    return CarUse(
        name=car.name or car.id,
        kwh_per_day=_kwh(car, car.distance_per_day) * at_wall,
        long_day_kwh=(
            None
            if car.long_day_distance is None
            else _kwh(car, car.long_day_distance) * at_wall
        ),
        long_days_per_year=float(
            assumed("long_days") if long_days is None else long_days.value
        ),
        winter_factor=(
            car.winter_factor.value if car.winter_factor else assumed("winter_factor")
        ),
        winter_weeks=float(
            car.winter_weeks.value if car.winter_weeks else assumed("winter_weeks")
        ),
        capacity_kwh=(
            car.battery.value / share
            if car.battery is not None and car.battery.value > 0
            else math.inf
        ),
        most_a=own_limit_a(car),
        plugged_s=int(_minutes(car.home_at) * 60),
        leaves_s=int(_minutes(car.leaves_at) * 60),
        drives=tuple(day in (car.days or _DAYS) for day in _DAYS),
    )


def _kwh(car: Car, distance: Stated[float] | None) -> float:
    per_km = car.energy_per_distance
    return 0.0 if distance is None or per_km is None else distance.value * per_km.value


def _minutes(clock: Stated[float] | None) -> float:
    return 0.0 if clock is None else clock.value


@dataclass(frozen=True, slots=True)
class Night:
    """One kind of night, in closed form.

    Args:
        name: What kind it is. [-]
        car: The car's name. [-]
        energy_kwh: Energy to be given back, at the wall: what the drive took, at most
            what the battery holds. [kWh]
        hours: How long the car is plugged in. [h]
        voltage_v: Voltage at the charger. [V]
        required_a: Current that just fills it. [A]
    """

    name: str
    car: str
    energy_kwh: float
    hours: float
    voltage_v: float
    required_a: float


def cars_of(garage: Garage, supplied: Supplied, setting_a: float) -> tuple[CarUse, ...]:
    """The cars' habits at a setting.

    Args:
        garage: The cars, with nothing missing. [-]
        supplied: Voltage at the charger. [-]
        setting_a: The setting. [A]

    Returns:
        Habits, in the plan's order. [-]
    """
    return tuple(
        use_of(
            car,
            voltage_v=supplied.at(drawn_a(car, setting_a)),
            setting_a=setting_a,
        )
        for car in garage.cars
    )


def hours_of_night(use: CarUse) -> tuple[tuple[str, float], ...]:
    """The kinds of night a car has, with the energy of each.

    Args:
        use: Its habits. [-]

    Returns:
        Name and energy at the wall, the ordinary one first. [kWh]
    """
    kinds = [("ordinary night", use.kwh_per_day)]
    cold = use.winter_factor != 1 and use.winter_weeks > 0
    if cold:
        kinds.append(("deep winter", use.kwh_per_day * use.winter_factor))
    if use.long_day_kwh is not None and use.long_days_per_year > 0:
        kinds.append(("after a long day", use.long_day_kwh))
        if cold:
            kinds.append(
                ("after a long day in winter", use.long_day_kwh * use.winter_factor)
            )
    return tuple(kinds)


def nights_in_closed_form(
    garage: Garage, supplied: Supplied, setting_a: float
) -> tuple[Night, ...]:
    """What each kind of night asks: 1,000 × energy ÷ (voltage × hours).

    Args:
        garage: The cars, with nothing missing. [-]
        supplied: Voltage at the charger. [-]
        setting_a: Setting at which voltage and efficiency are taken. [A]

    Returns:
        Nights, car by car. [-]
    """
    found = []
    for car, use in zip(garage.cars, cars_of(garage, supplied, setting_a), strict=True):
        voltage_v = supplied.at(drawn_a(car, setting_a))
        for name, used_kwh in hours_of_night(use):
            # No night gives back more than the battery holds.
            energy_kwh = min(used_kwh, use.capacity_kwh)
            required_a = 1000 * energy_kwh / (voltage_v * use.plugged_hours)
            found.append(
                Night(
                    name, use.name, energy_kwh, use.plugged_hours, voltage_v, required_a
                )
            )
    return tuple(found)


def closed_smallest_a(
    garage: Garage, supplied: Supplied, steps_a: Sequence[float]
) -> float | None:
    """The smallest setting that fills every kind of night by itself.

    Two cars that are plugged in at the same time must both be filled within the
    shorter of their nights.

    Args:
        garage: The cars, with nothing missing. [-]
        supplied: Voltage at the charger. [-]
        steps_a: Settings, ascending. [A]

    Returns:
        Setting; None where no step does. [A]
    """
    return next((a for a in steps_a if _fills(garage, supplied, a)), None)


def _fills(garage: Garage, supplied: Supplied, setting_a: float) -> bool:
    uses = cars_of(garage, supplied, setting_a)
    hours = []
    for car, use in zip(garage.cars, uses, strict=True):
        current_a = drawn_a(car, setting_a)
        most_kwh = max(energy for _, energy in hours_of_night(use))
        hours.append(
            float(
                hours_to_fill(
                    owed_kwh=min(most_kwh, use.capacity_kwh),
                    power_kw=supplied.at(current_a) * current_a / 1000,
                    capacity_kwh=use.capacity_kwh,
                )
            )
        )
    for own, use in zip(hours, uses, strict=True):
        together = sum(
            other for other, each in zip(hours, uses, strict=True) if _meet(use, each)
        )
        if max(own, together) > use.plugged_hours * (1 + _ROUNDING):
            return False
    return True


def _meet(one: CarUse, other: CarUse) -> bool:
    """Return whether two cars are ever plugged in at the same time of day."""
    if not all(one.drives) or not all(other.drives):
        return True  # a car stays plugged in on the days on which it does not drive
    return any(
        (first.plugged_s - second.plugged_s) % 86400 < second.plugged_hours * 3600
        for first, second in ((one, other), (other, one))
    )


def car_lines(nights: Sequence[Night]) -> tuple[Line, ...]:
    """The closed form as lines of a working.

    Args:
        nights: The nights. [-]

    Returns:
        A line for each. [-]
    """
    return tuple(
        Line(
            f"{night.car}, {night.name}",
            night.required_a,
            "A",
            "1,000 × energy ÷ (voltage × hours)",
            f"1,000 × {night.energy_kwh:.4g} kWh ÷ ({night.voltage_v:.4g} V × "
            f"{night.hours:.4g} h)",
            "cars and their days, as stated",
        )
        for night in nights
    )
